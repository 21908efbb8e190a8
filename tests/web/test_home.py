"""The first page: for nobody, for a lead, for an installer."""

from __future__ import annotations

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
