"""Everything that can go wrong between a tap and the server's disk; nothing is lost or doubled."""

from __future__ import annotations

import json
import re
from datetime import datetime, timedelta
from urllib.parse import unquote

import pytest
from playwright.sync_api import Route, expect

from holdtrue.service import jobs
from tests.e2e.offline.fieldwork import (
    ALL_SENT,
    all_sent,
    has_the_job,
    installer,
    log_of,
    of_task,
    offline,
    open_task,
    prepare,
    prepared,
    recorded,
    switch_off,
    two_at,
    unsent,
    with_the_lead,
)
from tests.e2e.people import Crew, Person
from tests.e2e.server import Server
from tests.walking import LEAD

MEASURE = "fasteners.measure:C1"
THEN = "fasteners.mark:B2"


def measure(person: Person, above: str = "5 1/16") -> None:
    """Read off high of its mark, and recorded."""
    person.put("above", above)
    person.tap(person.button("Record what I measured"))


def test_a_server_killed_while_it_answers_stores_the_entry_once(server: Server, crew: Crew) -> None:
    job = prepared(server, until=MEASURE)
    server.start()
    ivo = installer(crew, server, job)
    open_task(ivo, server, job, MEASURE)
    posts: list[str] = []

    def kill_behind(route: Route) -> None:
        """The entry reaches the disk; the server dies before anybody hears of it."""
        posts.append(route.request.url)
        if len(posts) == 1:
            route.fetch()
            server.kill()
            route.abort()
        else:
            route.continue_()

    ivo.page.route(re.compile("fasteners.measure"), kill_behind)
    with ivo.watch.cut_off():
        measure(ivo)
        expect(ivo.page.locator("#outbox")).to_contain_text("1 not sent: only on this phone")
        ivo.tap(ivo.page.locator(".thumb .button-main"))
        ivo.do(ivo.task or "")
        assert unsent(ivo) == 2
        server.start()
        all_sent(ivo)
    switch_off(server, crew)
    assert len(posts) >= 2
    entries = log_of(server, job)
    assert len(of_task(entries, MEASURE)) == 1
    assert recorded(entries)[-2] == MEASURE


def test_a_dropped_reply_stores_the_entry_once(server: Server, crew: Crew) -> None:
    job = prepared(server, until=MEASURE)
    server.start()
    ivo = installer(crew, server, job)
    open_task(ivo, server, job, MEASURE)
    dropped: list[int] = []

    def drop(route: Route) -> None:
        if len(dropped) < 2:
            dropped.append(route.fetch().status)
            route.abort()
        else:
            route.continue_()

    ivo.page.route(re.compile("fasteners.measure"), drop)
    with ivo.watch.cut_off():
        measure(ivo)
        all_sent(ivo)
    switch_off(server, crew)
    assert dropped == [200, 200]
    assert len(of_task(log_of(server, job), MEASURE)) == 1


def test_a_closed_tab_sends_what_it_had_when_it_is_opened_again(server: Server, crew: Crew) -> None:
    job = prepared(server, until=MEASURE)
    server.start()
    ivo = installer(crew, server, job)
    open_task(ivo, server, job, MEASURE)
    with ivo.watch.cut_off():
        ivo.context.set_offline(True)
        measure(ivo)
        ivo.tap(ivo.page.locator(".thumb .button-main"))
        ivo.do(ivo.task or "")
        assert unsent(ivo) == 2
        ivo.page.close()
        ivo.context.set_offline(False)
        ivo.page = ivo.context.new_page()
        open_task(ivo, server, job, "all")
        all_sent(ivo)
    switch_off(server, crew)
    assert recorded(log_of(server, job))[-2] == MEASURE


def test_a_tap_before_the_rest_of_the_page_has_come_is_kept(server: Server, crew: Crew) -> None:
    """The line breaks once the first screen stands: the tap counts, the next screen waits."""
    job = prepared(server, until=MEASURE)
    server.start()
    ivo = installer(crew, server, job)
    switch = {"cut": True}

    def answer(route: Route) -> None:
        if switch["cut"]:
            route.abort()
        else:
            route.continue_()

    # straight from the network: the copies of the first opening hold the rest already
    ivo.page.evaluate(
        "navigator.serviceWorker.getRegistrations().then((all) => all[0].unregister())"
    )
    ivo.page.evaluate(
        "caches.keys().then((all) => Promise.all(all.map((one) => caches.delete(one))))"
    )
    ivo.page.close()
    ivo.page = ivo.context.new_page()
    with ivo.watch.cut_off():
        ivo.page.route(re.compile(r"later\.js"), answer)
        ivo.page.route(
            re.compile("fasteners.measure:C1$"),
            lambda route: route.continue_() if route.request.method == "GET" else answer(route),
        )
        ivo.page.goto(f"{server.address}/jobs/{job.id}/phone/{MEASURE}")
        ivo.page.wait_for_selector('html[data-app="usable"]', state="attached")
        ivo.button("As planned").tap()
        expect(ivo.page.locator("#outbox")).to_contain_text("1 not sent: only on this phone")
        ivo.button("As planned").tap()
        assert ivo.task == MEASURE
        assert unsent(ivo) == 1
        switch["cut"] = False
        ivo.page.wait_for_selector("#main:not(:has(#task-form[data-busy]))")
        all_sent(ivo)
    assert ivo.task != MEASURE
    switch_off(server, crew)
    assert len(of_task(log_of(server, job), MEASURE)) == 1


