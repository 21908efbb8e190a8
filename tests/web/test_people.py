"""A lead invites, withdraws and removes."""

from __future__ import annotations

import re

import pytest
from flask import Flask
from werkzeug.test import TestResponse

from holdtrue.service.services import Services
from tests.web.conftest import Visitor, hidden_fields


def link_in(answer: TestResponse) -> str:
    found = re.search(r"http://localhost(/lead/[0-9A-Z]{26})", answer.text)
    assert found, answer.text
    return found[1]


def test_it_works(lead: Visitor, stranger: Visitor) -> None:
    answer = lead.post("/people/invite", {"note": "Otto"}, seen_at="/people")

    assert answer.status_code == 200
    assert stranger.post(link_in(answer), {"name": "Otto"}).status_code == 303
    assert "Otto" in lead.get("/people").text


def test_the_link_is_shown_once(lead: Visitor) -> None:
    link = link_in(lead.post("/people/invite", {"note": "Otto"}, seen_at="/people"))

    assert link not in lead.get("/people").text


def test_a_double_tap_shows_the_same_link_and_makes_one(lead: Visitor) -> None:
    key = "k" * 32
    first = lead.post("/people/invite", {"note": "Otto"}, seen_at="/people", key=key)
    again = lead.post("/people/invite", {"note": "Otto"}, seen_at="/people", key=key)

    assert link_in(first) == link_in(again)
    assert again.text.count("open until") == 1


def test_a_note_that_is_too_long_is_shown_again(lead: Visitor) -> None:
    answer = lead.post("/people/invite", {"note": "x" * 61}, seen_at="/people")

    assert answer.status_code == 422
    assert "x" * 61 in answer.text


def test_a_withdrawn_link_works_no_more(lead: Visitor, stranger: Visitor) -> None:
    answer = lead.post("/people/invite", {"note": "Otto"}, seen_at="/people")
    digest = re.search(r'name="link" value="([0-9a-f]{64})"', answer.text)
    assert digest

    lead.post("/people/withdraw", {"link": digest[1]}, seen_at="/people")

    assert stranger.get(link_in(answer)).status_code == 409


def test_the_same_lead_signs_in_on_another_device(lead: Visitor, app: Flask) -> None:
    answer = lead.post("/people/own-link", seen_at="/people")
    other_device = Visitor(app.test_client())

    other_device.post(link_in(answer), {"name": "Ines"})

    assert other_device.get("/people").text.count('<th scope="row">') == 1


def test_a_removed_lead_is_signed_out_at_once(lead: Visitor, other_lead: Visitor) -> None:
    person = re.search(r'name="person" value="([0-9A-Z]{8})"', lead.get("/people").text)
    assert person
    assert other_lead.get("/people").status_code == 200

    lead.post("/people/remove", {"person": person[1]}, seen_at="/people")

    assert other_lead.get("/people").status_code == 303


def on_another_device(app: Flask, lead: Visitor) -> Visitor:
    other = Visitor(app.test_client(), lead.name)
    link = link_in(lead.post("/people/own-link", seen_at="/people"))
    assert other.post(link, {"name": lead.name}).status_code == 303
    assert other.get("/people").status_code == 200
    return other


def test_a_lead_signs_out_all_their_other_devices(app: Flask, lead: Visitor) -> None:
    lost = on_another_device(app, lead)
    made_there = link_in(lost.post("/people/own-link", seen_at="/people"))

    answer = lead.post("/people/sign-out-others", seen_at="/people")

    assert "Your other devices are signed out." in answer.text
    assert lost.get("/people").headers["Location"] == "/"
    assert lead.get("/people").status_code == 200
    # a link made on the lost phone would let it in again
    assert lost.get(made_there).status_code == 409
    assert on_another_device(app, lead).get("/people").status_code == 200


def test_the_same_tap_once_more_after_a_lost_answer_keeps_whoever_tapped_signed_in(
    app: Flask, lead: Visitor
) -> None:
    lost = on_another_device(app, lead)
    with lead.client.session_transaction() as session:
        before = dict(session)
    form = {**hidden_fields(lead.get("/people")), "key": "k" * 32}
    lead.client.post("/people/sign-out-others", data=form)
    with lead.client.session_transaction() as session:
        session.update(before)  # its cookie came with the answer that was lost
    assert lead.get("/people").headers["Location"] == "/"

    again = lead.client.post("/people/sign-out-others", data=form)

    assert "Your other devices are signed out." in again.text
    assert lead.get("/people").status_code == 200
    other_key = {**hidden_fields(lost.get("/join")), "key": "l" * 32}
    assert lost.client.post("/people/sign-out-others", data=other_key).status_code == 401
    lead.post("/people/sign-out-others", seen_at="/people")
    with lead.client.session_transaction() as session:
        session.update(before)
    assert lead.client.post("/people/sign-out-others", data=form).status_code == 401


def test_it_signs_nobody_else_out(lead: Visitor, other_lead: Visitor, installer: Visitor) -> None:
    lead.post("/people/sign-out-others", seen_at="/people")

    assert other_lead.get("/people").status_code == 200
    assert installer.get("/").headers["Location"].startswith("/jobs/")


def test_the_form_that_signed_a_lost_phone_in_does_not_do_so_again(
    app: Flask, lead: Visitor
) -> None:
    lost = Visitor(app.test_client(), lead.name)
    link = link_in(lead.post("/people/own-link", seen_at="/people"))
    lost.post(link, {"name": lead.name}, key="k" * 32)
    lead.post("/people/sign-out-others", seen_at="/people")

    form = {**hidden_fields(lost.get("/join")), "name": lead.name, "key": "k" * 32}
    lost.client.post(link, data=form)

    assert lost.get("/people").headers["Location"] == "/"


def test_removing_somebody_unknown_is_not_found(lead: Visitor) -> None:
    assert lead.post("/people/remove", {"person": "X"}, seen_at="/people").status_code == 404


@pytest.mark.parametrize("name", ["invite", "own-link", "withdraw", "remove"])
def test_a_stranger_can_do_nothing(stranger: Visitor, services: Services, name: str) -> None:
    answer = stranger.post(f"/people/{name}", seen_at="/")

    assert answer.status_code == 401
    assert services.store.streams() == ()
