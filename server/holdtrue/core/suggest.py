"""What would clear the conflicts of a plan: the least shift of the whole work, another fastener.

Method: a shift (dx, dy) moves every seat alike; at its new x a seat may meet another backing, so
another fastener and another drop, and its hole moves up or down by the difference. What a hole
meets changes only where it crosses an upright line: a side of a rectangle to keep clear of, an end
of the wall, an edge of a stud's band. Between two crossings of any seat everything that depends on
dx stays the same, so on the grid of whole graduations only the grid places next to each crossing
need to be tried, and for each of them the least dy is the nearest grid place outside the heights
that are taken. The least of all these is the answer, exactly, on that grid. In a sloped layout a
seat also rises a little with dx; then every answer is still clear, but need not be the very least.

A seat may not come to stand at a stud's edge, or where no fastener is listed, by a shift. Nothing
here is applied: it is shown to the lead.

Source: plane geometry; the project's own rules.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from math import ceil, floor, hypot, inf

import numpy as np

from holdtrue.core.cables import Zone, cable_zones
from holdtrue.core.geometry import seat_rise_mm
from holdtrue.core.loads import load_share
from holdtrue.core.model import Fastener, Plan, PlannedSeat, Wall
from holdtrue.core.plan import make_plan
from holdtrue.core.sources_wall import SHIFT_LEAST_MM, SHIFT_REACH_MM
from holdtrue.core.wall import Behind, behind_at, fastener_for, hole_findings, into_wanted

BLOCKING = ("conflict", "no fastener")
_HAIR_MM = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Shift:
    """Move the whole work by this, right and up, and no conflict is left."""

    dx_mm: float
    dy_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class OtherFastener:
    """This seat's hole is clear with that fastener, ``hole_up_mm`` higher than now (< 0: lower)."""

    seat: str
    fastener: Fastener
    hole_up_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Suggestions:
    """``shift`` None: no shift in reach clears every conflict. ``blocked``: the seats at stake."""

    blocked: tuple[str, ...]
    shift: Shift | None
    fasteners: tuple[OtherFastener, ...]


def suggest(plan: Plan) -> Suggestions | None:
    """What would clear the plan's conflicts; None while there is none.

    Parameters: plan; lengths [mm].
    Returns: Suggestions [mm].
    Raises: nothing.
    Source: module head.
    """
    blocked = tuple(
        dict.fromkeys(f.seat for f in plan.findings if f.kind in BLOCKING and f.seat is not None)
    )
    if not blocked:
        return None
    others = tuple(
        other for seat in plan.seats if seat.seat in blocked for other in _others(plan, seat)
    )
    return Suggestions(blocked=blocked, shift=least_shift(plan), fasteners=others)


def least_shift(plan: Plan) -> Shift | None:
    """The least shift of the whole work, on the grid, that clears every conflict.

    Parameters: plan; lengths [mm].
    Returns: Shift [mm], of the least hypot(dx, dy), ties to the one with the smaller |dy|; None
    when none within ``sources_wall.SHIFT_REACH_MM`` does.
    Raises: nothing.
    Source: module head.
    """
    grid_mm = _grid_mm(plan.job.graduation_mm)
    closed = _Closed(_areas(plan.job.wall))
    grounds = [_within_reach(plan.job.wall, seat.x_mm, grid_mm) for seat in plan.seats]
    best: tuple[float, float, float, float] | None = None
    for dx_mm in _tries(plan, grid_mm):
        if best is not None and abs(dx_mm) > best[0]:
            break
        dy_mm = _least_dy(plan, grounds, closed, dx_mm, grid_mm)
        if dy_mm is None:
            continue
        found = (hypot(dx_mm, dy_mm), abs(dy_mm), dx_mm, dy_mm)
        if found[0] <= SHIFT_REACH_MM and (best is None or found < best):
            best = found
    return Shift(dx_mm=best[2] + 0.0, dy_mm=best[3] + 0.0) if best else None


def _grid_mm(graduation_mm: float) -> float:
    return graduation_mm * max(1, ceil(SHIFT_LEAST_MM / graduation_mm - _HAIR_MM))


def _tries(plan: Plan, grid_mm: float) -> list[float]:
    """Grid places at and next to every crossing, and 0; the nearest first, in reach."""
    tries = {0}
    for seat in plan.seats:
        for line_mm in _upright_lines(plan.job.wall):
            at = (line_mm - seat.x_mm) / grid_mm
            if abs(at) * grid_mm <= SHIFT_REACH_MM + grid_mm:
                tries |= set(range(floor(at) - 1, ceil(at) + 2))
    return sorted((grid_mm * n for n in tries), key=lambda dx: (abs(dx), dx))


def _upright_lines(wall: Wall) -> Iterator[float]:
    """Every x at which something behind or before a hole changes."""
    for stud in wall.studs if wall.behind != "solid" else ():
        for half_mm in (stud.width_mm / 2, stud.width_mm / 2 + wall.stud_clearance_mm):
            yield from (stud.x_mm - half_mm, stud.x_mm + half_mm)
    # bands of two near studs part halfway between their edges
    for a, b in _close_studs(wall):
        yield (a + b) / 2
    for area in _areas(wall):
        yield from (x for x in (area.x0_mm, area.x1_mm) if abs(x) != inf)
    yield from (x for x in (wall.left_mm, wall.right_mm) if x is not None)


