"""The marks an installer is shown: on the tape's graduation, and calm.

Method: least squares with the seats ordered so that the next one to drive is the last variable.
With A = Q R, fixing the last variables leaves the optimum of the others by back substitution, so
each mark in driving order is rounded (its hole's x and height together), treated as set, and the
rest recomputed: roundings cancel instead of adding. (Known as successive rounding or the nearest
plane: L. Babai, Combinatorica 6 (1986) 1-13, from memory.)

Level comes first: while no seat of a panel is set, its later marks follow its first one by the
planned height difference, to the nearest graduation. (Rounding each towards its own optimum could
put two marks of a panel a whole graduation out of level.)

A mark already given stays unless the new one differs by at least half a graduation and keeping it
would raise the worst |residual| it bears on by more than a tenth of a tolerance.

Many installs of one job can be marked at once: a place is then (x, y) with x and y of shape (N,),
and all of them have the same seats set.

Source: L. Babai (above) for the rounding; level first and the calm are the project's own rules.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from holdtrue.core.quality import Form, Vector
from holdtrue.core.sources import KEEP_RISE, MOVE_SHARE

Point = tuple[float, float]
Place = Point | tuple[Vector, Vector] | Vector
"""(x, y) of one install, or of many: two numbers or two rows of numbers."""
Flags = NDArray[np.bool_]

_RIDGE = 1e-7
"""[1/mm] Weight of the minimum-norm rows: far below any real row, so it only decides what the
residuals leave open."""


class Course:
    """The least-squares problem of the seats still to drive, solvable mark by mark."""

    def __init__(
        self,
        form: Form,
        set_mm: Mapping[str, Place],
        order: Sequence[str],
        installs: tuple[int, ...] = (),
    ) -> None:
        """Parameters: form; set_mm: set seats' (x, y) [mm]; order: the unset seats, first first;
        installs: (N,) for many at once.
        """
        self.form = form
        n = len(form.seats)
        index = {name: i for i, name in enumerate(form.seats)}
        self.deviation = np.zeros((2 * n, *installs))
        held = []
        for name, place in set_mm.items():
            for at, value in zip((index[name], n + index[name]), place, strict=True):
                self.deviation[at] = value - form.planned_mm[at]
                held.append(at)
        self.columns = [at for name in reversed(order) for at in (index[name], n + index[name])]
        self.matrix = form.scaled
        held = sorted(held)
        target = -self.matrix[:, held] @ self.deviation[held]
        size = len(self.columns)
        stacked = np.vstack([self.matrix[:, self.columns], _RIDGE * np.eye(size)])
        q, self.r = np.linalg.qr(stacked)
        self.rhs = q.T @ np.concatenate([target, np.zeros((size, *installs))])
        self.values = np.zeros((size, *installs))
        self.open = size
        """Variables not yet fixed: columns[:open]."""

    def next_best(self) -> Vector:
        """Optimum deviation (dx, dy) of the next seat, given all that is fixed: (2,) or (2, N)."""
        a, b = self.open - 2, self.open
        rest = self.rhs[a:b] - self.r[a:b, b:] @ self.values[b:]
        return np.asarray(np.linalg.solve(self.r[a:b, a:b], rest))

    def next_triangle(self) -> Vector:
        """T, 2 x 2 [1/mm]: off its best place by d the next seat costs |T d|^2, all else best."""
        return np.asarray(self.r[self.open - 2 : self.open, self.open - 2 : self.open])

    def shares_with(self, deviation: Place) -> Vector:
        """Every |residual| [tolerances] with the next seat there and the rest at the optimum."""
        values = self.values.copy()
        b = self.open
        values[b - 2 : b] = deviation
        free = b - 2
        if free:
            rest = self.rhs[:free] - self.r[:free, free:] @ values[free:]
            values[:free] = np.linalg.solve(self.r[:free, :free], rest)
        return np.asarray(np.abs(self.matrix @ self._whole(values)))

    def fix_next(self, deviation: Place) -> None:
        self.values[self.open - 2 : self.open] = deviation
        self.open -= 2

    def _whole(self, values: Vector) -> Vector:
        whole = self.deviation.copy()
        whole[self.columns] = values
        return whole


def give_marks(
    form: Form,
    *,
    set_mm: Mapping[str, Point],
    order: Sequence[str],
    drop_mm: Mapping[str, float],
    graduation_mm: float,
    given_mm: Mapping[str, Point],
) -> dict[str, Point]:
    """Seats to aim for, each with its hole on the graduation; marks already given stay if they can.

    Parameters: form; set_mm: set seats' (x, y) [mm]; order: all seats in driving order (set ones
    are passed over); drop_mm: seat to its fastener's drop [mm]; graduation_mm [mm], > 0; given_mm:
    seat to the (x, y) [mm] given before (leave out a seat whose fastener changed).
    Returns: unset seat to (x, y) [mm], in driving order. x and y + drop are multiples of the
    graduation unless given otherwise before.
    Raises: KeyError for an unknown seat.
    Source: module head.
    """
    marks = give_many(
        form,
        set_mm=set_mm,
        order=order,
        drop_mm=drop_mm,
        graduation_mm=graduation_mm,
        given_mm=given_mm,
    )
    return {name: (float(place[0]), float(place[1])) for name, place in marks.items()}


def give_many(
    form: Form,
    *,
    set_mm: Mapping[str, Place],
    order: Sequence[str],
    drop_mm: Mapping[str, float | Vector],
    graduation_mm: float,
    given_mm: Mapping[str, Place],
    installs: tuple[int, ...] = (),
    most: int | None = None,
) -> dict[str, Vector]:
    """The same for many installs of one job at once, whose same seats are set.

    Parameters: form, set_mm, order, drop_mm, graduation_mm and given_mm as for ``give_marks``, each
    place and drop a number or shape (N,) [mm], NaN in given_mm where an install was given none;
    graduation_mm 0 where marks may be anywhere; installs, (N,) [-]; most, only the first so many
    [-].
    Returns: unset seat to (x, y) [mm], shape (2,) or (2, N), in driving order.
    Raises: KeyError for an unknown seat.
    Source: module head.
    """
    to_drive = [name for name in order if name not in set_mm]
    course = Course(form, set_mm, to_drive, installs)
    n = len(form.seats)
    index = {name: i for i, name in enumerate(form.seats)}
    begun = {form.seat_panel[index[name]] for name in set_mm}
    first_rise: dict[int, Vector] = {}
    marks: dict[str, Vector] = {}
    for name in to_drive[:most]:
        i = index[name]
        panel = form.seat_panel[i]
        at = np.array([form.planned_mm[i], form.planned_mm[n + i]])
        planned = at.reshape(2, *(1 for _ in installs))
        best = course.next_best()
        # a free panel keeps its planned height differences: its marks rise together
        rise = best[1] if panel in begun else first_rise.get(panel, best[1])
        wanted = planned + np.stack([best[0], rise])
        place = _on_graduation(wanted, drop_mm.get(name, 0.0), graduation_mm)
        if name in given_mm:
            must_follow = panel in first_rise and panel not in begun
            given = np.broadcast_to(np.asarray(given_mm[name]), place.shape)
            place = _calm(course, planned, given, wanted, place, graduation_mm, must_follow)
        course.fix_next(place - planned)
        first_rise.setdefault(panel, place[1] - planned[1])
        marks[name] = place
    return marks


def _on_graduation(place: Vector, drop_mm: float | Vector, graduation_mm: float) -> Vector:
    if not graduation_mm:
        return place
    hole = np.stack([place[0], place[1] + drop_mm])
    hole = np.rint(hole / graduation_mm) * graduation_mm + 0.0
    return np.stack([hole[0], hole[1] - drop_mm])


def _calm(
    course: Course,
    planned: Vector,
    given: Vector,
    wanted: Vector,
    rounded: Vector,
    graduation_mm: float,
    must_follow: bool,
) -> Vector:
    """The given mark, the new one, or the new one with the coordinate that need not move kept.

    ``must_follow``: its height follows the panel's first mark; half a graduation off is too far.
    """
    half = MOVE_SHARE * graduation_mm - 1e-9
    is_none = np.isnan(given[0])
    new = np.where(np.abs(wanted - given) < half, given, rounded)
    if np.all(np.all(new == given, axis=0) | is_none):
        return np.where(is_none, rounded, given)
    stay = np.where(is_none, new, given)
    keeping, moving = (course.shares_with(place - planned) for place in (stay, new))
    kept = np.stack([stay[0], new[1]]) if must_follow else stay
    return np.where(_is_worth_moving(keeping, moving), new, kept)


def _is_worth_moving(keeping: Vector, moving: Vector) -> Flags:
    """Whether keeping a mark raises the worst of the residuals it bears on by more than KEEP_RISE.

    Residuals it hardly changes are left out: one that no mark can mend must not hide the others.
    """
    touched = np.abs(keeping - moving) > KEEP_RISE
    worst = (np.max(np.where(touched, shares, -1.0), axis=0) for shares in (keeping, moving))
    stay, go = worst
    return np.asarray(stay > go + KEEP_RISE)
