"""What to trim: the fewest lift-offs, then touches, that bring the hung work inside.

The search is ``core.trim``'s.
Advice is asked for as often as the tasks are listed, so what was found for a set of numbers is
kept. Nothing is advised while all that was read is clear of its tolerance.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any, cast

import numpy as np

from holdtrue.core.criteria import all_criteria
from holdtrue.core.hung import Hang
from holdtrue.core.model import Job
from holdtrue.core.quality import Form, Vector
from holdtrue.core.trim import Problem, Trim, find_trim, trim_problem
from holdtrue.core.trim_kit import Kind, Kit, plan_kit
from holdtrue.domain.hanging import hanging, hung_panels, seats_under, value_mm
from holdtrue.domain.rings import in_rings_mm
from holdtrue.domain.same import Same
from holdtrue.domain.state import JobState
from holdtrue.domain.subjects import facing_panels
from holdtrue.domain.touches import LIFTING, Touched, advised
from holdtrue.domain.trim import Verdict, verdicts

COVERAGE = 2.0
"""Standard uncertainties by which a criterion nobody read may be made worse: about 95 %, GUM
6.3.3."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Advice:
    """``touches`` of each panel; ``remains`` outside afterwards, best as it gets."""

    touches: Mapping[str, tuple[Touched, ...]]
    remains: tuple[Verdict, ...]
    lift_offs: tuple[str, ...]
    is_proven: bool
    """That there is no way with fewer lift-offs or touches."""

    def of(self, panel: str) -> tuple[Touched, ...]:
        return self.touches.get(panel, ())


def panels_to_trim(state: JobState) -> frozenset[str]:
    """Panels that are to be touched; those not clear of a tolerance where no touch would help."""
    unclear = [v for v in verdicts(state) if not v.is_clear]
    if not unclear:
        return frozenset()
    found = advice(state)
    if found is not None and found.touches:
        return frozenset(found.touches) | {v.panel for v in unclear if _is_left(state, v.panel)}
    return frozenset(v.panel for v in unclear)


def _is_left(state: JobState, panel: str) -> bool:
    """Recorded as not to be trimmed: it stays on the list, done."""
    return f"panels.trim:{panel}" in state.records


def advice(state: JobState) -> Advice | None:
    """What to do about the hung panels; None while all that was read is clear of its tolerance."""
    judged = verdicts(state)
    if state.hang is None or all(v.is_clear for v in judged):
        return None
    problem = _problem(state, judged)
    trim = best_trim(problem)
    touches: dict[str, tuple[Touched, ...]] = {}
    panels = state.job.panels
    for touch in trim.touches:
        name = panels[touch.panel].name
        touches[name] = (*touches.get(name, ()), *advised([touch]))
    return Advice(
        touches=touches,
        remains=_remains(problem, trim),
        lift_offs=tuple(panels[k].name for k in trim.lift_offs),
        is_proven=trim.is_proven,
    )


def planned_touches(state: JobState, panel: str) -> dict[str, Any]:
    """A panel's advised touches as a trim task records them; {} when there are none."""
    found = advice(state)
    touches = found.of(panel) if found else ()
    if found is None or not touches:
        return {}
    listed: dict[str, Any] = {"touches": [touch.values() for touch in touches]}
    return listed if found.is_proven else {**listed, "proven": False}


def kit_of(state: JobState) -> Kit:
    """What there is to trim with: shims in a ring can come out again; a hanger only by its yes."""
    at: dict[tuple[Kind, str], float] = {
        ("shim", seat): mm for seat, mm in in_rings_mm(state).items()
    }
    for trim in state.trims:
        kind = cast(Kind, trim.means)
        if kind != "shim":
            at[kind, trim.seat] = at.get((kind, trim.seat), 0.0) + trim.by_mm
    agreed = [seat for seat in state.form.seats if _may_move(state, seat)]
    hangers = dict.fromkeys(agreed, state.job.graduation_mm)
    return replace(plan_kit(state.current), at_mm=at, hanger_mm=hangers, ends=_ends(state))


def _ends(state: JobState) -> frozenset[tuple[int, int]]:
    """Panels found at the end of their play, until they are taken off and hang elsewhere in it."""
    index = {panel.name: k for k, panel in enumerate(state.job.panels)}
    found: set[tuple[int, int]] = set()
    for trim in state.trims:
        panel = index.get(trim.panel)
        if panel is None:
            continue
        if trim.means in LIFTING:
            found -= {(panel, -1), (panel, 1)}
        elif trim.end:
            found.add((panel, trim.end))
    return frozenset(found)


