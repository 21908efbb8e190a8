"""Who people are: the sign-in looked up again on every request, and names for the log."""

from __future__ import annotations

from holdtrue.domain.state import JobState
from holdtrue.service import accounts, installers
from holdtrue.service.services import Actor, Services


def actor(services: Services, person: str | None, job: str | None, round_: int = 0) -> Actor | None:
    """The lead, or the installer of one job, that a session names; None when it counts no more.

    ``round_``: the lead's at sign-in; one of an earlier round was ended.
    """
    if person is None:
        return None
    if job is None:
        return accounts.lead_actor(services, person, round_)
    return installers.installer_actor(services, job, person)


def names(services: Services, state: JobState) -> dict[str, str]:
    """Person id to name for everybody who can stand in a job's log, removed leads included."""
    leads = {lead.person: lead.name for lead in accounts.house(services).leads.values()}
    return leads | {one.person: one.name for one in state.installers.values()}
