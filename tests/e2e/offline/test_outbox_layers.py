"""The outbox layer by layer, in a real browser, with a server that says what the test tells it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from tests.e2e.phone_modules import open_modules

SETUP = """
async () => {
  const { Store, FullError } = await import("/static/js/app/store.js");
  const { Queue } = await import("/static/js/app/queue.js");
  const { answerOf } = await import("/static/js/app/answers.js");
  const { Sender, isStuck } = await import("/static/js/app/send.js");
  localStorage.clear();
  let key = 0;
  window.entry = (more = {}) => ({
    key: `k${String((key += 1)).padStart(3, "0")}`, kind: "task", url: "/post", task: "t", seat: "",
    title: "A task", fields: { outcome: "done" }, tapped: "2026-03-02T08:00:00.000Z", person: "P",
    name: "Ivo", unit: "in", seen: "", stands: "0", shown: null, planned: {}, ...more,
  });
  window.store = new Store(localStorage, "JOB");
  window.queue = new Queue(window.store);
  window.session = { token: "old", who: "P", name: "Ivo" };
  window.posts = [];
  window.answers = [];
  window.fetch = async (url, { body, headers }) => {
    window.posts.push({ url, key: body.get("key"), csrf: headers["X-CSRF"], body: [...body] });
    const answer = window.answers.shift() ?? { status: 200, json: { stored: 7, seq: 7 } };
    if (answer.lost) throw new TypeError("Failed to fetch");
    return { status: answer.status, text: async () => answer.text ?? JSON.stringify(answer.json) };
  };
  window.sender = new Sender(window.queue, {
    csrf: () => window.session.token,
    person: () => ({ person: window.session.who, name: window.session.name }),
    renew: (csrf) => { window.session.token = csrf; }, parkedUrl: () => "/parked",
    isAnswered: async () => window.session.isAnswered ?? true,
  });
  window.isStuck = (entry) => isStuck(window.sender, entry);
  window.FullError = FullError;
  window.answerOf = answerOf;
  // no retry by itself while a test looks
  window.send = async () => { const done = await window.sender.sendAll(); return done; };
  window.left = () => window.queue.waiting().map((entry) => entry.key);
}
"""


@pytest.fixture(scope="module")
def modules(chromium: Browser) -> Iterator[Page]:
    with open_modules(chromium) as page:
        yield page


@pytest.fixture
def box(modules: Page) -> Page:
    """An empty outbox of job JOB."""
    modules.evaluate(SETUP)
    return modules


def js(page: Page, code: str) -> Any:
    return page.evaluate(f"async () => {{ {code} }}")


# -- storage ---------------------------------------------------------------------------------------


def test_each_entry_is_an_item_of_its_own_and_they_keep_their_order(box: Page) -> None:
    keys = js(box, "for (let i = 0; i < 12; i += 1) store.add(entry()); return left();")
    assert keys == [f"k{n:03}" for n in range(1, 13)]
    names = js(box, "return store.names();")
    assert len(names) == 12
    assert all(name.startswith("holdtrue:outbox:JOB:") for name in names)


def test_an_entry_that_does_not_fit_leaves_what_was_there_as_it_was(box: Page) -> None:
    said = js(
        box,
        """
        store.add(entry());
        localStorage.setItem("filler", "");
        let size = 1 << 22;
        while (size) {
          try { localStorage.setItem("filler", localStorage.getItem("filler") + "x".repeat(size)); }
          catch { size >>= 1; }
        }
        let thrown = null;
        try { store.add(entry()); } catch (error) { thrown = error instanceof FullError; }
        const kept = left();
        localStorage.removeItem("filler");
        return { thrown, kept };
        """,
    )
    assert said == {"thrown": True, "kept": ["k001"]}


def test_copies_give_way_to_an_entry(box: Page) -> None:
    said = js(
        box,
        """
        const real = Storage.prototype.setItem;
        let hasRoom = false;
        store.makeRoom = () => { const had = !hasRoom; hasRoom = true; return had; };
        Storage.prototype.setItem = function (name, text) {
          if (!hasRoom) throw new DOMException("full", "QuotaExceededError");
          return real.call(this, name, text);
        };
        try { store.add(entry()); } finally { Storage.prototype.setItem = real; }
        return left();
        """,
    )
    assert said == ["k001"]


def test_what_cannot_be_read_is_counted_and_never_thrown_away(box: Page) -> None:
    said = js(
        box,
        """
        localStorage.setItem("holdtrue:outbox:JOB:00000001:x", "{torn");
        localStorage.setItem("holdtrue:outbox:JOB:00000002:y", '{"of": "a later version"}');
        store.add(entry());
        await send();
        return { left: left(), unread: store.unreadable().length };
        """,
    )
    assert said == {"left": [], "unread": 2}


def test_another_job_has_an_outbox_of_its_own(box: Page) -> None:
    said = js(
        box,
        """
        localStorage.setItem("holdtrue:outbox:OTHER:00000001:z", JSON.stringify(entry()));
        store.add(entry());
        return left();
        """,
    )
    assert said == ["k002"]


# -- order -----------------------------------------------------------------------------------------


def test_the_same_form_twice_is_one_entry(box: Page) -> None:
    assert js(box, "const one = entry(); queue.add(one); queue.add(one); return left();") == [
        "k001"
    ]


def test_a_stored_entry_stays_known_until_the_page_stands_after_it(box: Page) -> None:
    said = js(
        box,
        """
        queue.add(entry());
        await send();
        const before = queue.ahead().map((one) => one.stored);
        queue.caughtUp(6);
        const still = queue.ahead().length;
        queue.caughtUp(7);
        return { before, still, after: queue.ahead().length };
        """,
    )
    assert said == {"before": [7], "still": 1, "after": 0}


def test_what_was_stored_is_known_again_after_a_reload_from_an_older_copy(box: Page) -> None:
    said = js(
        box,
        """
        queue.add(entry());
        await send();
        queue.stored = [];
        queue.open(3);
        const old = queue.ahead().map((one) => one.stored);
        queue.open(7);
        return { old, fresh: queue.ahead().length, items: localStorage.length };
        """,
    )
    assert said == {"old": [7], "fresh": 0, "items": 0}


# -- policy ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("status", "text", "how"),
    [
        (200, '{"stored": 5, "seq": 6}', "stored"),
        (200, "<html>Welcome to the station's wifi</html>", "later"),
        (200, '{"ok": true}', "later"),
        (204, "", "later"),
        (302, "", "later"),
        (401, '{"error": "sign in"}', "sign-in"),
        (401, "<html>proxy wants a password</html>", "later"),
        (403, '{"refused": "no"}', "refused"),
        (404, '{"refused": "no such task"}', "refused"),
        (404, "<html>not here</html>", "later"),
        (409, '{"refused": "recorded meanwhile"}', "refused"),
        (413, "<html>too large</html>", "refused"),
        (422, '{"refused": "no length"}', "refused"),
        (429, '{"error": "slow down"}', "later"),
        (500, "<html>fault</html>", "later"),
        (503, '{"error": "the store cannot be written"}', "later"),
    ],
)
def test_only_our_own_server_can_acknowledge_or_refuse(
    box: Page, status: int, text: str, how: str
) -> None:
    assert box.evaluate("([s, t]) => window.answerOf(s, t).how", [status, text]) == how


def test_entries_go_one_by_one_in_order_and_nothing_overtakes_a_failure(box: Page) -> None:
    said = js(
        box,
        """
        for (let i = 0; i < 3; i += 1) queue.add(entry());
        answers.push({ status: 200, json: { stored: 4, seq: 4 } });
        answers.push({ status: 503, json: { error: "x" } });
        await send();
        const first = { posted: posts.map((p) => p.key), left: left() };
        await send();
        return { first, posted: posts.map((p) => p.key), left: left() };
        """,
    )
    assert said["first"] == {"posted": ["k001", "k002"], "left": ["k002", "k003"]}
    assert said["posted"] == ["k001", "k002", "k002", "k003"]
    assert said["left"] == []


def test_a_lost_reply_sends_the_same_key_again(box: Page) -> None:
    said = js(
        box,
        "queue.add(entry()); answers.push({ lost: true }); await send(); const held = left();"
        "await send(); return { held, keys: posts.map((p) => p.key), left: left() };",
    )
    assert said == {"held": ["k001"], "keys": ["k001", "k001"], "left": []}


def test_a_refused_entry_is_parked_the_rest_goes_on_and_it_stays_until_the_lead_has_it(
    box: Page,
) -> None:
    said = js(
        box,
        """
        queue.add(entry()); queue.add(entry());
        answers.push({ status: 409, json: { refused: "recorded by Vera at 10:12" } });
        answers.push({ status: 200, json: { stored: 9, seq: 9 } });
        answers.push({ status: 500, text: "" });
        await send();
        const parked = queue.parked().map(({ key, refused }) => [key, refused]);
        await send();
        return { parked, after: queue.parked().length,
          urls: posts.map((p) => p.url), words: Object.fromEntries(posts.at(-1).body) };
        """,
    )
    assert said["parked"] == [["k001", "recorded by Vera at 10:12"]]
    assert said["after"] == 0
    assert said["urls"] == ["/post", "/post", "/parked", "/parked"]
    assert said["words"]["words"] == "recorded by Vera at 10:12"
    assert said["words"]["tapped"] == "2026-03-02T08:00:00.000Z"


def test_nothing_of_a_refused_entry_is_left_behind(box: Page) -> None:
    said = js(
        box,
        """
        const shown = { x_mm: -125.5, y_mm: 1500, hole_y_mm: 1506, fastener: "hook" };
        const photo = { name: "wall.jpg", type: "image/jpeg", data: btoa("abcde") };
        const fields = { outcome: "measured", x: "5" };
        queue.add(entry({ shown, photo, planned: { x: -127 }, fields }));
        answers.push({ status: 409, json: { refused: "recorded by Vera" } });
        answers.push({ status: 200, json: { stored: 9, seq: 9, photo: 5 } });
        await send();
        const body = Object.fromEntries(posts.at(-1).body);
        const sent = JSON.parse(body.fields);
        return { fields: sent, photo: await body.photo.text(), left: queue.all() };
        """,
    )
    assert said["fields"] == {
        "outcome": "measured",
        "x": "5",
        "sent_key": "k001",
        "read_in": "in",
        "shown.x_mm": "-125.5",
        "shown.y_mm": "1500",
        "shown.hole_y_mm": "1506",
        "shown.fastener": "hook",
        "planned.x": "-127",
    }
    assert (said["photo"], said["left"]) == ("abcde", [])


@pytest.mark.parametrize("photo", [None, 0, 4])
def test_an_entry_stays_until_all_of_its_photo_is_confirmed(box: Page, photo: int | None) -> None:
    said = box.evaluate(
        """async (photo) => {
          queue.add(entry({ photo: { name: "w.jpg", type: "image/jpeg", data: btoa("abcde") } }));
          const json = { stored: 7, seq: 7, ...(photo === null ? {} : { photo }) };
          answers.push({ status: 200, json });
          await send();
          const held = left();
          answers.push({ status: 200, json: { stored: 7, seq: 7, photo: 5 } });
          await send();
          return { held, trouble: sender.trouble, left: left() };
        }""",
        photo,
    )
    assert said == {"held": ["k001"], "trouble": "", "left": []}


def test_what_the_server_falls_over_again_and_again_is_named_only_while_it_answers_others(
    box: Page,
) -> None:
    said = js(
        box,
        """
        const first = queue.add(entry());
        const stuck = [];
        for (const [status, isAnswered] of [[500], [502], [500], [500, false], [500], [503]]) {
          session.isAnswered = isAnswered ?? true;
          answers.push({ status, json: { error: "x" } });
          await send();
          stuck.push(isStuck(first));
        }
        return { stuck, left: left(), trouble: sender.trouble };
        """,
    )
    # a store that cannot be written is no entry's fault, and says so in the server's words
    assert said == {
        "stuck": [False, False, False, False, True, False],
        "left": ["k001"],
        "trouble": "x",
    }


def test_what_the_leads_list_cannot_take_keeps_no_other_from_it(box: Page) -> None:
    said = js(
        box,
        """
        queue.add(entry()); queue.add(entry());
        for (let i = 0; i < 2; i += 1) answers.push({ status: 409, json: { refused: "no" } });
        answers.push({ status: 500, text: "" });
        answers.push({ status: 200, json: { stored: 9, seq: 9 } });
        await send();
        return queue.parked().map(({ key }) => key);
        """,
    )
    assert said == ["k001"]


def test_a_session_that_is_gone_keeps_everything(box: Page) -> None:
    said = js(
        box,
        "queue.add(entry()); answers.push({ status: 401, json: { error: 'Sign in first.' } });"
        "await send(); return { left: left(), asks: sender.needsSignIn, posts: posts.length };",
    )
    assert said == {"left": ["k001"], "asks": True, "posts": 1}


def test_signed_in_again_elsewhere_the_fresh_token_is_taken_once(box: Page) -> None:
    said = js(
        box,
        "queue.add(entry()); answers.push({ status: 401, json: { error: 'old', csrf: 'new' } });"
        "await send(); return { left: left(), tokens: posts.map((p) => p.csrf) };",
    )
    assert said == {"left": [], "tokens": ["old", "new"]}


def test_what_another_person_recorded_here_is_not_sent_under_my_name_unasked(box: Page) -> None:
    said = js(
        box,
        """
        queue.add(entry({ person: "V", name: "Vera" }));
        await send();
        const held = posts.length;
        sender.sendsForOthers = true;
        await send();
        return { held, sent: posts.length };
        """,
    )
    assert said == {"held": 0, "sent": 1}


def test_who_joined_once_more_under_the_same_name_sends_what_is_left(box: Page) -> None:
    said = js(
        box, "queue.add(entry({ person: 'IVO_BEFORE' })); await send(); return { left: left() };"
    )
    assert said == {"left": []}


def test_a_photo_arrives_byte_for_byte(box: Page) -> None:
    said = js(
        box,
        """
        const { bodyOf } = await import("/static/js/app/bodies.js");
        const data = btoa(String.fromCharCode(...Array.from({ length: 256 }, (_, i) => i)));
        const body = bodyOf(entry({ photo: { name: "wall.jpg", type: "image/jpeg", data } }));
        const file = body.get("photo");
        return { name: file.name, type: file.type,
          bytes: [...new Uint8Array(await file.arrayBuffer())] };
        """,
    )
    assert said == {"name": "wall.jpg", "type": "image/jpeg", "bytes": list(range(256))}
