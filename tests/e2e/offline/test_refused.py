"""What the server does not take: the installer is told, the lead gets all of it."""

from __future__ import annotations

import re
from collections.abc import Callable
from threading import Event

import pytest
from playwright.sync_api import Route, expect

from tests.domain.test_picture import drawn
from tests.e2e.offline.fieldwork import (
    Job,
    all_sent,
    has_the_job,
    installer,
    log_of,
    of_task,
    open_task,
    prepared,
    recorded,
    switch_off,
    two_at,
    unsent,
    with_the_lead,
)
from tests.e2e.people import Crew, Person
from tests.e2e.server import Server

MEASURE = "fasteners.measure:C1"


def measure(person: Person, above: str) -> None:
    person.put("above", above)
    person.tap(person.button("Record what I measured"))


def both_measure(
    server: Server, crew: Crew, job: Job, before_sending: Callable[[Person], object] | None = None
) -> Person:
    """Ivo's reading of C1 is stored; Vera's of the same seat comes later and is refused."""
    ivo, vera = two_at(server, crew, job, MEASURE)
    with vera.watch.refused(409), vera.watch.cut_off():
        vera.context.set_offline(True)
        measure(vera, "5 1/8")
        assert vera.heading == "C1 is set"
        measure(ivo, "5 1/16")
        all_sent(ivo)
        if before_sending is not None:
            before_sending(vera)
        vera.context.set_offline(False)
        with_the_lead(vera)
    return vera


def test_who_is_refused_sees_both_readings_and_whose_the_other_is(
    server: Server, crew: Crew
) -> None:
    job = prepared(server, until=MEASURE)
    server.start()
    vera = both_measure(server, crew, job)
    expect(vera.page.locator("h1")).to_have_text("Not taken: Measure C1")
    # whose it is comes with the news
    expect(vera.main).to_contain_text("theirs stands")
    said = vera.main.inner_text()
    assert "it is on the lead's list" in said
    assert "Ivo Installer recorded it meanwhile: theirs stands" in said
    both = vera.main.locator("dl.facts dd").all_inner_texts()
    yours, theirs = (one.replace("\xa0", " ") for one in both)
    assert "above the level line 5 1/8 in" in yours
    assert "above the level line 5 1/16 in" in theirs
    assert "marks move" not in said, "what it would have changed is not so"
    assert "only on this phone" not in said
    vera.look()
    switch_off(server, crew)


def test_a_refusal_is_told_until_it_was_seen_also_after_a_reload(
    server: Server, crew: Crew
) -> None:
    job = prepared(server, until=MEASURE)
    server.start()
    vera = both_measure(server, crew, job)
    vera.page.reload()
    has_the_job(vera)
    with_the_lead(vera)
    expect(vera.page.locator("h1")).to_have_text("Not taken: Measure C1")
    vera.go_to("Measure C1")
    vera.page.locator("#outbox summary").tap()
    expect(vera.outbox).to_contain_text("Ivo Installer")
    vera.look()
    vera.button("Look at it").tap()
    expect(vera.page.locator("h1")).to_have_text("Not taken: Measure C1")
    vera.tap(vera.link("Seen, go on"))
    expect(vera.outbox).to_be_hidden()
    vera.page.reload()
    has_the_job(vera)
    expect(vera.outbox).to_be_hidden()
    switch_off(server, crew)


def test_a_refusal_is_told_after_a_reload_that_came_before_how_things_stand(
    server: Server, crew: Crew
) -> None:
    job = prepared(server, until=MEASURE)
    server.start()
    news_comes = Event()

    def answer(route: Route) -> None:
        if news_comes.is_set():
            route.continue_()

    vera = both_measure(server, crew, job, lambda vera: vera.page.route("**/phone/pack?*", answer))
    expect(vera.page.locator("h1")).to_have_text("Not taken: Measure C1")
    assert vera.page.evaluate("history.state.place.screen") == "result"
    news_comes.set()
    vera.page.reload()
    has_the_job(vera)
    expect(vera.page.locator("h1")).to_have_text("Not taken: Measure C1")
    assert "Ivo Installer recorded it meanwhile: theirs stands" in vera.main.inner_text()
    switch_off(server, crew)


def test_what_reaches_the_lead_after_a_reload_is_said_to_be_there(
    server: Server, crew: Crew
) -> None:
    """The place is still that of its result: what is shown there is what became of it."""
    job = prepared(server, until=MEASURE)
    server.start()
    is_loaded_anew, is_list_open = Event(), Event()

    def news(route: Route) -> None:
        if is_loaded_anew.is_set():
            route.continue_()

    def to_the_list(route: Route) -> None:
        if is_list_open.is_set():
            route.continue_()
        else:
            route.abort()

    ivo, vera = two_at(server, crew, job, MEASURE)
    with vera.watch.refused(409), vera.watch.cut_off():
        vera.context.set_offline(True)
        measure(vera, "5 1/8")
        measure(ivo, "5 1/16")
        all_sent(ivo)
        vera.page.route("**/phone/pack?*", news)
        vera.page.route("**/phone/parked", to_the_list)
        vera.context.set_offline(False)
        expect(vera.page.locator("#outbox")).to_contain_text("1 refused")
        is_loaded_anew.set()
        vera.page.reload()
        expect(vera.main).to_contain_text("Refused: for the lead, only on this phone yet")
        assert vera.page.evaluate("history.state.place.screen") == "result"
        is_list_open.set()
        vera.page.evaluate("dispatchEvent(new Event('focus'))")
        expect(vera.main).to_contain_text("Refused: it is on the lead's list")
        assert "only on this phone" not in vera.main.inner_text()
    vera.tap(vera.link("Seen, go on"))
    expect(vera.outbox).to_be_hidden()
    switch_off(server, crew)


