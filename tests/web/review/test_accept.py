"""POST /jobs/ID/review/accept."""

from __future__ import annotations

from typing import Any

import pytest
from flask import Flask
from werkzeug.test import TestResponse

from holdtrue.domain.review import outside, residual_rows
from holdtrue.service import jobs
from holdtrue.service.services import Actor, Services
from tests import walking
from tests.web.conftest import Visitor


def send(
    lead: Visitor, job_id: str, seq: int, *, key: str | None = None, **fields: Any
) -> TestResponse:
    # the token is looked up on a page that has a form whatever became of the job
    return lead.post(
        f"/jobs/{job_id}/review/accept",
        {"seq": str(seq), **fields},
        seen_at=f"/jobs/{job_id}",
        key=key,
    )


def seq_of(services: Services, job_id: str) -> int:
    return jobs.state_of(services, job_id).seq


def conceded(services: Services, job_id: str) -> dict[str, Any]:
    rows = outside(residual_rows(jobs.state_of(services, job_id)))
    fields: dict[str, Any] = {"residual": [row.name for row in rows]}
    for i in range(len(rows)):
        fields |= {f"why-{i}": "nobody sees it", f"agreed-{i}": "Mara, maker"}
    return fields


def test_it_works(lead: Visitor, clean: str, services: Services) -> None:
    answer = send(lead, clean, seq_of(services, clean), all="log")
    assert answer.status_code == 303
    assert answer.headers["Location"] == f"/jobs/{clean}/review"

    review = jobs.state_of(services, clean).review
    assert review.state == "accepted"
    assert set(review.points.values()) == {"log"}
    page = lead.get(f"/jobs/{clean}/review").text
    assert "<strong>Accepted</strong>" in page
    assert "Send back" not in page


def test_points_can_be_chosen_one_by_one(lead: Visitor, clean: str, services: Services) -> None:
    state = jobs.state_of(services, clean)
    chosen = {f"point:{seat}": "log" for seat in state.form.seats} | {"point:B2": "seen"}
    assert send(lead, clean, state.seq, all="each", **chosen).status_code == 303
    points = jobs.state_of(services, clean).review.points
    assert points["B2"] == "seen"
    assert points["B1"] == "log"


def test_with_concessions_it_is_printed_as_such(
    lead: Visitor, off: str, services: Services
) -> None:
    fields = conceded(services, off)
    assert send(lead, off, seq_of(services, off), all="seen", **fields).status_code == 303
    page = lead.get(f"/jobs/{off}/review").text
    assert "with concession" in page
    assert "gap B|C: nobody sees it Agreed by Mara, maker." in page


def test_ones_own_work_is_printed_as_self_accepted(
    lead: Visitor, app: Flask, services: Services
) -> None:
    job_id = walking.released(services, walking.LEAD)
    with lead.client.session_transaction() as session:
        me = Actor(person=session["person"], name="Ines", role="lead")
    walking.walk(services, me, job_id)
    assert send(lead, job_id, seq_of(services, job_id), all="log").status_code == 303
    assert "<strong>Self-accepted</strong>" in lead.get(f"/jobs/{job_id}/review").text


def test_twice_is_once(lead: Visitor, clean: str, services: Services) -> None:
    seq = seq_of(services, clean)
    for _ in range(2):
        assert send(lead, clean, seq, key="k" * 32, all="log").status_code == 303
    assert seq_of(services, clean) == seq + 1


def test_outside_without_a_concession_keeps_what_was_typed(
    lead: Visitor, off: str, services: Services
) -> None:
    fields = conceded(services, off) | {"why-1": "", "agreed-1": "", "why-0": "the lamp hides it"}
    answer = send(lead, off, seq_of(services, off), all="seen", **fields)
    assert answer.status_code == 422
    assert 'value="the lamp hides it"' in answer.text
    assert "seat spacing B1 to B2 is outside its tolerance: say why it may stay" in answer.text
    assert jobs.state_of(services, off).review.state == "handed_over"


@pytest.mark.parametrize("fields", [{}, {"all": "some"}, {"all": "each"}])
def test_points_without_an_answer_are_asked_for(
    lead: Visitor, clean: str, services: Services, fields: dict[str, str]
) -> None:
    answer = send(lead, clean, seq_of(services, clean), **fields)
    assert answer.status_code == 422
    assert "choose" in answer.text
    assert jobs.state_of(services, clean).review.state == "handed_over"


def test_what_happened_meanwhile_is_not_accepted_unseen(
    lead: Visitor, clean: str, services: Services
) -> None:
    seq = seq_of(services, clean)
    walking.do(services, walking.LEAD, clean, "close.note")
    answer = send(lead, clean, seq, all="seen")
    assert answer.status_code == 409
    assert "The log went on while you were looking" in answer.text
    assert jobs.state_of(services, clean).review.state == "handed_over"


@pytest.mark.parametrize("seq", ["", "x", "9" * 30, "-1"])
def test_a_form_without_its_place_in_the_log_is_refused(
    lead: Visitor, clean: str, seq: str
) -> None:
    answer = lead.post(
        f"/jobs/{clean}/review/accept",
        {"seq": seq, "all": "log"},
        seen_at=f"/jobs/{clean}/review",
    )
    assert answer.status_code == 422


def test_work_under_way_cannot_be_accepted(lead: Visitor, services: Services) -> None:
    job_id = walking.released(services, walking.LEAD)
    answer = send(lead, job_id, seq_of(services, job_id), all="log")
    assert answer.status_code == 409
    assert "This work cannot be accepted yet." in answer.text


def test_an_installer_cannot_accept(installer: Visitor, job_id: str) -> None:
    answer = installer.post(
        f"/jobs/{job_id}/review/accept", {"all": "log", "seq": "1"}, seen_at="/"
    )
    assert answer.status_code == 403
