"""Touches on hung panels as they are recorded: with what, where, which way and by how much.

A trim task records either all touches that were advised, as a list, or one that was chosen by hand.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from holdtrue.core.sources_trim import SLIDE_MM
from holdtrue.core.trim import Touch as CoreTouch

Values = dict[str, Any]

WHOLE_PANEL = ("slide", "bumper")
"""Means that concern the panel, not one of its seats."""
LIFTING = ("shim", "screw", "hanger")
"""Means a panel is taken off the wall for."""
WAYS = {
    "shim": ("up", "down"),
    "screw": ("up", "down"),
    "hanger": ("up", "down"),
    "slide": ("right", "left"),
    "bumper": ("out", "in"),
}
"""Which way each moves the panel: + first."""
WORDS = {
    "shim": "shim",
    "screw": "turn the screw at",
    "hanger": "by its hanger, move",
    "slide": "slide",
    "bumper": "bumper behind",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Touched:
    """One touch that was made, or is to be made; + is up, right or out."""

    means: str
    seat: str
    by_mm: float

    @property
    def way(self) -> str:
        return WAYS[self.means][self.by_mm < 0]

    def values(self) -> Values:
        """As it is recorded."""
        by = {"mm": round(abs(self.by_mm), 6)}
        return {"means": self.means, "seat": self.seat, "way": self.way, "by": by}


def touch_of(values: Mapping[str, Any]) -> Touched:
    """One recorded touch; one without a way went up, as trims did before they had one."""
    means = str(values["means"])
    down = values.get("way") == WAYS[means][1]
    size = float(values["by"]["mm"])
    return Touched(
        means=means,
        seat="" if means in WHOLE_PANEL else str(values.get("seat") or ""),
        by_mm=-size if down else size,
    )


def touches_of(values: Mapping[str, Any]) -> tuple[Touched, ...]:
    """All touches of a trim's record; () where it says that nothing can be done."""
    if "touches" in values:
        return tuple(touch_of(one) for one in values["touches"])
    return () if values["means"] == "none" else (touch_of(values),)


def slide_end(touch: Touched, planned: Mapping[str, Any]) -> int:
    """Which end of its play a panel was found at: slid less far than was advised by more than half
    a step; 0 where it went so far, or was not slid."""
    told = [one.by_mm for one in touches_of(planned) if one.means == "slide"] if planned else []
    if touch.means != "slide" or not told:
        return 0
    way = 1 if told[0] > 0 else -1
    return way if way * (told[0] - touch.by_mm) > SLIDE_MM / 2 else 0


def advised(touches: Iterable[CoreTouch]) -> tuple[Touched, ...]:
    """The core's touches in these words."""
    return tuple(Touched(means=t.kind, seat=t.seat or "", by_mm=t.move_mm) for t in touches)
