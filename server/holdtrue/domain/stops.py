"""What an open stop locks: its own seat, and every seat whose hole is near where it was called.

The one rule for it, on every page; ``static/js/app/stops.js`` is the same rule on a phone, and a
test holds the two together on random layouts.
"""

from __future__ import annotations

from collections.abc import Collection
from math import dist

from holdtrue.core.sources import STOP_REACH_MM
from holdtrue.domain.state import JobState, Point, Stop

NOISE_MM = 1e-6
"""Sums of the same lengths may differ by so much; a hole 300 mm away is locked all the same."""


def is_near(hole: Point, at: Point) -> bool:
    """Whether a hole is so near to a place that what was found there may be behind it too."""
    return dist(hole, at) <= STOP_REACH_MM + NOISE_MM


def locked_seats(state: JobState, stop: Stop) -> tuple[str, ...]:
    """The seats one stop locks, from the left; its own too, while the plan has it."""
    return tuple(
        seat.seat
        for seat in state.current.seats
        if seat.seat == stop.seat or is_near((seat.x_mm, seat.hole_y_mm), stop.at_mm)
    )


def is_near_hidden(state: JobState, name: str) -> bool:
    """Whether a cable or pipe found before drilling may be behind this seat: the same rule."""
    hidden, seat = state.hidden, state.seat(name)
    if hidden is None:
        return False
    hole = (seat.x_mm, seat.hole_y_mm)
    return not hidden.near or name in hidden.near or any(is_near(hole, at) for at in hidden.near_mm)


def stop_at(state: JobState, seats: Collection[str]) -> Stop | None:
    """The open stop that locks one of these seats: called at one of them, else the first near."""
    own = [stop for stop in state.open_stops if stop.seat in seats]
    near = (
        stop for stop in state.open_stops if not set(seats).isdisjoint(locked_seats(state, stop))
    )
    return own[0] if own else next(near, None)