def test_what_the_lead_has_settled_is_told_no_more(server: Server, crew: Crew) -> None:
    job = prepared(server, until=MEASURE)
    server.start()
    vera, lea = both_measure(server, crew, job), crew.person("Lea Leadbetter")
    lea.become_lead(server.lead_link)
    lea.open(f"{server.address}/jobs/{job.id}")
    lea.page.get_by_label("How it was settled").fill("Ivo read it again: 5 1/16")
    lea.tap(lea.button("Settled"))
    expect(vera.outbox).to_be_hidden(timeout=15_000)
    switch_off(server, crew)


def test_a_form_in_hand_follows_when_what_it_counted_on_is_refused(
    server: Server, crew: Crew
) -> None:
    """The next mark was worked out from a reading that the server does not take."""
    job = prepared(server, until=MEASURE)
    server.start()
    ivo, vera = installer(crew, server, job), installer(crew, server, job, "Vera Vise")
    open_task(ivo, server, job, MEASURE)
    open_task(vera, server, job, "fasteners.mark:D1")
    planned = vera.page.locator(".number-hand").all_inner_texts()
    open_task(vera, server, job, MEASURE)
    with vera.watch.refused(409), vera.watch.cut_off():
        vera.context.set_offline(True)
        measure(vera, "5 3/16")
        vera.go_to("Mark D1")
        assert vera.page.locator(".number-hand").all_inner_texts() != planned
        ivo.tap(ivo.button("As planned"))
        all_sent(ivo)
        vera.context.set_offline(False)
        with_the_lead(vera)
    expect(vera.main.get_by_role("alert")).to_contain_text("The numbers of this task changed")
    assert vera.task == "fasteners.mark:D1"
    assert vera.page.locator(".number-hand").all_inner_texts() == planned
    switch_off(server, crew)


# -- all of it -------------------------------------------------------------------------------------


def test_a_refused_photo_reaches_the_lead_who_can_open_it(server: Server, crew: Crew) -> None:
    job = prepared(server, until="close.photo")
    server.start()
    ivo, vera = two_at(server, crew, job, "close.photo")
    with vera.watch.refused(409), vera.watch.cut_off():
        vera.context.set_offline(True)
        vera.page.evaluate("document.querySelector('h1').style.letterSpacing = '9px'")
        vera.do("close.photo")
        ivo.do("close.photo")
        all_sent(ivo)
        vera.context.set_offline(False)
        with_the_lead(vera)
    lea = crew.person("Lea Leadbetter")
    lea.become_lead(server.lead_link)
    lea.open(f"{server.address}/jobs/{job.id}")
    opened = lea.page.request.get(
        server.address + (lea.link("See its photo").get_attribute("href") or "")
    )
    assert opened.headers["content-type"] == "image/jpeg"
    assert opened.body().startswith(b"\xff\xd8\xff")
    switch_off(server, crew)
    entries = log_of(server, job)
    (parked,) = [e for e in entries if e.type == "EntryParked"]
    (stored,) = of_task(entries, "close.photo")[:1]
    assert parked.body["photo"]["type"] == "image/jpeg"
    assert parked.body["photo"]["sha256"] != stored.body["values"]["photo"]["sha256"]
    with server.opened() as services:
        assert services.store.get_blob(parked.body["photo"]["sha256"])


def test_the_lead_sees_where_a_refused_hole_is_and_records_it_there(
    server: Server, crew: Crew
) -> None:
    anchor = "fasteners.anchor:C1"
    job = prepared(server, until=anchor)
    server.start()
    ivo, vera = two_at(server, crew, job, anchor)
    with vera.watch.refused(409), vera.watch.cut_off():
        vera.context.set_offline(True)
        vera.do(anchor)
        ivo.do(anchor)
        all_sent(ivo)
        vera.context.set_offline(False)
        with_the_lead(vera)
    lea = crew.person("Lea Leadbetter")
    lea.become_lead(server.lead_link)
    lea.open(f"{server.address}/jobs/{job.id}")
    assert "Shown on the phone:" in lea.main.inner_text()
    assert "of the reference line" in lea.main.inner_text()
    lea.tap(lea.link("Record it again"))
    has_the_job(lea)
    lea.tap(lea.page.locator(".thumb button.button-main"))
    lea.all_sent()
    switch_off(server, crew)
    entries = log_of(server, job)
    (parked,) = [e for e in entries if e.type == "EntryParked"]
    assert {"shown.x_mm", "shown.hole_y_mm", "shown.fastener"} <= set(parked.body["fields"])
    assert len(of_task(entries, anchor)) == 3


