"""Signing out."""

from __future__ import annotations

from tests.web.conftest import Visitor


def test_it_works(lead: Visitor) -> None:
    answer = lead.post("/sign-out", seen_at="/people")

    assert answer.status_code == 303
    assert lead.get("/people").headers["Location"] == "/"


def test_it_is_a_form_and_not_a_link(lead: Visitor) -> None:
    assert lead.get("/sign-out").status_code == 405
    assert lead.get("/people").status_code == 200


def test_another_site_cannot_do_it(lead: Visitor) -> None:
    answer = lead.client.post("/sign-out", headers={"Sec-Fetch-Site": "cross-site"})

    assert answer.status_code == 403
    assert lead.get("/people").status_code == 200
