"""A reload with the server off: the phone goes on from what it knew last, and says of when that is.

Loopback counts as secure: the service worker's copy stands in for the server.
"""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import expect

from tests.e2e.offline.fieldwork import (
    READY,
    Job,
    all_sent,
    has_the_job,
    installer,
    log_of,
    of_task,
    open_task,
    prepared,
    switch_off,
)
from tests.e2e.offline.stranger import stranger
from tests.e2e.people import Crew, Person
from tests.e2e.server import Server

MEASURE = "fasteners.measure:C1"
KEPT_MS = 2_000
"""Long enough for what was heard of to be written into the copy."""


def two(server: Server, crew: Crew, job: Job, task: str) -> tuple[Person, Person]:
    """Ivo, whose phone has a worker and a copy by now, and Vera; both see a task."""
    ivo, vera = installer(crew, server, job), installer(crew, server, job, "Vera Vise")
    open_task(ivo, server, job, task)
    has_a_copy(ivo)
    open_task(vera, server, job, task)
    return ivo, vera


def has_a_copy(person: Person) -> None:
    person.page.evaluate("navigator.serviceWorker.ready.then(() => null)")
    person.page.reload()
    has_the_job(person)


def reload_without_server(server: Server, person: Person) -> None:
    server.kill()
    person.page.reload()
    person.page.wait_for_selector(READY, state="attached")


def reach(person: Person) -> str:
    return person.page.locator("#reach").inner_text()


# -- what others did -------------------------------------------------------------------------------


def test_anothers_stop_stands_after_a_reload_without_the_server(server: Server, crew: Crew) -> None:
    job = prepared(server, until="fasteners.mark:C1")
    server.start()
    ivo, vera = two(server, crew, job, "fasteners.mark:C1")
    vera.tap(vera.link("Something is in the way"))
    vera.tap(vera.button("Cable suspected"))
    vera.all_sent()
    ivo.page.locator(".stop-sign, .bar-stop").first.wait_for()
    with ivo.watch.cut_off(), vera.watch.cut_off():
        reload_without_server(server, ivo)
        assert ivo.heading == "Stop at C1"
        ivo.go_to("Mark A1")
        assert ivo.page.locator(".bar-stop").inner_text() == "Stop at C1: cable"
        assert re.fullmatch(r"Copy (of|from before) \d\d:\d\d, server not reached", reach(ivo))
        ivo.look()
        server.start()
        expect(ivo.page.locator("#reach")).to_be_hidden(timeout=20_000)
    switch_off(server, crew)


def test_a_stop_stands_even_when_the_copy_could_not_be_written(server: Server, crew: Crew) -> None:
    job = prepared(server, until="fasteners.mark:C1")
    server.start()
    ivo, vera = two(server, crew, job, "fasteners.mark:C1")
    ivo.page.evaluate("Cache.prototype.put = async () => { throw new Error('no room'); }; null")
    vera.tap(vera.link("Something is in the way"))
    vera.tap(vera.button("Pipe suspected"))
    vera.all_sent()
    ivo.page.locator(".stop-sign, .bar-stop").first.wait_for()
    ivo.page.wait_for_timeout(KEPT_MS)
    with ivo.watch.cut_off(), vera.watch.cut_off():
        reload_without_server(server, ivo)
        assert ivo.heading == "Stop at C1"
        assert ivo.page.locator(".stop-what").inner_text() == "Pipe suspected"
        assert reach(ivo).startswith("Copy from before ")
        server.start()
        expect(ivo.page.locator("#reach")).to_be_hidden(timeout=20_000)
        assert ivo.heading == "Stop at C1"
    switch_off(server, crew)


