"""The order of driving, and where the level lines go.

Method: panels from the middle outwards, so that what is left to adjust lies on both sides (along a
row, up and down a column, all around in a grid or a free layout); within a
panel the seat with the larger placing uncertainty first, since a later one can make up for it; ties
from the reference line outwards. A level line lies 50 to 250 mm below the seats it serves, behind
the panels, so that a short rule stood in the hook reads heights.

Source: the project's own rules; reading heights with a short rule is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import floor, hypot

from holdtrue.core.geometry import bounding_box_mm
from holdtrue.core.model import Plan
from holdtrue.core.sources import LINE_BELOW_MM, LINE_NEAREST_MM, LINE_REACH_MM

ORDER_REASON = (
    "from the middle outwards, so that later marks on both sides can make up for earlier ones; "
    "within a panel the less certain fastener first, else the one nearer the reference line"
)

_COUNTS = {"row": (1, 0), "column": (0, 1), "grid": (1, 1), "free": (1, 1)}
"""Which way from the middle counts, x and y, by the kind of layout."""

ASIDE_MM = 2e-4
"""Fractions of an inch end on half a thousandth of a millimetre, where noise would say which of two
panels at one distance is nearer; no place that can be typed ends here. Our choice."""


def panel_order(plan: Plan) -> tuple[int, ...]:
    """Panels from the middle of the group outwards.

    Parameters: plan; lengths [mm].
    Returns: panel indexes; ties go to the higher panel, then to the left one.
    Raises: nothing.
    Source: module head.
    """
    centres = plan.arrangement.centres_mm
    left, bottom, right, top = bounding_box_mm(plan.job.panels, centres)
    along_x, along_y = _COUNTS[plan.job.layout.kind]

    def key(k: int) -> tuple[float, float, float]:
        x, y = centres[k]
        out_mm = hypot(along_x * (x - (left + right) / 2), along_y * (y - (bottom + top) / 2))
        return (round(out_mm + ASIDE_MM, 3), -y, x)

    return tuple(sorted(range(len(centres)), key=key))


def driving_order(plan: Plan, placing_u_mm: Mapping[str, float] | None = None) -> tuple[str, ...]:
    """Seats in the order their fasteners are driven.

    Parameters: plan; placing_u_mm: fastener name to its placing uncertainty [mm] where it differs
    from what the job says of that kind, or of all.
    Returns: seat names.
    Raises: nothing.
    Source: module head.
    """
    usual = plan.job.uncertainty.placing
    known = {f.name: f.placing_u_mm or usual for f in plan.job.fasteners} | dict(placing_u_mm or {})

    def key(index: int) -> tuple[float, float, float]:
        seat = plan.seats[index]
        u_mm = known.get(seat.fastener.name, usual) if seat.fastener else usual
        return (-u_mm, round(abs(seat.x_mm), 3), seat.x_mm)

    order: list[str] = []
    for k in panel_order(plan):
        of_panel = [i for i, seat in enumerate(plan.seats) if seat.panel == k]
        order += [plan.seats[i].seat for i in sorted(of_panel, key=key)]
    return tuple(order)


@dataclass(frozen=True, slots=True, kw_only=True)
class LevelLine:
    """One level line and the seats it serves."""

    name: str
    y_mm: float
    seats: tuple[str, ...]


def level_lines(
    names: Sequence[str], seats_mm: Sequence[tuple[float, float]], round_to_mm: float
) -> tuple[LevelLine, ...]:
    """The level lines a job needs, lowest first.

    Each line is put 100 mm below the lowest seat it serves (rounded down to a handy figure) and
    serves every seat up to 250 mm above it.

    Parameters: names, seats_mm [mm], one per seat; round_to_mm [mm], > 0, e.g. 10 or 25.4.
    Returns: LevelLine, named 1, 2, ... from the lowest.
    Raises: nothing.
    Source: module head.
    """
    left = sorted(zip(names, seats_mm, strict=True), key=lambda s: s[1][1])
    lines: list[LevelLine] = []
    while left:
        lowest = left[0][1][1]
        y = floor((lowest - LINE_BELOW_MM) / round_to_mm) * round_to_mm
        if lowest - y > LINE_REACH_MM:
            y = lowest - LINE_BELOW_MM
        y = min(y, lowest - LINE_NEAREST_MM)
        served = [s for s in left if s[1][1] <= y + LINE_REACH_MM]
        lines.append(
            LevelLine(name=str(len(lines) + 1), y_mm=y, seats=tuple(name for name, _ in served))
        )
        left = left[len(served) :]
    return tuple(lines)
