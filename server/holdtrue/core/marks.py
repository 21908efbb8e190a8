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

Source: L. Babai (above) for the rounding; level first and the calm are the project's own rules.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from holdtrue.core.quality import Form, Vector, residuals_mm
from holdtrue.core.recompute import fixed_from_set
from holdtrue.core.sources import KEEP_RISE, MOVE_SHARE

Point = tuple[float, float]

_RIDGE = 1e-7
"""[1/mm] Weight of the minimum-norm rows: far below any real row, so it only decides what the
residuals leave open."""


class Course:
    """The least-squares problem of the seats still to drive, solvable mark by mark."""

    def __init__(self, form: Form, set_mm: Mapping[str, Point], order: Sequence[str]) -> None:
        """Parameters: form; set_mm: set seats' (x, y) [mm]; order: the unset seats, first first."""
        self.form = form
        n = len(form.seats)
        index = {name: i for i, name in enumerate(form.seats)}
        self.deviation = np.zeros(2 * n)
        fixed = fixed_from_set(form, set_mm)
        for at, value in fixed.items():
            self.deviation[at] = value
        self.columns = [at for name in reversed(order) for at in (index[name], n + index[name])]
        matrix = form.scaled
        held = sorted(fixed)
        target = -matrix[:, held] @ self.deviation[held]
        size = len(self.columns)
        stacked = np.vstack([matrix[:, self.columns], _RIDGE * np.eye(size)])
        q, self.r = np.linalg.qr(stacked)
        self.rhs = q.T @ np.concatenate([target, np.zeros(size)])
        self.values = np.zeros(size)
        self.open = size
        """Variables not yet fixed: columns[:open]."""

    def next_best(self) -> Point:
        """Optimum deviation (dx, dy) of the next seat, given all that is fixed."""
        a, b = self.open - 2, self.open
        rest = self.rhs[a:b] - self.r[a:b, b:] @ self.values[b:]
        dx, dy = np.linalg.solve(self.r[a:b, a:b], rest)
        return float(dx), float(dy)

    def next_triangle(self) -> Vector:
        """T, 2 x 2 [1/mm]: off its best place by d the next seat costs |T d|^2, all else best."""
        return np.asarray(self.r[self.open - 2 : self.open, self.open - 2 : self.open])

    def shares_with(self, deviation: Point) -> Vector:
        """Every |residual| [tolerances] with the next seat there and the rest at the optimum."""
        values = self.values.copy()
        b = self.open
        values[b - 2 : b] = deviation
        free = b - 2
        if free:
            rest = self.rhs[:free] - self.r[:free, free:] @ values[free:]
            values[:free] = np.linalg.solve(self.r[:free, :free], rest)
        residuals = residuals_mm(self.form, self._whole(values))
        return np.asarray(np.abs(residuals) / self.form.tolerance_mm)

    def fix_next(self, deviation: Point) -> None:
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
    to_drive = [name for name in order if name not in set_mm]
    course = Course(form, set_mm, to_drive)
    n = len(form.seats)
    index = {name: i for i, name in enumerate(form.seats)}
    begun = {form.seat_panel[index[name]] for name in set_mm}
    first_rise: dict[int, float] = {}
    marks: dict[str, Point] = {}
    for name in to_drive:
        i = index[name]
        panel = form.seat_panel[i]
        planned = (float(form.planned_mm[i]), float(form.planned_mm[n + i]))
        best = course.next_best()
        # a free panel keeps its planned height differences: its marks rise together
        rise = best[1] if panel in begun else first_rise.get(panel, best[1])
        wanted = (planned[0] + best[0], planned[1] + rise)
        place = _on_graduation(wanted, drop_mm.get(name, 0.0), graduation_mm)
        if name in given_mm:
            must_follow = panel in first_rise and panel not in begun
            place = _calm(
                course, planned, given_mm[name], wanted, place, graduation_mm, must_follow
            )
        course.fix_next((place[0] - planned[0], place[1] - planned[1]))
        first_rise.setdefault(panel, place[1] - planned[1])
        marks[name] = place
    return marks


def _is_worth_moving(keeping: Vector, moving: Vector) -> bool:
    """Whether keeping a mark raises the worst of the residuals it bears on by more than KEEP_RISE.

    Residuals it hardly changes are left out: one that no mark can mend must not hide the others.
    """
    touched = np.abs(keeping - moving) > KEEP_RISE
    if not touched.any():
        return False
    return float(np.max(keeping[touched])) > float(np.max(moving[touched])) + KEEP_RISE


def _on_graduation(place: Point, drop_mm: float, graduation_mm: float) -> Point:
    x = round(place[0] / graduation_mm) * graduation_mm
    hole = round((place[1] + drop_mm) / graduation_mm) * graduation_mm
    return (x, hole - drop_mm)


def _calm(
    course: Course,
    planned: Point,
    given: Point,
    wanted: Point,
    rounded: Point,
    graduation_mm: float,
    must_follow: bool,
) -> Point:
    """The given mark, the new one, or the new one with the coordinate that need not move kept.

    ``must_follow``: its height follows the panel's first mark; half a graduation off is too far.
    """
    half = MOVE_SHARE * graduation_mm - 1e-9
    x, y = (g if abs(w - g) < half else r for g, w, r in zip(given, wanted, rounded, strict=True))
    if (x, y) == given:
        return given
    keeping = course.shares_with((given[0] - planned[0], given[1] - planned[1]))
    moving = course.shares_with((x - planned[0], y - planned[1]))
    if _is_worth_moving(keeping, moving):
        return (x, y)
    return (given[0], y) if must_follow else given
