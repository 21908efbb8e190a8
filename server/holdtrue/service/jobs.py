"""A job and its plan: read the log, decide, append one entry. Nothing here draws or renders."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from holdtrue.domain import events, tokens
from holdtrue.domain.documents import with_shims
from holdtrue.domain.errors import (
    ConflictError,
    InputError,
    NotAllowedError,
    NotFoundError,
    UnreadableEntryError,
)
from holdtrue.domain.fold import created, evolve
from holdtrue.domain.jobfile import parse_job
from holdtrue.domain.names import is_named
from holdtrue.domain.ordering import read_order
from holdtrue.domain.outlook import chance_now, is_begun, stick_panels
from holdtrue.domain.planning import reordered
from holdtrue.domain.shims import could_have_shims, usual_mm
from holdtrue.domain.state import HOLDS, JobState
from holdtrue.service.services import Actor, Services, append_decided, entry_under
from holdtrue.service.streams import job_id_of
from holdtrue.store.port import Entry

Body = Mapping[str, Any]
NOTE_LENGTH = 500


def stream_of(job_id: str) -> str:
    """The stream of a job; NotFoundError when that cannot be a job's id."""
    read = tokens.normalise(job_id, tokens.CODE_LENGTH)
    if read is None:
        raise NotFoundError("There is no such job.")
    return f"job-{read}"


def issued_id(job_id: str) -> str:
    """A job's id as it was issued, however somebody typed it."""
    return stream_of(job_id).removeprefix("job-")


def job_ids(services: Services) -> tuple[str, ...]:
    """Ids of all jobs."""
    found = (job_id_of(stream) for stream in services.store.streams())
    return tuple(job_id for job_id in found if job_id is not None)


def state_of(services: Services, job_id: str) -> JobState:
    """The job as it stands; NotFoundError when there is none."""
    stream = stream_of(job_id)
    return _state(services, stream, services.store.read(stream))


def _state(services: Services, stream: str, entries: tuple[Entry, ...]) -> JobState:
    if not entries:
        raise NotFoundError("There is no such job.")
    return services.memo.state(stream, entries)


def state_before(services: Services, job_id: str, seq: int) -> JobState:
    """The job as it stood before entry ``seq``."""
    stream = stream_of(job_id)
    return _state(services, stream, services.store.read(stream)[: seq - 1])


def require_lead(actor: Actor) -> None:
    if not actor.is_lead:
        raise NotAllowedError("Only the lead may do this.")


def require_member(actor: Actor, job_id: str) -> None:
    """Leads see every job, an installer the one they joined."""
    if not actor.is_lead and actor.job != tokens.normalise(job_id, tokens.CODE_LENGTH):
        raise NotFoundError("There is no such job.")


def clean_text(path: str, text: str, *, required: bool = False) -> str:
    """A note as it will stand in the log."""
    read = " ".join(text.split())
    if required and not read:
        raise InputError(path, None, "write a few words; they stay in the log")
    if len(read) > NOTE_LENGTH or not read.isprintable():
        raise InputError(path, read, f"type at most {NOTE_LENGTH} plain characters")
    return read


def append(
    services: Services,
    actor: Actor,
    job_id: str,
    event: str,
    *,
    key: str,
    asked: Body,
    decide: Callable[[JobState], Body],
    tapped: str | None = None,
) -> Entry:
    """Decide on the state as it stands and append one entry that the fold can take."""
    stream = stream_of(job_id)

    def on_entries(entries: tuple[Entry, ...]) -> Body:
        state = _state(services, stream, entries)
        body = {**asked, **decide(state)}
        _try_first(
            services,
            state,
            entries,
            Entry(
                stream=stream,
                seq=len(entries) + 1,
                key=key,
                type=event,
                body=body,
                who=actor.person,
                received=services.now(),
                tapped=tapped,
            ),
        )
        return body

    return append_decided(
        services,
        stream,
        key=key,
        who=actor.person,
        event=event,
        asked=asked,
        decide=on_entries,
        tapped=tapped,
    )


def _try_first(services: Services, state: JobState, entries: tuple[Entry, ...], new: Entry) -> None:
    """The fold must be able to take what is stored: try it before it is stored for ever."""
    if new.type != events.ENTRY_UNDONE:
        evolve(state, new)
        return
    try:
        services.memo.trial(new.stream, (*entries, new))
    except UnreadableEntryError as error:
        raise ConflictError(
            f"Entry {error.seq} builds on this; undo that first, or record this task again with "
            "the right values."
        ) from error


def create_job(services: Services, actor: Actor, *, document: Body, key: str) -> str:
    """A new job from a document as typed; its id."""
    require_lead(actor)
    parse_job(document)
    job_id = id_under(services, key)
    body = {"document": document}

    def decide(entries: tuple[Entry, ...]) -> Body:
        if entries:
            raise ConflictError("This job's id is taken; nothing was changed. Open the form again.")
        created(
            Entry(
                stream=f"job-{job_id}",
                seq=1,
                key=key,
                type=events.JOB_CREATED,
                body=body,
                who=actor.person,
                received=services.now(),
            )
        )
        return body

    append_decided(
        services,
        f"job-{job_id}",
        key=key,
        who=actor.person,
        event=events.JOB_CREATED,
        asked=body,
        decide=decide,
    )
    return job_id