def test_a_seat_somebody_set_and_the_marks_it_moved_outlast_a_reload(
    server: Server, crew: Crew
) -> None:
    job = prepared(server, until=MEASURE)
    server.start()
    ivo, vera = two(server, crew, job, MEASURE)
    ivo.go_to("Mark D1")
    planned = ivo.page.locator(".number-hand").all_inner_texts()
    vera.put("above", "5 3/16")
    vera.tap(vera.button("Record what I measured"))
    vera.all_sent()
    ivo.main.get_by_role("alert").wait_for(timeout=20_000)
    moved = ivo.page.locator(".number-hand").all_inner_texts()
    assert moved != planned
    ivo.page.wait_for_timeout(KEPT_MS)
    with ivo.watch.cut_off(), vera.watch.cut_off():
        reload_without_server(server, ivo)
        assert reach(ivo).startswith("Copy of ")
        assert ivo.task == "fasteners.mark:D1"
        assert ivo.page.locator(".number-hand").all_inner_texts() == moved
        ivo.go_to("Measure C1")
        assert ivo.task is None, "set by Vera"
        assert "Vera Vise" in ivo.main.inner_text()
        server.start()
        expect(ivo.page.locator("#reach")).to_be_hidden(timeout=20_000)
    switch_off(server, crew)


def test_with_nothing_to_send_a_quiet_line_says_since_when_the_server_is_gone(
    server: Server, crew: Crew
) -> None:
    job = prepared(server, until=MEASURE)
    server.start()
    ivo = installer(crew, server, job)
    open_task(ivo, server, job, MEASURE)
    expect(ivo.page.locator("#reach")).to_be_hidden()
    with ivo.watch.cut_off():
        server.kill()
        expect(ivo.page.locator("#reach")).to_have_text(
            re.compile(r"Server not reached since \d\d:\d\d"), timeout=20_000
        )
        ivo.look()
        server.start()
        expect(ivo.page.locator("#reach")).to_be_hidden(timeout=20_000)
    switch_off(server, crew)


# -- somebody else answers -------------------------------------------------------------------------


@pytest.mark.parametrize("status", [200, 403, 404, 429, 502])
def test_a_strangers_page_neither_shows_in_the_jobs_place_nor_takes_the_copys(
    server: Server, crew: Crew, status: int
) -> None:
    job = prepared(server, until=MEASURE)
    server.start()
    ivo = installer(crew, server, job)
    open_task(ivo, server, job, MEASURE)
    has_a_copy(ivo)
    server.kill()
    with ivo.watch.cut_off(), ivo.watch.refused(status) if status >= 400 else ivo.watch.cut_off():
        with stranger(server.address, status=status) as asked:
            ivo.page.reload()
            ivo.page.wait_for_selector(READY, state="attached")
            assert ivo.task == MEASURE
            assert "server not reached" in reach(ivo)
            ivo.tap(ivo.button("As planned"))
            ivo.page.wait_for_timeout(1_500)
            expect(ivo.outbox).to_contain_text("1 not sent: only on this phone")
            assert any(line.startswith("POST") for line in asked), asked
        ivo.page.reload()
        ivo.page.wait_for_selector(READY, state="attached")
        server.start()
        all_sent(ivo)
    switch_off(server, crew)
    assert len(of_task(log_of(server, job), MEASURE)) == 1


def test_a_portal_that_leads_elsewhere_does_not_take_the_jobs_place(
    server: Server, crew: Crew
) -> None:
    job = prepared(server, until=MEASURE)
    server.start()
    ivo = installer(crew, server, job)
    open_task(ivo, server, job, MEASURE)
    has_a_copy(ivo)
    server.kill()
    away = {"Location": "http://portal.invalid/login"}
    with ivo.watch.cut_off(), stranger(server.address, status=302, headers=away):
        ivo.page.reload()
        ivo.page.wait_for_selector(READY, state="attached")
        assert ivo.task == MEASURE
        ivo.page.goto("about:blank")
    server.start()
    switch_off(server, crew)


def test_our_own_redirects_lead_where_they_did(server: Server, crew: Crew) -> None:
    """The worker follows them itself: to the next task, and to the sign-in when that has ended."""
    job = prepared(server, until=MEASURE)
    server.start()
    ivo = installer(crew, server, job)
    has_a_copy(ivo)
    ivo.page.goto(f"{server.address}/jobs/{job.id}/phone")
    has_the_job(ivo)
    assert ivo.task == MEASURE
    assert ivo.page.url.endswith("/phone/fasteners.measure:C1")
    ivo.page.goto("about:blank")
    ivo.context.clear_cookies()
    ivo.page.goto(f"{server.address}/jobs/{job.id}/phone")
    assert ivo.page.url == f"{server.address}/"
    assert ivo.page.get_by_label("Code from your lead").is_visible()
    switch_off(server, crew)