def _may_move(state: JobState, seat: str) -> bool:
    """The lead recorded the maker's yes to moving this hanger."""
    record = state.records.get(f"panels.move:{seat}")
    return record is not None and record.values["agreed"] == "yes"


def _problem(state: JobState, judged: Sequence[Verdict]) -> Problem:
    """The criteria as they were read, and what can be done about them."""
    hang = hanging(state, with_taps=True)
    assert hang is not None
    read = [v for v in judged if v.is_read]
    return problem_of(
        state.job,
        all_criteria(state.job, state.plan.arrangement),
        kit_of(state),
        hang=hang,
        seats_mm=seats_under(state, hang),
        hung=hung_panels(state),
        read_mm={(v.kind, v.where): (v.likely_mm, v.limit_mm) for v in read},
        flush_mm=_flush_mm(state),
    )


def problem_of(
    job: Job,
    goal: Form,
    kit: Kit,
    *,
    hang: Hang,
    seats_mm: Vector,
    hung: Sequence[int],
    read_mm: Mapping[tuple[str, str], tuple[float, float]],
    flush_mm: Mapping[str, float],
) -> Problem:
    """What hangs, and what can be done about it; ``read_mm``: what was read, as it likely is, and
    within what it is clear of its tolerance.

    What was tapped "as planned", or not read, stands as all that is known puts it: it is no reason
    to touch anything, but no touch may make it worse, by more than it is known.
    """
    problem = trim_problem(
        job, goal, hang.deviation_mm, kit, panels=hung, seats_mm=seats_mm, flush_mm=flush_mm
    )
    known = dict(zip(zip(goal.kinds, goal.labels, strict=True), _u_mm(goal, hang), strict=True))
    rows = list(zip(problem.kinds, problem.labels, strict=True))
    # a panel on one hanger beside others not yet hung has no criterion of its own
    is_read = np.array([row in read_mm or row[0] == "flush" for row in rows], dtype=bool)
    nows = zip(rows, problem.now_mm, problem.tolerance_mm, strict=True)
    # where faces stand is read of the panels, and follows from no seat
    read = [read_mm.get(row, both) if row[0] != "flush" else both for row, *both in nows]
    now, limits = np.array(read, dtype=np.float64).reshape(-1, 2).T
    blur = np.array([known.get(row, 0.0) for row in rows])
    allowed = np.maximum(problem.tolerance_mm, np.abs(now)) + COVERAGE * blur
    # the whole line follows from what lies on its way: it has no say of its own until that is read
    is_free = np.array([row[0] == "line" for row in rows], dtype=bool) & ~is_read
    limits = np.where(is_read, limits, np.where(is_free, np.inf, allowed))
    return replace(problem, now_mm=now, tolerance_mm=limits)


def best_trim(problem: Problem) -> Trim:
    """All inside; else what is outside brought as near as it gets with all else inside."""
    return _best(Same(problem))


def _u_mm(goal: Form, hang: Hang) -> Vector:
    """Standard uncertainty of every criterion."""
    factor = goal.matrix @ hang.covariance_mm2
    return np.asarray(np.sqrt(np.maximum(np.sum(factor * goal.matrix, axis=1), 0.0)))


def _flush_mm(state: JobState) -> dict[str, float]:
    """How far p stands out beyond q, where it was read which of them does."""
    found = {}
    for task, record in state.records.items():
        kind, _, subject = task.partition(":")
        sign = {"p": 1.0, "q": -1.0}.get(str(record.values.get("out")))
        if kind == "panels.facing" and sign is not None and len(facing_panels(subject)) == 2:
            found[subject] = sign * value_mm(record.values, "flush")
    return found


def _remains(problem: Problem, trim: Trim) -> tuple[Verdict, ...]:
    return tuple(
        Verdict(
            kind=problem.kinds[i],
            where=problem.labels[i],
            panel=problem.labels[i],
            value_mm=float(trim.after_mm[i]),
            likely_mm=float(trim.after_mm[i]),
            tolerance_mm=float(problem.tolerance_mm[i]),
        )
        for i in np.flatnonzero(np.abs(trim.after_mm) > problem.tolerance_mm + 1e-9)
    )


@lru_cache(maxsize=64)
def _best(asked: Same[Problem]) -> Trim:
    return find_trim(asked.value)