def _close_studs(wall: Wall) -> Iterator[tuple[float, float]]:
    """Facing edges of studs whose bands overlap."""
    if wall.behind == "solid":
        return
    studs = sorted(wall.studs, key=lambda stud: stud.x_mm)
    for i, left in enumerate(studs):
        for right in studs[i + 1 :]:
            edges = left.x_mm + left.width_mm / 2, right.x_mm - right.width_mm / 2
            if edges[1] - edges[0] > 2 * wall.stud_clearance_mm:
                break
            yield edges


def _areas(wall: Wall) -> list[Zone]:
    """Everything a hole must not lie in, edges included."""
    keep = [
        Zone(
            x0_mm=min(area.x0_mm, area.x1_mm),
            x1_mm=max(area.x0_mm, area.x1_mm),
            y0_mm=min(area.y0_mm, area.y1_mm),
            y1_mm=max(area.y0_mm, area.y1_mm),
            why=area.why,
        )
        for area in wall.keep_clear
    ]
    return [*keep, *cable_zones(wall)]


class _Closed:
    """The areas as columns: a long wall has hundreds, and they are asked for every seat and try."""

    def __init__(self, areas: Sequence[Zone]) -> None:
        sides = [(area.x0_mm, area.x1_mm, area.y0_mm, area.y1_mm) for area in areas]
        self._x0, self._x1, self._y0, self._y1 = np.array(sides).reshape(-1, 4).T

    def heights_mm(self, x_mm: float) -> set[tuple[float, float]]:
        """What is closed at x, from and to; outlets at one height close the same."""
        # a hair wider: a grid place that touches must not pass by a rounding error
        here = (self._x0 - _HAIR_MM <= x_mm) & (x_mm <= self._x1 + _HAIR_MM)
        return set(zip(self._y0[here].tolist(), self._y1[here].tolist(), strict=True))


def _within_reach(wall: Wall, x_mm: float, grid_mm: float) -> Wall:
    """The wall with those studs alone that a seat at x can come to by a shift."""
    reach_mm = SHIFT_REACH_MM + 2 * grid_mm + wall.stud_clearance_mm
    near = (s for s in wall.studs if abs(s.x_mm - x_mm) <= reach_mm + s.width_mm / 2)
    return replace(wall, studs=tuple(near))


def _least_dy(
    plan: Plan, grounds: Sequence[Wall], closed: _Closed, dx_mm: float, grid_mm: float
) -> float | None:
    """The least move up or down that is clear at this dx; None where none is.

    ``grounds``: what a seat may come to stand on, seat by seat.
    """
    wall, taken = plan.job.wall, list[tuple[float, float]]()
    for seat, ground in zip(plan.seats, grounds, strict=True):
        x_mm = seat.x_mm + dx_mm
        if _is_beyond(wall, x_mm):
            return None
        fastener = _fastener_at(plan, ground, seat, x_mm)
        if fastener is None:
            return None
        rise_mm = seat_rise_mm(plan.job.layout, dx_mm)
        hole_mm = seat.y_mm + rise_mm + fastener.drop_mm
        taken += [(low - hole_mm, high - hole_mm) for low, high in closed.heights_mm(x_mm)]
    return _nearest_free(taken, grid_mm)


def _is_beyond(wall: Wall, x_mm: float) -> bool:
    left, right = wall.left_mm, wall.right_mm
    return (left is not None and x_mm <= left + _HAIR_MM) or (
        right is not None and x_mm >= right - _HAIR_MM
    )


def _fastener_at(plan: Plan, ground: Wall, seat: PlannedSeat, x_mm: float) -> Fastener | None:
    """What a seat would get at x; None where none is listed, or newly at a stud's edge."""
    if x_mm == seat.x_mm:
        return seat.fastener
    behind = behind_at(ground, x_mm)
    if behind.into == "edge" and seat.into != "edge":
        return None
    return fastener_for(behind, plan.job.fasteners)


def _nearest_free(taken: Sequence[tuple[float, float]], grid_mm: float) -> float | None:
    """The grid place nearest 0 in none of the closed intervals."""
    up, down = 0.0, 0.0
    for low, high in sorted(taken):
        if low <= up <= high:
            up = inf if high == inf else _beyond(high, grid_mm)
    for low, high in sorted(taken, key=lambda one: -one[1]):
        if low <= down <= high:
            down = -inf if low == -inf else -_beyond(-low, grid_mm)
    nearest = up if up <= -down else down
    return None if abs(nearest) == inf else nearest


def _beyond(end_mm: float, grid_mm: float) -> float:
    """The first grid place past the end of an interval; a touch of it is not past."""
    return (floor(end_mm / grid_mm + _HAIR_MM) + 1) * grid_mm


def _others(plan: Plan, seat: PlannedSeat) -> Iterator[OtherFastener]:
    """Fasteners listed for what is there whose hole is clear and that carry the load."""
    wanted = into_wanted(Behind(into=seat.into, material=seat.material))
    for fastener in plan.job.fasteners:
        if fastener.into != wanted or fastener == seat.fastener:
            continue
        hole_mm = seat.y_mm + fastener.drop_mm
        if hole_findings(seat.seat, seat.x_mm, hole_mm, plan.job.wall):
            continue
        tried = make_plan(plan.job, chosen={seat.seat: fastener.name})
        share = load_share(next(s for s in tried.seats if s.seat == seat.seat))
        if share is not None and share <= 1:
            yield OtherFastener(
                seat=seat.seat, fastener=fastener, hole_up_mm=hole_mm - seat.hole_y_mm
            )