def test_looking_again_without_network_says_that_nothing_is_known(
    server: Server, crew: Crew
) -> None:
    with server.opened() as services:
        job = prepare(services, until="hold.first_hole", holds=("first_hole",))
    server.start()
    ivo, lea = installer(crew, server, job), crew.person("Lea")
    lea.become_lead(server.lead_link)
    open_task(ivo, server, job, "hold.first_hole")
    with ivo.watch.cut_off():
        ivo.context.set_offline(True)
        ivo.link("Look again").tap()
        expect(ivo.page.locator("#outbox")).to_contain_text("No answer from the server")
        assert ivo.heading == "Hold: first hole"
    lea.open(f"{server.address}/jobs/{job.id}/phone/hold.first_hole")
    lea.tap(lea.button("Go on"))
    lea.all_sent()
    assert ivo.heading == "Hold: first hole"
    ivo.context.set_offline(False)
    ivo.tap(ivo.link("Look again"))
    assert ivo.task is not None
    assert ivo.task.startswith("fasteners.")
    switch_off(server, crew)


def test_a_full_phone_says_so_and_keeps_what_is_on_the_screen(server: Server, crew: Crew) -> None:
    job = prepared(server, until=MEASURE)
    server.start()
    ivo = installer(crew, server, job)
    open_task(ivo, server, job, MEASURE)
    fill_storage(ivo)
    with ivo.watch.cut_off():
        ivo.context.set_offline(True)
        ivo.put("above", "5 1/16")
        ivo.button("Record what I measured").tap()
        expect(ivo.main.get_by_role("alert")).to_contain_text("this phone's storage is full")
        assert ivo.task == MEASURE
        assert ivo.page.locator('[name="above"]').input_value() == "5 1/16"
        ivo.context.set_offline(False)
    ivo.tap(ivo.button("Record what I measured"))
    assert ivo.heading == "C1 is set"
    switch_off(server, crew)
    (entry,) = of_task(log_of(server, job), MEASURE)
    assert entry.body["values"]["above"]["typed"] == "5 1/16"


def fill_storage(person: Person) -> None:
    """To the last character, kept drawings thrown away before: they would make room."""
    person.page.wait_for_load_state("networkidle")
    person.page.evaluate(
        """() => {
          for (const name of Object.keys(localStorage)) {
            if (!/^holdtrue:(outbox|stored):/.test(name)) localStorage.removeItem(name);
          }
          let text = "", size = 1 << 22;
          while (size) {
            const more = text + "x".repeat(size);
            try { localStorage.setItem("filler", more); text = more; }
            catch { size >>= 1; }
          }
        }"""
    )


def test_an_ended_session_keeps_everything_until_somebody_signs_in_again(
    server: Server, crew: Crew
) -> None:
    job = prepared(server, until=MEASURE)
    server.start()
    ivo = installer(crew, server, job)
    open_task(ivo, server, job, MEASURE)
    ivo.context.clear_cookies()
    with ivo.watch.refused(401):
        measure(ivo)
        expect(ivo.page.locator("#outbox")).to_contain_text("1 not sent: only on this phone")
        ivo.page.locator("#outbox summary").tap()
        expect(ivo.page.locator("#outbox")).to_contain_text("sent after you sign in again")
        ivo.tap(ivo.link("Sign in again"))
    ivo.page.get_by_label("Code from your lead").fill(job.code)
    ivo.page.get_by_label("Your name").fill("Somebody Else")
    ivo.page.get_by_text("Inch fractions", exact=True).tap()
    ivo.tap(ivo.button("Join"))
    has_the_job(ivo)
    assert unsent(ivo) == 1, "another's entry is not sent under this name unasked"
    ivo.page.locator("#outbox summary").tap()
    ivo.button("Send them as Somebody Else").tap()
    all_sent(ivo)
    switch_off(server, crew)
    (entry,) = of_task(log_of(server, job), MEASURE)
    assert entry.body["values"]["above"]["typed"] == "5 1/16"


