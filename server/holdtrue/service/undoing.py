"""Taking an entry back: what may be undone, by whom, and until when."""

from __future__ import annotations

from typing import cast

from holdtrue.domain import events
from holdtrue.domain.checklist import (
    Task,
    allow,
    find_task,
    is_changing_plan_closed,
    panels_about,
)
from holdtrue.domain.errors import ConflictError, NotAllowedError, NotFoundError
from holdtrue.domain.fold import undone_seqs
from holdtrue.domain.state import JobState
from holdtrue.domain.subjects import panel_of_seat
from holdtrue.service.jobs import (
    Body,
    append,
    clean_text,
    require_member,
    state_of,
    stream_of,
)
from holdtrue.service.services import Actor, Services
from holdtrue.store.port import Entry

UNDOABLE = (
    events.TASK_RECORDED,
    events.SEAT_BLOCKED,
    events.SEAT_FREED,
    events.CHOICE_MADE,
)
"""What may be taken back with one tap; everything else is corrected by a new entry."""
_WHOLE = (
    events.PLAN_REVISED,
    events.PLAN_RELEASED,
    events.PANELS_SWAPPED,
    events.WORK_ACCEPTED,
    events.WORK_SENT_BACK,
)


def require_plan_open(state: JobState, task: Task) -> None:
    """ConflictError when a changed reading would change a plan that has holes already."""
    if is_changing_plan_closed(state, task):
        raise ConflictError("There are holes already; the lead changes the plan now.")


def require_unsettled(state: JobState) -> None:
    """ConflictError once the work is accepted."""
    if state.review.state in ("accepted", "conceded"):
        raise ConflictError("This job is accepted; its log is closed.")


def undo(
    services: Services,
    actor: Actor,
    job_id: str,
    *,
    of: int,
    why: str = "",
    key: str,
    tapped: str | None = None,
) -> Entry:
    """Take back an entry: the last one of its panel (or task), by whoever made it or the lead."""
    require_member(actor, job_id)
    asked = {"of": of, "why": clean_text("why", why)}

    def decide(state: JobState) -> Body:
        require_unsettled(state)
        entries = services.store.read(stream_of(job_id))[: state.seq]
        _require_undoable(state, entries, of, actor)
        return {}

    return append(
        services,
        actor,
        job_id,
        events.ENTRY_UNDONE,
        key=key,
        asked=asked,
        decide=decide,
        tapped=tapped,
    )


def _require_undoable(state: JobState, entries: tuple[Entry, ...], of: int, actor: Actor) -> None:
    undone = undone_seqs(entries)
    target = next((e for e in entries if e.seq == of), None)
    if target is None or target.type not in UNDOABLE or of in undone:
        raise ConflictError("There is nothing to undo there; it may have been undone already.")
    if target.who != actor.person and not actor.is_lead:
        raise NotAllowedError("Somebody else recorded this; they or the lead can undo it.")
    _require_undo_allowed(state, target)
    about = _about(target)
    for later in entries[of:]:
        if later.seq in undone:
            continue
        if later.type in _WHOLE or (later.type in UNDOABLE and about & _about(later)):
            raise ConflictError(
                "Something later builds on this; undo that first, or record this "
                "task again with the right values."
            )


def _require_undo_allowed(state: JobState, target: Entry) -> None:
    """A stop locks the log of its seats too; and holes hold the plan they were drilled by.

    A task may be open again by its own record: a pilot that met what no fastener is listed for, a
    pair of marks that is not true. That is taken back all the same.
    """
    if target.type != events.TASK_RECORDED:
        seat = target.body["seat"]
        if seat not in state.form.seats:
            raise ConflictError(f"The plan has no seat {seat} any more; there is nothing to undo.")
        task = find_task(state, f"fasteners.mark:{seat}")
        if task.status == "stopped":
            allow(task, "undo")
        return
    try:
        task = find_task(state, cast(str, target.body["task"]))
    except NotFoundError:  # a trim is no task any more once it is done
        return
    if task.status == "stopped":
        allow(task, "undo")
    if target.body["outcome"] != "as_planned":
        require_plan_open(state, task)


def _about(entry: Entry) -> frozenset[str]:
    """What an entry is about: its panels, else its task."""
    if entry.type != events.TASK_RECORDED:
        return frozenset({panel_of_seat(entry.body["seat"])})
    task_id = cast(str, entry.body["task"])
    return panels_about(task_id) or frozenset({task_id})


def last_undoable(services: Services, actor: Actor, job_id: str, task_id: str) -> int | None:
    """The seq of the record that stands for a task, when this actor may undo it now."""
    state = state_of(services, job_id)
    record = state.records.get(task_id)
    if record is None:
        return None
    entries = services.store.read(stream_of(job_id))[: state.seq]
    try:
        _require_undoable(state, entries, record.seq, actor)
    except (ConflictError, NotAllowedError):
        return None
    return record.seq


def last_own(services: Services, actor: Actor, job_id: str) -> Entry | None:
    """The actor's latest entry that stands, when they may undo it now."""
    state = state_of(services, job_id)
    entries = services.store.read(stream_of(job_id))[: state.seq]
    undone = undone_seqs(entries)
    own = [
        e for e in entries if e.who == actor.person and e.type in UNDOABLE and e.seq not in undone
    ]
    if not own:
        return None
    try:
        _require_undoable(state, entries, own[-1].seq, actor)
    except (ConflictError, NotAllowedError):
        return None
    return own[-1]
