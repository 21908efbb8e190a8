"""The look of the screen is changed where one stands."""

from __future__ import annotations

import pytest

from holdtrue.service import accounts
from holdtrue.service.services import Services
from tests.web.conftest import Visitor


def test_it_works(lead: Visitor) -> None:
    answer = lead.post("/settings", {"look": "dark", "back": "/people"}, seen_at="/people")

    assert (answer.status_code, answer.headers["Location"]) == (303, "/people")
    assert 'data-look="dark"' in lead.get("/people").text


def test_daylight_is_the_default(stranger: Visitor) -> None:
    assert 'data-look="daylight"' in stranger.get("/").text


@pytest.mark.parametrize("name", ["look", "hand", "unit"])
def test_what_is_not_offered_is_refused(lead: Visitor, name: str) -> None:
    assert lead.post("/settings", {name: '"><b>'}, seen_at="/people").status_code == 422


@pytest.mark.parametrize(
    "back",
    [
        "//elsewhere.example",
        "https://elsewhere.example",
        "/\\elsewhere.example",
        "",
        "/a//b",
        "/%2f",
        "/a\n",
    ],
)
def test_the_way_back_never_leaves_the_site(lead: Visitor, back: str) -> None:
    answer = lead.post("/settings", {"look": "dark", "back": back}, seen_at="/people")

    assert answer.headers["Location"] == "/"


def test_the_look_is_kept_through_signing_in(stranger: Visitor, services: Services) -> None:
    with stranger.client.session_transaction() as session:
        session["look"] = "dark"

    token = accounts.issue_system_link(services, services.ids.key())
    stranger.post(f"/lead/{token}", {"name": "Ines"})

    assert 'data-look="dark"' in stranger.get("/people").text


def test_an_answer_to_a_form_leads_back_to_a_page(lead: Visitor) -> None:
    answer = lead.post("/people/invite", seen_at="/people")

    assert 'name="back" value=""' in answer.text
