"""Leads and their one-time links: commands on the ``house`` stream."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from holdtrue.domain import house as domain
from holdtrue.domain import tokens
from holdtrue.domain.errors import ConflictError, InputError, NotAllowedError, NotFoundError
from holdtrue.domain.house import House, Lead, LeadLink
from holdtrue.service.services import Actor, Services, append_decided
from holdtrue.store.port import Entry

LINK_DAYS = 7
"""How long a one-time link stays open; our choice."""
REPEAT = timedelta(minutes=10)
"""How long the very form that used a link up is answered again, for a tap sent twice; our choice.
Later it would sign in whoever finds it in a browser left open."""
NAME_LENGTH = 60

_Entries = tuple[Entry, ...]


def house(services: Services) -> House:
    return domain.fold(services.store.read(domain.STREAM))


def clean_name(name: str, path: str = "name") -> str:
    """A name as it will stand in the log: trimmed, 1 to 60 printable characters."""
    trimmed = " ".join(name.split())
    if not trimmed:
        raise InputError(path, None, "type your name, so that the log can say who did what")
    if len(trimmed) > NAME_LENGTH or not trimmed.isprintable():
        raise InputError(path, trimmed, f"type a name of at most {NAME_LENGTH} plain characters")
    return trimmed


def lead_actor(services: Services, person: str, round_: int = 0) -> Actor | None:
    """The lead of that id as an actor; None when unknown, removed or signed out since."""
    lead = house(services).lead(person)
    if lead is None or lead.round != round_:
        return None
    return Actor(person=lead.person, name=lead.name, role="lead")


def issue_system_link(services: Services, key: str) -> str:
    """A token for a new lead, for whoever starts the server; replaces the one printed before."""
    return _issue(services, key, who=domain.SYSTEM, person=None, note="printed at start")


def issue_first_link(services: Services, key: str) -> str | None:
    """A token while no lead exists yet, else None."""
    if house(services).present_leads:
        return None
    return issue_system_link(services, key)


def invite_lead(services: Services, actor: Actor, *, note: str, key: str) -> str:
    """A token that makes one more lead."""
    return _issue(services, key, who=actor.person, person=None, note=_clean_note(note))


def issue_own_link(services: Services, actor: Actor, *, key: str) -> str:
    """A token that signs the same lead in on another device."""
    return _issue(services, key, who=actor.person, person=actor.person, note="own other device")


def _clean_note(note: str) -> str:
    trimmed = " ".join(note.split())
    if len(trimmed) > NAME_LENGTH or not trimmed.isprintable():
        raise InputError("note", trimmed, f"type at most {NAME_LENGTH} plain characters")
    return trimmed


def _issue(services: Services, key: str, *, who: str, person: str | None, note: str) -> str:
    def decide(entries: _Entries) -> dict[str, str | None]:
        if who != domain.SYSTEM:
            _require_still_lead(entries, who)
        return body

    token = services.ids.token("lead-link", key)
    ends = services.clock().astimezone(UTC) + timedelta(days=LINK_DAYS)
    asked = {"link": tokens.digest(token), "person": person, "note": note}
    body = {**asked, "ends": ends.isoformat(timespec="milliseconds").replace("+00:00", "Z")}
    append_decided(
        services,
        domain.STREAM,
        key=key,
        who=who,
        event=domain.LEAD_LINK_ISSUED,
        asked=asked,
        decide=decide,
    )
    return token


def _require_still_lead(entries: _Entries, person: str) -> None:
    """Somebody removed while their form was on its way decides nothing any more."""
    if domain.fold(entries).lead(person) is None:
        raise NotAllowedError("You are no lead any more; nothing was changed.")


def open_link(services: Services, token: str) -> LeadLink:
    """The link a person followed; looking does not use it up."""
    return house(services).usable_link(_link_digest(token), services.now())


def accept_link(services: Services, token: str, *, name: str, key: str) -> Lead:
    """Use the link up: a new lead, or the same lead on another device."""
    digest = _link_digest(token)
    named = clean_name(name)
    new_person = services.ids.short("person", key)

    def decide(entries: _Entries) -> dict[str, str]:
        link = domain.fold(entries).usable_link(digest, services.now())
        return {"link": digest, "name": named, "person": link.person or new_person}

    entry = append_decided(
        services,
        domain.STREAM,
        key=key,
        who=new_person,
        event=domain.LEAD_LINK_USED,
        asked={"link": digest, "name": named},
        decide=decide,
    )
    if services.clock() - datetime.fromisoformat(entry.received) > REPEAT:
        raise ConflictError("This link was used already; it works once. Ask a lead for a new one.")
    # as of this entry: a form sent again after all sign-ins were ended opens no new one
    then = domain.fold(services.store.read(domain.STREAM)[: entry.seq])
    return then.leads[entry.body["person"]]


def _link_digest(token: str) -> str:
    read = tokens.normalise(token, tokens.TOKEN_LENGTH)
    if read is None:
        raise NotFoundError("There is no such link. Ask a lead for a new one.")
    return tokens.digest(read)


def withdraw_link(services: Services, actor: Actor, *, link: str, key: str) -> None:
    """Close an open link, named by its digest."""

    def decide(entries: _Entries) -> dict[str, str]:
        _require_still_lead(entries, actor.person)
        domain.fold(entries).usable_link(link, services.now())
        return {"link": link}

    append_decided(
        services,
        domain.STREAM,
        key=key,
        who=actor.person,
        event=domain.LEAD_LINK_WITHDRAWN,
        asked={"link": link},
        decide=decide,
    )


def remove_lead(services: Services, actor: Actor, *, person: str, key: str) -> None:
    """End a lead's rights and sign-ins; one lead always remains, and nobody removes themselves."""

    def decide(entries: _Entries) -> dict[str, str]:
        _require_still_lead(entries, actor.person)
        if domain.fold(entries).lead(person) is None:
            raise NotFoundError("There is no such lead.")
        if person == actor.person:
            raise ConflictError("You cannot remove yourself; another lead can.")
        return {"person": person}

    append_decided(
        services,
        domain.STREAM,
        key=key,
        who=actor.person,
        event=domain.LEAD_REMOVED,
        asked={"person": person},
        decide=decide,
    )


def sign_out_everywhere(services: Services, actor: Actor, *, key: str) -> Lead:
    """End all sign-ins of a lead so far, a lost phone's too; those to come are of a new round."""

    def decide(entries: _Entries) -> dict[str, str]:
        _require_still_lead(entries, actor.person)
        return {"person": actor.person}

    append_decided(
        services,
        domain.STREAM,
        key=key,
        who=actor.person,
        event=domain.LEAD_SIGNED_OUT,
        asked={"person": actor.person},
        decide=decide,
    )
    return house(services).leads[actor.person]


def round_after(services: Services, person: str, before: int, *, key: str) -> int | None:
    """The lead's round for the device that ended round ``before`` itself, under ``key``.

    None for every other device, and once that round was ended too.
    """
    lead = house(services).lead(person)
    ends = [
        entry
        for entry in services.store.read(domain.STREAM)
        if entry.type == domain.LEAD_SIGNED_OUT and entry.body["person"] == person
    ]
    is_own = lead is not None and lead.round == before + 1 and ends[before].key == key
    return before + 1 if is_own else None
