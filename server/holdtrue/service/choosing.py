"""Commands about what the readings say: what to do after a deviation, and a drop learned."""

from __future__ import annotations

from typing import Any

from holdtrue.domain import events
from holdtrue.domain.checklist import allow, find_task
from holdtrue.domain.choosing import CHOICES, Offer, offers
from holdtrue.domain.errors import ConflictError, InputError
from holdtrue.domain.learning import learned_drops
from holdtrue.domain.state import JobState
from holdtrue.service.jobs import Body, append, clean_text, require_member
from holdtrue.service.services import Actor, Services
from holdtrue.service.undoing import require_unsettled
from holdtrue.store.port import Entry


def choose(
    services: Services,
    actor: Actor,
    job_id: str,
    seat: str,
    *,
    choice: str,
    of: int,
    note: str = "",
    key: str,
    tapped: str | None = None,
) -> Entry:
    """Do what was chosen about a seat off its mark; ``of`` is the seq of the reading looked at.

    Raises InputError (no such choice), ConflictError (the seat was read again, or the choice is
    gone).
    """
    require_member(actor, job_id)
    if choice not in CHOICES:
        raise InputError("choice", choice, "choose one of " + ", ".join(CHOICES))
    asked = {"seat": seat, "choice": choice, "of": of, "note": clean_text("note", note)}

    def decide(state: JobState) -> Body:
        require_unsettled(state)
        stands = state.set_seats.get(seat)
        if stands is None or stands.seq != of:
            raise ConflictError(f"{seat} was read again or given up meanwhile; look at it again.")
        allow(find_task(state, f"fasteners.measure:{seat}"), "block")
        offer = next((one for one in offers(state, seat) if one.name == choice), None)
        if offer is None:
            raise ConflictError("That can no longer be chosen here; look at the seat again.")
        return _decided(offer)

    return append(
        services,
        actor,
        job_id,
        events.CHOICE_MADE,
        key=key,
        asked=asked,
        decide=decide,
        tapped=tapped,
    )


def _decided(offer: Offer) -> dict[str, Any]:
    body: dict[str, Any] = {"chance": round(offer.chance, 4)}
    if offer.aim is not None:
        body["aim"] = {"x_mm": offer.aim[0], "y_mm": offer.aim[1]}
        body["fastener"] = offer.fastener
    if offer.move_mm is not None:
        body["move"] = {"right_mm": offer.move_mm[0], "up_mm": offer.move_mm[1]}
    return body


def learn_drop(
    services: Services,
    actor: Actor,
    job_id: str,
    *,
    fastener: str,
    drop_mm: float,
    key: str,
    tapped: str | None = None,
) -> Entry:
    """Take a fastener kind's drop as its loaded seats were read, for the rest of the job.

    ``drop_mm`` is the one that was offered; refused when the readings say otherwise by now.
    """
    require_member(actor, job_id)
    asked = {"fastener": fastener, "drop": {"mm": round(drop_mm, 6)}}

    def decide(state: JobState) -> Body:
        require_unsettled(state)
        found = next((one for one in learned_drops(state) if one.fastener == fastener), None)
        if found is None or abs(found.drop_mm - drop_mm) > 1e-6:
            raise ConflictError("The readings say otherwise by now; look at them again.")
        return {"was": {"mm": found.was_mm}, "count": found.count}

    return append(
        services,
        actor,
        job_id,
        events.DROP_LEARNED,
        key=key,
        asked=asked,
        decide=decide,
        tapped=tapped,
    )