def revise_plan(
    services: Services,
    actor: Actor,
    job_id: str,
    *,
    document: Body,
    key: str,
    note: str = "",
    revision: int | None = None,
) -> Entry:
    """Replace the document; ``revision`` is the one the editor was looking at."""
    require_lead(actor)
    parse_job(document)
    asked = {"document": document, "note": clean_text("note", note)}

    def decide(state: JobState) -> Body:
        if revision is not None and revision != state.revision:
            raise ConflictError(
                "The plan was changed meanwhile (something was measured, or "
                "another lead saved). What you typed is still here: open the "
                "plan again beside it and carry it over."
            )
        _require_open(state)
        return {}

    return append(services, actor, job_id, events.PLAN_REVISED, key=key, asked=asked, decide=decide)


def id_under(services: Services, key: str) -> str:
    """The id of the job that a form with this key makes or made."""
    return services.ids.short("job", key)


def revision_under(services: Services, job_id: str, key: str) -> int | None:
    """The revision that a form with this key saved; None when the plan has moved on since."""
    entry = entry_under(services.store.read(stream_of(job_id)), key)
    if entry is None or entry.type != events.PLAN_REVISED:
        return None
    now = state_of(services, job_id).revision
    return now if state_before(services, job_id, entry.seq + 1).revision == now else None


def plan_shims(
    services: Services, actor: Actor, job_id: str, *, key: str, revision: int | None = None
) -> Entry:
    """Plan shims in every ring that takes some: a new revision, whose marks lie that much lower.

    Raises ConflictError once a hole is where it is, or where no ring takes any more.
    """
    state = state_of(services, job_id)
    panels = could_have_shims(state.job)
    if is_begun(state):
        raise ConflictError("There are holes already, made for rings without shims.")
    is_repeat = entry_under(services.store.read(stream_of(job_id)), key) is not None
    if not panels and not is_repeat:
        raise ConflictError("Every ring that takes shims is planned with some.")
    return revise_plan(
        services,
        actor,
        job_id,
        document=with_shims(state.document, panels, usual_mm(state.job)),
        key=key,
        note="shims planned in the rings",
        revision=revision,
    )


def _require_open(state: JobState) -> None:
    if state.review.state in ("accepted", "conceded"):
        raise ConflictError("This job is accepted; its log is closed. Start a new job from it.")


def release(
    services: Services,
    actor: Actor,
    job_id: str,
    *,
    reason: str,
    agreed: str = "",
    way: str,
    holds: tuple[str, ...] = (),
    next_day: bool = False,
    order: str = "",
    key: str,
    revision: int | None = None,
) -> Entry:
    """Release the plan as it stands.

    Refused while anything bars it; what needs a reason needs it in writing, under the lead's name,
    and a slope ``agreed``: who says yes to it for the maker.
    ``order``: seats or panels in the order they are to be driven, with commas between them; empty
    for the computed one.
    """
    require_lead(actor)
    if way not in ("fasteners_first", "panel_by_panel"):
        raise InputError("way", way, "choose fasteners first or panel by panel")
    if any(hold not in HOLDS for hold in holds):
        raise InputError("holds", ", ".join(holds), "choose from " + ", ".join(HOLDS))
    written = clean_text("reason", reason) or None
    asked = {
        "reason": written,
        "agreed": clean_text("agreed", agreed) or None,
        "way": way,
        "holds": sorted(set(holds)),
        "next_day": next_day,
        "order_typed": order,
    }

    def decide(state: JobState) -> Body:
        _require_open(state)
        if revision is not None and revision != state.revision:
            raise ConflictError(
                "The plan was changed meanwhile; look at it again before releasing."
            )
        bars = [f for f in state.findings if f.weight == "bar"]
        if bars:
            raise ConflictError(
                "This plan cannot be released. " + " ".join(f"{f.text}." for f in bars)
            )
        sloped = [f.text for f in state.findings if f.kind == "slope"]
        if sloped and not is_named(agreed):
            raise InputError("agreed", agreed.strip() or None, f"{sloped[0]}, e.g. Mara, maker")
        others = [f.text for f in state.findings if f.weight == "reason" and f.kind != "slope"]
        if others and not written:
            raise InputError(
                "reason",
                None,
                "write why it may be released all the same; your name "
                "and this reason stay in the log. It concerns: " + "; ".join(others),
            )
        by_hand = read_order(order, state.plan)
        then = reordered(state, by_hand)
        return {
            "revision": state.revision,
            "accepted": [*others, *sloped],
            "order": list(by_hand) or None,
            "chance": round(chance_now(then), 4),
            "sticks": list(stick_panels(then)),
        }

    return append(
        services, actor, job_id, events.PLAN_RELEASED, key=key, asked=asked, decide=decide
    )
