"""The phone's own recompute, in a real browser, against the server's: same optimum, same marks."""

from __future__ import annotations

import sys
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from random import Random

import numpy as np
import pytest
from playwright.sync_api import Browser, Page

from holdtrue.core.marks import Course
from holdtrue.core.sources import KEEP_RISE, MOVE_SHARE
from holdtrue.domain.state import JobState
from tests.e2e.phone_math import Story, Values, fixed_mm, story
from tests.e2e.phone_math_hung import hung_story
from tests.e2e.phone_modules import open_modules

AGREE_MM = 0.01
SAME_MM = 1e-6
"""What is decided, not computed, must be the same; this only covers how a double is written."""
TIE_MM = 1e-6
STORIES = 500
KINDS = 17
"""Of events at the wall before anything hangs."""

PLAY = """
async (stories) => {
  const { opened } = await import("/static/js/core/problem.js");
  const { evolve } = await import("/static/js/core/events.js");
  const { bearingMm, optimumMm } = await import("/static/js/core/planning.js");
  const { consequence } = await import("/static/js/core/consequence.js");
  const each = (now, of) => Object.fromEntries(Object.entries(now).map(([s, v]) => [s, of(v)]));
  const seatOf = (event) => event.seat ?? null;
  return stories.map(({ problem, events }) => {
    let state = opened(problem);
    return events.map((event) => {
      const before = state;
      state = evolve(before, event);
      const { offMm, kept, finish, isInside, moves } = consequence(before, state, seatOf(event));
      return {
        bearing: bearingMm(state), optimum: optimumMm(state),
        marks: state.marksMm, order: state.problem.order,
        lines: state.lines.map(({ name, y_mm: y, seats }) => [name, y, seats]),
        fasteners: each(state.now, (now) => now.fastener?.name ?? null),
        into: each(state.now, (now) => now.into),
        off: offMm, kept: kept.share, is_inside: isInside,
        finish: each(finish, (r) => Math.abs(r.valueMm)),
        moves: Object.fromEntries(moves.map((m) => [m.seat,
          [m.rightMm, m.upMm, m.isMarked, m.fastenerBefore, m.fastenerAfter]])),
      };
    });
  });
}
"""


@pytest.fixture(scope="module")
def modules(chromium: Browser) -> Iterator[Page]:
    with open_modules(chromium) as page:
        yield page


@dataclass
class Agreement:
    """What was compared, and the worst of it."""

    stages: int = 0
    marks: int = 0
    ties: int = 0
    aims: int = 0
    """Seats aimed clear of a hole there is."""
    hung: int = 0
    """Stages at which marks answer to how panels hang."""
    worst_hung_mm: float = 0.0
    worst_optimum_mm: float = 0.0
    worst_mark_mm: float = 0.0
    worst_residual_mm: float = 0.0


def chunks(stories: Sequence[Story], size: int) -> Iterator[Sequence[Story]]:
    for at in range(0, len(stories), size):
        yield stories[at : at + size]


def test_500_random_jobs_come_to_the_same_marks_on_the_phone(modules: Page) -> None:
    random = Random(4_001)
    stories = [story(random) for _ in range(STORIES)]
    told = Counter(event["type"] for one in stories for event in one.events)
    assert len(told) == KINDS
    assert min(told.values()) > 20, told
    seen = compared(modules, stories)
    assert seen.stages > 2000
    assert seen.marks > 10_000
    assert seen.aims > 200


def test_500_jobs_with_hung_panels_come_to_the_same_marks_on_the_phone(modules: Page) -> None:
    random = Random(4_002)
    seen = compared(modules, [hung_story(random) for _ in range(STORIES)])
    assert seen.stages > 3000
    assert seen.hung > 1000
    assert seen.marks > 10_000


def compared(modules: Page, stories: Sequence[Story]) -> Agreement:
    """What the phone came to, held against the server."""
    seen = Agreement()
    for some in chunks(stories, 50):
        told = [{"problem": s.problem, "events": s.events} for s in some]
        for one, phone in zip(some, modules.evaluate(PLAY, told), strict=True):
            compare_story(one, phone, seen)
    sys.stdout.write(f"\n{seen}\n")
    # a coin's fall is allowed where a mark lies between two graduations, and is rare
    assert seen.ties <= 5
    return seen


