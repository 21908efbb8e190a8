"""Readings by level, and on hung panels of works that follow a slope: the phone as the server."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from random import Random
from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from holdtrue.domain import events
from holdtrue.domain.fold import evolve
from holdtrue.domain.prefill import is_as_shown, planned_values
from holdtrue.domain.problem import problem
from holdtrue.domain.slots import seats_by_panel, slots_of
from holdtrue.domain.state import JobState
from holdtrue.domain.trim import verdicts
from holdtrue.domain.waiting import pair_is_true, pair_off_mm
from holdtrue.web.phone_level import level_words
from tests.e2e.phone_math import Told, story
from tests.e2e.phone_modules import open_modules

Values = dict[str, Any]
AGREE_MM = 1e-9
ASK = """
async (jobs) => {
  const { opened } = await import("/static/js/core/problem.js");
  const { evolve } = await import("/static/js/core/events.js");
  const { seenOf } = await import("/static/js/app/effects.js");
  const { hungEvent } = await import("/static/js/app/hung_events.js");
  const hung = await import("/static/js/app/hung.js");
  const level = await import("/static/js/app/level.js");
  return jobs.map(({ problem, check, tolerance, readings, pairs }) => {
    const event = { type: "level", error_mm_per_m: level.levelErrorMmPerM(check),
      is_laser: check.instrument === "laser" };
    const math = evolve(opened(problem), event);
    return {
      readings: readings.map((reading) => {
        const { task, values } = reading;
        const subject = task.slice(task.indexOf(":") + 1);
        return {
          seen: seenOf(math, task),
          said: subject.includes("|") ? "" : level.levelSaid(math, subject, problem.unit),
          verdicts: hung.verdicts({ tolerance }, read(math, reading, tolerance),
            { task, flushMm: values.flush?.mm ?? 0 })
            .map(({ kind, valueMm, isInside }) => [kind, valueMm, isInside]),
        };
      }),
      pairs: pairs.map(({ subject, values }) => {
        const planned = hung.plannedApart(math, subject, true);
        return {
          seen: seenOf(math, `fasteners.pair:${subject}`), cross: crossSeen(math, subject),
          said: level.levelSaid(math, subject, problem.unit),
          off: hung.pairOff(values, planned), isTrue: hung.pairIsTrue(values, planned),
        };
      }),
    };
    function read(math, { task, values, plannedMm, isTapped }, tolerance) {
      const fields = { outcome: isTapped ? "as_planned" : "measured" };
      const entry = { task, planned: plannedMm, fields };
      return evolve(math, hungEvent({ tolerance, tasks: [] }, math, entry, values));
    }
    function crossSeen(math, subject) { return seenOf(math, `fasteners.cross:${subject}`); }
  });
}
"""


@pytest.fixture(scope="module")
def modules(chromium: Browser) -> Iterator[Page]:
    with open_modules(chromium) as page:
        yield page


def recorded(state: JobState, task: str, outcome: str, values: Mapping[str, Any]) -> JobState:
    body: Values = {"task": task, "outcome": outcome, "values": values}
    body |= {"planned": planned_values(state, task), "revision": state.revision}
    return evolve(state, Told(seq=state.seq + 1, type=events.TASK_RECORDED, body=body))


def a_check(random: Random) -> Values:
    return {
        "instrument": random.choice(("spirit", "laser")),
        "over": {"mm": random.choice((600.0, 609.6, 1200.0, 3000.0))},
        "miss": {"mm": random.choice((0.0, 0.5, 1.5875, random.uniform(0, 6)))},
        "higher": random.choice(("high", "low", "same")),
    }


def a_reading(random: Random, state: JobState, task: str) -> Values:
    """A level near what it should show, as often as not just at the tolerance."""
    planned = planned_values(state, task)
    outcome = random.choice(("measured", "measured", "measured", "as_planned"))
    if task.startswith("panels.facing"):
        return a_facing(random, planned, task, outcome)
    side, off = random.choice(("left", "right", "level")), random.uniform(0, 6)
    values = planned if outcome == "as_planned" else {"low": side, "by": {"mm": off}}
    if outcome == "measured" and side == "level":
        values = {"low": "level"}
    return {
        "task": task,
        "values": values,
        "plannedMm": {"by": planned["by"]["mm"]},
        "isTapped": outcome == "as_planned",
    }


def a_facing(random: Random, planned: Values, task: str, outcome: str) -> Values:
    """Gaps and a step near the plan; on a slope the two ends may be planned unlike."""
    off = [random.choice((0.0, random.uniform(-3, 3))) for _ in range(2)]
    values = {
        "first": {"mm": planned["first"]["mm"] + off[0]},
        "second": {"mm": planned["second"]["mm"] + off[1]},
        "ahead": random.choice(("as_planned", "p", "q")),
        "by": {"mm": random.uniform(0, 3)},
        "flush": {"mm": random.uniform(0, 3)},
    }
    return {
        "task": task,
        "values": planned if outcome == "as_planned" else values,
        "plannedMm": {name: planned[name]["mm"] for name in ("first", "second", "by", "flush")},
        "isTapped": outcome == "as_planned",
    }


def a_pair(random: Random, state: JobState, subject: str) -> Values:
    planned = planned_values(state, f"fasteners.pair:{subject}")
    side = random.choice(("left", "right"))
    values = {
        "spacing": {"mm": planned["spacing"]["mm"] + random.uniform(-1.5, 1.5)},
        "higher": side,
        "by": {"mm": abs(planned["by"]["mm"] + random.uniform(-2, 2))},
    }
    return {"subject": subject, "values": values}


def test_the_phone_judges_readings_by_level_and_on_slopes_as_the_server_does(modules: Page) -> None:
    random = Random(4_004)
    told: list[Values] = []
    states: list[JobState] = []
    while len(states) < 400:
        state = story(random).states[-1]
        if state.hang is not None:
            continue  # the server alone works that out anew: the phone says "send first"
        check = a_check(random)
        told.append({"problem": problem(state), "check": check})
        state = recorded(state, "level.check", "done", check)
        states.append(state)
        slots = [
            slot
            for slot in slots_of(state, seats_by_panel(state))
            if slot.kind.scope in ("panel", "pair", "facing")
        ]
        told[-1]["tolerance"] = {
            kind: getattr(state.job.tolerance, kind)
            for kind in ("level", "gap", "taper", "step", "flush")
        }
        told[-1]["readings"] = [
            a_reading(random, state, slot.id)
            for slot in slots
            if slot.kind.name in ("panels.level", "panels.facing")
        ]
        told[-1]["pairs"] = [
            a_pair(random, state, slot.subject)
            for slot in slots
            if slot.kind.name == "fasteners.pair"
        ]
    seen = dict.fromkeys(("inside", "outside", "on a slope", "true", "not true", "said"), 0)
    for job, state, phone in zip(told, states, modules.evaluate(ASK, told), strict=True):
        compare_levels(job, state, phone, seen)
        compare_pairs(job, state, phone, seen)
    assert min(seen.values()) > 150, seen


def compare_levels(job: Values, state: JobState, phone: Values, seen: dict[str, int]) -> None:
    for asked, own in zip(job["readings"], phone["readings"], strict=True):
        outcome = "as_planned" if asked["isTapped"] else "measured"
        after = recorded(state, asked["task"], outcome, asked["values"])
        where = asked["task"].partition(":")[2]
        server = [v for v in verdicts(after) if v.where == where]
        for one, (kind, value_mm, is_inside) in zip(server, own["verdicts"], strict=True):
            assert (kind, is_inside) == (one.kind, one.is_inside), asked
            assert value_mm == pytest.approx(one.value_mm, abs=AGREE_MM)
            seen["inside" if is_inside else "outside"] += 1
            seen["on a slope"] += bool(state.job.layout.slope_mm_per_m)
        if "|" in where:
            continue
        assert is_as_shown(state, asked["task"], own["seen"])
        said = level_words(state, asked["task"], job["problem"]["unit"])
        assert own["said"] == said
        seen["said"] += bool(said)


def compare_pairs(job: Values, state: JobState, phone: Values, seen: dict[str, int]) -> None:
    for asked, own in zip(job["pairs"], phone["pairs"], strict=True):
        task = f"fasteners.pair:{asked['subject']}"
        planned = planned_values(state, task)
        after = recorded(state, task, "measured", asked["values"])
        assert own["isTrue"] == pair_is_true(after, task)
        off = pair_off_mm(after, asked["values"], planned)
        assert own["off"] == pytest.approx(off, abs=1e-5)
        assert is_as_shown(state, task, own["seen"])
        assert is_as_shown(state, f"fasteners.cross:{asked['subject']}", own["cross"])
        assert own["said"] == level_words(state, task, job["problem"]["unit"])
        seen["true" if own["isTrue"] else "not true"] += 1
