"""An installer joins a job with a code."""

from __future__ import annotations

import pytest
from flask import Flask

from holdtrue.service import jobs
from holdtrue.service.services import Services
from holdtrue.web.limits import Brake
from tests.web.conftest import Clock, Visitor, code_for, hidden_fields

IVO = {"name": "Ivo", "unit": "mm", "hand": "left"}


@pytest.fixture
def code(lead: Visitor, job_id: str) -> str:
    return code_for(lead, job_id)


def test_it_works(stranger: Visitor, code: str, job_id: str, services: Services) -> None:
    answer = stranger.post("/join", {**IVO, "code": code})

    assert answer.status_code == 303
    assert stranger.get("/").headers["Location"] == f"/jobs/{job_id}/phone"
    page = stranger.get(f"/jobs/{job_id}/phone/all").text
    assert 'data-hand="left"' in page
    (installer,) = jobs.state_of(services, job_id).installers.values()
    assert (installer.name, installer.unit, installer.hand) == ("Ivo", "mm", "left")


def test_the_link_fills_the_code_in(stranger: Visitor, code: str) -> None:
    assert f'value="{code}"' in stranger.get(f"/join?code={code}").text


def test_the_address_of_the_qr_code_fills_it_in_too(stranger: Visitor, code: str) -> None:
    for way in ("/J/", "/j/"):
        assert f'value="{code}"' in stranger.get(way + code).text


def test_the_code_may_be_typed_carelessly(stranger: Visitor, code: str) -> None:
    typed = f"  {code.lower().replace('0', 'o').replace('1', 'l')} "

    assert stranger.post("/join", {**IVO, "code": typed}).status_code == 303


def test_a_crew_may_share_a_code(app: Flask, code: str, job_id: str, services: Services) -> None:
    for name in ("Ivo", "Una"):
        Visitor(app.test_client()).post("/join", {**IVO, "code": code, "name": name})

    names = {installer.name for installer in jobs.state_of(services, job_id).installers.values()}
    assert names == {"Ivo", "Una"}


def test_a_double_tap_joins_once(
    stranger: Visitor, code: str, job_id: str, services: Services
) -> None:
    hidden = hidden_fields(stranger.get("/join"))
    ours = {"Sec-Fetch-Site": "same-origin"}
    for _ in range(2):
        answer = stranger.client.post("/join", data={**hidden, **IVO, "code": code}, headers=ours)
        assert answer.status_code == 303

    assert len(jobs.state_of(services, job_id).installers) == 1


@pytest.mark.parametrize("wrong", ["", "7K3M-Q2XD", "UUUUUUUU", "short", "x" * 300, "\u2603" * 8])
def test_a_wrong_code_is_refused_and_the_rest_kept(stranger: Visitor, wrong: str) -> None:
    answer = stranger.post("/join", {**IVO, "code": wrong})

    assert answer.status_code == 422
    assert 'value="Ivo"' in answer.text
    assert 'value="left" checked' in answer.text
    assert "ask the lead" in answer.text


@pytest.mark.parametrize(
    ("field", "value"), [("name", ""), ("name", "x" * 61), ("unit", "ell"), ("hand", "third")]
)
def test_what_cannot_be_used_is_refused(
    stranger: Visitor, code: str, field: str, value: str, job_id: str, services: Services
) -> None:
    answer = stranger.post("/join", {**IVO, "code": code, field: value})

    assert answer.status_code == 422
    assert 'class="error"' in answer.text
    assert code in answer.text
    assert not jobs.state_of(services, job_id).installers


def test_guessing_is_slowed_down(stranger: Visitor, code: str, clock: Clock) -> None:
    for _ in range(10):
        assert stranger.post("/join", {**IVO, "code": "7K3M-Q2XD"}).status_code == 422

    assert stranger.post("/join", {**IVO, "code": code}).status_code == 429
    clock.pass_by(minutes=11)
    assert stranger.post("/join", {**IVO, "code": code}).status_code == 303


def test_a_clock_that_was_put_back_keeps_nobody_out(
    stranger: Visitor, code: str, clock: Clock
) -> None:
    for _ in range(10):
        stranger.post("/join", {**IVO, "code": "7K3M-Q2XD"})
    clock.pass_by(days=-2)

    assert stranger.post("/join", {**IVO, "code": code}).status_code == 303


def test_one_address_that_guesses_does_not_lock_out_another(
    app: Flask, stranger: Visitor, code: str
) -> None:
    for _ in range(11):
        stranger.post("/join", {**IVO, "code": "7K3M-Q2XD"})

    answer = Visitor(app.test_client()).post(
        "/join", {**IVO, "code": code}, environ_base={"REMOTE_ADDR": "192.0.2.7"}
    )
    assert answer.status_code == 303


