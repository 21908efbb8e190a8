"""Holes given up, kept and drilled out again without network, as the server has it afterwards."""

from __future__ import annotations

from math import dist

import pytest
from playwright.sync_api import expect

from holdtrue.core.sources_trim import APART_FULL_MM
from holdtrue.domain import events
from holdtrue.service import jobs
from tests.e2e.offline.fieldwork import (
    Job,
    installer,
    log_of,
    offline,
    open_task,
    prepared,
    switch_off,
)
from tests.e2e.people import Crew, Person
from tests.e2e.server import Server

MEASURE = "fasteners.measure:C1"


def in_the_way(person: Person, answer: str) -> None:
    person.tap(person.link("Something is in the way"))
    person.tap(person.main.get_by_role("button", name=answer))


def said(person: Person) -> list[str]:
    """Title, verdict and lines of a result, without what only the server works out."""
    notice = person.main.locator(".notice").first
    lines = [person.heading, *notice.inner_text().splitlines()]
    return [line for line in lines if line and not line.startswith(("Chance", "The lead must"))]


def as_the_server_says(person: Person, server: Server, job: Job) -> list[str]:
    """The result screen of the last entry, from the server itself."""
    with server.opened() as services:
        seq = len(services.store.read(jobs.stream_of(job.id)))
    server.start()
    person.open(f"{server.address}/jobs/{job.id}/phone/result/{seq}")
    return said(person)


@pytest.mark.parametrize(
    ("answer", "verdict", "task"),
    [
        ("Hole spent", "Mark C1 again.", "fasteners.mark:C1"),
        (
            "New fastener, same hole",
            "Set it in the same hole, then measure it.",
            "fasteners.anchor:C1",
        ),
    ],
)
def test_a_hole_given_up_or_kept_without_network_reads_as_on_the_server(
    server: Server, crew: Crew, answer: str, verdict: str, task: str
) -> None:
    job = prepared(server, until=MEASURE)
    server.start()
    ivo = installer(crew, server, job)
    open_task(ivo, server, job, MEASURE)
    with offline(ivo):
        in_the_way(ivo, answer)
        assert verdict in said(ivo)
        here = said(ivo)
        ivo.go_to({"mark": "Mark C1", "anchor": "Anchor C1"}[task[10:].partition(":")[0]])
        assert ivo.task == task
    switch_off(server, crew)
    assert log_of(server, job)[-1].type == events.SEAT_FREED
    assert as_the_server_says(ivo, server, job) == here


def test_a_wrong_hole_is_said_where_it_is_and_the_mark_keeps_off_it(
    server: Server, crew: Crew
) -> None:
    job = prepared(server, until=MEASURE)
    server.start()
    ivo = installer(crew, server, job)
    open_task(ivo, server, job, MEASURE)
    with offline(ivo):
        ivo.tap(ivo.link("Something is in the way"))
        ivo.page.locator(".hole-place summary").tap()
        ivo.page.locator('[name="hole.x"]').fill("2")
        ivo.put("hole.x.side", "left")
        # half a place is none: it is asked for, and what was typed stays
        ivo.button("Hole in the wrong place").tap()
        expect(ivo.main.locator(".error")).to_contain_text("type a length")
        ivo.page.locator('[name="hole.above"]').fill("5 1/4")
        expect(ivo.main.locator(".hole-place .echo").last).to_contain_text("133.4 mm")
        ivo.tap(ivo.button("Hole in the wrong place"))
        here = said(ivo)
    switch_off(server, crew)
    with server.opened() as services:
        state = jobs.state_of(services, job.id)
    (old,) = state.old_holes
    line = state.line_height_mm(state.line_of("C1"))
    assert old.at_mm == pytest.approx((-50.8, line + 133.35))
    seat = state.seat("C1")
    assert dist((seat.x_mm, seat.hole_y_mm), old.at_mm) >= APART_FULL_MM - 1e-6
    assert as_the_server_says(ivo, server, job) == here


def test_a_doubtful_reading_is_taken_back_and_read_again_without_network(
    server: Server, crew: Crew
) -> None:
    job = prepared(server, until=MEASURE)
    server.start()
    ivo = installer(crew, server, job)
    open_task(ivo, server, job, MEASURE)
    with offline(ivo):
        ivo.do(MEASURE)
        in_the_way(ivo, "Reading lost or doubtful")
        assert "Its fastener stays. Measure it again." in said(ivo)
        ivo.tap(ivo.link("Measure C1"))
        ivo.do(MEASURE, {"above": "5 1/16"})
    switch_off(server, crew)
    with server.opened() as services:
        state = jobs.state_of(services, job.id)
    assert state.old_holes == ()
    assert state.set_seats["C1"].is_measured


def test_a_hanger_to_be_measured_again_waits_for_the_server_and_so_does_what_follows(
    server: Server, crew: Crew
) -> None:
    job = prepared(server, until=MEASURE)
    server.start()
    ivo = installer(crew, server, job)
    open_task(ivo, server, job, MEASURE)
    with offline(ivo):
        in_the_way(ivo, "Hanger or fastener moved")
        ivo.go_to("Mark B2")
        expect(ivo.main).to_contain_text("Send first: the hanger is to be measured again")
    open_task(ivo, server, job, "work.hanger:C1")
    ivo.do("work.hanger:C1")
    ivo.all_sent()
    open_task(ivo, server, job, MEASURE)
    assert ivo.task == MEASURE
    switch_off(server, crew)


def test_wood_where_hollow_was_planned_says_the_same_here_and_there(
    server: Server, crew: Crew
) -> None:
    """The screw's drop is 11/32 in more upwards than the hook's: the seat stays, the hole moves."""
    job = prepared(server, until="fasteners.pilot:C1")
    server.start()
    ivo = installer(crew, server, job)
    open_task(ivo, server, job, "fasteners.pilot:C1")
    with offline(ivo):
        ivo.do("fasteners.pilot:C1", {"met": "wood"})
        here = said(ivo)
        assert here[0] == "C1: wood screw #10"
        assert any(line.startswith("The old pilot is ") for line in here)
        assert "The seat stays." in here
    switch_off(server, crew)
    assert as_the_server_says(ivo, server, job) == here
