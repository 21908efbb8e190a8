"""GET /C/TOKEN: the card, for whoever holds the crate, and nothing more."""

from __future__ import annotations

import re

import pytest

from holdtrue.service import cards, jobs
from holdtrue.service.services import Services
from tests import walking
from tests.walking import LEAD
from tests.web.conftest import Clock, Visitor


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