def test_many_addresses_that_guess_close_the_door_to_nobody_else(
    app: Flask, stranger: Visitor, code: str
) -> None:
    brake = app.extensions["holdtrue-brake"]
    for number in range(40):
        for _ in range(10):
            brake.count_failure(f"192.0.2.{number}")

    assert stranger.post("/join", {**IVO, "code": code}).status_code == 303


@pytest.mark.parametrize(
    ("guesser", "other", "is_same"),
    [
        ("2001:db8:1:2::7", "2001:db8:1:2:ffff::9", True),
        ("2001:db8:1:2::7", "2001:db8:1:3::7", False),
        ("fe80::7%eth0", "fe80::8%eth1", True),
        ("::ffff:192.0.2.7", "192.0.2.7", True),
        ("::ffff:192.0.2.7", "::ffff:192.0.2.8", False),
        ("192.0.2.7", "192.0.2.8", False),
        ("unknown", "unknown", True),
    ],
)
def test_one_network_of_ipv6_counts_as_one_address(
    clock: Clock, guesser: str, other: str, is_same: bool
) -> None:
    brake = Brake(clock)
    for _ in range(10):
        brake.count_failure(guesser)

    assert brake.is_on(other) == is_same


def test_only_so_many_addresses_are_remembered(
    clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("holdtrue.web.limits.MOST_ADDRESSES", 3)
    brake = Brake(clock)
    for number in range(5):
        for _ in range(10):
            brake.count_failure(f"192.0.2.{number}")

    assert [brake.is_on(f"192.0.2.{number}") for number in range(5)] == [False] * 2 + [True] * 3


def test_a_revoked_code_joins_nobody_and_signs_out_who_joined_by_it(
    lead: Visitor, stranger: Visitor, code: str, job_id: str, app: Flask, services: Services
) -> None:
    stranger.post("/join", {**IVO, "code": code})
    (digest,) = jobs.state_of(services, job_id).codes

    lead.post(f"/jobs/{job_id}/revoke", {"code": digest}, seen_at=f"/jobs/{job_id}")

    assert stranger.get(f"/jobs/{job_id}/phone").headers["Location"] == "/"
    late = Visitor(app.test_client()).post("/join", {**IVO, "code": code})
    assert late.status_code == 422


def test_another_codes_revocation_signs_nobody_else_out(
    lead: Visitor, stranger: Visitor, code: str, job_id: str, services: Services
) -> None:
    stranger.post("/join", {**IVO, "code": code})
    before = set(jobs.state_of(services, job_id).codes)
    code_for(lead, job_id, "other")
    (other,) = set(jobs.state_of(services, job_id).codes) - before

    lead.post(f"/jobs/{job_id}/revoke", {"code": other}, seen_at=f"/jobs/{job_id}")

    assert stranger.get(f"/jobs/{job_id}/phone/all").status_code == 200


def test_a_second_tap_without_proof_of_origin_is_refused(stranger: Visitor, code: str) -> None:
    hidden = hidden_fields(stranger.get("/join"))
    stranger.client.post("/join", data={**hidden, **IVO, "code": code})

    again = stranger.client.post("/join", data={**hidden, **IVO, "code": code})

    assert again.status_code == 403


# -- signing in again ----------------------------------------------------------------------


def test_who_signs_in_again_is_back_on_the_page_the_phone_was_on(
    stranger: Visitor, code: str, job_id: str
) -> None:
    back = f"/jobs/{job_id}/phone/fasteners.mark:B1"
    page = stranger.get("/join", query_string={"back": back})
    assert "Sign in again" in page.text
    assert f'name="back" value="{back}"' in page.text
    answer = stranger.post("/join", {**IVO, "code": code, "back": back})
    assert answer.headers["Location"] == back


def test_a_wrong_code_keeps_the_way_back(stranger: Visitor, job_id: str) -> None:
    back = f"/jobs/{job_id}/phone"
    answer = stranger.post("/join", {**IVO, "code": "AAAA-AAAA", "back": back})
    assert answer.status_code == 422
    assert f'name="back" value="{back}"' in answer.text


@pytest.mark.parametrize(
    "back",
    [
        "https://elsewhere.example/jobs",
        "//elsewhere.example/",
        "/\\elsewhere.example",
        "/people",
        "/jobs/AAAAAAAA/phone",
        "javascript:alert(1)",
        "",
    ],
)
def test_the_way_back_leads_to_this_jobs_pages_only(
    stranger: Visitor, code: str, back: str
) -> None:
    answer = stranger.post("/join", {**IVO, "code": code, "back": back})
    assert (answer.status_code, answer.headers["Location"]) == (303, "/")
