"""What to lay out before anything: fasteners with spares, and tools.

Source: the project's own rules; one spare in four is our choice, so that a spent toggle does not
end the day.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from math import ceil

from holdtrue.core.instruments import tape_limit_mm
from holdtrue.core.model import Fastener, Plan
from holdtrue.core.screw_checks import gauge_for
from holdtrue.core.wood_screws import lead_hole_mm

SPARES_PER_FASTENER = 0.25
"""[-] Spares for each fastener of a kind, rounded up. Our choice."""

TOOLS: tuple[str, ...] = (
    "Spirit level or laser",
    "Short steel rule",
    "Plumb line, straightedge",
    "Detector for studs, cables and pipes",
    "Low-tack tape, paper tape, pencil",
    "Thin shims for the rings: 0.5\xa0mm, or 1/64\xa0in",
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


def bits(plan: Plan) -> tuple[str, ...]:
    """Bits to lay out: the pilot's, each maker's, and the lead holes of screws in known wood."""
    leads = [
        f"{fastener.name}: {_lead_hole(fastener)}"
        for fastener in plan.job.fasteners
        if fastener.screw is not None and fastener.screw.gravity is not None
    ]
    return ("the thinnest for pilots, and the one each maker names", *leads)


def _lead_hole(fastener: Fastener) -> str:
    spec = fastener.screw
    assert spec is not None
    assert spec.gravity is not None
    hole_mm = lead_hole_mm(gauge_for(spec), gravity=spec.gravity)
    return f"lead hole {hole_mm:.1f}\xa0mm in its wood" if hole_mm else "no lead hole in its wood"


def tape(plan: Plan, fmt: Callable[[float], str]) -> str:
    """Which tape, and what its class may be off over the longest reading of this job."""
    longest_mm = max(max(abs(seat.x_mm), seat.hole_y_mm) for seat in plan.seats)
    second, third = (
        tape_limit_mm(longest_mm, tape=one, from_surface=True) for one in ("II", "III")
    )
    return (
        f"the same one for the whole job; over {fmt(longest_mm)} class II may be "
        f"{second:.1f}\xa0mm off, class III {third:.1f}\xa0mm"
    )
