"""Commands at the wall: record a task, block or free a seat, stop, undo."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, cast

from holdtrue.core.model import Material, Met, PlannedSeat
from holdtrue.core.plan import found_behind
from holdtrue.core.wall import Behind, into_wanted
from holdtrue.domain import events
from holdtrue.domain.checklist import (
    Task,
    allow,
    find_task,
    is_changing_plan_closed,
    panels_about,
    require_reachable,
)
from holdtrue.domain.errors import ConflictError, InputError, NotAllowedError, NotFoundError
from holdtrue.domain.fold import undone_seqs
from holdtrue.domain.logfile import FOUND
from holdtrue.domain.prefill import planned_values, read_like, shown_plan
from holdtrue.domain.readings import check_values, doubt, read_values
from holdtrue.domain.state import JobState
from holdtrue.domain.subjects import panel_of_seat
from holdtrue.domain.tasks import TASK_KINDS
from holdtrue.service.jobs import (
    Body,
    append,
    clean_text,
    require_lead,
    require_member,
    state_of,
    stream_of,
)
from holdtrue.service.services import Actor, Services, entry_under
from holdtrue.store.port import Entry

PHOTO_LIMIT = 8 * 1024 * 1024
_PHOTOS = ((b"\xff\xd8\xff", "image/jpeg"), (b"\x89PNG\r\n\x1a\n", "image/png"))
STOPS = ("cable", "pipe", "other")
FREED = ("wrong_hole", "spent", "dropped", "moved")


@dataclass(frozen=True, slots=True, kw_only=True)
class Typed:
    """A task's form as it was sent."""

    outcome: str
    """as_planned, measured or done."""
    raw: Mapping[str, str]
    unit: str
    """The unit of bare numbers: the person's own."""
    seen: str | None = None
    """What the page showed as the plan (``prefill.shown_plan``); None when it does not say."""
    is_sure: bool = False
    is_paper: bool = False
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
    if typed.outcome not in (("as_planned", "measured") if kind.has_plan else ("done",)):
        raise InputError("outcome", typed.outcome, "use the buttons of the task")
    asked: dict[str, Any] = {"task": task_id, "outcome": typed.outcome, "paper": typed.is_paper}
    if typed.outcome != "as_planned":
        asked["values"] = read_values(kind, typed.raw, typed.unit)
        if typed.photo is not None:
            asked["values"]["photo"] = keep_photo(services, typed.photo)
        elif any(field.kind == "photo" for field in kind.fields):
            raise InputError("photo", None, "choose a photo to keep")

    def decide(state: JobState) -> Body:
        task = find_task(state, task_id)
        allow(task, "record")
        _require_unsettled(state)
        _require_seen(state, task_id, typed.seen)
        return _recorded(state, task, asked, typed)

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


def _require_plan_open(state: JobState, task: Task) -> None:
    if is_changing_plan_closed(state, task):
        raise ConflictError("There are holes already; the lead changes the plan now.")


def _require_unsettled(state: JobState) -> None:
    if state.review.state in ("accepted", "conceded"):
        raise ConflictError("This job is accepted; its log is closed.")


def _require_seen(state: JobState, task_id: str, seen: str | None) -> None:
    """Nobody records "marked" on a mark that moved while the page was open."""
    if seen is not None and seen != shown_plan(state, task_id):
        raise ConflictError(
            "The numbers of this task changed while the page was open; nothing was recorded. "
            "Look at them again."
        )


def _recorded(state: JobState, task: Task, asked: Mapping[str, Any], typed: Typed) -> Body:
    """The parts of the body that the state decides."""
    kind = task.kind
    if typed.outcome != "as_planned":
        _require_plan_open(state, task)
    planned = planned_values(state, task.id)
    values = asked.get("values", planned)
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
        "instrument": kind.instrument,
    }
    if kind.name == "fasteners.mark":
        body["mark"] = _mark(state.seat(task.subject))
    if kind.name == "fasteners.measure":
        body |= _place(state, task.subject, values)
    return body


