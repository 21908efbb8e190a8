"""What a job's loaded seats teach about a fastener kind: its drop, and the scatter about it.

The drop is offered, never applied; the scatter is held against what the forecast reckons with.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot

from holdtrue.core.bias import Bias, DropReading, learned_biases
from holdtrue.domain.estimating import placing_u_mm
from holdtrue.domain.state import JobState

GRAIN_MM = 0.1
"""A learned drop is given to this. Our choice: finer than it is known."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Learned:
    """A kind's drop as planned and as its readings say."""

    fastener: str
    was_mm: float
    drop_mm: float
    u_mm: float
    count: int
    left: int
    """Seats still to be driven with it."""

    @property
    def lower_mm(self) -> float:
        """How much lower than planned its seats come."""
        return self.drop_mm - self.was_mm


def drop_readings(state: JobState) -> list[DropReading]:
    """One per measured seat: where it is over where its hole should have put it.

    From the hole that was made, so that readings count alike before and after a drop was learned.
    """
    found = []
    for name, seat in state.set_seats.items():
        row, hole = state.seat(name), state.holes.get(name)
        if not seat.is_measured or hole is None or row.fastener is None or state.estimate is None:
            continue
        meant = hole[1] - row.fastener.drop_mm
        u = hypot(placing_u_mm(state.job, row.fastener), state.estimate.u_mm(name)[1])
        found.append(
            DropReading(fastener=row.fastener.name, miss_mm=state.set_mm[name][1] - meant, u_mm=u)
        )
    return found


def learned_drops(state: JobState) -> tuple[Learned, ...]:
    """Kinds whose real drop is worth taking for the rest of the job."""
    biases = learned_biases(drop_readings(state)).values()
    found = [_learned(state, bias) for bias in biases]
    return tuple(one for one in found if one is not None and one.left)


def scattered(state: JobState) -> tuple[Bias, ...]:
    """Kinds whose seats scatter more about their common drop than the plan reckons with."""
    return tuple(b for b in learned_biases(drop_readings(state)).values() if b.is_scattered)


def drop_worth_taking_mm(bias: Bias, was_mm: float) -> float | None:
    """A kind's drop as its readings say, where that is worth taking; else None."""
    drop = round((was_mm + bias.bias_mm) / GRAIN_MM) * GRAIN_MM
    return drop if bias.is_offered and abs(drop - was_mm) >= GRAIN_MM / 2 else None


def _learned(state: JobState, bias: Bias) -> Learned | None:
    fastener = next(f for f in state.job.fasteners if f.name == bias.fastener)
    drop = drop_worth_taking_mm(bias, fastener.drop_mm)
    if drop is None:
        return None
    left = [
        seat
        for seat in state.current.seats
        if seat.seat not in state.set_seats
        and seat.fastener is not None
        and seat.fastener.name == fastener.name
    ]
    return Learned(
        fastener=fastener.name,
        was_mm=fastener.drop_mm,
        drop_mm=round(drop, 6),
        u_mm=bias.u_mm,
        count=bias.count,
        left=len(left),
    )
