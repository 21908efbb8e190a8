"""The first page: for nobody, for a lead, for an installer."""

from __future__ import annotations

from holdtrue.service import cards
from holdtrue.service.services import Actor, Services
from holdtrue.store.port import NewEntry
from tests.web.conftest import Visitor


def test_it_works(lead: Visitor, job_id: str) -> None:
    page = lead.get("/").text

    assert f'href="/jobs/{job_id}"' in page
    assert "Tidewrack, four panels" in page


def test_a_stranger_is_told_how_to_get_in_and_nothing_else(stranger: Visitor, job_id: str) -> None:
    page = stranger.get("/").text

    assert "Join a job" in page
    assert "one-time link" in page
    assert "Tidewrack" not in page
    assert job_id not in page


def test_an_installer_is_led_to_their_job(installer: Visitor, job_id: str) -> None:
    answer = installer.get("/")

    assert (answer.status_code, answer.headers["Location"]) == (303, f"/jobs/{job_id}/phone")


def test_a_lead_without_jobs_is_offered_the_demo(lead: Visitor) -> None:
    page = lead.get("/").text

    assert "Open the demo job" in page
    assert "No job yet" in page


def test_a_job_that_cannot_be_read_is_named_and_shuts_no_other(
    lead: Visitor, job_id: str, services: Services
) -> None:
    strange = NewEntry(
        key="k" * 32,
        type="FromAnotherVersion",
        body={},
        who="system",
        received="2026-03-02T08:00:00.000Z",
    )
    services.store.append("job-0000000Z", strange, expected=0)

    page = lead.get("/").text

    assert f'href="/jobs/{job_id}"' in page
    assert "Job 0000000Z" in page
    assert "FromAnotherVersion" in page


def test_a_copied_log_beside_the_others_shuts_nothing(
    lead: Visitor, job_id: str, services: Services
) -> None:
    for at, entry in enumerate(services.store.read(f"job-{job_id}")):
        new = NewEntry(
            key=entry.key, type=entry.type, body=entry.body, who=entry.who, received=entry.received
        )
        services.store.append("job-OLD", new, expected=at)

    page = lead.get("/")

    assert page.status_code == 200
    assert f"/jobs/{job_id}" in page.text
    assert "/jobs/OLD" not in page.text


def test_a_copied_log_lends_its_card_to_nobody(
    lead: Visitor, stranger: Visitor, job_id: str, services: Services
) -> None:
    who = Actor(person="LEAD", name="Ines", role="lead")
    card = cards.issue_card(services, who, job_id, key=services.ids.key())
    for at, entry in enumerate(services.store.read(f"job-{job_id}")):
        new = NewEntry(
            key=entry.key, type=entry.type, body=entry.body, who=entry.who, received=entry.received
        )
        services.store.append("job-0OLD", new, expected=at)

    assert stranger.get(f"/C/{card}").status_code == 200
