"""Where a hole goes that must keep its distance from the holes there are.

Method: off its best place by (x, y), with all else at its optimum, a seat costs a quadratic of the
criterion; its 2 x 2 triangle is the last block of the least-squares triangle (see ``marks``). Of
all holes on the graduation that keep their distance from every hole made, and lie where the
fastener finds what it is meant for, the one that costs least is taken. A pilot made for the same
seat may be drilled out again: then the new hole is that very hole, if that costs less.

Source: least squares as in ``marks``; what keeps what distance is ``sources_trim``.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from math import ceil, dist, floor

import numpy as np

from holdtrue.core.marks import Course
from holdtrue.core.quality import Form, Vector

Point = tuple[float, float]
SAME_MM = 1e-6
"""[mm] Two holes nearer than this are one; it covers how a length is written."""
_MARGIN = 2
"""[graduations] Looked at around the holes to stay clear of; at least _LEAST_MM."""
_LEAST_MM = 1.0
_MOST = 240
"""[-] Places looked at along x and along y; beyond that only every second graduation, and so on."""
_TIE_MM2 = 1e-6
"""[mm2] Costs nearer than this, the dearest direction counted in mm, are the same: the place
further left, then lower, is taken."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OldHole:
    """A hole in the wall, and how far another one's centre must be from its own [mm]."""

    at_mm: Point
    apart_mm: float
    is_usable: bool = False
    """A pilot of the same seat: the new hole may be this very hole."""


def is_clear(hole_mm: Point, holes: Sequence[OldHole]) -> bool:
    """Whether a hole keeps its distance from all others, or is one that may be used again.

    Parameters: hole_mm, its centre [mm]; holes there are.
    Returns: bool [-].
    Raises: nothing.
    Source: module head.

    >>> is_clear((0.0, 7.0), [OldHole(at_mm=(0.0, 0.0), apart_mm=6.0)])
    True
    """
    return all(_keeps_off(hole_mm, one) for one in holes)


def _keeps_off(hole_mm: Point, one: OldHole) -> bool:
    off = dist(hole_mm, one.at_mm)
    return off >= one.apart_mm - SAME_MM or (one.is_usable and off < SAME_MM)


def clear_place_mm(
    form: Form,
    set_mm: Mapping[str, Point],
    seat: str,
    *,
    holes: Sequence[OldHole],
    drop_mm: float,
    graduation_mm: float,
    fits: Callable[[Point], bool],
) -> Point:
    """Best place of a seat whose hole keeps its distance from the holes there are.

    Parameters: form; set_mm: places of the seats held, without this one [mm]; seat; holes; drop_mm
    of the fastener [mm]; graduation_mm [mm], > 0; fits: whether the fastener finds at a hole [mm]
    what it is meant for. Where it fits nowhere near, only the distance counts.
    Returns: the seat's place [mm]; its hole lies drop above it, on the graduation or in a hole used
    again.
    Raises: KeyError for an unknown seat.
    Source: module head.
    """
    order = (seat, *(name for name in form.seats if name != seat and name not in set_mm))
    course = Course(form, set_mm, order)
    at, n = form.seats.index(seat), len(form.seats)
    dx, dy = course.next_best()
    best = (float(form.planned_mm[at] + dx), float(form.planned_mm[n + at] + dy + drop_mm))
    triangle = course.next_triangle()
    triangle = triangle / np.max(np.abs(triangle))
    new = _new_holes(best, triangle, holes, graduation_mm)
    again = [one.at_mm for one in holes if one.is_usable and is_clear(one.at_mm, holes)]
    found = [*again, next((hole for hole in new if fits(hole)), new[0])]
    hole = min(found, key=lambda one: _cost(one, best, triangle))
    return hole[0], hole[1] - drop_mm


def _cost(hole: Point, best: Point, triangle: Vector) -> int:
    """What a hole off the best one costs, in ties."""
    off = triangle @ np.subtract(hole, best)
    return round(float(off @ off) / _TIE_MM2)


def _new_holes(
    best: Point, triangle: Vector, holes: Sequence[OldHole], graduation_mm: float
) -> list[Point]:
    """Holes on the graduation that are clear of all others, those that cost least first."""
    (x0, x1), (y0, y1) = _window(best, holes, graduation_mm)
    step = graduation_mm * max(1, ceil(max(x1 - x0, y1 - y0) / (_MOST * graduation_mm)))
    x, y = np.meshgrid(_places(x0, x1, step), _places(y0, y1, step), indexing="ij")
    is_open = np.ones(x.shape, dtype=bool)
    for one in holes:
        is_open &= np.hypot(x - one.at_mm[0], y - one.at_mm[1]) >= one.apart_mm - SAME_MM
    x, y = x[is_open], y[is_open]
    off = triangle @ np.array([x - best[0], y - best[1]])
    cheapest = np.argsort(np.rint(np.sum(off**2, axis=0) / _TIE_MM2), kind="stable")
    return [(float(x[i]), float(y[i])) for i in cheapest]


def _places(low_mm: float, high_mm: float, step_mm: float) -> Vector:
    whole = np.arange(floor(low_mm / step_mm), ceil(high_mm / step_mm) + 1)
    return np.asarray(whole * step_mm, dtype=np.float64)


def _window(
    best: Point, holes: Sequence[OldHole], graduation_mm: float
) -> tuple[tuple[float, float], tuple[float, float]]:
    """Around the best place and every hole that keeps others off there, or off the next one."""
    margin = max(_MARGIN * graduation_mm, _LEAST_MM)
    sides = [(at - margin, at + margin) for at in best]
    left = list(holes)
    while near := [one for one in left if _reaches(one, margin, sides)]:
        left = [one for one in left if one not in near]
        for one in near:
            out = one.apart_mm + margin
            sides = [
                (min(low, at - out), max(high, at + out))
                for (low, high), at in zip(sides, one.at_mm, strict=True)
            ]
    return sides[0], sides[1]


def _reaches(one: OldHole, margin: float, sides: Sequence[Point]) -> bool:
    out = one.apart_mm + margin
    return all(
        low <= at + out and at - out <= high
        for (low, high), at in zip(sides, one.at_mm, strict=True)
    )
