"""Something is in the way: block or give up a seat, call a stop, clear it."""

from __future__ import annotations

from typing import cast

from holdtrue.core.model import Material, Met
from holdtrue.core.plan import found_behind
from holdtrue.core.wall import Behind, into_wanted
from holdtrue.domain import events
from holdtrue.domain.checklist import allow, find_task, require_reachable
from holdtrue.domain.errors import ConflictError, InputError, NotFoundError
from holdtrue.domain.logfile import FOUND
from holdtrue.domain.state import JobState
from holdtrue.service.jobs import (
    Body,
    append,
    clean_text,
    require_lead,
    require_member,
    stream_of,
)
from holdtrue.service.meanwhile import require_untouched
from holdtrue.service.services import Actor, Services
from holdtrue.service.undoing import require_unsettled
from holdtrue.store.port import Entry

STOPS = ("cable", "pipe", "other", "will not hold")
FREED = ("wrong_hole", "spent", "dropped", "moved")


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
    stands: str | None = None,
) -> Entry:
    """Something else than planned is behind a seat, or the planned fastener will not do.

    ``found`` "same" keeps what is behind and only changes the fastener. ``stands``: the job's last
    entry when the page was shown; refused when somebody else worked at the seat since.
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
        require_unsettled(state)
        _require_untouched(services, state, job_id, seat, stands, actor)
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


def _require_untouched(
    services: Services,
    state: JobState,
    job_id: str,
    seat: str,
    stands: str | None,
    actor: Actor,
) -> None:
    entries = services.store.read(stream_of(job_id))[: state.seq]
    require_untouched(services, state, entries, seat, stands=stands, actor=actor)


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
    stands: str | None = None,
) -> Entry:
    """A seat's fastener is given up: wrong hole, spent, dropped or moved; it is marked again."""
    require_member(actor, job_id)
    if why not in FREED:
        raise InputError("why", why, "choose one of " + ", ".join(FREED))
    asked = {"seat": seat, "why": why, "note": clean_text("note", note)}

    def decide(state: JobState) -> Body:
        _require_seat(state, seat)
        require_unsettled(state)
        _require_untouched(services, state, job_id, seat, stands, actor)
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
        require_unsettled(state)
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
