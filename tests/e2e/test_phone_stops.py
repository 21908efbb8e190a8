"""What a stop locks: the phone's own rule against the server's, on random layouts."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise
from math import cos, sin, tau
from random import Random
from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from holdtrue.core.sources import STOP_REACH_MM
from holdtrue.domain.state import JobState, Stop
from holdtrue.domain.stops import locked_seats, stop_at
from tests.e2e.phone_math import story
from tests.e2e.phone_modules import open_modules

JOBS = 200
LOCK = """
async (cases) => {
  const { opened } = await import("/static/js/core/problem.js");
  const { evolve } = await import("/static/js/core/events.js");
  const { lockedSeats, stopAt } = await import("/static/js/app/stops.js");
  return cases.map(({ problem, events, stops, asked }) => {
    const state = events.reduce(evolve, opened(problem));
    return {
      locked: stops.map((stop) => lockedSeats(stop, state)),
      stopped: asked.map((seats) => stopAt(stops, state, seats)?.seq ?? null),
    };
  });
}
"""


@pytest.fixture(scope="module")
def modules(chromium: Browser) -> Iterator[Page]:
    with open_modules(chromium) as page:
        yield page


def a_stop(random: Random, state: JobState, seq: int) -> Stop:
    """At a seat's hole, where it was before the plan moved, or just at the edge of its reach."""
    seat = random.choice(state.current.seats)
    far, way = random.choice((0, 0, 40, 290, STOP_REACH_MM, 310)), random.random() * tau
    at = (seat.x_mm + far * cos(way), seat.hole_y_mm + far * sin(way))
    return Stop(seq=seq, seat=seat.seat, what="cable", note="", who="", when="", at_mm=at)


def asked_of(state: JobState) -> list[list[str]]:
    """Every seat, and neighbours as a check of marks is about them."""
    names = list(state.form.seats)
    return [*([name] for name in names), *(list(pair) for pair in pairwise(names))]


def test_a_stop_locks_the_same_seats_on_the_phone_as_on_the_server(modules: Page) -> None:
    random = Random(4_002)
    stories = [story(random) for _ in range(JOBS)]
    cases: list[dict[str, Any]] = []
    expected: list[dict[str, Any]] = []
    for told in stories:
        state = told.states[-1]
        stops = tuple(a_stop(random, state, seq) for seq in (1, 2)[: random.choice((1, 2))])
        state = replace(state, stops=stops)
        asked = asked_of(state)
        cases.append(
            {
                "problem": told.problem,
                "events": told.events,
                "stops": [{"seq": s.seq, "seat": s.seat, "at_mm": s.at_mm} for s in stops],
                "asked": asked,
            }
        )
        found = [stop_at(state, seats) for seats in asked]
        expected.append(
            {
                "locked": [list(locked_seats(state, stop)) for stop in stops],
                "stopped": [stop.seq if stop else None for stop in found],
            }
        )

    assert modules.evaluate(LOCK, cases) == expected
    sizes = {len(seats) for one in expected for seats in one["locked"]}
    assert {1, 2, 3} <= sizes
    assert any(None in one["stopped"] for one in expected)
