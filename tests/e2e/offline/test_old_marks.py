"""A mark that moves after it was pencilled: the old one is named, so that nobody drills it."""

from __future__ import annotations

from copy import deepcopy

from playwright.sync_api import expect

from holdtrue.core.readout import format_length
from holdtrue.domain.state import JobState
from holdtrue.service import jobs
from tests.domain.test_holes import ONE
from tests.e2e.offline.fieldwork import installer, offline, prepare
from tests.e2e.people import Crew
from tests.e2e.server import Server

RUB_OUT = "This mark has moved. Rub out the old one: it was at"


def place(state: JobState, seat: str) -> str:
    """Where a hole is pencilled, as a phone in inches says it."""
    mark, line = state.marked[seat], state.line_of(seat)
    x = format_length(abs(mark.seat_mm[0]), "in")
    above = format_length(mark.hole_y_mm - state.line_height_mm(line), "in")
    side = "left" if mark.seat_mm[0] < 0 else "right"
    return f"{RUB_OUT} {x} {side}, {above} above the level line."


def test_an_opened_hole_moves_its_neighbours_mark_and_the_old_one_is_rubbed_out(
    server: Server, crew: Crew
) -> None:
    """Planned 12.5 mm apart, marked 12 apart: clear of a pilot, not of an open hole."""
    document = deepcopy(ONE)
    for hanger, x in zip(document["panels"][0]["hangers"], (293.8, 306.3), strict=True):
        hanger["in"] = x
    with server.opened() as services:
        first, other = jobs.state_of(services, prepare(services, document=document).id).order
        away = prepare(services, document=document, until=f"fasteners.anchor:{first}")
        old = place(jobs.state_of(services, away.id), other)
    server.start()
    ivo = installer(crew, server, away)
    with offline(ivo):
        ivo.go_to(f"Mark {other}")
        assert not ivo.main.locator(".heed").count()
        ivo.go_to(f"Anchor {first}")
        ivo.tap(ivo.button("It is in"))
        ivo.go_to(f"Mark {other}")
        expect(ivo.main.locator(".heed")).to_have_text(old)
    # the server's own screen says the same, once
    ivo.page.reload()
    expect(ivo.main.locator(".heed")).to_have_text(old)
    with offline(ivo):
        ivo.tap(ivo.button("Marked"))
        ivo.go_to(f"Mark {other}")
        ivo.tap(ivo.link("Record again"))
        assert not ivo.main.locator(".heed").count()
