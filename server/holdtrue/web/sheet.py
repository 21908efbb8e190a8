"""The job on a sheet of paper: every task that is left with its numbers, blanks and times.

For where no phone works. The sheet carries the number of the log's last entry: by it the numbers on
the paper are found again when what was written there is typed in.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from flask import Blueprint, Response, redirect, request, url_for
from werkzeug.wrappers import Response as AnyResponse

from holdtrue.domain.checklist import Task, checklist
from holdtrue.domain.errors import NotFoundError
from holdtrue.domain.prefill import planned_values
from holdtrue.domain.task_kinds import Field
from holdtrue.domain.tasks import STAGES
from holdtrue.domain.timeline import value_words
from holdtrue.web import phone_drawings as drawings
from holdtrue.web.context import page, public_address
from holdtrue.web.phone_fields import Filled, inputs
from holdtrue.web.phone_fit import fitted
from holdtrue.web.phone_here import Here, look
from holdtrue.web.phone_paper import sheet_state
from holdtrue.web.phone_task import hole_numbers
from holdtrue.web.security import require_job_member

blueprint = Blueprint("sheet", __name__)

JOB_LINK = ("Paper sheet", "sheet.show")
STUD_BLANKS = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class Blank:
    """Something to write or tick."""

    label: str
    planned: str = ""
    unit: str = ""
    choices: tuple[str, ...] = ()
    count: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One task of the sheet."""

    task: Task
    plan: tuple[str, ...]
    blanks: tuple[Blank, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """One stage of the sheet."""

    number: int
    title: str
    rows: tuple[Row, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class MarkRow:
    """A hole to mark, with room for where its seat came out."""

    seat: str
    across: str
    height: str
    fastener: str
    is_set: bool


@blueprint.get("/jobs/<job_id>/sheet")
@require_job_member
def show(job_id: str) -> Response:
    """The sheet of now; ``?of=`` prints the sheet of an earlier entry again."""
    here = look(job_id)
    number = request.args.get("of", str(here.state.seq))
    then = sheet_state(job_id, here.state, number)
    if then is None:
        raise NotFoundError("There is no sheet of that number.")
    here = replace(here, state=then, tasks=checklist(then))
    return page(
        "sheet/sheet.html",
        here=here,
        state=then,
        number=number,
        parts=parts(here),
        marks=mark_rows(here),
        drawing=drawings.named_wall(here),
        address=public_address() + url_for("sheet.show", job_id=job_id),
    )


@blueprint.get("/jobs/<job_id>/sheet/<number>/type-in")
@require_job_member
def type_in(job_id: str, number: str) -> AnyResponse:
    """To the first task that is ready, with the numbers of that sheet."""
    here = look(job_id)
    if sheet_state(job_id, here.state, number) is None:
        raise NotFoundError("There is no sheet of that number.")
    upcoming = here.next_task()
    query = {"paper": number} if upcoming else {}
    return redirect(here.task_url(upcoming, **query), code=303)


def parts(here: Here) -> tuple[Part, ...]:
    """Every stage with tasks left, in the order they are best done."""
    left = [task for task in here.tasks if task.status != "done" and not task.kind.is_optional]
    found = (
        Part(
            number=number,
            title=stage.title,
            rows=tuple(_row(here, task) for task in left if task.kind.stage == stage.name),
        )
        for number, stage in enumerate(STAGES, start=1)
    )
    return tuple(part for part in found if part.rows)


def _row(here: Here, task: Task) -> Row:
    planned = planned_values(here.state, task.id)
    shown = fitted(here, task, inputs(task.kind, Filled(raw={}), planned, here.unit))
    blanks = []
    plan = []
    for field, one in zip(task.kind.fields, shown, strict=True):
        blanks.append(_blank(field, one.label, tuple(words for _, words in one.options), here.unit))
        value = planned.get(field.name)
        if value not in (None, "", ()) and field.kind != "studs":
            plan.append(f"{one.label} {value_words(field, value, here.unit)}")
    if task.kind.name in ("fasteners.mark", "fasteners.anchor"):
        plan += _hole(here, task.subject)
    return Row(task=task, plan=tuple(plan), blanks=tuple(blanks))


def _blank(field: Field, label: str, choices: tuple[str, ...], unit: str) -> Blank:
    if field.kind in ("choice", "text") and choices:
        return Blank(label=label, choices=choices)
    if field.kind == "studs":
        return Blank(label=label, unit=f"{unit} left / right, wood / steel", count=STUD_BLANKS)
    if field.kind == "photo":
        return Blank(label="take it, and keep it")
    sides = " left / right" if field.kind == "across" else ""
    return Blank(label=label, unit=f"{unit}{sides}" if field.is_length else "")


def _hole(here: Here, name: str) -> list[str]:
    """Across and up, each with its direction."""
    seat = here.state.seat(name)
    above = seat.hole_y_mm - here.state.line_height_mm(here.state.line_of(name))
    where = [number.where for number in hole_numbers(here, name)]
    sizes = [here.fmt(abs(seat.x_mm)), here.fmt(abs(above))]
    return [f"{size} {words}" for size, words in zip(sizes, where, strict=True)]


def mark_rows(here: Here) -> tuple[MarkRow, ...]:
    """Every seat in driving order."""
    rows = []
    for name in here.state.order:
        seat = here.state.seat(name)
        across, height = _hole(here, name)
        rows.append(
            MarkRow(
                seat=name,
                across=across,
                height=height,
                fastener=seat.fastener.name if seat.fastener else "none listed: ask the lead",
                is_set=name in here.state.set_seats,
            )
        )
    return tuple(rows)
