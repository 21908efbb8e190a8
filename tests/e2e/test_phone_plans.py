"""What a form shows as the plan: the phone's own numbers against the server's, on random jobs."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from random import Random
from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from holdtrue.domain.prefill import shown_plan
from holdtrue.domain.shims import shims_for_mm
from holdtrue.domain.state import JobState
from holdtrue.domain.subjects import panel_of_seat
from holdtrue.web.phone_places import corner_words, reach_words, span_words
from tests.e2e.phone_math import story
from tests.e2e.phone_math_hung import hung_story
from tests.e2e.phone_modules import open_modules

JOBS = 150
SAME_MM = 1e-6
AGREE_MM = 0.015
"""Both write 0.01 mm, and a coin may fall otherwise where the next digit is a 5."""
SEE = """
async (cases) => {
  const { opened } = await import("/static/js/core/problem.js");
  const { evolve } = await import("/static/js/core/events.js");
  const { seenOf } = await import("/static/js/app/effects.js");
  return cases.map(({ problem, events, tasks }) => {
    const state = events.reduce(evolve, opened(problem));
    return tasks.map((task) => seenOf(state, task));
  });
}
"""


@pytest.fixture(scope="module")
def modules(chromium: Browser) -> Iterator[Page]:
    with open_modules(chromium) as page:
        yield page


def asked_of(state: JobState) -> list[str]:
    names = state.form.seats
    pairs = [f"{a}-{b}" for a, b in pairwise(names) if panel_of_seat(a) == panel_of_seat(b)]
    return [
        *(f"fasteners.{kind}:{seat}" for seat in names for kind in ("mark", "anchor", "measure")),
        *(f"fasteners.{kind}:{pair}" for pair in pairs for kind in ("pair", "cross")),
        *(f"work.spacing:{pair}" for pair in pairs),
        *(f"panels.facing:{'|'.join(pair)}" for pair in neighbours(state)),
        *(f"level.{kind}:{line.name}" for line in state.lines for kind in ("line", "tape")),
        *("stand_back.corners", "stand_back.yes"),
    ]


def neighbours(state: JobState) -> list[tuple[str, str]]:
    names = [panel.name for panel in state.job.panels]
    return [(names[pair.p], names[pair.q]) for pair in state.plan.arrangement.neighbours]


def is_alike(one: str, other: str) -> bool:
    words = list(zip(one.split(" "), other.split(" "), strict=True))
    return all(a == b or abs(float(a) - float(b)) <= AGREE_MM for a, b in words)


def test_a_form_shows_the_same_plan_on_the_phone_as_on_the_server(modules: Page) -> None:
    random = Random(4_003)
    stories = [story(random) for _ in range(JOBS)]
    cases: list[dict[str, Any]] = [
        {"problem": one.problem, "events": one.events, "tasks": asked_of(one.states[-1])}
        for one in stories
    ]
    half_set = 0
    for one, case, seen in zip(stories, cases, modules.evaluate(SEE, cases), strict=True):
        state = one.states[-1]
        half_set += 0 < len(state.set_seats) < len(state.form.seats)
        for task, shown in zip(case["tasks"], seen, strict=True):
            assert is_alike(shown, shown_plan(state, task)), (task, one.document, one.events)
    assert half_set > JOBS / 3


SAY = """
async (cases) => {
  const { opened } = await import("/static/js/core/problem.js");
  const { evolve } = await import("/static/js/core/events.js");
  const { liveValue } = await import("/static/js/app/live.js");
  return cases.map(({ problem, events, unit, names }) => {
    const state = events.reduce(evolve, opened(problem));
    return names.map((name) => liveValue(state, name, unit)?.words);
  });
}
"""


def said_of(state: JobState, unit: str) -> dict[str, str]:
    return {
        "wall-span:": span_words(state, unit),
        **{f"wall-reach:{one.name}": reach_words(state, one, unit) for one in state.lines},
        **{f"wall-corners:{name}": words for name, words in corner_words(state, unit).items()},
    }


def test_where_the_work_goes_is_said_alike_on_the_phone_and_on_the_server(modules: Page) -> None:
    random = Random(4_007)
    stories = [story(random) for _ in range(JOBS)]
    units = [random.choice(("in", "mm", "cm")) for _ in stories]
    said = [said_of(one.states[-1], unit) for one, unit in zip(stories, units, strict=True)]
    cases: list[dict[str, Any]] = [
        {"problem": one.problem, "events": one.events, "unit": unit, "names": list(words)}
        for one, unit, words in zip(stories, units, said, strict=True)
    ]
    moved = sum(event["type"] == "reference" for one in stories for event in one.events)
    assert moved > JOBS / 6
    shown = modules.evaluate(SAY, cases)
    apart = [
        (name, phone, words)
        for one, own in zip(said, shown, strict=True)
        for (name, words), phone in zip(one.items(), own, strict=True)
        if phone != words
    ]
    assert apart == []


SHIM = """
async (cases) => {
  const { opened } = await import("/static/js/core/problem.js");
  const { evolve } = await import("/static/js/core/events.js");
  const { shimsForMm } = await import("/static/js/core/shims.js");
  return cases.map(({ problem, events }) => {
    const state = events.reduce(evolve, opened(problem));
    return state.form.seats.map((seat) => shimsForMm(state, seat));
  });
}
"""


def test_shims_are_as_thick_on_the_phone_as_on_the_server(modules: Page) -> None:
    random = Random(4_009)
    stories = [hung_story(random) for _ in range(JOBS * 3)]
    cases: list[dict[str, Any]] = [{"problem": s.problem, "events": s.events} for s in stories]
    other = laid = 0
    for one, phone in zip(stories, modules.evaluate(SHIM, cases), strict=True):
        state = one.states[-1]
        for seat, thick in zip(state.form.seats, phone, strict=True):
            panel = next(p for p in state.job.panels if p.name == panel_of_seat(seat))
            is_lifted = f"panels.lift:{panel.name}" in state.records
            expected = None if is_lifted or not panel.shims_mm else shims_for_mm(state, seat)
            assert (thick is None) == (expected is None), (seat, one.document, one.events)
            if expected is not None:
                laid += 1
                other += abs(thick - expected) > SAME_MM
    assert laid > JOBS
    assert other == 0
