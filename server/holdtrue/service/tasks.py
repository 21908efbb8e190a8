"""Commands at the wall: record a task, as planned, as measured or as done.

Blocking a seat, stops and undo have their own modules; they are named here too, because to a page
all of them are what can be done at the wall.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256
from typing import Any

from holdtrue.core.model import PlannedSeat
from holdtrue.domain import events
from holdtrue.domain.checklist import Task
from holdtrue.domain.errors import InputError, NotFoundError
from holdtrue.domain.levelcheck import read_with
from holdtrue.domain.outlook import chance_now
from holdtrue.domain.picture import Picture, read_picture
from holdtrue.domain.prefill import planned_values, read_like
from holdtrue.domain.readings import check_tried, check_values, doubt, read_values
from holdtrue.domain.state import JobState
from holdtrue.domain.task_kinds import FAILED, TaskKind
from holdtrue.domain.tasks import TASK_KINDS
from holdtrue.service.inway import FREED, STOPS, block_seat, call_stop, clear_stop, free_seat
from holdtrue.service.jobs import Body, append, require_lead, require_member, stream_of
from holdtrue.service.meanwhile import (
    Shown,
    allow_recording,
    late_plan,
    require_same_places,
    require_same_record,
    require_seen,
    task_of,
)
from holdtrue.service.services import Actor, Services, entry_under
from holdtrue.service.undoing import (
    UNDOABLE,
    last_own,
    last_undoable,
    require_plan_open,
    require_unsettled,
    undo,
)
from holdtrue.store.port import Entry

__all__ = [
    "FREED",
    "STOPS",
    "UNDOABLE",
    "Typed",
    "block_seat",
    "call_stop",
    "clear_stop",
    "free_seat",
    "is_stored",
    "last_own",
    "last_undoable",
    "record_task",
    "undo",
]

_WRITTEN = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d", re.ASCII)
PHOTO_LIMIT = 8 * 1024 * 1024


@dataclass(frozen=True, slots=True, kw_only=True)
class Typed:
    """A task's form as it was sent."""

    outcome: str
    """as_planned, measured, done or failed."""
    raw: Mapping[str, str]
    unit: str
    """The unit of bare numbers: the person's own."""
    seen: str | None = None
    """What the page showed as the plan (``prefill.shown_plan``); None when it does not say."""
    is_sure: bool = False
    is_paper: bool = False
    written: str = ""
    """When the paper says it was done, as it stands there (2026-03-02T14:05)."""
    is_late: bool = False
    """From a phone's outbox: what it says was done before it was sent."""
    shown: Shown | None = None
    """The seat as the phone showed it."""
    stands: str | None = None
    """The record that stood when the page was shown: its seq, "0", or a key of the same phone."""
    as_of: str | None = None
    """The job's last entry when the page was shown, or the sheet printed; None when not said."""
    photo: bytes | None = None


def record_task(
    services: Services,
    actor: Actor,
    job_id: str,
    task_id: str,
    typed: Typed,
    *,
    key: str,
    tapped: str | None = None,
) -> Entry:
    """Record one task, as planned, as measured, or as done.

    Raises InputError (what was typed), DoubtError (unlikely; send again as sure), ConflictError
    (the task must wait, or is locked by a stop), NotAllowedError (a hold point is the lead's).
    """
    require_member(actor, job_id)
    kind = TASK_KINDS.get(task_id.partition(":")[0])
    if kind is None:
        raise NotFoundError(f"There is no task {task_id[:60]!r}.")
    if kind.lead_only:
        require_lead(actor)
    if typed.outcome not in _outcomes(kind):
        raise InputError("outcome", typed.outcome, "use the buttons of the task")
    picture = _picture(typed)
    asked = _asked(task_id, typed, picture)

    def decide(state: JobState) -> Body:
        task = task_of(state, task_id, is_late=typed.is_late)
        require_unsettled(state)
        entries = services.store.read(stream_of(job_id))[: state.seq]
        mine = {"outcome": typed.outcome, "values": asked.get("values", {})}
        if task.kind.stage == "fasteners":
            require_same_places(entries, task.subject, since=typed.as_of)
        require_same_record(
            services, state, entries, task_id, stands=typed.stands, mine=mine, unit=typed.unit
        )
        allow_recording(state, task, is_late=typed.is_late)
        require_seen(
            state,
            task,
            typed.seen,
            is_late=typed.is_late,
            shown=typed.shown,
            how=typed.outcome,
        )
        body = _recorded(state, task, asked, typed)
        if picture is not None:
            # on disk before the entry that names it; what is refused leaves nothing there
            services.store.put_blob(picture.data)
        return body

    return append(
        services,
        actor,
        job_id,
        events.TASK_RECORDED,
        key=key,
        asked=asked,
        decide=decide,
        tapped=tapped,
    )


