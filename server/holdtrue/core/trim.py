"""Trimming hung panels: the fewest lift-offs, then touches, then movement, that bring all inside.

Method: every criterion is linear in what can be done (a shim under a ring, a screw turned, a panel
slid within its play, a bumper behind an edge), each in whole steps between limits. Sets of means
are looked through from the smallest (module ``trim_search``), so the first that works has the
fewest lift-offs, among those the fewest touches, among those the least total movement: exact, by
enumeration that leaves out only sets that cannot bring some criterion inside.

The readings have errors, so a trim has to stay within a guard's share of every tolerance, and comes
closer, within the aim, where that takes no more touches. Where the guard cannot be had, it comes
within the tolerances; where that cannot be had either, it makes the worst criterion as good as it
gets and says what remains outside.

Source: the project's own rules; minimum-support search as hitting sets of violated constraints
(R. Reiter, Artificial Intelligence 32 (1987) 57-95, from memory), checked against integer
programming in the tests.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import floor
from typing import Literal

import numpy as np

from holdtrue.core.hung import all_poses, panel_columns, slide_range_mm
from holdtrue.core.model import Job
from holdtrue.core.quality import Form, Vector
from holdtrue.core.sources_trim import (
    BUMPER_MM,
    BUMPER_MOST_MM,
    HANGER_MOST_MM,
    LEAST_BAD_SHARE,
    MOST_NODES,
    MOST_TOUCHES,
    SHIM_MM,
    SHIM_MOST_MM,
    SLIDE_MM,
    TRIM_AIM,
    TRIM_GUARD,
)
from holdtrue.core.trim_search import Choice, Means, Search

Kind = Literal["shim", "screw", "hanger", "slide", "bumper"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Kit:
    """What there is to trim with; a step of 0 means there is none of it [mm].

    ``pack_mm``: shims already under a seat's ring, which can come out again. ``screw_mm``: seat to
    the height of one step of its screw (a pitch, or half of one), ``screw_most_mm`` each way.
    ``hanger_mm`` is used only with the maker's yes.
    """

    shim_mm: float = SHIM_MM
    shim_most_mm: float = SHIM_MOST_MM
    pack_mm: Mapping[str, float] | None = None
    screw_mm: Mapping[str, float] | None = None
    screw_most_mm: float = 2.0
    hanger_mm: float = 0.0
    slide_mm: float = SLIDE_MM
    bumper_mm: float = BUMPER_MM


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Mean:
    """One thing that can be done: whole steps from lowest to highest, and what 1 mm of it does."""

    kind: Kind
    panel: int
    seat: str | None
    step_mm: float
    lowest: int
    highest: int
    needs_lift: bool
    effect: Vector
    """Change of each criterion per mm [mm/mm], shape (m,)."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Problem:
    """Criteria as they stand and what can be done about them."""

    now_mm: Vector
    tolerance_mm: Vector
    kinds: tuple[str, ...]
    labels: tuple[str, ...]
    means: tuple[Mean, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Touch:
    """Do this; + is up (shim, screw, hanger), right (slide) or out from the wall (bumper)."""

    kind: Kind
    panel: int
    seat: str | None
    move_mm: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Trim:
    """The advice, and every criterion after it [mm]."""

    touches: tuple[Touch, ...]
    lift_offs: tuple[int, ...]
    """Panels to take off."""
    after_mm: Vector
    worst_share: float
    """Largest |criterion| / tolerance among those that something can move, afterwards."""
    remains: tuple[int, ...]
    """Criteria still outside tolerance afterwards."""
    within_guard: bool
    is_proven: bool
    """No better advice exists with the touches looked through."""

    @property
    def is_inside(self) -> bool:
        return not self.remains

    @property
    def movement_mm(self) -> float:
        return sum(abs(touch.move_mm) for touch in self.touches)


def trim_problem(
    job: Job,
    goal: Form,
    deviation_mm: Vector,
    kit: Kit,
    *,
    panels: Sequence[int] | None = None,
    seats_mm: Vector | None = None,
    flush_mm: Mapping[str, float] | None = None,
) -> Problem:
    """What hangs, as a trimming problem.

    Parameters: job; goal, its criteria; deviation_mm, the panels as they hang [mm], shape (2n,);
    kit; panels, indexes of those hung (all if not given): only criteria of theirs count; seats_mm,
    deviations of the seats alone [mm], shape (2n,), where a panel was slid on them (as hung if not
    given); flush_mm: "p|q" to how far p's face stands out beyond q's [mm], as read.
    Returns: Problem.
    Raises: nothing.
    Source: module head.
    """
    hung = range(len(job.panels)) if panels is None else sorted(panels)
    poses = all_poses(job)
    away = np.ones(goal.planned_mm.size, dtype=bool)
    n = len(goal.seats)
    for k in hung:
        first, last = panel_columns(job, k)
        away[first:last] = away[n + first : n + last] = False
    rows = [i for i in range(len(goal.kinds)) if not np.any(goal.matrix[i, away])]
    read = dict(flush_mm or {})
    pad = np.zeros(len(read))
    means: list[Mean] = []
    for k in hung:
        limits = slide_range_mm(
            job,
            k,
            poses,
            seats_mm=deviation_mm if seats_mm is None else seats_mm,
            hung_mm=deviation_mm,
        )
        means += _panel_means(job, goal, kit, k, limits, rows, pad)
        means += _bumper_means(job, kit, k, len(rows), tuple(read))
    return Problem(
        now_mm=np.concatenate([goal.matrix[rows] @ deviation_mm, list(read.values())]),
        tolerance_mm=np.concatenate([goal.tolerance_mm[rows], pad + job.tolerance.flush]),
        kinds=tuple(goal.kinds[i] for i in rows) + ("flush",) * len(read),
        labels=tuple(goal.labels[i] for i in rows) + tuple(read),
        means=tuple(means),
    )


def _panel_means(
    job: Job,
    goal: Form,
    kit: Kit,
    panel: int,
    slide_limits_mm: tuple[float, float],
    rows: Sequence[int],
    pad: Vector,
) -> list[Mean]:
    first, last = panel_columns(job, panel)
    n = len(goal.seats)
    means: list[Mean] = []

    def add(kind: Kind, seat: int | None, step: float, down: float, up: float) -> None:
        lowest, highest = _steps(down, step), _steps(up, step)
        if lowest == highest == 0:
            return
        columns = [n + seat] if seat is not None else list(range(first, last))
        means.append(
            Mean(
                kind=kind,
                panel=panel,
                seat=None if seat is None else goal.seats[seat],
                step_mm=step,
                lowest=-lowest,
                highest=highest,
                needs_lift=kind != "slide",
                effect=np.concatenate([goal.matrix[rows][:, columns].sum(axis=1), pad]),
            )
        )

    for seat in range(first, last):
        name = goal.seats[seat]
        pack = (kit.pack_mm or {}).get(name, 0.0)
        add("shim", seat, kit.shim_mm, pack, max(kit.shim_most_mm - pack, 0.0))
        add("screw", seat, (kit.screw_mm or {}).get(name, 0.0), *(kit.screw_most_mm,) * 2)
        add("hanger", seat, kit.hanger_mm, *(HANGER_MOST_MM,) * 2)
    add("slide", None, kit.slide_mm, -slide_limits_mm[0], slide_limits_mm[1])
    return means


def _steps(limit_mm: float, step_mm: float) -> int:
    return 0 if step_mm <= 0 else floor(limit_mm / step_mm + 1e-9)


def _bumper_means(job: Job, kit: Kit, panel: int, before: int, pairs: Sequence[str]) -> list[Mean]:
    """A bumper behind one facing edge brings that edge out, and no other criterion notices."""
    steps = _steps(BUMPER_MOST_MM, kit.bumper_mm)
    means: list[Mean] = []
    for i, pair in enumerate(pairs):
        p, _, q = pair.partition("|")
        sign = {p: 1.0, q: -1.0}.get(job.panels[panel].name)
        if sign is None or not steps:
            continue
        effect = np.zeros(before + len(pairs))
        effect[before + i] = sign
        means.append(
            Mean(
                kind="bumper",
                panel=panel,
                seat=None,
                step_mm=kit.bumper_mm,
                lowest=0,
                highest=steps,
                needs_lift=False,
                effect=effect,
            )
        )
    return means


def find_trim(
    problem: Problem,
    *,
    guard: float = TRIM_GUARD,
    aim: float = TRIM_AIM,
    most_touches: int = MOST_TOUCHES,
    most_nodes: int = MOST_NODES,
) -> Trim:
    """The fewest lift-offs, then touches, then movement, that bring every criterion inside.

    Parameters: problem; guard, share of each tolerance to stay within [-], above 0 to 1; aim, share
    to come within where that takes no more lift-offs and touches [-], up to guard; most_touches
    [-]; most_nodes, sets looked at before the best found is given [-].
    Returns: Trim; without touches if all is within the guard already.
    Raises: nothing.
    Source: module head.
    """
    search = Search(_as_means(problem), most_touches, most_nodes)
    # a criterion nothing can move says nothing about what to do; it is only reported
    is_moved = np.any(search.up - search.down > 0, axis=1)
    tolerance = np.where(is_moved, problem.tolerance_mm, np.inf)
    for share in (guard, (2 * guard + 1) / 3, (guard + 2) / 3, 1.0):
        found = search.fewest(problem.now_mm, tolerance * share)
        if found is not None:
            if found.support:
                found = search.closer(found, problem.now_mm, tolerance * min(aim, share)) or found
            return _trim(problem, found, guard, search.is_complete)
    return _trim(problem, _least_bad(problem, search, tolerance), guard, search.is_complete)


def _as_means(problem: Problem) -> Means:
    means, size = problem.means, len(problem.now_mm)
    return Means(
        effect=np.array([m.effect * m.step_mm for m in means]).reshape(len(means), size).T,
        step_mm=np.array([m.step_mm for m in means]),
        lowest=np.array([m.lowest for m in means], dtype=np.int64),
        highest=np.array([m.highest for m in means], dtype=np.int64),
        panel=np.array([m.panel for m in means], dtype=np.int64),
        needs_lift=np.array([m.needs_lift for m in means], dtype=bool),
    )


def _least_bad(problem: Problem, search: Search, tolerance_mm: Vector) -> Choice:
    """The touches whose worst criterion, in shares of its tolerance, is the least."""

    def worst(values_mm: Vector) -> float:
        return float(np.max(np.abs(values_mm) / tolerance_mm, initial=0.0))

    best = Choice((), ())
    low, high = 1.0, worst(problem.now_mm)
    while high - low > LEAST_BAD_SHARE:
        middle = (low + high) / 2
        found = search.any(problem.now_mm, tolerance_mm * middle)
        if found is None:
            low = middle
        else:
            best, high = found, min(middle, worst(_after_mm(problem, found)))
    return best


def _after_mm(problem: Problem, choice: Choice) -> Vector:
    after = problem.now_mm.copy()
    for j, steps in zip(choice.support, choice.steps, strict=True):
        mean = problem.means[j]
        after += mean.effect * (mean.step_mm * steps)
    return after


def _trim(problem: Problem, choice: Choice, guard: float, is_proven: bool) -> Trim:
    after = _after_mm(problem, choice)
    touches, lifts = [], set()
    for j, steps in zip(choice.support, choice.steps, strict=True):
        mean = problem.means[j]
        move = mean.step_mm * steps
        touches.append(Touch(kind=mean.kind, panel=mean.panel, seat=mean.seat, move_mm=move))
        if mean.needs_lift:
            lifts.add(mean.panel)
    shares = np.abs(after) / problem.tolerance_mm
    can_move = [bool(any(mean.effect[i] for mean in problem.means)) for i in range(len(after))]
    worst = float(np.max(shares[can_move], initial=0.0))
    return Trim(
        touches=tuple(touches),
        lift_offs=tuple(sorted(lifts)),
        after_mm=after,
        worst_share=worst,
        remains=tuple(int(i) for i in np.flatnonzero(shares > 1.0 + 1e-9)),
        within_guard=worst <= guard + 1e-9,
        is_proven=is_proven,
    )


def after_trim_mm(form: Form, job: Job, deviation_mm: Vector, trim: Trim) -> Vector:
    """The panels as they hang after a trim, as seat deviations; to check again against.

    Parameters: form, any with the job's n seats; job; deviation_mm before [mm], shape (2n,); trim.
    Returns: deviations [mm], shape (2n,). A bumper moves no seat.
    Raises: nothing.
    Source: module head.
    """
    after = np.array(deviation_mm, dtype=np.float64)
    n = len(form.seats)
    for touch in trim.touches:
        first, last = panel_columns(job, touch.panel)
        if touch.kind == "slide":
            after[first:last] += touch.move_mm
        elif touch.seat is not None:
            after[n + form.seats.index(touch.seat)] += touch.move_mm
    return after


def without_hangers_moved(kit: Kit) -> Kit:
    """The same kit while the maker has not said yes to moving hangers.

    Parameters: kit; lengths [mm].
    Returns: Kit.
    Raises: nothing.
    Source: the project's own rule.
    """
    return replace(kit, hanger_mm=0.0)