def compare_story(one: Story, phone: Sequence[Values], seen: Agreement) -> None:
    assert len(phone) == len(one.events)
    for stage, (server, own) in enumerate(zip(one.expected(), phone, strict=True)):
        before, after = one.states[stage], one.states[stage + 1]
        seen.stages += 1
        off = apart(server["optimum"], own["optimum"])
        seen.worst_optimum_mm = max(seen.worst_optimum_mm, off)
        assert off <= AGREE_MM, (one.document, one.events, stage)
        off = apart(server["marks"], own["marks"])
        if off > SAME_MM:
            assert is_tie(before, after, own["marks"]), (one.document, one.events, stage, off)
            seen.ties += 1
            return  # from here on the two play different jobs
        seen.marks += len(server["marks"])
        seen.aims += len(after.aims)
        off = apart(server["bearing"], own["bearing"])
        seen.worst_hung_mm = max(seen.worst_hung_mm, off)
        # what a slipped panel's seats count for is next to nothing, and costs a few digits
        assert off <= AGREE_MM / 100, (one.document, one.events, stage)
        seen.hung += after.hang is not None and bool(after.marks_mm)
        seen.worst_mark_mm = max(seen.worst_mark_mm, off)
        compare_consequence(server, own, seen)


def compare_consequence(server: Values, own: Values, seen: Agreement) -> None:
    for name in ("fasteners", "into", "is_inside", "order"):
        assert own[name] == server[name]
    for (name, y_mm, seats), line in zip(server["lines"], own["lines"], strict=True):
        assert line == [name, pytest.approx(y_mm, abs=SAME_MM), seats]
    assert own["off"] == (None if server["off"] is None else pytest.approx(server["off"], abs=1e-6))
    assert list(own["finish"]) == list(server["finish"])
    worst = max(abs(own["finish"][kind] - mm) for kind, mm in server["finish"].items())
    seen.worst_residual_mm = max(seen.worst_residual_mm, worst)
    assert worst <= SAME_MM
    assert own["kept"] == pytest.approx(server["kept"], abs=SAME_MM)
    assert list(own["moves"]) == list(server["moves"])
    for seat, (right, up, *rest) in server["moves"].items():
        assert own["moves"][seat][:2] == pytest.approx([right, up], abs=SAME_MM)
        assert own["moves"][seat][2:] == rest


def apart(one: Values, other: Values) -> float:
    assert set(one) == set(other)
    return max((abs(a - b) for s in one for a, b in zip(one[s], other[s], strict=True)), default=0)


def is_tie(before: JobState, after: JobState, own: Values) -> bool:
    """Whether the first mark that differs could as well have gone the other way.

    True where it lies within a millionth of a graduation's middle, or of one of the two limits
    that decide whether a given mark stays.
    """
    fixed, grid = fixed_mm(after), after.job.graduation_mm
    order = [name for name in after.order if name not in fixed]
    course = Course(after.form, fixed, order)
    drops = {s.seat: s.hole_y_mm - s.y_mm for s in after.current.seats}
    planned = dict(zip(after.form.seats, after.plan.arrangement.seats_mm, strict=True))
    rises: dict[int, float] = {}
    begun = {after.seat(name).panel for name in fixed}
    for name in order:
        mark, panel, at = after.marks_mm[name], after.seat(name).panel, planned[name]
        best = course.next_best()
        rise = best[1] if panel in begun else rises.get(panel, best[1])
        if apart({name: mark}, {name: own[name]}) > SAME_MM:
            wanted = (at[0] + best[0], at[1] + rise)
            near = [abs((wanted[0] / grid) % 1 - 0.5) * grid]
            near += [abs(((wanted[1] + drops[name]) / grid) % 1 - 0.5) * grid]
            given = before.marks_mm.get(name)
            if given is not None:
                near += [
                    abs(abs(w - g) - MOVE_SHARE * grid) for w, g in zip(wanted, given, strict=True)
                ]
                stay, go = (
                    course.shares_with((p[0] - at[0], p[1] - at[1]))
                    for p in (given, mark if mark != given else own[name])
                )
                touched = np.abs(stay - go) > KEEP_RISE
                near += np.abs(np.abs(stay - go) - KEEP_RISE).tolist()
                if touched.any():
                    near.append(abs(stay[touched].max() - go[touched].max() - KEEP_RISE))
            return bool(min(near) <= TIE_MM)
        course.fix_next((mark[0] - at[0], mark[1] - at[1]))
        rises.setdefault(panel, mark[1] - at[1])
    return False
