"""What there is to trim hung panels with, and in what steps.

Method: shims, slides and bumpers come in steps of their own; a screw only where
its fastener says what one turn of it raises, a hanger only where the maker said yes to moving it.
How a panel hangs says which of these it has at all.

Source: the project's own rules; figures in ``sources_trim``.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Literal

from holdtrue.core.model import Fastener, Plan
from holdtrue.core.sources_trim import (
    BUMPER_MM,
    HANGER_MOST_MM,
    INCH_SHIM_MM,
    INCH_STEP_MM,
    SCREW_MOST_MM,
    SHIM_MM,
    SHIM_MOST_MM,
    SLIDE_MM,
    TURN_SHARE,
)
from holdtrue.core.units import is_inch_like

Kind = Literal["shim", "screw", "hanger", "slide", "bumper"]

MEANS_BY_METHOD: Mapping[str, tuple[Kind, ...]] = MappingProxyType(
    {
        "hangers": ("shim", "screw", "hanger", "slide", "bumper"),
        "cleat": ("slide", "bumper"),
        "wire": ("bumper",),
        "standoff": (),
    }
)
"""What can be done to a panel by how it hangs: a wire is slid on its hook when it is read, and a
rail or a post has no ring to shim."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Kit:
    """What there is to trim with; a step of 0, or none for a seat, means there is none of it [mm].

    ``screw_mm``: seat to the height of one step of its screw; ``hanger_mm``: seat to the step its
    hanger is moved by. ``at_mm``: how far a seat was raised already, by means: shims in its ring
    can come out again, and a screw or a hanger goes so far either way of where it was. ``ends``:
    panels, by their indexes, that slide no further to the right (1) or to the left (-1).
    """

    shim_mm: float = SHIM_MM
    slide_mm: float = SLIDE_MM
    bumper_mm: float = BUMPER_MM
    screw_mm: Mapping[str, float] = field(default_factory=dict)
    hanger_mm: Mapping[str, float] = field(default_factory=dict)
    at_mm: Mapping[tuple[Kind, str], float] = field(default_factory=dict)
    ends: frozenset[tuple[int, int]] = frozenset()

    def of_seat(self, seat: str) -> tuple[tuple[Kind, float, float, float], ...]:
        """What raises or lowers a seat: means, its step, and how far down and up it still goes."""
        least_most: tuple[tuple[Kind, float, float, float], ...] = (
            ("shim", self.shim_mm, 0.0, SHIM_MOST_MM),
            ("screw", self.screw_mm.get(seat, 0.0), -SCREW_MOST_MM, SCREW_MOST_MM),
            ("hanger", self.hanger_mm.get(seat, 0.0), -HANGER_MOST_MM, HANGER_MOST_MM),
        )
        return tuple(
            (kind, step, max(at - least, 0.0), max(most - at, 0.0))
            for kind, step, least, most in least_most
            for at in (self.at_mm.get((kind, seat), 0.0),)
        )


def plan_kit(plan: Plan) -> Kit:
    """What there is to trim a plan's panels with; of it only the shims planned in are used yet.

    Parameters: plan; its job's unit and its fasteners' turns [mm].
    Returns: Kit: shims and slides of 0.5 mm, or shims of 1/64 in and slides of 1/32 in where tapes
    read inches.
    Raises: nothing.
    Source: module head.
    """
    at: dict[tuple[Kind, str], float] = {
        ("shim", seat.seat): plan.job.panels[seat.panel].shims_mm for seat in plan.seats
    }
    turns = {seat.seat: turn_mm(seat.fastener) for seat in plan.seats}
    screws = {seat: mm for seat, mm in turns.items() if mm > 0}
    by_inches = is_inch_like(plan.job.unit)
    return Kit(
        shim_mm=shim_mm(plan.job.unit),
        slide_mm=INCH_STEP_MM if by_inches else SLIDE_MM,
        bumper_mm=2 * INCH_STEP_MM if by_inches else BUMPER_MM,
        screw_mm=screws,
        at_mm=at,
    )


def shim_mm(unit: str) -> float:
    """One shim, where tapes read in this unit.

    Parameters: unit of lengths.
    Returns: its thickness [mm].
    Raises: nothing.
    Source: module head.
    """
    return INCH_SHIM_MM if is_inch_like(unit) else SHIM_MM


def turn_mm(fastener: Fastener | None) -> float:
    """One step of a fastener's screw.

    Parameters: fastener, its turn [mm], or None.
    Returns: height of the step [mm]; 0 where it cannot be turned.
    Raises: nothing.
    Source: module head.
    """
    if fastener is None or fastener.turn_mm is None:
        return 0.0
    return fastener.turn_mm * TURN_SHARE