def _outcomes(kind: TaskKind) -> tuple[str, ...]:
    if kind.has_plan:
        return ("as_planned", "measured")
    return ("done", FAILED) if kind.failing == "record" else ("done",)


def _asked(task_id: str, typed: Typed, picture: Picture | None) -> dict[str, Any]:
    """The parts of the body that the form alone decides."""
    kind = TASK_KINDS[task_id.partition(":")[0]]
    asked: dict[str, Any] = {"task": task_id, "outcome": typed.outcome, "paper": typed.is_paper}
    if typed.is_late:
        asked["late"] = True
    if typed.is_paper and typed.written:
        asked["written"] = _written(typed.written)
    if typed.outcome == "as_planned":
        return asked
    asked["values"] = read_values(kind, typed.raw, typed.unit)
    if kind.failing == "record":
        check_tried(typed.outcome, asked["values"])
    if picture is not None:
        digest = sha256(picture.data).hexdigest()
        asked["values"]["photo"] = {"sha256": digest, "type": picture.kind}
    elif any(field.kind == "photo" for field in kind.fields):
        raise InputError("photo", None, "choose a photo to keep")
    return asked


def _written(text: str) -> str:
    """Day and time of the sheet, kept as they stand there: nobody knows its clock's zone."""
    try:
        if not _WRITTEN.fullmatch(text):
            raise ValueError
        return str(datetime.fromisoformat(text))[:16]
    except ValueError as error:
        remedy = "choose the day and time that stand on the sheet, or clear it"
        raise InputError("written", text, remedy) from error


def _recorded(state: JobState, task: Task, asked: Mapping[str, Any], typed: Typed) -> Body:
    """The parts of the body that the state decides."""
    kind = task.kind
    if typed.outcome != "as_planned":
        require_plan_open(state, task)
    shown = typed.shown if typed.is_late else None
    then = late_plan(state, task, shown, typed.seen) if typed.is_late else None
    planned = then or planned_values(state, task.id)
    values = asked.get("values", planned)
    if not values and kind.has_plan:
        raise InputError("outcome", typed.outcome, "nothing is advised; record what you did")
    planned = read_like(state, task.id, planned, values)
    if "values" in asked:
        check_values(state, kind, task.subject, values, planned, typed.unit)
        doubted = doubt(kind, values, planned, typed.unit)
        if doubted is not None and not typed.is_sure:
            raise doubted
    body: dict[str, Any] = {
        "values": values,
        "planned": planned,
        "revision": state.revision,
        "instrument": read_with(state, kind, values),
    }
    if kind.name == "before.services":
        body["places"] = _places(state, values)
    if kind.name == "fasteners.mark":
        body["mark"] = shown.place if shown else _mark(state.seat(task.subject))
    if kind.name == "fasteners.measure":
        body |= _place(state, task.subject, values, shown)
    if kind.name == "close.hand_over":
        body["chance"] = round(chance_now(state), 4)
    return body


def _places(state: JobState, values: Mapping[str, Any]) -> Body:
    """Where the holes of the seats are to go that something was found near."""
    named = [name for name in values.get("near") or () if name in state.form.seats]
    seats = [state.seat(name) for name in named]
    return {seat.seat: {"x_mm": seat.x_mm, "y_mm": seat.hole_y_mm} for seat in seats}


def _mark(seat: PlannedSeat) -> Body:
    return {
        "x_mm": seat.x_mm,
        "y_mm": seat.y_mm,
        "hole_y_mm": seat.hole_y_mm,
        "fastener": seat.fastener.name if seat.fastener else None,
    }


def _place(
    state: JobState, seat: str, values: Mapping[str, Any], shown: Shown | None
) -> dict[str, Any]:
    """The measured seat from its running dimensions, and the mark that was given for it."""
    line = state.line_height_mm(state.line_of(seat))
    place = {"x_mm": float(values["x"]["mm"]), "y_mm": line + float(values["above"]["mm"])}
    before = state.set_seats.get(seat)
    given = before.given_mm if before else state.marks_mm[seat]
    if shown is not None:
        given = (shown.x_mm, shown.y_mm)
    return {"place": place, "given": {"x_mm": given[0], "y_mm": given[1]}}


def _picture(typed: Typed) -> Picture | None:
    """The photo as it is kept, if one counts here; InputError when it is none, or too large."""
    data = typed.photo
    if data is None or typed.outcome == "as_planned":
        return None
    if len(data) > PHOTO_LIMIT:
        raise InputError(
            "photo",
            f"{len(data) / 1e6:.1f} MB",
            f"is too large; at most {PHOTO_LIMIT // 1024 // 1024} MB",
        )
    return read_picture(data)


def is_stored(services: Services, job_id: str, key: str) -> bool:
    """Whether an entry stands under this key already: the form was sent before."""
    return entry_under(services.store.read(stream_of(job_id)), key) is not None
