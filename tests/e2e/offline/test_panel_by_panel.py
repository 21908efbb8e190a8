"""Panels that hang while others are driven, without network: the marks that are left answer to what
is read on them, as with the server.
"""

from __future__ import annotations

from playwright.sync_api import expect

from tests.e2e.offline.fieldwork import installer, log_of, offline, prepare, switch_off
from tests.e2e.offline.test_survey_differs import assert_as_online
from tests.e2e.offline.test_whole_install import assert_marks_as_shown, work_and_read
from tests.e2e.people import Crew
from tests.e2e.server import Server

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
        shown = work_and_read(ivo, {LEVEL: LOW, FACING: OPEN})
        assert ivo.main.get_by_text("tasks are done").count() == 1
    switch_off(server, crew)
    assert_as_online(server, away, at_home, {LEVEL, FACING, "fasteners.measure:C2"}, shown)
    assert_marks_as_shown(shown, log_of(server, away))


def test_a_reading_on_a_hung_panel_says_which_marks_move_without_network(
    server: Server, crew: Crew
) -> None:
    with server.opened() as services:
        job = prepare(services, until=LEVEL, way="panel_by_panel")
    server.start()
    ivo = installer(crew, server, job)
    with offline(ivo):
        ivo.do(LEVEL, {"low": "left", "by": "1/16"})
        expect(ivo.main).to_contain_text("Outside tolerance: trim C.")
        expect(ivo.main.locator(".moves li").first).to_contain_text("hole now")
        # the other panels are driven meanwhile; what to touch is the server's to say
        ivo.go_to("Trim C")
        expect(ivo.main).to_contain_text("comes with the server's answer")
        assert not ivo.button("Done as advised").count()
        ivo.go_to("Mark B1")
        assert ivo.task == "fasteners.mark:B1"
        here = ivo.main.locator(".number-row").all_inner_texts()
        ivo.go_to("Secure C")
        expect(ivo.main).to_contain_text("Send first: how what is outside can be trimmed")
    ivo.go_to("Mark B1")
    assert ivo.main.locator(".number-row").all_inner_texts() == here
    ivo.go_to("Trim C")
    assert ivo.button("Done as advised").count()
