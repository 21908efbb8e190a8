"""The floor and the wall as they were read, for the lead to choose what the work goes by.

Heights count from the floor at the reference, level; the readings at both ends say what that makes
of them there, and how the room slopes. Nothing follows it by itself.
"""

from __future__ import annotations

from dataclasses import dataclass

from holdtrue.core.readout import format_length
from holdtrue.core.slope import room_slope_mm_per_m
from holdtrue.domain.state import JobState

LEAST_SLOPE = 0.05
"""[mm/m] Below it a room is level: it is written to a tenth."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Floor:
    """Height of the floor at each end over the floor at the reference [mm]."""

    left_mm: float
    right_mm: float
    slope_mm_per_m: float | None
    """None while no end of the wall was measured."""


def floor_read(state: JobState) -> Floor | None:
    """The floor as it was read; None before."""
    record = state.records.get("reference.floor")
    if record is None:
        return None
    down = {name: float(record.values[name]["mm"]) for name in ("left", "reference", "right")}
    left, right = down["reference"] - down["left"], down["reference"] - down["right"]
    wall = state.job.wall
    ends = [(x, h) for x, h in ((wall.left_mm, left), (wall.right_mm, right)) if x]
    slope = round(room_slope_mm_per_m(ends), 1) if ends else None
    return Floor(left_mm=left, right_mm=right, slope_mm_per_m=slope)


def floor_lines(state: JobState, floor: Floor) -> tuple[str, ...]:
    """In words: the floor itself, and what a height of the work is over it at both ends."""
    unit = state.job.unit

    def beside(end: str, mm: float) -> str:
        size = format_length(abs(mm), unit)
        if size == format_length(0.0, unit):
            return f"{end} as high"
        return f"{end} {size} {'higher' if mm > 0 else 'lower'}"

    read = f"{beside('left end', floor.left_mm)}, {beside('right end', floor.right_mm)}"
    lines = [f"The floor was read: {read} than at the reference, where heights count from."]
    layout = state.job.layout
    if layout.kind != "free":
        at = layout.height_at_mm
        over = [format_length(at - mm, unit) for mm in (floor.left_mm, floor.right_mm)]
        lines.append(
            f"The work's {layout.height_of}, {format_length(at, unit)} up there, is {over[0]} over "
            f"the floor at the left end and {over[1]} at the right end. To count from an end, type "
            "the height that makes it right there."
        )
    return tuple(lines)


def other_slope(state: JobState, floor: Floor) -> float | None:
    """The slope of the room [mm/m], where it is known and the work does not follow it."""
    slope = floor.slope_mm_per_m
    if slope is None or abs(slope - state.job.layout.slope_mm_per_m) < LEAST_SLOPE:
        return None
    return slope


def is_level(state: JobState, floor: Floor) -> bool:
    """Whether the tape of the job shows the floor alike at both ends and at the reference."""
    return max(abs(floor.left_mm), abs(floor.right_mm)) < state.job.graduation_mm


def bow_line(state: JobState) -> str:
    """What a bowed wall does to the work; "" where it bows less than faces may miss each other."""
    record = state.records.get("reference.bow")
    bow_mm = float(record.values["bow"]["mm"]) if record else 0.0
    flush_mm = state.job.tolerance.flush
    if len(state.job.panels) < 2 or bow_mm <= flush_mm:
        return ""
    bow, flush = (format_length(mm, state.job.unit) for mm in (bow_mm, flush_mm))
    return (
        f"The wall bows {bow} under the straightedge: faces may miss each other by more than the "
        f"{flush} allowed. Bumpers of their own for each panel make up for it."
    )
