"""The form of a task as it is shown, first or again."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from flask import Response

from holdtrue.domain.checklist import Task
from holdtrue.domain.prefill import length, planned_values, read_like, shown_plan
from holdtrue.web.phone_fields import Filled, initial, inputs, signature
from holdtrue.web.phone_fit import fitted, starting_values
from holdtrue.web.phone_here import Here, Undo, screen, secure_now
from holdtrue.web.phone_live import live_inputs
from holdtrue.web.phone_shims import planned_shims_mm
from holdtrue.web.phone_shown import Number
from holdtrue.web.phone_task import shown
from holdtrue.web.phone_words import large, side

EDGES = ("left", "right")
CARRIED = (
    *("paper", "sheet", "late"),
    *("shown.x_mm", "shown.y_mm", "shown.hole_y_mm", "shown.fastener", "shown.above_mm"),
)
"""What a form typed in from paper says of the sheet, from page to page."""
READ_OUT = ("level.line", "fasteners.mark", "fasteners.measure", "panels.trim")
"""Tasks whose numbers somebody on the floor calls up to the ladder."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ask:
    """Why a form comes back. ``how``: echo (is this what you read?), sure (unlikely), which (typed
    and "as planned" disagree), wrong, new key (sent before), moved (the plan changed), rows."""

    how: str
    words: str = ""


def form_screen(
    here: Here,
    task: Task,
    *,
    url: str | None = None,
    filled: Filled | None = None,
    ask: Ask | None = None,
    key: str | None = None,
    edge: str | None = None,
    is_again: bool = False,
    saved: Undo | None = None,
    then: Here | None = None,
    status: int = 200,
) -> Response:
    """The form of a task; ``then``: the job whose numbers it shows, when that is an older one."""
    return screen(
        here,
        "_task.html",
        title=task.title,
        status=status,
        stage=task.kind.stage,
        url=url,
        ask=ask,
        key=key,
        saved=saved,
        secure=secure_now(here, saved.task) if saved else None,
        **{
            **form_values(then or here, task, filled=filled, edge=edge, is_again=is_again),
            **_stands(here, task),
            **_seen_before(filled, ask),
        },
    )


def _stands(here: Here, task: Task) -> dict[str, int]:
    record = here.state.records.get(task.id)
    return {"stands": record.seq if record else 0}


def _seen_before(filled: Filled | None, ask: Ask | None) -> dict[str, str]:
    """What a form said it was shown stays said until a change since was told."""
    if filled is None or ask is None or ask.how in ("moved", "new key"):
        return {}
    return {name: filled.raw[name] for name in ("seen", "stands") if name in filled.raw}


def form_values(
    here: Here,
    task: Task,
    *,
    filled: Filled | None = None,
    edge: str | None = None,
    is_again: bool = False,
) -> dict[str, Any]:
    """What the form's template is filled with, whoever looks and whenever."""
    planned = _planned(here, task)
    edge = edge if edge in EDGES else str(planned.get("edge", "left"))
    planned = read_like(here.state, task.id, planned, {**planned, "edge": edge})
    filled = filled or Filled(raw=_start(here, task, planned, is_again=is_again))
    asked = fitted(here, task, inputs(task.kind, filled, planned, here.unit))
    return {
        "task": task,
        "shown": shown(here, task, edge),
        "inputs": live_inputs(task, asked, on_slope=here.state.job.layout.slope_mm_per_m != 0),
        "errors": filled.errors,
        "seen": shown_plan(here.state, task.id),
        **_stands(here, task),
        "sure": signature(task.kind, filled.raw),
        "is_paper": filled.raw.get("paper") == "1",
        "carried": {name: filled.raw[name] for name in CARRIED if name in filled.raw},
        "written": filled.raw.get("written", ""),
        "edge": edge,
        "is_again": is_again,
        "more_rows": filled.more_rows,
        "can_read_out": task.kind.name in READ_OUT,
        "has_plan": bool(planned),
    }


def _planned(here: Here, task: Task) -> dict[str, Any]:
    """The plan, shims as they were planned until they can be worked out."""
    planned = planned_values(here.state, task.id)
    if task.kind.name == "panels.shim" and not planned:
        return {"thick": length(planned_shims_mm(here.state, task.subject))}
    return planned


def _start(here: Here, task: Task, planned: Mapping[str, Any], *, is_again: bool) -> dict[str, str]:
    """What stands in the inputs first: what was recorded before, else the plan."""
    record = here.state.records.get(task.id)
    if is_again and record is not None and record.outcome != "as_planned":
        return initial(task.kind, record.values, here.unit)
    if task.kind.name == "join.ways":
        return {"unit": here.unit, "hand": here.hand}
    return initial(task.kind, starting_values(task.kind.name, planned), here.unit)


def planned_numbers(here: Here, task: Task) -> tuple[Number, ...]:
    """The planned lengths of a task as numbers to read out."""
    planned = planned_values(here.state, task.id)
    numbers = []
    for field in task.kind.fields:
        value = planned.get(field.name)
        if value and field.is_length and field.required:
            mm = float(value["mm"])
            where = side(mm) if field.kind == "across" else ""
            numbers.append(Number(what=field.label, value=large(abs(mm), here.unit), where=where))
    return tuple(numbers)
