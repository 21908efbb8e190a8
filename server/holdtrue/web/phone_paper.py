"""Typing in afterwards what was written on a sheet of paper: one task after the other.

The sheet shows the numbers of the moment it was printed, and what was done was done by them. So the
form shows those, and says so when it is sent: a mark made by the sheet stands where the sheet put
it, whatever the numbers are by now.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from flask import Response

from holdtrue.domain.checklist import Task, checklist
from holdtrue.domain.prefill import planned_values
from holdtrue.domain.state import JobState
from holdtrue.service import jobs
from holdtrue.service.meanwhile import AT_A_SEAT
from holdtrue.web.context import services
from holdtrue.web.phone_fields import Filled, initial
from holdtrue.web.phone_form import form_screen
from holdtrue.web.phone_here import Here
from holdtrue.web.phone_screens import saved_undo, task_screen


def sheet_state(job_id: str, here: JobState, sheet: str) -> JobState | None:
    """The job as it stood when sheet number ``sheet`` was printed; None for no such sheet."""
    is_number = sheet.isascii() and sheet.isdigit() and len(sheet) < 10
    if not is_number or not 1 <= int(sheet) <= here.seq:
        return None
    return jobs.state_before(services(), job_id, int(sheet) + 1)


def paper_screen(here: Here, task: Task, asked: Mapping[str, str]) -> Response:
    """The form of a task with the numbers of the sheet; its usual screen when it must wait."""
    sheet = asked.get("paper", "")
    then = sheet_state(here.job_id, here.state, sheet)
    if then is None or task.status not in ("ready", "done"):
        return task_screen(here, task)
    carried = {"paper": "1", "sheet": sheet, "written": asked.get("written", "")[:16]}
    if task.id in {one.id for one in checklist(then)}:
        planned = planned_values(then, task.id)
        raw = initial(task.kind, planned, here.unit) | carried | _shown(here.state, then, task)
        return form_screen(
            here,
            task,
            filled=Filled(raw=raw),
            is_again=task.status == "done",
            saved=saved_undo(here),
            then=replace(here, state=then),
        )
    return form_screen(here, task, filled=Filled(raw=carried), saved=saved_undo(here))


def _shown(now: JobState, then: JobState, task: Task) -> dict[str, str]:
    """Where the sheet put the seat: over the level line as it was drawn since."""
    if task.kind.name not in AT_A_SEAT:
        return {"late": "1"}
    seat = then.seat(task.subject)
    line = then.line_height_mm(then.line_of(task.subject))
    up = now.line_height_mm(now.line_of(task.subject)) - line
    shown = {
        "late": "1",
        "shown.x_mm": repr(seat.x_mm),
        "shown.y_mm": repr(seat.y_mm + up),
        "shown.hole_y_mm": repr(seat.hole_y_mm + up),
        "shown.fastener": seat.fastener.name if seat.fastener else "",
    }
    if task.kind.name == "fasteners.measure":
        shown["shown.above_mm"] = repr(seat.y_mm - line)
    return shown


def paper_url(here: Here, done: str, form: Mapping[str, str], seq: int) -> str:
    """On to the next task to type in, with the sheet's number and the time last typed."""
    upcoming = here.next_task(done)
    if upcoming is None:
        return here.task_url(None)
    query = {"paper": form["sheet"], "written": form.get("written", ""), "saved": str(seq)}
    return here.task_url(upcoming, **{name: text for name, text in query.items() if text})
