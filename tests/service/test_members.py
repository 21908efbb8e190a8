"""Who somebody is on a request, and names for the log."""

from __future__ import annotations

from holdtrue.demo import demo_document
from holdtrue.domain import tokens
from holdtrue.service import accounts, installers, jobs, members
from holdtrue.service.services import Actor, Services


def a_lead(services: Services, name: str) -> Actor:
    token = accounts.issue_system_link(services, services.ids.key())
    lead = accounts.accept_link(services, token, name=name, key=services.ids.key())
    return Actor(person=lead.person, name=name, role="lead")


def test_it_works(services: Services) -> None:
    ines = a_lead(services, "Ines")
    job = jobs.create_job(services, ines, document=demo_document(), key=services.ids.key())
    code = installers.invite_installer(services, ines, job, label="crew", key=services.ids.key())
    ivo = installers.join(
        services, code=code, name="Ivo", unit="mm", hand="left", key=services.ids.key()
    )

    assert members.actor(services, ines.person, None) == ines
    assert members.actor(services, ivo.person, job) == ivo

    installers.revoke_code(services, ines, job, code=tokens.digest(code), key=services.ids.key())
    assert members.actor(services, ivo.person, job) is None
    state = jobs.state_of(services, job)
    assert members.names(services, state) == {ines.person: "Ines", ivo.person: "Ivo"}


def test_nobody_and_the_wrong_job_are_nobody(services: Services) -> None:
    ines = a_lead(services, "Ines")

    assert members.actor(services, None, None) is None
    assert members.actor(services, ines.person, "AAAAAAAA") is None
    assert members.actor(services, ines.person, "no job") is None


def test_a_removed_lead_keeps_a_name_in_the_log(services: Services) -> None:
    ines, otto = a_lead(services, "Ines"), a_lead(services, "Otto")
    job = jobs.create_job(services, ines, document=demo_document(), key=services.ids.key())
    accounts.remove_lead(services, ines, person=otto.person, key=services.ids.key())

    assert members.actor(services, otto.person, None) is None
    assert members.names(services, jobs.state_of(services, job))[otto.person] == "Otto"
