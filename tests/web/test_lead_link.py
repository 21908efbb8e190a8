"""A lead signs in with a one-time link."""

from __future__ import annotations

import pytest

from holdtrue.service import accounts
from holdtrue.service.services import Services
from tests.web.conftest import Clock, Visitor, hidden_fields


@pytest.fixture
def link(services: Services) -> str:
    return f"/lead/{accounts.issue_system_link(services, services.ids.key())}"


def test_it_works(stranger: Visitor, link: str) -> None:
    answer = stranger.post(link, {"name": "Ines"})

    assert (answer.status_code, answer.headers["Location"]) == (303, "/")
    assert "Ines" in stranger.get("/").text


def test_looking_at_the_link_does_not_use_it_up(stranger: Visitor, link: str) -> None:
    for _ in range(3):
        assert stranger.get(link).status_code == 200

    assert stranger.post(link, {"name": "Ines"}).status_code == 303


def test_the_link_may_be_typed_in_lower_case(stranger: Visitor, link: str) -> None:
    assert stranger.get(link.lower()).status_code == 200


def test_the_link_works_once(stranger: Visitor, lead: Visitor, services: Services) -> None:
    token = accounts.issue_system_link(services, services.ids.key())
    lead.post(f"/lead/{token}", {"name": "Ines again"})

    answer = stranger.get(f"/lead/{token}")

    assert answer.status_code == 409
    assert "used already" in answer.text


def test_a_double_tap_signs_in_once(stranger: Visitor, link: str, services: Services) -> None:
    hidden = hidden_fields(stranger.get(link))
    ours = {"Origin": "http://localhost"}
    first = stranger.client.post(link, data={**hidden, "name": "Ines"}, headers=ours)
    again = stranger.client.post(link, data={**hidden, "name": "Ines"}, headers=ours)

    assert first.status_code == again.status_code == 303
    assert len(accounts.house(services).leads) == 1


def test_the_link_ends(stranger: Visitor, link: str, clock: Clock) -> None:
    clock.pass_by(days=8)

    assert stranger.get(link).status_code == 409


def test_an_unknown_link_is_not_found(stranger: Visitor) -> None:
    assert stranger.get("/lead/0000000000000000000000000Z").status_code == 404


def test_a_name_is_needed_and_the_link_stays_good(stranger: Visitor, link: str) -> None:
    answer = stranger.post(link, {"name": "   "})

    assert answer.status_code == 422
    assert "type your name" in answer.text
    assert stranger.post(link, {"name": "Ines"}).status_code == 303


def test_what_was_typed_is_shown_again(stranger: Visitor, link: str) -> None:
    answer = stranger.post(link, {"name": "<b>" + "x" * 60})

    assert answer.status_code == 422
    assert "&lt;b&gt;" + "x" * 60 in answer.text


def test_a_form_without_its_key_is_refused(stranger: Visitor, link: str) -> None:
    assert stranger.post(link, {"name": "Ines"}, key="").status_code == 422


def test_the_session_is_renewed_at_sign_in(stranger: Visitor, link: str) -> None:
    before = hidden_fields(stranger.get(link))["csrf"]
    stranger.post(link, {"name": "Ines"})

    assert hidden_fields(stranger.get("/people"))["csrf"] != before