@pytest.mark.parametrize("answer", ["a portal's page", "stored, without the photo"])
def test_no_photo_leaves_the_phone_before_the_server_says_it_has_it(
    server: Server, crew: Crew, answer: str
) -> None:
    job = prepared(server, until="close.photo")
    server.start()
    ivo = installer(crew, server, job)
    open_task(ivo, server, job, "close.photo")
    tries: list[str] = []

    def short(route: Route) -> None:
        if route.request.method != "POST" or len(tries) > 1:
            route.continue_()
            return
        tries.append(route.request.url)
        said = '{"stored": 7, "seq": 7}' if answer.startswith("stored") else "<h1>Welcome</h1>"
        route.fulfill(status=200, body=said)

    ivo.page.route(re.compile("close.photo"), short)
    ivo.do("close.photo")
    ivo.page.locator("#outbox summary").tap()
    expect(ivo.outbox).to_contain_text("Last try:")
    assert unsent(ivo) == 1
    all_sent(ivo)
    assert len(tries) == 2
    switch_off(server, crew)
    assert len(of_task(log_of(server, job), "close.photo")) == 1


def test_a_photo_that_loses_its_place_and_camera_on_the_server_leaves_the_phone_all_the_same(
    server: Server, crew: Crew
) -> None:
    """What is kept is smaller than what was sent; the phone compares what arrived."""
    job = prepared(server, until="close.photo")
    server.start()
    ivo = installer(crew, server, job)
    open_task(ivo, server, job, "close.photo")
    ivo.page.locator('[name="photo"]').set_input_files(
        {"name": "wall.jpg", "mimeType": "image/jpeg", "buffer": drawn("jpeg", turned=6)}
    )
    ivo.tap(ivo.page.locator(".thumb button.button-main"))
    all_sent(ivo)
    switch_off(server, crew)
    assert len(of_task(log_of(server, job), "close.photo")) == 1


def test_a_photo_too_large_for_the_line_stays_on_the_phone_and_the_rest_goes_on(
    server: Server, crew: Crew
) -> None:
    """A proxy that takes nothing so large answers for the server, on the lead's list too."""
    job = prepared(server, until="close.photo")
    server.start()
    ivo = installer(crew, server, job)
    open_task(ivo, server, job, "close.photo")

    def too_large(route: Route) -> None:
        is_large = b"image/jpeg" in (route.request.post_data_buffer or b"")
        if is_large:
            route.fulfill(status=413, body="<h1>Request entity too large</h1>")
        else:
            route.continue_()

    ivo.page.route("**/phone/**", too_large)
    with ivo.watch.refused(413):
        ivo.do("close.photo")
        expect(ivo.outbox).to_contain_text("1 refused: for the lead to settle")
    kept = ivo.page.evaluate(
        "Object.entries(localStorage).filter(([n]) => n.startsWith('holdtrue:outbox:'))"
        ".map(([, text]) => JSON.parse(text).photo?.data.length ?? 0)"
    )
    assert len(kept) == 1
    assert kept[0] > 1000
    ivo.page.unroute_all()
    ivo.page.reload()
    has_the_job(ivo)
    with_the_lead(ivo)
    switch_off(server, crew)
    assert [e.body["photo"]["type"] for e in log_of(server, job) if e.type == "EntryParked"] == [
        "image/jpeg"
    ]


# -- an entry the server falls over ----------------------------------------------------------------


def test_an_entry_the_server_falls_over_is_named_and_can_be_handed_to_the_lead(
    server: Server, crew: Crew
) -> None:
    job = prepared(server, until=MEASURE)
    server.start()
    ivo = installer(crew, server, job)
    open_task(ivo, server, job, MEASURE)
    posts: list[str] = []

    def falls(route: Route) -> None:
        if route.request.method != "POST":
            route.continue_()
            return
        posts.append(route.request.url)
        route.fulfill(status=500, body='{"error": "Something went wrong in holdtrue."}')

    ivo.page.route(re.compile(r"measure:C1$|measure%3AC1$"), falls)
    with ivo.watch.refused(500):
        measure(ivo, "5 1/16")
        ivo.tap(ivo.page.locator(".thumb .button-main"))
        ivo.do(ivo.task or "")
        ivo.page.locator("#outbox summary").tap()
        expect(ivo.outbox).to_contain_text("Measure C1 makes the server fail", timeout=30_000)
        expect(ivo.outbox).to_contain_text("5 1/16")
        assert len(posts) >= 4
        assert unsent(ivo) == 2, "nothing overtakes it unasked"
        ivo.look()
        ivo.button("Hand it to the lead's list").tap()
        with_the_lead(ivo)
    switch_off(server, crew)
    entries = log_of(server, job)
    (parked,) = [e for e in entries if e.type == "EntryParked"]
    assert parked.body["fields"]["above"] == "5 1/16"
    assert "The server failed on it" in parked.body["words"]
    assert MEASURE not in recorded(entries)
