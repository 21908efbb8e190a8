"""After a deviation: what can be done, where each leads, and the chance of it.

Method: every choice is a changed problem, recomputed and forecast like any other:
- carry on: the set seats stay, the rest is recomputed;
- true this panel first: its own level and bearing are trimmed (``trim``), the rest is computed from
  where that leaves it;
- trim later: as carry on, and what is outside once hung is trimmed;
- move the hanger on the panel, with the maker's yes: the seat counts as free again and the hanger
  makes up the difference;
- correct this fastener: the seat is free again too, but its new hole keeps its distance from every
  hole there is (``clear``).

The chance of "trim later" treats each criterion by itself: read beyond its tolerance it is brought
back into the guard, as far as the means reach, with the error left by the readings on the hung
panels. What is read inside is left alone, and so are criteria that no mean moves.

Source: the project's own list of choices; least squares as in ``recompute``; law of the rest as in
``forecast``; conditional Gaussian as in ``hung``.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Literal

import numpy as np

from holdtrue.core.clear import OldHole, clear_place_mm
from holdtrue.core.forecast import Errors, forecast, normal_points, played_mm
from holdtrue.core.hung import hang_on_seats, hung_rows, update_gain
from holdtrue.core.model import Arrangement, Fastener, Job
from holdtrue.core.quality import Form, Vector
from holdtrue.core.recompute import best_deviation_mm, fixed_from_set, places_mm
from holdtrue.core.sources_trim import (
    HANGER_U_MM,
    RULE_U_MM,
    TRIM_GUARD,
)
from holdtrue.core.trim import Problem, Touch, after_trim_mm, find_trim, trim_problem
from holdtrue.core.trim_kit import Kit

Point = tuple[float, float]
Name = Literal[
    "carry on", "true this panel first", "trim later", "move the hanger", "correct this fastener"
]

_POINTS = 4_000


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Standing:
    """Where an install stands: what ``forecast`` takes, and the job.

    ``set_covariance_mm2`` [mm2] over (x of set seats in the form's order, then y), None for exactly
    known.
    """

    job: Job
    arrangement: Arrangement
    goal: Form
    form: Form
    order: Sequence[str]
    set_mm: Mapping[str, Point]
    set_covariance_mm2: Vector | None
    errors: Errors
    kit: Kit
    marks_mm: Mapping[str, Point] = field(default_factory=dict)
    """Marks given to the seats that are not set."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """One way on, and where it leads."""

    name: Name
    finish_mm: Mapping[str, float]
    """Largest predicted |criterion| of each kind."""
    worst_share: float
    """Of its tolerance, the predicted worst criterion."""
    worst_label: str
    chance: float
    """That all ends inside by it, without trimming; for "trim later" with."""
    trimmed: float
    """The same with what is then outside trimmed once it hangs."""
    marks_mm: Mapping[str, Point]
    """Seats to aim for from then on."""
    touches: tuple[Touch, ...] = ()
    hanger_move_mm: Point | None = None
    """Move the hanger on the panel right and up by this."""
    fastener: str | None = None
    hole_mm: Point | None = None


def carry_on(standing: Standing) -> Choice:
    """Leave what is set and recompute the rest.

    Parameters: standing; lengths [mm].
    Returns: Choice.
    Raises: KeyError for an unknown seat.
    Source: module head.
    """
    return _outlook(standing, "carry on")


def true_first(standing: Standing, panel: int) -> Choice | None:
    """Trim a panel's own level and bearing before anything is computed from it.

    Parameters: standing; panel, its index; lengths [mm].
    Returns: Choice; None while the panel has an unset seat or nothing of its own is outside.
    Raises: KeyError for an unknown seat.
    Source: module head.
    """
    form, job = standing.form, standing.job
    own = [name for name, k in zip(form.seats, form.seat_panel, strict=True) if k == panel]
    if any(name not in standing.set_mm for name in own):
        return None
    deviation = np.zeros(form.planned_mm.size)
    for at, value in fixed_from_set(form, standing.set_mm).items():
        deviation[at] = value
    problem = _own_problem(standing, panel, deviation)
    if not np.any(np.abs(problem.now_mm) > problem.tolerance_mm):
        return None
    trim = find_trim(problem)
    if not trim.touches:
        return None
    trued = places_mm(form, after_trim_mm(form, job, deviation, trim))
    set_mm = {name: trued[name] if name in own else at for name, at in standing.set_mm.items()}
    choice = _outlook(replace(standing, set_mm=set_mm), "true this panel first")
    return replace(choice, touches=trim.touches)


def _own_problem(standing: Standing, panel: int, deviation: Vector) -> Problem:
    """Only level and bearing of one panel, and only what raises or lowers a seat."""
    problem = trim_problem(
        standing.job, standing.goal, deviation, replace(standing.kit, slide_mm=0.0), panels=[panel]
    )
    rows = [i for i, kind in enumerate(problem.kinds) if kind in ("level", "bearing")]
    return Problem(
        now_mm=problem.now_mm[rows],
        tolerance_mm=problem.tolerance_mm[rows],
        kinds=tuple(problem.kinds[i] for i in rows),
        labels=tuple(problem.labels[i] for i in rows),
        means=tuple(replace(mean, effect=mean.effect[rows]) for mean in problem.means),
    )


def trim_later(standing: Standing) -> Choice:
    """Carry on, and trim what is outside once it hangs.

    Parameters: standing; lengths [mm].
    Returns: Choice; its touches are those for the predicted finish.
    Raises: KeyError for an unknown seat.
    Source: module head.
    """
    form = standing.form
    deviation, problem = _to_trim(standing)
    trim = find_trim(problem)
    after = after_trim_mm(form, standing.job, deviation, trim)
    base = _outlook(standing, "trim later", after=after)
    return replace(base, chance=base.trimmed, touches=trim.touches)


def played(standing: Standing) -> Vector:
    """Where the seats end at each point of a play from here on.

    Parameters: standing; lengths [mm].
    Returns: deviations from plan [mm], shape (count, 2n).
    Raises: KeyError for an unknown seat.
    Source: module head.
    """
    return played_mm(
        standing.goal,
        standing.form,
        order=standing.order,
        set_mm=standing.set_mm,
        set_covariance_mm2=standing.set_covariance_mm2,
        marks_mm=standing.marks_mm,
        errors=standing.errors,
    )


def trimmed_chance(standing: Standing, ends_mm: Vector) -> float:
    """The chance of ``trim_later``, without looking for the touches.

    Parameters: standing; ends_mm, as ``played`` [mm], shape (count, 2n).
    Returns: chance [-].
    Raises: KeyError for an unknown seat.
    Source: module head.
    """
    return _trimmed_chance(standing, _to_trim(standing)[1], ends_mm)


def _to_trim(standing: Standing) -> tuple[Vector, Problem]:
    """Where the panels are predicted to hang, and what can then be done."""
    form = standing.form
    deviation = best_deviation_mm(form, fixed_from_set(form, standing.set_mm))
    return deviation, trim_problem(standing.job, standing.goal, deviation, standing.kit)


def _trimmed_chance(standing: Standing, problem: Problem, ends_mm: Vector) -> float:
    goal = standing.goal
    mean, covariance = ends_mm.mean(axis=0), np.cov(ends_mm.T)
    before = hang_on_seats(
        standing.job,
        deviation_mm=mean,
        covariance_mm2=covariance,
        panels=range(len(standing.job.panels)),
    )
    design = np.array(list(hung_rows(standing.job, standing.arrangement).values()))
    left = before.covariance_mm2
    if len(design):
        left = update_gain(left, design, np.full(len(design), RULE_U_MM))[1]
    size = len(mean)
    points = normal_points(2 * size, _POINTS)
    spread_of_read = _root(before.covariance_mm2 - left)
    read = points[:, :size] @ (goal.matrix @ spread_of_read).T + goal.matrix @ mean
    error = points[:, size:] @ (goal.matrix @ _root(left)).T
    reach = np.zeros(len(goal.kinds))
    for one in problem.means:
        reach += np.abs(one.effect) * one.step_mm * max(one.highest, -one.lowest)
    pulled = np.sign(read) * np.maximum(TRIM_GUARD * goal.tolerance_mm, np.abs(read) - reach)
    true = np.where(np.abs(read) <= goal.tolerance_mm, read, pulled) + error
    return float(np.all(np.abs(true) <= goal.tolerance_mm, axis=1).mean())


def _root(covariance: Vector) -> Vector:
    """A square root S of a covariance: S S^T = covariance."""
    values, vectors = np.linalg.eigh(covariance)
    return np.asarray(vectors * np.sqrt(np.clip(values, 0.0, None)))


def move_hanger(standing: Standing, seat: str, *, u_mm: float = HANGER_U_MM) -> Choice:
    """Leave the fastener; move the hanger on the panel by what the seat is off its best place.

    Parameters: standing; seat, a set one; u_mm, standard uncertainty of moving a hanger [mm].
    Returns: Choice with the move [mm].
    Raises: KeyError for a seat that is not set.
    Source: module head.
    """
    x, y = standing.set_mm[seat]
    freed = _freed(standing, seat, u_mm)
    form = freed.form
    best = places_mm(form, best_deviation_mm(form, fixed_from_set(form, freed.set_mm)))[seat]
    choice = _outlook(freed, "move the hanger", aim={seat: best})
    marks = {name: at for name, at in choice.marks_mm.items() if name != seat}
    # the hanger follows the seat: a seat too far right needs its hanger that much further right
    return replace(choice, marks_mm=marks, hanger_move_mm=(x - best[0], y - best[1]))


def correct_fastener(
    standing: Standing,
    seat: str,
    *,
    holes: Sequence[OldHole],
    fasteners: Sequence[Fastener],
    placing_u_mm: Mapping[str, float],
    fits: Callable[[Point], bool],
) -> Choice | None:
    """Make the hole again, clear of those there are, with the best of the fasteners at hand.

    Also for a seat that met something in its pilot.

    Parameters: standing; seat, set or not; holes to keep off; fasteners to choose from, drop [mm];
    placing_u_mm: fastener name to its placing uncertainty [mm]; fits, as ``clear_place_mm``.
    Returns: Choice with the fastener, its new hole on the graduation, and the mark; None without
    fasteners.
    Raises: KeyError for an unknown seat or fastener.
    Source: module head.
    """
    found: list[Choice] = []
    for fastener in fasteners:
        freed = _freed(standing, seat, placing_u_mm[fastener.name])
        place = clear_place_mm(
            standing.form,
            freed.set_mm,
            seat,
            holes=holes,
            drop_mm=fastener.drop_mm,
            graduation_mm=standing.job.graduation_mm,
            fits=fits,
        )
        choice = _outlook(freed, "correct this fastener", aim={seat: place})
        found.append(
            replace(choice, fastener=fastener.name, hole_mm=(place[0], place[1] + fastener.drop_mm))
        )
    return max(found, key=lambda c: (round(c.chance, 3), -c.worst_share), default=None)


def _freed(standing: Standing, seat: str, u_mm: float) -> Standing:
    """The same standing with one seat to be placed again, next."""
    form = standing.form
    errors = replace(
        standing.errors,
        placing={**standing.errors.placing, seat: (u_mm, u_mm)},
        reading={**standing.errors.reading, seat: standing.errors.reading.get(seat, (u_mm, u_mm))},
        # a seat made again is measured in, not carried over from its neighbour
        stick_panels=standing.errors.stick_panels - {form.seat_panel[form.seats.index(seat)]},
    )
    order = (seat, *(name for name in standing.order if name != seat))
    marks = {name: at for name, at in standing.marks_mm.items() if name != seat}
    if seat not in standing.set_mm:
        return replace(standing, errors=errors, order=order, marks_mm=marks)
    names = [name for name in form.seats if name in standing.set_mm]
    keep = [i for i, name in enumerate(names * 2) if name != seat]
    covariance = standing.set_covariance_mm2
    return replace(
        standing,
        errors=errors,
        order=order,
        marks_mm=marks,
        set_mm={name: at for name, at in standing.set_mm.items() if name != seat},
        set_covariance_mm2=None if covariance is None else covariance[np.ix_(keep, keep)],
    )


def _outlook(
    standing: Standing,
    name: Name,
    *,
    after: Vector | None = None,
    aim: Mapping[str, Point] | None = None,
) -> Choice:
    """Finish and chance with the rest at its optimum, some marks held elsewhere if ``aim`` says."""
    form, goal = standing.form, standing.goal
    held = {**standing.set_mm, **(aim or {})}
    deviation = best_deviation_mm(form, fixed_from_set(form, held))
    places = places_mm(form, deviation)
    marks = {n: aim[n] if aim and n in aim else places[n] for n in standing.order}
    marks = {n: at for n, at in marks.items() if n not in standing.set_mm}
    ends = played(_aimed(standing, aim) if aim else standing)
    problem = trim_problem(standing.job, goal, deviation, standing.kit)
    values = np.abs(goal.matrix @ (deviation if after is None else after))
    shares = values / goal.tolerance_mm
    chance = forecast(goal, ends).chance
    worst = int(np.argmax(shares))
    finish: dict[str, float] = {}
    for kind, value in zip(goal.kinds, values, strict=True):
        finish[kind] = max(finish.get(kind, 0.0), float(value))
    return Choice(
        name=name,
        finish_mm=finish,
        worst_share=float(shares[worst]),
        worst_label=f"{goal.kinds[worst]} {goal.labels[worst]}",
        chance=chance,
        trimmed=max(chance, _trimmed_chance(standing, problem, ends)),
        marks_mm=marks,
    )


def _aimed(standing: Standing, aim: Mapping[str, Point]) -> Standing:
    """The same with these seats' marks where they are wanted, whatever is read."""
    errors = standing.errors
    grid = replace(errors.grid, stay=errors.grid.stay | set(aim))
    return replace(
        standing,
        errors=replace(errors, grid=grid),
        marks_mm={**standing.marks_mm, **aim},
    )
