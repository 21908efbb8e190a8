"""The screens of the phone pages: what a person sees at each address."""

from __future__ import annotations

from collections.abc import Mapping
from typing import cast

from flask import Response, request, url_for

from holdtrue.domain import events
from holdtrue.domain.checklist import Task, halt
from holdtrue.domain.errors import NotFoundError
from holdtrue.domain.fold import undone_seqs
from holdtrue.domain.state import Stop
from holdtrue.domain.stops import locked_seats
from holdtrue.domain.subjects import pair_seats, panel_of_seat
from holdtrue.domain.tasks import STAGES, TASK_KINDS
from holdtrue.domain.timeline import value_words
from holdtrue.service import jobs, tasks
from holdtrue.web import phone_drawings as drawings
from holdtrue.web.context import services
from holdtrue.web.phone_choices import choice_lines, drop_lines, fastener_lines
from holdtrue.web.phone_fields import Filled
from holdtrue.web.phone_form import form_screen, planned_numbers
from holdtrue.web.phone_here import (
    Here,
    Undo,
    last_undo,
    look,
    screen,
    secure_now,
    stage_note,
    stored,
    task_of,
    who_words,
)
from holdtrue.web.phone_result import result
from holdtrue.web.phone_shown import Number
from holdtrue.web.phone_task import hole_numbers, seat_numbers, shown
from holdtrue.web.phone_turn import turn

SHOWN = (*tasks.UNDOABLE, events.DROP_LEARNED, events.PANELS_SWAPPED)
"""Entries that have a result screen."""


def all_screen(job_id: str, url: str | None = None) -> Response:
    """Every stage and task of the job."""
    here = look(job_id)
    stages = [(s, [t for t in here.tasks if t.kind.stage == s.name]) for s in STAGES]
    return screen(
        here,
        "_all.html",
        title="All tasks",
        url=url,
        stages=stages,
        note=stage_note,
        upcoming=here.next_task(),
        halt=halt(here.tasks) if here.state.release else "",
        drawing=drawings.wall(here),
    )


def task_screen(
    here: Here,
    task: Task,
    *,
    is_again: bool = False,
    url: str | None = None,
    saved: Undo | None = None,
) -> Response:
    """The screen a task's status asks for."""
    if task.status == "stopped":
        return stop_screen(here, cast(Stop, task.stop), url=url)
    if task.status == "waiting" or (task.kind.lead_only and not here.actor.is_lead):
        return _waiting(here, task, url)
    if task.status == "done" and not is_again:
        return _done(here, task, url)
    edge = request.args.get("edge") if request.method == "GET" else None
    return form_screen(
        here, task, url=url, edge=edge, is_again=is_again, saved=saved or saved_undo(here)
    )


def parked_screen(here: Here, task: Task, seq: str) -> Response:
    """The task's form with what a phone sent and was refused; its screen when it must wait."""
    of_task = [one for one in here.state.parked if one.task == task.id and str(one.seq) == seq]
    if not of_task or task.status not in ("ready", "done"):
        return task_screen(here, task)
    raw = dict(of_task[0].fields)
    edge = raw.get("edge")
    is_again = task.status == "done"
    # a hole is where the phone showed it, whatever the numbers are by now
    late = {"late": "1"} if "shown.x_mm" in raw else {}
    kept = {name: text for name, text in raw.items() if name not in _OF_THEN}
    filled = Filled(raw={**kept, **late})
    return form_screen(here, task, filled=filled, edge=edge, is_again=is_again)


_OF_THEN = frozenset({"seen", "stands", "sure", "tapped"})
"""What a form said of the moment it was shown: not true of another moment."""


def saved_undo(here: Here) -> Undo | None:
    """What was just saved, named by the page's own address: it is on disk."""
    undo = last_undo(here)
    is_asked = undo is not None and request.args.get("saved", "") == str(undo.seq)
    return undo if is_asked else None


def _waiting(here: Here, task: Task, url: str | None) -> Response:
    seats = set(pair_seats(task.subject))
    return screen(
        here,
        "_wait.html",
        title=task.title,
        stage=task.kind.stage,
        url=url,
        task=task,
        findings=[f for f in here.state.open_findings if f.seat in seats],
        upcoming=here.next_task(),
        shown=shown(here, task),
    )


def _done(here: Here, task: Task, url: str | None) -> Response:
    """What stands recorded, by whom, when; looking changes nothing."""
    record = here.state.records.get(task.id)
    if record is None:
        raise NotFoundError("Nothing is recorded here.")
    said = [
        (field.label, value_words(field, record.values[field.name], here.unit))
        for field in task.kind.fields
        if record.values.get(field.name) not in (None, "")
    ]
    return screen(
        here,
        "_done.html",
        title=task.title,
        stage=task.kind.stage,
        url=url,
        task=task,
        record=record,
        who=who_words(here, record.who),
        said=said,
        shown=shown(here, task),
        undoable=tasks.last_undoable(services(), here.actor, here.job_id, task.id),
        upcoming=here.next_task(task.id),
    )


