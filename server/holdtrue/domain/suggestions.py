"""What would clear a plan's conflicts, in words; nothing is applied by itself."""

from __future__ import annotations

from collections.abc import Mapping
from copy import deepcopy
from typing import Any

from holdtrue.core.model import Job, Plan
from holdtrue.core.readout import format_length
from holdtrue.core.sources_wall import SHIFT_REACH_MM
from holdtrue.core.suggest import OtherFastener, Shift, Suggestions
from holdtrue.domain.documents import Document, mm_text


def suggestion_texts(found: Suggestions | None, job: Job) -> tuple[str, ...]:
    """One line for each suggestion; empty while the plan has no conflict."""
    if found is None:
        return ()
    return (shift_text(found.shift, job), *(_other(one, job) for one in found.fasteners))


def shift_text(shift: Shift | None, job: Job) -> str:
    """The least shift that clears everything, or that none in reach does."""
    if shift is None:
        reach = format_length(SHIFT_REACH_MM, job.unit, graduation_mm=job.graduation_mm)
        return f"no shift of the whole work within {reach} clears every conflict"
    moves = [
        f"{format_length(abs(mm), job.unit, graduation_mm=job.graduation_mm)} {way[mm > 0]}"
        for mm, way in (
            (shift.dx_mm, ("to the left", "to the right")),
            (shift.dy_mm, ("down", "up")),
        )
        if mm
    ]
    return f"moving the whole work {' and '.join(moves)} clears every conflict"


def _other(one: OtherFastener, job: Job) -> str:
    how = "higher" if one.hole_up_mm > 0 else "lower"
    by = format_length(abs(one.hole_up_mm), job.unit)
    return f"{one.seat}: with {one.fastener.name} its hole lies {by} {how} and is clear"


def with_shift(document: Mapping[str, Any], plan: Plan, shift: Shift) -> Document:
    """The document with the whole work moved; nothing else in it changes."""
    new = deepcopy(dict(document))
    if plan.job.layout.kind == "free":
        for panel, (x, y) in zip(new["panels"], plan.arrangement.centres_mm, strict=True):
            panel["centre"] = {"x": mm_text(x + shift.dx_mm), "y": mm_text(y + shift.dy_mm)}
        return new
    layout = new["layout"] = dict(new["layout"])
    layout["offset"] = mm_text(plan.job.layout.offset_mm + shift.dx_mm)
    layout["height"] = {
        **layout["height"],
        "at": mm_text(plan.job.layout.height_at_mm + shift.dy_mm),
    }
    return new
