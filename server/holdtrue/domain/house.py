"""The house: who the leads are and which one-time links are open, as a pure fold of its stream.

Installers are not here: they belong to one job each and live in that job's stream.
Rules kept here: a link works once, until its end; a link printed by the server at start replaces
the one printed before; a removed lead stays in the log and is signed out.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any, Literal, Protocol

from holdtrue.domain.errors import ConflictError, NotFoundError

STREAM = "house"
SYSTEM = "system"

LEAD_LINK_ISSUED = "LeadLinkIssued"
LEAD_LINK_USED = "LeadLinkUsed"
LEAD_LINK_WITHDRAWN = "LeadLinkWithdrawn"
LEAD_REMOVED = "LeadRemoved"
LEAD_SIGNED_OUT = "LeadSignedOut"

LinkState = Literal["open", "used", "withdrawn"]


class Recorded(Protocol):
    """What the fold reads of a stored entry (the store's own class is not known here)."""

    @property
    def seq(self) -> int: ...
    @property
    def type(self) -> str: ...
    @property
    def body(self) -> Mapping[str, Any]: ...
    @property
    def who(self) -> str: ...
    @property
    def received(self) -> str: ...


@dataclass(frozen=True, slots=True, kw_only=True)
class Lead:
    person: str
    name: str
    since: str
    is_removed: bool = False
    round: int = 0
    """How often all their sign-ins were ended; one of an earlier round counts no more."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LeadLink:
    """A one-time link; only its token's digest is known here."""

    digest: str
    by: str
    """Person id of the lead who made it, or "system"."""
    issued: str
    ends: str
    note: str = ""
    person: str | None = None
    """The lead it signs in again; None when it makes a new lead."""
    state: LinkState = "open"


@dataclass(frozen=True, slots=True)
class House:
    leads: dict[str, Lead] = field(default_factory=dict)
    links: dict[str, LeadLink] = field(default_factory=dict)

    @property
    def present_leads(self) -> tuple[Lead, ...]:
        return tuple(lead for lead in self.leads.values() if not lead.is_removed)

    def lead(self, person: str) -> Lead | None:
        """The lead of that id while not removed."""
        lead = self.leads.get(person)
        return None if lead is None or lead.is_removed else lead

    def open_links(self, now: str) -> tuple[LeadLink, ...]:
        return tuple(
            link for link in self.links.values() if link.state == "open" and now < link.ends
        )

    def usable_link(self, digest: str, now: str) -> LeadLink:
        """The link of that digest; raises while saying what to do when it works no more."""
        link = self.links.get(digest)
        if link is None:
            raise NotFoundError("There is no such link. Ask a lead for a new one.")
        if link.state == "used":
            raise ConflictError(
                "This link was used already; it works once. Ask a lead for a new one."
            )
        if link.state == "withdrawn" or now >= link.ends:
            raise ConflictError("This link works no more. Ask a lead for a new one.")
        return link


def fold(entries: Iterable[Recorded]) -> House:
    house = House()
    for entry in entries:
        house = _applied(house, entry)
    return house


def _applied(house: House, entry: Recorded) -> House:
    body: dict[str, Any] = dict(entry.body)
    match entry.type:
        case "LeadLinkIssued":
            return _with_link(house, _issued(entry, body))
        case "LeadLinkUsed":
            return _used(house, entry, body)
        case "LeadLinkWithdrawn":
            return _marked(house, body["link"], "withdrawn")
        case "LeadRemoved":
            return _removed(house, body["person"])
        case "LeadSignedOut":
            return _signed_out(house, body["person"])
        case other:
            raise ValueError(f"house entry {entry.seq}: {other!r} was written by a newer version")


def _issued(entry: Recorded, body: dict[str, Any]) -> LeadLink:
    return LeadLink(
        digest=body["link"],
        by=entry.who,
        issued=entry.received,
        ends=body["ends"],
        note=body.get("note", ""),
        person=body.get("person"),
    )


def _with_link(house: House, link: LeadLink) -> House:
    links = dict(house.links)
    if link.by == SYSTEM:
        for digest, old in links.items():
            if old.by == SYSTEM and old.state == "open":
                links[digest] = replace(old, state="withdrawn")
    links[link.digest] = link
    return House(house.leads, links)


def _used(house: House, entry: Recorded, body: dict[str, Any]) -> House:
    person = body["person"]
    known = house.leads.get(person)
    since, round_ = (entry.received, 0) if known is None else (known.since, known.round)
    lead = Lead(person=person, name=body["name"], since=since, round=round_)
    return _marked(House({**house.leads, person: lead}, house.links), body["link"], "used")


def _marked(house: House, digest: str, state: LinkState) -> House:
    link = replace(house.links[digest], state=state)
    return House(house.leads, {**house.links, digest: link})


def _removed(house: House, person: str) -> House:
    """Without the lead, and without the open links that would let this person in again."""
    leads = {**house.leads, person: replace(house.leads[person], is_removed=True)}
    return House(leads, _withdrawn(house, lambda link: person in (link.by, link.person)))


def _signed_out(house: House, person: str) -> House:
    """All sign-ins of the lead so far, and the open links to one more of their devices."""
    lead = house.leads[person]
    leads = {**house.leads, person: replace(lead, round=lead.round + 1)}
    return House(leads, _withdrawn(house, lambda link: link.person == person))


def _withdrawn(house: House, which: Callable[[LeadLink], bool]) -> dict[str, LeadLink]:
    """All links, those of these withdrawn that were open."""
    return {
        digest: replace(link, state="withdrawn") if link.state == "open" and which(link) else link
        for digest, link in house.links.items()
    }
