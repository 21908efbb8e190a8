"""GET /C/TOKEN: the card, for whoever holds the crate, and nothing more."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from typing import Any

import pytest
from werkzeug.test import TestResponse

from holdtrue.core.geometry import bounding_box_mm
from holdtrue.core.model import Wall
from holdtrue.service import cards, jobs
from holdtrue.service.services import Services
from tests import walking
from tests.walking import LEAD
from tests.web.conftest import Clock, Visitor, hidden_fields


@pytest.fixture
def job(services: Services) -> str:
    return walking.handed_over(services, "off")


@pytest.fixture
def token(services: Services, job: str) -> str:
    return cards.issue_card(services, LEAD, job, key=services.ids.key())


def text_of(html: str) -> str:
    return " ".join(re.sub(r"<[^>]*>", " ", html).split())


def test_it_works(stranger: Visitor, token: str, job: str) -> None:
    answer = stranger.get(f"/C/{token}")
    assert answer.status_code == 200
    said = text_of(answer.text)
    for shown in (
        f"Card of {job}",
        "Revision 2, 2026-03-02",
        "As measured and hung.",
        "Clear wall, wide 116 in (2946.8 mm)",
        "Total load 478 N (48.7 kg)",
        "gap 2 1/2 in (63.5 mm)",
        "A seen from the back",
        "In the crate A with 2 hangers, a fastener each; B with",
        "8 × hook on a toggle",
        "security locks",
        "2 on a platform at the last install",
        "A1 up 1/16 in (shim)",
        "Take down and pack A, then D, then B, then C",
    ):
        assert shown in said, shown


def test_path_and_token_are_read_in_any_case(stranger: Visitor, token: str) -> None:
    for url in (f"/c/{token}", f"/C/{token.lower()}", f"/c/{token.lower()}"):
        assert stranger.get(url).status_code == 200


def test_it_is_kept_by_nobody_and_told_to_nobody(stranger: Visitor, token: str) -> None:
    for url in (f"/C/{token}", f"/c/{'0' * 26}"):
        headers = stranger.get(url).headers
        assert headers["Cache-Control"] == "no-store"
        assert headers["Referrer-Policy"] == "no-referrer"
        assert "noindex" in headers["X-Robots-Tag"]
        assert "Set-Cookie" not in headers


def test_no_venue_no_person_no_title_and_nothing_of_the_old_wall(
    stranger: Visitor, token: str, job: str, services: Services
) -> None:
    state = jobs.state_of(services, job)
    page = stranger.get(f"/C/{token}").text
    answers = walking.ANSWERS
    secrets = [
        *("Ivo", "Installer", "Lea", "Leadbetter"),
        *state.installers,
        LEAD.person,
        answers["before.wall_yes"]["who"],
        answers["stand_back.yes"]["who"],
        answers["secure.key"]["who"],
        answers["close.note"]["note"],
        state.job.title,
        *("pilot hole", "a hum", "traced"),
    ]
    for secret in secrets:
        assert secret not in page, secret
    # heights above the old floor and distances from its mark
    for wall in ("70 7/8", "53 5/8", "58 in"):
        assert wall not in page, wall
    assert "d-stud" not in page


def test_a_lead_who_looks_at_it_is_not_named_either(lead: Visitor, token: str) -> None:
    assert lead.name not in text_of(lead.get(f"/C/{token}").text)


def test_a_plan_not_hung_yet_says_so(stranger: Visitor, services: Services) -> None:
    job_id = walking.released(services, LEAD)
    card = cards.issue_card(services, LEAD, job_id, key=services.ids.key())
    said = text_of(stranger.get(f"/C/{card}").text)
    assert "As planned, not hung yet." in said
    assert "As measured last time" not in said
    assert "reckoned, not measured" in said


def test_a_hostile_panel_name_is_text(stranger: Visitor, services: Services) -> None:
    document = walking.golden()
    document["panels"][0]["name"] = "<script>alert(1)</script>A"
    document["fasteners"][0]["name"] = "<img src=x onerror=y>"
    job_id = jobs.create_job(services, LEAD, document=document, key=services.ids.key())
    card = cards.issue_card(services, LEAD, job_id, key=services.ids.key())
    page = stranger.get(f"/C/{card}").text
    assert "<script>alert" not in page
    assert "<img src=x" not in page
    assert "&lt;script&gt;alert(1)&lt;/script&gt;A" in page


def start(lead: Visitor, token: str, key: str | None = None) -> TestResponse:
    return lead.post(f"/c/{token}/start", seen_at=f"/C/{token}", key=key)


def test_a_lead_of_this_server_starts_the_next_job_with_one_tap(
    lead: Visitor, token: str, job: str, services: Services
) -> None:
    answer = start(lead, token)

    assert answer.status_code == 303
    started = answer.headers["Location"].split("/")[2]
    assert started != job
    before, now = (jobs.state_of(services, one) for one in (job, started))
    assert now.job.title == before.job.title
    assert now.job.panels == before.job.panels
    assert now.job.layout == replace(before.job.layout, offset_mm=0.0)
    assert now.job.wall == Wall()
    assert now.release is None
    # what a fastener may carry was said for the old wall: it must be said anew before a release
    assert {one.capacity_N for one in now.job.fasteners} == {None}
    assert {one.kind for one in now.findings if one.weight == "bar"} == {"not known"}
    assert lead.get(answer.headers["Location"]).status_code == 200


def test_a_double_tap_starts_one_job(lead: Visitor, token: str, services: Services) -> None:
    first, again = (start(lead, token, key="k" * 32) for _ in range(2))

    assert first.headers["Location"] == again.headers["Location"]
    assert len(services.store.streams()) == 3


def test_only_a_lead_starts_a_job_and_a_stranger_is_told_how(
    stranger: Visitor, token: str, services: Services
) -> None:
    page = stranger.get(f"/C/{token}")
    assert "Start a new job from this card" not in page.text
    assert "For the lead of the next venue: bring this file in" in text_of(page.text)
    assert stranger.client.post(f"/c/{token}/start").status_code in (401, 403)
    assert [one for one in services.store.streams() if one.startswith("job-")] != []


@pytest.mark.parametrize("name", ["tidewrack", "staithe", "free"])
def test_a_lead_of_another_server_brings_the_cards_file_in(
    lead: Visitor, stranger: Visitor, services: Services, name: str
) -> None:
    job_id = jobs.create_job(services, LEAD, document=work(name), key=services.ids.key())
    card = cards.issue_card(services, LEAD, job_id, key=services.ids.key())

    answer = stranger.get(f"/c/{card}/job.json")

    assert answer.headers["Content-Disposition"] == f'attachment; filename="{job_id}.job.json"'
    assert answer.headers["Cache-Control"] == "no-store"
    file = (io.BytesIO(answer.data), "work.job.json")
    sent = {**hidden_fields(lead.get("/")), "file": file}
    made = lead.client.post("/jobs/upload", data=sent)
    assert made.status_code == 303
    brought = jobs.state_of(services, made.headers["Location"].split("/")[2])
    before = jobs.state_of(services, job_id)
    assert brought.job.panels == before.job.panels
    assert brought.job.title == f"Work {job_id}"
    left, low, right, _ = bounding_box_mm(brought.job.panels, brought.plan.arrangement.centres_mm)
    assert (left + right, low) == pytest.approx((0, 0))
    apart = [
        tuple(a - b for a, b in zip(one, first, strict=True))
        for state in (before, brought)
        for first, *rest in [state.plan.arrangement.centres_mm]
        for one in rest
    ]
    half = len(apart) // 2
    assert apart[:half] == [pytest.approx(one) for one in apart[half:]]


def work(name: str) -> dict[str, Any]:
    if name != "free":
        return walking.golden(name)
    document = walking.golden()
    document["layout"] = {"kind": "free"}
    for k, panel in enumerate(document["panels"]):
        panel["centre"] = {"x": 40 * k - 10, "y": 50 + 3 * k}
    return document


def test_the_file_says_nothing_of_the_old_wall_or_its_people(
    stranger: Visitor, token: str, job: str, services: Services
) -> None:
    state = jobs.state_of(services, job)
    text = stranger.get(f"/c/{token}/job.json").text
    for secret in (*("Ivo", "Lea", "Vera", "Mara", "58"), state.job.title, 'studs"', "capacity"):
        assert secret not in text, secret


@pytest.mark.parametrize("where", ["/c/{}/job.json", "/C/{}"])
def test_a_revoked_card_opens_neither_page_nor_file(
    stranger: Visitor, lead: Visitor, token: str, job: str, services: Services, where: str
) -> None:
    (digest,) = jobs.state_of(services, job).cards
    page = lead.get(f"/C/{token}")
    cards.revoke_card(services, LEAD, job, card=digest, key=services.ids.key())

    assert stranger.get(where.format(token)).status_code == 404
    sent = lead.client.post(f"/c/{token}/start", data=hidden_fields(page))
    assert sent.status_code == 404


@pytest.mark.parametrize("kind", ["unknown", "short", "long", "odd", "revoked"])
def test_every_token_that_opens_nothing_gets_the_same_answer(
    stranger: Visitor, token: str, job: str, services: Services, kind: str
) -> None:
    (digest,) = jobs.state_of(services, job).cards
    cards.revoke_card(services, LEAD, job, card=digest, key=services.ids.key())
    tokens = {
        "unknown": "0" * 26,
        "short": "A",
        "long": "A" * 500,
        "odd": "%E2%9C%93",
        "revoked": token,
    }
    answer = stranger.get(f"/C/{tokens[kind]}")
    assert answer.status_code == 404
    assert answer.data == stranger.get(f"/C/{'1' * 26}").data


def test_guessing_is_braked_and_neither_joining_nor_a_good_card_is(
    stranger: Visitor, token: str, clock: Clock
) -> None:
    for _ in range(10):
        assert stranger.get(f"/C/{'0' * 26}").status_code == 404
    assert stranger.get(f"/C/{'0' * 26}").status_code == 429
    assert stranger.get(f"/C/{token}").status_code == 200
    assert stranger.get("/join").status_code == 200
    joining = stranger.post(
        "/join", {"code": "7K3M-Q2XD", "name": "Ivo", "unit": "mm", "hand": "left"}
    )
    assert joining.status_code == 422
    clock.pass_by(minutes=11)
    assert stranger.get(f"/C/{'0' * 26}").status_code == 404


def test_good_cards_are_never_braked(stranger: Visitor, token: str) -> None:
    for _ in range(15):
        assert stranger.get(f"/C/{token}").status_code == 200