def test_a_refused_entry_is_parked_for_the_lead_and_settled(server: Server, crew: Crew) -> None:
    """Two phones, one seat: the second reading is refused, both are shown, nothing is lost."""
    job = prepared(server, until=MEASURE)
    server.start()
    lea = crew.person("Lea Leadbetter")
    lea.become_lead(server.lead_link)
    ivo, vera = two_at(server, crew, job, MEASURE)
    with vera.watch.refused(409), vera.watch.cut_off():
        vera.context.set_offline(True)
        measure(vera, "5 1/8")
        measure_as(ivo, "5 1/16")
        vera.context.set_offline(False)
        with_the_lead(vera)
    switch_off(server, crew)
    entries = log_of(server, job)
    (stored,) = of_task(entries, MEASURE)[:1]
    assert stored.body["values"]["above"]["typed"] == "5 1/16"
    (parked,) = [e for e in entries if e.type == "EntryParked"]
    told = json.dumps(dict(parked.body), default=dict)
    assert "5 1/8" in told
    assert "5 1/16" in told
    assert "Ivo Installer" in told
    server.start()
    lea.open(f"{server.address}/jobs/{job.id}")
    assert "5 1/8" in lea.main.inner_text()
    lea.page.get_by_label("How it was settled").fill("Ivo read it again: 5 1/16")
    lea.tap(lea.button("Settled"))
    assert "Settled by Lea Leadbetter: Ivo read it again: 5 1/16" in lea.main.inner_text()
    switch_off(server, crew)
    assert [e.type for e in log_of(server, job)].count("ParkedSettled") == 1


def measure_as(person: Person, above: str) -> None:
    measure(person, above)
    person.page.wait_for_selector(ALL_SENT, state="attached")


def test_a_plan_revised_meanwhile_reaches_the_phone_and_says_so(server: Server, crew: Crew) -> None:
    job = prepared(server, until="fasteners.mark:C1")
    server.start()
    ivo = installer(crew, server, job)
    open_task(ivo, server, job, "fasteners.mark:C1")
    with ivo.watch.refused(409), offline(ivo, then=with_the_lead):
        ivo.tap(ivo.button("Marked"))
        server.stop()
        with server.opened() as services:
            state = jobs.state_of(services, job.id)
            document = json.loads(json.dumps(state.document, default=dict))
            document["layout"]["height"]["at"] = "59 in"
            jobs.revise_plan(services, LEAD, job.id, document=document, key=services.ids.key())
        server.start()
    ivo.tap(ivo.page.locator("a.bar"))
    expect(ivo.main).to_contain_text("not released")
    switch_off(server, crew)
    entries = log_of(server, job)
    assert [e.type for e in entries][-2:] == ["PlanRevised", "EntryParked"]
    assert "shown.x_mm" in entries[-1].body["fields"], "where the mark stands on the wall"


@pytest.mark.parametrize("hours", [-2, 2])
def test_a_clock_two_hours_wrong_does_no_harm(server: Server, crew: Crew, hours: int) -> None:
    job = prepared(server, until=MEASURE)
    server.start()
    ivo = installer(crew, server, job)
    ivo.page.clock.install(time=datetime.now().astimezone() + timedelta(hours=hours))
    open_task(ivo, server, job, MEASURE)
    with offline(ivo):
        measure(ivo)
        ivo.tap(ivo.page.locator(".thumb .button-main"))
        ivo.do(ivo.task or "")
    switch_off(server, crew)
    first, second = log_of(server, job)[-2:]
    assert first.body["task"] == MEASURE
    for entry in (first, second):
        assert entry.tapped is not None
        off = datetime.fromisoformat(entry.tapped) - datetime.fromisoformat(entry.received)
        assert abs(off.total_seconds() / 3600 - hours) < 0.1
    assert (first.tapped or "") <= (second.tapped or "")


def test_back_and_forward_show_what_stands_and_record_nothing(server: Server, crew: Crew) -> None:
    job = prepared(server, until=MEASURE)
    server.start()
    ivo = installer(crew, server, job)
    open_task(ivo, server, job, MEASURE)
    with offline(ivo):
        measure(ivo)
        ivo.tap(ivo.page.locator(".thumb .button-main"))
        following = ivo.heading
        ivo.page.go_back()
        expect(ivo.page.locator("h1")).to_have_text("C1 is set")
        ivo.page.go_back()
        expect(ivo.page.locator("h1")).to_have_text("Measure C1")
        expect(ivo.main).to_contain_text("5 1/16")
        assert ivo.task is None, "no form that could be sent once more by accident"
        ivo.page.go_forward()
        ivo.page.go_forward()
        expect(ivo.page.locator("h1")).to_have_text(following)
        assert unsent(ivo) == 1
    switch_off(server, crew)
    assert len(of_task(log_of(server, job), MEASURE)) == 1


