"""POST /jobs/ID/review/send-back."""

from __future__ import annotations

from typing import Any

import pytest
from werkzeug.test import TestResponse

from holdtrue.service import jobs
from holdtrue.service.services import Services
from tests.web.conftest import Visitor


def send(lead: Visitor, job_id: str, seq: int, **fields: Any) -> TestResponse:
    return lead.post(
        f"/jobs/{job_id}/review/send-back",
        {"seq": str(seq), **fields},
        seen_at=f"/jobs/{job_id}/review",
    )


def test_it_works(lead: Visitor, off: str, services: Services) -> None:
    seq = jobs.state_of(services, off).seq
    again = ["panels.level:B", "panels.facing:B|C"]
    answer = send(lead, off, seq, why="read B again", tasks=again)
    assert answer.status_code == 303
    state = jobs.state_of(services, off)
    assert state.review.state == "sent_back"
    assert not set(again) & set(state.records)
    page = lead.get(f"/jobs/{off}/review").text
    assert "<strong>Sent back</strong> by Ines" in page
    assert "read B again" in page
    assert "Not done: Level of B" in page


def test_what_is_to_be_read_again_is_not_called_inside_meanwhile(
    lead: Visitor, clean: str, services: Services
) -> None:
    assert "Everything is inside" in lead.get(f"/jobs/{clean}/review").text
    seq = jobs.state_of(services, clean).seq
    send(lead, clean, seq, why="read B again", tasks=["panels.level:B"])
    page = lead.get(f"/jobs/{clean}/review").text
    assert "Everything is inside" not in page
    assert "not read yet: level of B." in page


def test_what_is_outside_is_offered_first(lead: Visitor, off: str) -> None:
    page = lead.get(f"/jobs/{off}/review").text
    offered = page[page.index("Outside: read again") :]
    assert 'value="panels.level:B"' in offered[: offered.index("</fieldset>")]


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"why": "", "tasks": ["close.photo"]}, "write a few words"),
        ({"why": "blurred"}, "choose at least one task"),
        ({"why": "blurred", "tasks": ["close.dance"]}, "is not a task of this job"),
    ],
)
def test_it_says_why_and_what_and_keeps_what_was_typed(
    lead: Visitor, clean: str, services: Services, fields: dict[str, Any], said: str
) -> None:
    answer = send(lead, clean, jobs.state_of(services, clean).seq, **fields)
    assert answer.status_code == 422
    assert said in answer.text
    if fields["why"]:
        assert ">blurred</textarea>" in answer.text
    if fields.get("tasks") == ["close.photo"]:
        assert 'value="close.photo" checked' in answer.text
    assert jobs.state_of(services, clean).review.state == "handed_over"


def test_an_installer_cannot_send_back(installer: Visitor, job_id: str) -> None:
    answer = installer.post(f"/jobs/{job_id}/review/send-back", {"why": "no"}, seen_at="/")
    assert answer.status_code == 403