def _mark(seat: PlannedSeat) -> Body:
    return {
        "x_mm": seat.x_mm,
        "y_mm": seat.y_mm,
        "hole_y_mm": seat.hole_y_mm,
        "fastener": seat.fastener.name if seat.fastener else None,
    }


def _place(state: JobState, seat: str, values: Mapping[str, Any]) -> dict[str, Any]:
    """The measured seat from its running dimensions, and the mark that was given for it."""
    line = state.line_height_mm(state.line_of(seat))
    place = {"x_mm": float(values["x"]["mm"]), "y_mm": line + float(values["above"]["mm"])}
    before = state.set_seats.get(seat)
    given = before.given_mm if before else state.marks_mm[seat]
    return {"place": place, "given": {"x_mm": given[0], "y_mm": given[1]}}


def keep_photo(services: Services, data: bytes) -> dict[str, str]:
    """Store a photo, durably, before the entry that names it."""
    if len(data) > PHOTO_LIMIT:
        raise InputError(
            "photo",
            f"{len(data) / 1e6:.1f} MB",
            f"is too large; at most {PHOTO_LIMIT // 1024 // 1024} MB",
        )
    kind = next((name for magic, name in _PHOTOS if data.startswith(magic)), None)
    if kind is None and data[:4] == b"RIFF" and data[8:12] == b"WEBP":
        kind = "image/webp"
    if kind is None:
        raise InputError(
            "photo", None, "is not a JPEG, PNG or WebP picture; take it again with the camera"
        )
    return {"sha256": services.store.put_blob(data), "type": kind}


# -- in the way ----------------------------------------------------------------------------------


def block_seat(
    services: Services,
    actor: Actor,
    job_id: str,
    seat: str,
    *,
    found: str,
    material: str = "",
    fastener: str = "",
    note: str = "",
    key: str,
    tapped: str | None = None,
) -> Entry:
    """Something else than planned is behind a seat, or the planned fastener will not do.

    ``found`` "same" keeps what is behind and only changes the fastener.
    """
    require_member(actor, job_id)
    if found not in (*FOUND, "same"):
        raise InputError("found", found, "choose what is there: " + ", ".join((*FOUND, "same")))
    if material and material not in ("wood", "steel", "unknown"):
        raise InputError("material", material, "choose wood, steel or unknown")
    asked = {
        "seat": seat,
        "found": found,
        "material": material or None,
        "fastener": fastener or None,
        "note": clean_text("note", note),
    }

    def decide(state: JobState) -> Body:
        _require_seat(state, seat)
        _require_unsettled(state)
        if seat in state.set_seats:
            allow(find_task(state, f"fasteners.measure:{seat}"), "block")
        else:
            require_reachable(state, seat)
        if found == "same" and not fastener:
            raise InputError("fastener", None, "choose the fastener that is used instead")
        if fastener:
            _check_fastener(state, seat, fastener, found, material)
        return {}

    return append(
        services,
        actor,
        job_id,
        events.SEAT_BLOCKED,
        key=key,
        asked=asked,
        decide=decide,
        tapped=tapped,
    )


def _require_seat(state: JobState, seat: str) -> None:
    if seat not in state.form.seats:
        raise NotFoundError(f"This job has no seat {seat[:40]!r}.")


def _check_fastener(state: JobState, seat: str, fastener: str, found: str, material: str) -> None:
    """The fastener is listed, and meant for what is there: else its figures say nothing here."""
    chosen = next((f for f in state.job.fasteners if f.name == fastener), None)
    if chosen is None:
        listed = ", ".join(f.name for f in state.job.fasteners)
        raise InputError("fastener", fastener, f"is not listed in the plan; listed: {listed}")
    now = state.seat(seat)
    behind = (
        Behind(into=now.into, material=now.material)
        if found == "same"
        else found_behind(cast(Met, found), cast(Material, material or "unknown"))
    )
    if chosen.into != into_wanted(behind):
        fit = ", ".join(f.name for f in state.job.fasteners if f.into == into_wanted(behind))
        raise InputError(
            "fastener",
            fastener,
            f"is for {chosen.into}, and here is {into_wanted(behind)}; listed for that: "
            f"{fit or 'none'}. The lead can add one to the plan",
        )