def test_a_reload_with_the_server_off_goes_on(server: Server, crew: Crew) -> None:
    """Loopback counts as secure: the service worker's copy stands in for the server."""
    job = prepared(server, until=MEASURE)
    server.start()
    ivo = installer(crew, server, job)
    open_task(ivo, server, job, MEASURE)
    ivo.page.evaluate("navigator.serviceWorker.ready.then(() => null)")
    ivo.page.reload()
    has_the_job(ivo)
    measure(ivo)
    all_sent(ivo)
    server.kill()
    with ivo.watch.cut_off():
        following = ivo.page.locator(".thumb .button-main")
        ivo.tap(following)
        task = ivo.task or ""
        ivo.do(task)
        heading = ivo.heading
        ivo.page.reload()
        ivo.page.wait_for_selector('html[data-app="ready"]', state="attached")
        assert ivo.heading == heading
        assert unsent(ivo) == 1
        ivo.go_to("Measure C1")
        assert ivo.task is None, "what the server had before stays done"
        server.start()
        all_sent(ivo)
    switch_off(server, crew)
    assert recorded(log_of(server, job))[-2:] == [MEASURE, unquote(task)]


def test_decimal_commas_are_read_as_they_are_typed(server: Server, crew: Crew) -> None:
    job = prepared(server, until=MEASURE)
    server.start()
    context = crew.browser.new_context(locale="de-DE", has_touch=True, is_mobile=True)
    context.set_default_timeout(30_000)
    ivo = Person(context, "Ivo Installer", crew.inspection)
    ivo.join(server.address, job.code, tape="Inch fractions", hand="Left hand")
    open_task(ivo, server, job, MEASURE)
    with offline(ivo):
        measure(ivo, "13,5 cm")
        assert ivo.heading == "C1 is set"
    context.close()
    switch_off(server, crew)
    (entry,) = of_task(log_of(server, job), MEASURE)
    assert entry.body["values"]["above"] == {"mm": 135.0, "typed": "13,5 cm"}


def test_two_taps_on_one_button_are_one_entry_and_not_the_next_screens(
    server: Server, crew: Crew
) -> None:
    job = prepared(server, until="fasteners.mark:C1")
    server.start()
    ivo = installer(crew, server, job)
    open_task(ivo, server, job, "fasteners.mark:C1")
    box = ivo.button("Marked").bounding_box()
    assert box is not None
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    ivo.page.touchscreen.tap(x, y)
    ivo.page.touchscreen.tap(x, y)
    ivo.page.wait_for_timeout(1000)
    all_sent(ivo)
    switch_off(server, crew)
    assert recorded(log_of(server, job))[-1] == "fasteners.mark:C1"


def test_undo_takes_back_what_the_server_has_not_seen_yet(server: Server, crew: Crew) -> None:
    job = prepared(server, until=MEASURE)
    server.start()
    ivo = installer(crew, server, job)
    open_task(ivo, server, job, MEASURE)
    planned = ivo.page.locator('[name="above"]').input_value()
    with offline(ivo):
        measure(ivo)
        ivo.tap(ivo.page.get_by_role("button", name=re.compile("^Undo")))
        assert ivo.task == MEASURE
        assert ivo.page.locator('[name="above"]').input_value() == planned
        measure(ivo, "5 1/8")
        assert unsent(ivo) == 3
    switch_off(server, crew)
    entries = log_of(server, job)
    assert [e.type for e in entries[-3:]] == ["TaskRecorded", "EntryUndone", "TaskRecorded"]
    assert entries[-2].body["of"] == entries[-3].seq
    assert entries[-1].body["values"]["above"]["typed"] == "5 1/8"


def test_a_stop_called_without_network_locks_the_seats_near_it_at_once(
    server: Server, crew: Crew
) -> None:
    job = prepared(server, until="fasteners.mark:C1")
    server.start()
    ivo = installer(crew, server, job)
    open_task(ivo, server, job, "fasteners.mark:C1")
    with offline(ivo):
        ivo.tap(ivo.link("Something is in the way"))
        ivo.tap(ivo.button("Cable suspected"))
        assert ivo.heading == "Stop at C1"
        assert "only on this phone" in ivo.main.inner_text()
        ivo.go_to("Mark C1")
        assert ivo.heading == "Stop at C1"
        ivo.go_to("Mark A1")
        assert ivo.task == "fasteners.mark:A1"
    switch_off(server, crew)
    assert [e.type for e in log_of(server, job)][-1] == "StopCalled"
