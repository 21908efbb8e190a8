"""Cards of a job: issued and revoked, which there are, the address of one that is still good.

Only a token's digest is stored. The token is made from the key of the entry that issued the card,
with our secret, so it can be made again here and nowhere else: a label lost on the way is printed
again without a new card. A card issued by another server, or under another secret, stays good but
its address is not known here.
"""

from __future__ import annotations

from dataclasses import dataclass

from holdtrue.domain import events, tokens
from holdtrue.domain.card import Card, card
from holdtrue.domain.documents import Document, for_next_venue
from holdtrue.domain.errors import NotFoundError
from holdtrue.domain.state import JobState
from holdtrue.service import jobs
from holdtrue.service.services import Actor, Services


@dataclass(frozen=True, slots=True, kw_only=True)
class IssuedCard:
    digest: str
    issued: str
    who: str
    is_revoked: bool
    token: str | None
    """None when it was issued under another secret."""


def issued_cards(services: Services, actor: Actor, job_id: str) -> tuple[IssuedCard, ...]:
    """Every card of a job, the oldest first; for leads, since tokens open the card."""
    jobs.require_lead(actor)
    state = jobs.state_of(services, job_id)
    stream = jobs.stream_of(job_id)
    found = []
    for entry in services.store.read(stream):
        if entry.type != events.CARD_ISSUED:
            continue
        digest = entry.body["card"]
        token = services.ids.token("card", f"{stream}:{entry.key}")
        found.append(
            IssuedCard(
                digest=digest,
                issued=entry.received,
                who=entry.who,
                is_revoked=state.cards.get(digest, False),
                token=token if tokens.digest(token) == digest else None,
            )
        )
    return tuple(found)


def current_card(cards: tuple[IssuedCard, ...]) -> IssuedCard | None:
    """The newest card whose address can be printed."""
    return next((one for one in reversed(cards) if one.token and not one.is_revoked), None)


def card_of_job(services: Services, job_id: str) -> Card:
    """What the card says now."""
    state = jobs.state_of(services, job_id)
    return card(state, services.store.read(jobs.stream_of(job_id))[: state.seq])


def issue_card(services: Services, actor: Actor, job_id: str, *, key: str) -> str:
    """A card's token; only its digest is kept, so print the label while it is shown."""
    jobs.require_lead(actor)
    token = services.ids.token("card", f"{jobs.stream_of(job_id)}:{key}")
    jobs.append(
        services,
        actor,
        job_id,
        events.CARD_ISSUED,
        key=key,
        asked={"card": tokens.digest(token)},
        decide=lambda _state: {},
    )
    return token


def revoke_card(services: Services, actor: Actor, job_id: str, *, card: str, key: str) -> None:
    jobs.require_lead(actor)

    def decide(state: JobState) -> jobs.Body:
        if card not in state.cards:
            raise NotFoundError("There is no such card on this job.")
        return {}

    jobs.append(
        services, actor, job_id, events.CARD_REVOKED, key=key, asked={"card": card}, decide=decide
    )


def job_of_card(services: Services, token: str) -> str | None:
    """The job a card token opens; None when unknown or revoked."""
    read = tokens.normalise(token, tokens.TOKEN_LENGTH)
    if read is None:
        return None
    issues = services.openers.issues(services.store, "card", tokens.digest(read))
    return issues[0].stream.removeprefix("job-") if issues else None


def carried_document(services: Services, job_id: str) -> Document:
    """The job file of the work alone, for whoever holds its card."""
    state = jobs.state_of(services, job_id)
    title = f"Work {jobs.issued_id(job_id)}"
    return for_next_venue(state.document, state.plan, title=title, has_height=False)


def start_next_job(services: Services, actor: Actor, job_id: str, *, key: str) -> str:
    """A new job of the same work, for a lead of this house: its title and its height come along."""
    state = jobs.state_of(services, job_id)
    title = state.job.title
    document = for_next_venue(state.document, state.plan, title=title, has_height=True)
    return jobs.create_job(services, actor, document=document, key=key)