def result_screen(job_id: str, seq: int, url: str | None = None) -> Response:
    """What one entry changed."""
    here = look(job_id)
    entries = services().store.read(jobs.stream_of(job_id))
    if not 1 <= seq <= len(entries) or entries[seq - 1].type not in SHOWN:
        raise NotFoundError("There is no such result.")
    a_turn = turn(job_id, entries[seq - 1])
    task_id = task_of(a_turn.entry)
    task = next((t for t in here.tasks if t.id == task_id), None)
    return screen(
        here,
        "_result.html",
        title="Result",
        stage=TASK_KINDS[task_id.partition(":")[0]].stage if task_id else "fasteners",
        url=url,
        result=result(here, a_turn),
        choices=choice_lines(here, a_turn),
        fasteners=fastener_lines(here, a_turn),
        drops=drop_lines(here, a_turn),
        seq=seq,
        task=task,
        is_undone=seq in undone_seqs(entries),
        secure=secure_now(here, a_turn.task),
        more=_optional(here, a_turn.subject) if a_turn.kind == "fasteners.measure" else [],
        upcoming=here.next_task(task_id),
    )


def _optional(here: Here, subject: str) -> list[Task]:
    """Checks nobody waits for, ready now for the panel of this seat."""
    panel = panel_of_seat(subject)
    return [
        task
        for task in here.tasks
        if task.kind.is_optional and task.status == "ready" and task.panel == panel
    ]


def readout_screen(here: Here, task: Task) -> Response:
    """One number as large as the screen, for reading it up from the floor."""
    numbers = _numbers(here, task)
    if not numbers:
        raise NotFoundError("This task has no number to read out.")
    asked = request.args.get("n", "0")
    is_number = asked.isascii() and asked.isdigit() and len(asked) < 3
    n = int(asked) % len(numbers) if is_number else 0
    return screen(
        here,
        "_readout.html",
        title=task.title,
        stage=task.kind.stage,
        task=task,
        number=numbers[n],
        n=n,
        count=len(numbers),
    )


def _numbers(here: Here, task: Task) -> tuple[Number, ...]:
    if task.kind.stage == "fasteners" and task.kind.scope == "seat":
        is_seat = task.kind.name in ("fasteners.measure", "fasteners.press")
        return (seat_numbers if is_seat else hole_numbers)(here, task.subject)
    return shown(here, task).numbers or planned_numbers(here, task)


def refused_screen(
    here: Here, words: str, *, task: Task | None = None, typed: Mapping[str, str] | None = None
) -> Response:
    """Nothing was stored, and why; what was typed is given back to be read."""
    return screen(
        here,
        "_refused.html",
        title="Not recorded",
        status=409,
        stage=task.kind.stage if task else None,
        words=words,
        task=task,
        upcoming=here.next_task(),
        typed=(typed or {}).items(),
    )


# -- stops ----------------------------------------------------------------------------------------


def stop_screen(
    here: Here,
    stop: Stop,
    *,
    url: str | None = None,
    status: int = 200,
    error: str = "",
    note: str = "",
) -> Response:
    """A stop: what, who called it, what is locked, who clears it, what goes on meanwhile."""
    return screen(
        here,
        "_stop.html",
        title=f"Stop at {stop.seat}",
        stage="fasteners",
        url=url,
        status=status,
        stop=stop,
        who=who_words(here, stop.who),
        cleared_by=who_words(here, stop.cleared_by) if stop.cleared_by else "",
        locked=[seat for seat in locked_seats(here.state, stop) if seat != stop.seat],
        drawing=drawings.wall(here),
        upcoming=here.next_task(),
        error=error,
        note=note,
    )


# -- ways on --------------------------------------------------------------------------------------


def to_task(job_id: str, task_id: str | None, *, saved: int | None = None) -> Response:
    """On to a task's screen after something was stored; to all tasks when there is none."""
    here = look(job_id)
    task = next((t for t in here.tasks if t.id == task_id), None)
    if task is None:
        url = url_for("phone.overview", job_id=job_id)
        return stored(url, lambda: all_screen(job_id, url))
    url = here.task_url(task, **({"saved": saved} if saved else {}))
    said = last_undo(here)
    just = said if saved and said and said.seq == saved else None
    return stored(url, lambda: task_screen(here, task, url=url, saved=just))


def to_result(job_id: str, seq: int) -> Response:
    """On to what an entry changed."""
    url = url_for("phone.show_result", job_id=job_id, seq=seq)
    return stored(url, lambda: result_screen(job_id, seq, url))
