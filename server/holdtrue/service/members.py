"""Who somebody is on a request: the sign-in looked up again, so that revoking ends it at once."""

from __future__ import annotations

from holdtrue.service import accounts
from holdtrue.service.services import Actor, Services


def actor(services: Services, person: str | None, job: str | None) -> Actor | None:
    """The lead, or the installer of one job, that a session names; None when it counts no more."""
    if person is None:
        return None
    if job is None:
        return accounts.lead_actor(services, person)
    return None
