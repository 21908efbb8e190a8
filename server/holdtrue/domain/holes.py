"""Holes in the wall: which there are, and where a seat is aimed so that its new one keeps off them.

Every hole made counts, pilot or full, at whatever seat, in use or given up. A hole is where it was
marked, until its seat was read: then it is where the reading puts it. Two seats that the plan
itself puts nearer to each other keep that.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from math import dist
from types import MappingProxyType

import numpy as np

from holdtrue.core.clear import OldHole, clear_place_mm, is_clear
from holdtrue.core.model import PlannedSeat
from holdtrue.core.sources_trim import APART_FULL_MM, APART_PILOT_MM
from holdtrue.core.wall import Behind, behind_at, closed_areas, is_same_ground
from holdtrue.domain.state import Hole, JobState, Point

GIVEN_UP = ("wrong_hole", "spent")
"""Why a seat's hole is given up."""
KEPT: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {"same_hole": ("anchor", "press"), "dropped": (), "moved": ()}
)
"""Why a seat is read again in the hole it has, and what is done again before."""


def made_at(state: JobState, seat: str) -> Point | None:
    """Where a seat's hole really is; None while it has none."""
    built, hole = state.set_seats.get(seat), state.holes.get(seat) or state.pilots.get(seat)
    is_read = built is not None and (
        built.is_measured or f"fasteners.again:{seat}" in state.records
    )
    if hole is None or not is_read:
        return hole
    row, (x, y) = state.seat(seat), state.set_mm[seat]
    return (x, y + row.drop_mm)


def given_up(
    state: JobState, seat: str, *, at_mm: Point | None = None, is_usable: bool = False
) -> JobState:
    """The seat's hole, if it has one, is given up; ``at_mm``: where it was found to be."""
    place = at_mm or made_at(state, seat)
    if not state.is_drilled(seat) or place is None:
        return state
    is_full = seat in state.holes
    hole = Hole(seat=seat, at_mm=place, is_full=is_full, is_usable=is_usable or not is_full)
    return replace(
        state,
        holes={k: v for k, v in state.holes.items() if k != seat},
        pilots={k: v for k, v in state.pilots.items() if k != seat},
        old_holes=(*state.old_holes, hole),
    )


def to_keep_off(state: JobState, seat: str) -> tuple[OldHole, ...]:
    """The holes a new one of this seat keeps off."""
    return tuple(_kept_off(state, seat, hole) for hole in _all(state) if not _is_own(hole, seat))


def _all(state: JobState) -> Iterator[tuple[Hole, bool]]:
    """Every hole there is, and whether it is in use."""
    for hole in state.old_holes:
        yield hole, False
    for seat in {**state.pilots, **state.holes}:
        at = made_at(state, seat)
        if at is not None:
            yield Hole(seat=seat, at_mm=at, is_full=seat in state.holes, is_usable=False), True


def _is_own(hole: tuple[Hole, bool], seat: str) -> bool:
    """The hole the seat has now keeps no distance from itself."""
    return hole[1] and hole[0].seat == seat


def _kept_off(state: JobState, seat: str, found: tuple[Hole, bool]) -> OldHole:
    hole = found[0]
    apart = APART_FULL_MM if hole.is_full else APART_PILOT_MM
    is_own = hole.seat == seat
    if not is_own and hole.seat in state.form.seats:
        apart = min(apart, dist(_planned(state, seat), _planned(state, hole.seat)))
    return OldHole(at_mm=hole.at_mm, apart_mm=apart, is_usable=is_own and hole.is_usable)


def _planned(state: JobState, seat: str) -> Point:
    return state.plan.arrangement.seats_mm[state.form.seats.index(seat)]


def with_clear_aim(state: JobState, held: Mapping[str, Point]) -> JobState:
    """The same with an aim for the first seat to be driven whose hole would come too near one."""
    if not (state.old_holes or state.pilots or state.holes):
        return state
    for row in _near_a_hole(state):
        holes = to_keep_off(state, row.seat)
        if is_clear((row.x_mm, row.hole_y_mm), holes):
            continue
        place = clear_place_mm(
            state.form,
            {k: v for k, v in {**state.bearing_mm, **held}.items() if k != row.seat},
            row.seat,
            holes=holes,
            drop_mm=row.hole_y_mm - row.y_mm,
            graduation_mm=state.job.graduation_mm,
            fits=ground_at(state, row.seat),
        )
        return replace(state, aims={**state.aims, row.seat: place})
    return state


def _near_a_hole(state: JobState) -> list[PlannedSeat]:
    """Seats still to be drilled whose hole is near any there is, in driving order."""
    rows = {row.seat: row for row in state.current.seats}
    open_ = [rows[s] for s in state.order if s not in state.set_seats and not state.is_drilled(s)]
    new = np.array([(row.x_mm, row.hole_y_mm) for row in open_]).reshape(-1, 1, 2)
    made = np.array([hole.at_mm for hole, _ in _all(state)])
    is_near = np.any(np.hypot(*np.moveaxis(new - made, 2, 0)) < APART_FULL_MM, axis=1)
    return [row for row, near in zip(open_, is_near, strict=True) if near]


def ground_at(state: JobState, seat: str) -> Callable[[Point], bool]:
    """Whether a hole at some place meets what this seat's fastener is meant for, and may go there.

    What was found behind the seat was found where its hole was: it holds there, straight above and
    below, and elsewhere as far as the wall is known to be the same.
    """
    wall, found = state.job.wall, state.found.get(seat)
    own = [hole.at_mm for hole in state.old_holes if hole.seat == seat]
    column = (made_at(state, seat) or (own[-1] if own else (state.seat(seat).x_mm,)))[0]
    behind = found or behind_at(wall, column)
    areas, near = closed_areas(wall), state.job.graduation_mm / 2 + 1e-9

    def fits(hole: Point) -> bool:
        is_there = found is not None and abs(hole[0] - column) <= near
        return (is_there or is_same_ground(wall, behind, hole[0])) and not any(
            area.holds(*hole) for area in areas
        )

    return fits


def known_behind(state: JobState, seat: str) -> Behind:
    """What the survey says is behind the seat's hole, whatever was found there since."""
    at = made_at(state, seat) or (state.seat(seat).x_mm,)
    return behind_at(state.job.wall, at[0])
