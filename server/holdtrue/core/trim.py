"""Trimming hung panels: the fewest lift-offs, then the fewest touches, that bring all inside.

Method: every criterion is linear in what can be done (a shim under a ring, a screw turned, a panel
slid within its play, a bumper behind an edge), each in whole steps between limits. The problem is
split into parts (``trim_parts``). Panels in a row or a column are gone along (``trim_chain``),
which settles nearly all of them; elsewhere the smallest set of means that works is looked for
(``trim_search``). Exact, unless it says that it is not proven.

The readings have errors. So among sets of as few lift-offs and touches one is taken that comes
within the aim's share of every tolerance, else within the guard's, else as deep inside as it gets
step by step; among those the least movement. What cannot be brought inside is brought as near as it
gets, and named.

Source: the project's own rules; minimum-support search as hitting sets of violated constraints
(R. Reiter, Artificial Intelligence 32 (1987) 57-95, from memory), checked against integer
programming and against going through everything in the tests.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import floor

import numpy as np

from holdtrue.core.hung import all_poses, panel_columns, slide_range_mm
from holdtrue.core.model import Job
from holdtrue.core.quality import Form, Vector
from holdtrue.core.sources_trim import BUMPER_MOST_MM, MOST_NODES, TRIM_AIM, TRIM_GUARD
from holdtrue.core.trim_kit import MEANS_BY_METHOD, Kind, Kit
from holdtrue.core.trim_parts import INSIDE_MM, part_trim, parts
from holdtrue.core.trim_search import Means
from holdtrue.core.whole_steps import Integers

_DEPTHS = 4
"""[-] Shares tried from the guard to the whole tolerance. Our choice."""


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
    remains: tuple[int, ...]
    """Criteria still outside tolerance afterwards."""
    is_proven: bool
    """No advice with fewer lift-offs, or as many and fewer touches, leaves as little outside."""

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
        left, right = slide_range_mm(
            job,
            k,
            poses,
            seats_mm=deviation_mm if seats_mm is None else seats_mm,
            hung_mm=deviation_mm,
        )
        limits = (0.0 if (k, -1) in kit.ends else left, 0.0 if (k, 1) in kit.ends else right)
        there_are = MEANS_BY_METHOD[job.panels[k].hang.method]
        of_panel = _panel_means(job, goal, kit, k, limits, rows, pad)
        of_panel += _bumper_means(job, kit, k, len(rows), tuple(read))
        means += [mean for mean in of_panel if mean.kind in there_are]
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
        for kind, step, down, up in kit.of_seat(goal.seats[seat]):
            add(kind, seat, step, down, up)
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
    most_nodes: int = MOST_NODES,
) -> Trim:
    """The fewest lift-offs, then touches, that bring every criterion inside.

    Parameters: problem; guard and aim, shares of each tolerance to come within where that takes no
    more lift-offs and no more touches [-], the aim rather than the guard, above 0 to 1; most_nodes,
    sets looked at in each part before the best found is given [-].
    Returns: Trim; without touches if all is inside already.
    Raises: nothing.
    Source: module head.
    """
    means = as_means(problem.means, len(problem.now_mm))
    steps = np.zeros(len(problem.means), dtype=np.int64)
    is_proven = True
    shares = sorted({aim, *np.linspace(guard, 1.0, _DEPTHS).tolist()})
    for rows, columns in parts(means, problem.now_mm, problem.tolerance_mm):
        found = part_trim(
            means.of(rows, columns),
            problem.now_mm[rows],
            problem.tolerance_mm[rows],
            shares=shares,
            most_nodes=most_nodes,
        )
        steps[columns[list(found.choice.support)]] = found.choice.steps
        is_proven &= found.is_proven
    return _trim(problem, steps, is_proven)


def _trim(problem: Problem, steps: Integers, is_proven: bool) -> Trim:
    used = [(mean, int(k)) for mean, k in zip(problem.means, steps, strict=True) if k]
    after = problem.now_mm.copy()
    for mean, k in used:
        after += mean.effect * (mean.step_mm * k)
    return Trim(
        touches=tuple(
            Touch(kind=mean.kind, panel=mean.panel, seat=mean.seat, move_mm=mean.step_mm * k)
            for mean, k in used
        ),
        lift_offs=tuple(sorted({mean.panel for mean, _ in used if mean.needs_lift})),
        after_mm=after,
        remains=tuple(
            int(i) for i in np.flatnonzero(np.abs(after) > problem.tolerance_mm + INSIDE_MM)
        ),
        is_proven=is_proven,
    )


def as_means(means: Sequence[Mean], size: int) -> Means:
    """Means as arrays over all criteria.

    Parameters: means; size, number of criteria [-].
    Returns: Means.
    Raises: nothing.
    Source: module head.
    """
    return Means(
        effect=np.array([m.effect * m.step_mm for m in means]).reshape(len(means), size).T,
        step_mm=np.array([m.step_mm for m in means]),
        lowest=np.array([m.lowest for m in means], dtype=np.int64),
        highest=np.array([m.highest for m in means], dtype=np.int64),
        panel=np.array([m.panel for m in means], dtype=np.int64),
        needs_lift=np.array([m.needs_lift for m in means], dtype=bool),
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
