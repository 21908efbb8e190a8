"""Installers of a job: their codes, joining by one, and who a sign-in is."""

from __future__ import annotations

from holdtrue.domain import events, tokens
from holdtrue.domain.errors import InputError, NotFoundError
from holdtrue.domain.state import JobState
from holdtrue.service import jobs
from holdtrue.service.services import Actor, Services


def invite_installer(services: Services, actor: Actor, job_id: str, *, label: str, key: str) -> str:
    """A code good for this job only; shown once, its digest kept."""
    jobs.require_lead(actor)
    code = services.ids.short("installer", key)
    jobs.append(
        services,
        actor,
        job_id,
        events.INSTALLER_INVITED,
        key=key,
        asked={"code": tokens.digest(code), "label": jobs.clean_text("label", label)},
        decide=lambda _state: {},
    )
    return code


def revoke_code(services: Services, actor: Actor, job_id: str, *, code: str, key: str) -> None:
    """End a code (by its digest) and every sign-in made with it."""
    jobs.require_lead(actor)

    def decide(state: JobState) -> jobs.Body:
        if code not in state.codes:
            raise NotFoundError("There is no such code on this job.")
        return {}

    jobs.append(
        services,
        actor,
        job_id,
        events.INSTALLER_CODE_REVOKED,
        key=key,
        asked={"code": code},
        decide=decide,
    )


def join(services: Services, *, code: str, name: str, unit: str, hand: str, key: str) -> Actor:
    """Join the job a code belongs to."""
    read = tokens.normalise(code, tokens.CODE_LENGTH)
    digest = tokens.digest(read) if read else ""
    no_such_code = InputError(
        "code", code, "is not a code of any job here, or was revoked; ask the lead for a new one"
    )
    job_id = _job_of_code(services, digest)
    if job_id is None:
        raise no_such_code
    named = jobs.clean_text("name", name, required=True)
    for path, value, allowed in (
        ("unit", unit, ("in", "mm", "cm")),
        ("hand", hand, ("left", "right")),
    ):
        if value not in allowed:
            raise InputError(path, value, "choose one of " + ", ".join(allowed))
    person = services.ids.short("person", key)
    actor = Actor(person=person, name=named, role="installer", job=job_id)

    def decide(state: JobState) -> jobs.Body:
        if state.codes[digest].is_revoked:  # since it was looked up
            raise no_such_code
        return {}

    jobs.append(
        services,
        actor,
        job_id,
        events.INSTALLER_JOINED,
        key=key,
        asked={"code": digest, "person": person, "name": named, "unit": unit, "hand": hand},
        decide=decide,
    )
    return actor


def _job_of_code(services: Services, digest: str) -> str | None:
    """The job of an installer's code; None when there is none, it was revoked, or is not ours.

    A code is made from its entry's key with our secret: one of a log brought in from another house
    is another, and its people do not come in here by it.
    """
    for entry in services.openers.issues(services.store, "code", digest):
        if tokens.digest(services.ids.short("installer", entry.key)) == digest:
            return entry.stream.removeprefix("job-")
    return None


def installer_actor(services: Services, job_id: str, person: str) -> Actor | None:
    """The installer of that id as an actor; None when unknown or the code was revoked."""
    try:
        state = jobs.state_of(services, job_id)
    except NotFoundError:
        return None
    installer = state.installers.get(person)
    if installer is None or state.codes[installer.code].is_revoked:
        return None
    return Actor(
        person=person,
        name=installer.name,
        role="installer",
        job=tokens.normalise(job_id, tokens.CODE_LENGTH),
    )
