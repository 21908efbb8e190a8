"""What to lay out before anything: fasteners with spares, and tools.

Source: the project's own rules; one spare in four is our choice, so that a spent toggle does not
end the day.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from math import ceil

from holdtrue.core.model import Fastener, Plan

SPARES_PER_FASTENER = 0.25
"""[-] Spares for each fastener of a kind, rounded up. Our choice."""

TOOLS: tuple[str, ...] = (
    "Tape, the same one for the whole job",
    "Spirit level or laser",
    "Short steel rule",
    "Plumb line, straightedge",
    "Detector for studs, cables and pipes",
    "Low-tack tape, paper tape, pencil",
    "Glasses, mask, gloves",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Carry:
    """One kind of fastener to carry; ``None`` stands for seats that have no fastener listed."""

    fastener: Fastener | None
    count: int
    spares: int
    seats: tuple[str, ...]


def to_carry(plan: Plan) -> tuple[Carry, ...]:
    """Fasteners for every seat of the plan, in the order the job lists them.

    A listed kind that no seat needs comes too, as spares: the pilot may meet something else.
    """
    counts = Counter(seat.fastener for seat in plan.seats)
    listed: list[Fastener | None] = [*plan.job.fasteners, None]
    return tuple(
        Carry(
            fastener=fastener,
            count=counts[fastener],
            spares=max(1, ceil(counts[fastener] * SPARES_PER_FASTENER)) if fastener else 0,
            seats=tuple(seat.seat for seat in plan.seats if seat.fastener == fastener),
        )
        for fastener in listed
        if fastener or counts[fastener]
    )