def free_seat(
    services: Services,
    actor: Actor,
    job_id: str,
    seat: str,
    *,
    why: str,
    note: str = "",
    key: str,
    tapped: str | None = None,
) -> Entry:
    """A seat's fastener is given up: wrong hole, spent, dropped or moved; it is marked again."""
    require_member(actor, job_id)
    if why not in FREED:
        raise InputError("why", why, "choose one of " + ", ".join(FREED))
    asked = {"seat": seat, "why": why, "note": clean_text("note", note)}

    def decide(state: JobState) -> Body:
        _require_seat(state, seat)
        _require_unsettled(state)
        if f"panels.lift:{_panel_of(state, seat)}" in state.records:
            raise ConflictError("The panel hangs on this seat. Take it down first: undo its lift.")
        if not state.is_drilled(seat):
            raise ConflictError(f"{seat} has no hole yet; there is nothing to give up.")
        task = find_task(state, f"fasteners.pilot:{seat}")
        if task.status == "stopped":
            allow(task, "free")
        return {}

    return append(
        services,
        actor,
        job_id,
        events.SEAT_FREED,
        key=key,
        asked=asked,
        decide=decide,
        tapped=tapped,
    )


def _panel_of(state: JobState, seat: str) -> str:
    arrangement = state.plan.arrangement
    return state.job.panels[arrangement.seat_panel[arrangement.seat_names.index(seat)]].name


def call_stop(
    services: Services,
    actor: Actor,
    job_id: str,
    seat: str,
    *,
    what: str,
    note: str = "",
    key: str,
    tapped: str | None = None,
) -> Entry:
    """Stop: the seat and everything near it lock until the lead clears it."""
    require_member(actor, job_id)
    if what not in STOPS:
        raise InputError("what", what, "choose one of " + ", ".join(STOPS))
    asked = {"seat": seat, "what": what, "note": clean_text("note", note)}

    def decide(state: JobState) -> Body:
        _require_seat(state, seat)
        _require_unsettled(state)
        return {}

    return append(
        services,
        actor,
        job_id,
        events.STOP_CALLED,
        key=key,
        asked=asked,
        decide=decide,
        tapped=tapped,
    )


def clear_stop(
    services: Services, actor: Actor, job_id: str, *, stop: int, note: str, key: str
) -> Entry:
    """The lead, signed in, clears a stop in writing."""
    require_lead(actor)
    asked = {"stop": stop, "note": clean_text("note", note, required=True)}

    def decide(state: JobState) -> Body:
        if all(s.seq != stop for s in state.open_stops):
            raise ConflictError("That stop is not open; it may have been cleared meanwhile.")
        return {}

    return append(services, actor, job_id, events.STOP_CLEARED, key=key, asked=asked, decide=decide)


# -- undo ----------------------------------------------------------------------------------------

UNDOABLE = (events.TASK_RECORDED, events.SEAT_BLOCKED, events.SEAT_FREED)
"""What may be taken back with one tap; everything else is corrected by a new entry."""
_WHOLE = (events.PLAN_REVISED, events.PLAN_RELEASED, events.WORK_ACCEPTED, events.WORK_SENT_BACK)


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
        _require_unsettled(state)
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
    """A stop locks the log of its seats too; and holes hold the plan they were drilled by."""
    if target.type != events.TASK_RECORDED:
        task = find_task(state, f"fasteners.mark:{target.body['seat']}")
        if task.status == "stopped":
            allow(task, "undo")
        return
    try:
        task = find_task(state, cast(str, target.body["task"]))
    except NotFoundError:  # a trim is no task any more once it is done
        return
    allow(task, "undo")
    if target.body["outcome"] != "as_planned":
        _require_plan_open(state, task)


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


def is_stored(services: Services, job_id: str, key: str) -> bool:
    """Whether an entry stands under this key already: the form was sent before."""
    return entry_under(services.store.read(stream_of(job_id)), key) is not None
