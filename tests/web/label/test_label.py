"""GET /jobs/ID/label: the label, its options, its cards, its file."""

from __future__ import annotations

import re
from dataclasses import replace
from xml.etree import ElementTree as ET

import pytest
from flask import Flask

from holdtrue import create_app
from holdtrue.service import cards, jobs
from holdtrue.service.services import Actor, Services
from tests import walking
from tests.web.conftest import Visitor, sign_in_lead

CARD = re.compile(r"/C/([0-9A-HJKMNP-TV-Z]{26})")


@pytest.fixture
def job(services: Services, lead: Visitor) -> str:
    return walking.released(services, walking.LEAD)


def issue(lead: Visitor, job: str) -> str:
    answer = lead.post(f"/jobs/{job}/label/card", seen_at=f"/jobs/{job}/label")
    assert answer.status_code == 303
    found = CARD.search(lead.get(f"/jobs/{job}/label").text)
    assert found
    return found[1]


def test_without_a_card_the_page_says_so_and_offers_one(lead: Visitor, job: str) -> None:
    page = lead.get(f"/jobs/{job}/label").text
    assert "This job has no card yet." in page
    assert 'data-code="card"' not in page
    assert "no card to scan" in page


def test_a_card_is_made_and_shown_as_often_as_the_lead_looks(lead: Visitor, job: str) -> None:
    token = issue(lead, job)
    page = lead.get(f"/jobs/{job}/label").text
    assert token in page
    assert 'data-code="card"' in page
    assert "no card yet" not in page


def test_the_same_form_makes_one_card(lead: Visitor, job: str, services: Services) -> None:
    for seen_at in (f"/jobs/{job}/label", f"/jobs/{job}/label"):
        lead.post(f"/jobs/{job}/label/card", seen_at=seen_at, key="k" * 32)
    assert len(jobs.state_of(services, job).cards) == 1


def test_a_revoked_card_is_gone_from_the_label_and_opens_no_more(
    lead: Visitor, stranger: Visitor, job: str, services: Services
) -> None:
    token = issue(lead, job)
    assert stranger.get(f"/C/{token}").status_code == 200
    (digest,) = jobs.state_of(services, job).cards
    answer = lead.post(f"/jobs/{job}/label/revoke", {"card": digest}, seen_at=f"/jobs/{job}/label")
    assert answer.status_code == 303
    page = lead.get(f"/jobs/{job}/label").text
    assert token not in page
    assert ">revoked<" in page
    assert stranger.get(f"/C/{token}").status_code == 404


def test_a_card_that_is_not_there_cannot_be_revoked(lead: Visitor, job: str) -> None:
    issue(lead, job)
    answer = lead.post(f"/jobs/{job}/label/revoke", {"card": "x"}, seen_at=f"/jobs/{job}/label")
    assert answer.status_code == 404


@pytest.mark.parametrize(
    ("size", "width", "height"), [("a6", "105mm", "148mm"), ("4x6", "101.6mm", "152.4mm")]
)
def test_the_file_has_its_true_size(
    lead: Visitor, job: str, size: str, width: str, height: str
) -> None:
    answer = lead.get(f"/jobs/{job}/label.svg?size={size}&crate=2&crates=3&panels=A&panels=B")
    assert answer.mimetype == "image/svg+xml"
    name = f"{job}-crate-2-of-3-{size}.svg"
    assert answer.headers["Content-Disposition"] == f'attachment; filename="{name}"'
    root = ET.fromstring(answer.text)  # noqa: S314 - our own label
    assert (root.get("width"), root.get("height")) == (width, height)
    said = " ".join(root.itertext())
    assert "crate 2 of 3" in said
    assert "Tidewrack" not in said


def test_the_title_is_printed_only_when_asked_for(lead: Visitor, job: str) -> None:
    svg = f"/jobs/{job}/label.svg"
    assert "Tidewrack" not in lead.get(svg).text
    assert "Tidewrack" in lead.get(f"{svg}?title=yes").text


def test_the_packed_crate_is_told_when_it_is_known(lead: Visitor, job: str) -> None:
    query = "width=48&height=1.2 m&depth=10&mass=137 lb"
    text = lead.get(f"/jobs/{job}/label.svg?{query}").text
    assert "62.1 kg packed" in text
    assert "crate 48 × 47 1/4 × 10 in" in text


@pytest.mark.parametrize(
    ("query", "said"),
    [
        ("size=a0", "choose one of A6"),
        ("crate=3&crates=2", "whole number from 1 to 2"),
        ("crates=x", "whole number from 1 to 99"),
        ("crates=²", "whole number from 1 to 99"),
        ("panels=Z", "give panels of this work: A, B, C, D"),
        ("width=48", "give all three, or none"),
        ("width=48&height=0&depth=10", "must be more than 0"),
        ("width=1/0&height=1&depth=1", ""),
        ("mass=heavy", ""),
    ],
)
def test_a_label_that_cannot_be_says_why_and_keeps_what_was_typed(
    lead: Visitor, job: str, query: str, said: str
) -> None:
    answer = lead.get(f"/jobs/{job}/label?{query}")
    assert answer.status_code == 422
    assert "There is no label to show" in answer.text
    assert said in answer.text
    assert lead.get(f"/jobs/{job}/label.svg?{query}").status_code == 422


def test_a_hostile_name_stays_text(lead: Visitor, services: Services) -> None:
    document = walking.golden()
    document["title"] = "</svg><script>alert(1)</script>"
    document["panels"][0]["name"] = '"><script>x'
    job_id = jobs.create_job(services, walking.LEAD, document=document, key=services.ids.key())
    for url in (f"/jobs/{job_id}/label?title=yes", f"/jobs/{job_id}/label.svg?title=yes"):
        assert "<script>" not in lead.get(url).text.replace('<script src="/static', "")


@pytest.mark.parametrize(
    ("address", "said"),
    [
        (None, "The code will not open anywhere else."),
        ("http://127.0.0.1:8000", "The code will not open anywhere else."),
        ("http://192.168.1.20:8000", "The code opens only inside this network."),
        ("http://studio.local", "The code opens only inside this network."),
        ("https://hang.example.org", None),
    ],
)
def test_how_far_the_code_reaches_is_said(
    services: Services, address: str | None, said: str | None
) -> None:
    app: Flask = create_app(replace(services, public_url=address))
    visitor = sign_in_lead(app, services, "Ines")
    job_id = walking.released(services, walking.LEAD)
    page = visitor.get(f"/jobs/{job_id}/label").text
    assert ('id="reach"' in page) is (said is not None)
    if said:
        assert said in page
        assert "--public-url" in page


def test_the_code_leads_to_the_public_address(services: Services) -> None:
    public = replace(services, public_url="https://hang.example.org")
    visitor = sign_in_lead(create_app(public), public, "Ines")
    job_id = walking.released(public, walking.LEAD)
    token = issue(visitor, job_id)
    assert f"https://hang.example.org/C/{token}" in visitor.get(f"/jobs/{job_id}/label").text


def test_the_label_is_for_leads(
    stranger: Visitor, installer: Visitor, job_id: str, services: Services
) -> None:
    for path in ("label", "label.svg"):
        assert stranger.get(f"/jobs/{job_id}/{path}").headers["Location"] == "/"
        assert installer.get(f"/jobs/{job_id}/{path}").status_code == 403
    answer = installer.post(f"/jobs/{job_id}/label/card", seen_at="/")
    assert answer.status_code == 403
    lead = Actor(person="L", name="L", role="lead")
    assert cards.issued_cards(services, lead, job_id) == ()
