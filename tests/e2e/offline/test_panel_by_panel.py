"""Panels that hang while others are driven, without network: the marks that are left answer to what
is read on them, as with the server.
"""

from __future__ import annotations

from playwright.sync_api import expect

from holdtrue.service import installers, jobs
from holdtrue.service.services import Actor, Services
from holdtrue.store.port import Entry
from tests.e2e.offline.fieldwork import (
    Job,
    installer,
    log_of,
    log_without_refusals,
    offline,
    prepare,
    recorded,
    switch_off,
)
from tests.e2e.offline.test_survey_differs import assert_as_online, is_measured, typed
from tests.e2e.offline.test_whole_install import (
    assert_marks_as_shown,
    assert_same,
    come_out_high,
    work_and_read,
)
from tests.e2e.people import Crew
from tests.e2e.server import Server
from tests.walking import do, walk

LEVEL, FACING = "panels.level:C", "panels.facing:B|C"
LOW = {"low": "left", "by": "1/32"}
"""C hangs a little low on its left: inside, but the next panels answer to it."""
OPEN = {"first": "2 17/32", "second": "2 9/16", "ahead": "q", "by": "1/32"}


def test_a_job_panel_by_panel_goes_on_without_network_to_the_end(
    server: Server, crew: Crew
) -> None:
    with server.opened() as services:
        away, at_home = (prepare(services, way="panel_by_panel") for _ in range(2))
    server.start()
    ivo = installer(crew, server, away)
    with offline(ivo):
        # with every seat on its mark these are inside: how to trim is the server's to say
        shown = work_and_read(ivo, {LEVEL: LOW, FACING: OPEN}, high=None)
        assert ivo.main.get_by_text("tasks are done").count() == 1
    switch_off(server, crew)
    assert_as_online(server, away, at_home, {LEVEL, FACING}, shown)
    assert_marks_as_shown(shown, log_of(server, away))


def test_a_reading_on_a_hung_panel_says_which_marks_move_without_network(
    server: Server, crew: Crew
) -> None:
    with server.opened() as services:
        job = prepare(services, until=LEVEL, way="panel_by_panel")
    server.start()
    ivo = installer(crew, server, job)
    with offline(ivo):
        ivo.do(LEVEL, {"low": "left", "by": "1/8"})
        expect(ivo.main).to_contain_text("Outside tolerance: trim C.")
        expect(ivo.main.locator(".moves li").first).to_contain_text("hole now")
        # the other panels are driven meanwhile; what to touch is the server's to say
        ivo.go_to("Edge of C")
        ivo.do("panels.edge:C")
        ivo.go_to("Trim C")
        expect(ivo.main.locator(".notice")).to_contain_text("it comes when this phone is connected")
        expect(ivo.main.locator(".notice")).to_contain_text("trim by hand and type in below")
        assert not ivo.button("Done as advised").count()
        expect(ivo.button("Record what I did")).to_be_visible()
        assert not ivo.main.get_by_role("link", name="Read out").count()
        ready = ivo.main.locator(".notice").inner_text()
        ivo.tap(ivo.link("Do what is ready"))
        assert ivo.task == "fasteners.mark:B2"
        assert "go on (next: Mark B2)" in ready
        ivo.go_to("Mark B1")
        assert ivo.task == "fasteners.mark:B1"
        here = ivo.main.locator(".number-row").all_inner_texts()
        ivo.go_to("Secure C")
        expect(ivo.main).to_contain_text("Send first: how what is outside can be trimmed")
    ivo.go_to("Mark B1")
    assert ivo.main.locator(".number-row").all_inner_texts() == here
    ivo.go_to("Trim C")
    # it comes by itself, also while somebody looks at the task
    expect(ivo.button("Done as advised")).to_be_visible()
    expect(ivo.main).not_to_contain_text("No advice yet")


STICKS = ("fasteners.stick:C", "fasteners.stick:D")


def test_story_sticks_are_taken_up_without_network(server: Server, crew: Crew) -> None:
    """Each panel's first seat is set, then the others are marked from it."""
    first = "fasteners.mark:C1"
    with server.opened() as services:
        away, at_home = prepare(services), prepare(services)
        who = installer_of(services, at_home)
        walk(services, who, at_home.id, until=first)
        for task in STICKS:
            do(services, who, at_home.id, task)
    server.start()
    ivo = installer(crew, server, away)
    with offline(ivo):
        ivo.work(until=first)
        for task in STICKS:
            ivo.go_to(f"Story stick {task[-1]}")
            expect(ivo.main).to_contain_text(f"Set {task[-1]}1 first")
            ivo.tap(ivo.button("Use it for this panel"))
        ivo.go_to("Mark C2")
        expect(ivo.main).to_contain_text("First finish: Measure C1")
        ivo.go_to("Mark C1")
        ivo.work(until="fasteners.measure:C1")
        come_out_high(ivo)
        ivo.work(until="fasteners.pair:C1-C2")
        expect(ivo.main).to_contain_text("C1 is set: measure from where the ring bears.")
        ivo.go_to("Mark B1")
        # no stick is offered once its panel is pencilled
        ivo.tap(ivo.button("Marked"))
        ivo.go_to("Mark B2")
        ivo.tap(ivo.page.locator("a.bar"))
        assert not ivo.page.get_by_text("Story stick B", exact=True).count()
        ivo.go_to("Check marks C1 to C2")
        shown = work_and_read(ivo, {})
        assert ivo.main.get_by_text("tasks are done").count() == 1
    switch_off(server, crew)
    entries = log_without_refusals(server, away)
    readings = {str(e.body["task"]): typed(e.body["values"]) for e in entries if is_measured(e)}
    assert set(readings) == {"fasteners.measure:C1", "fasteners.measure:C2"}
    with server.opened() as services:
        for task in recorded(entries)[len(recorded(log(services, at_home))) :]:
            do(services, who, at_home.id, task, readings.get(task))
        assert_same(entries, log(services, at_home))
    seen_before = ("fasteners.mark:C1", "fasteners.mark:C2")
    rest = tuple(e for e in entries if e.body.get("task") not in seen_before)
    assert_marks_as_shown(shown, rest)


def installer_of(services: Services, job: Job) -> Actor:
    return installers.join(
        services, code=job.code, name="Ivo", unit="in", hand="left", key=services.ids.key()
    )


def log(services: Services, job: Job) -> tuple[Entry, ...]:
    return services.store.read(jobs.stream_of(job.id))
