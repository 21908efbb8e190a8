"""A lead opens the demo job with one tap."""

from __future__ import annotations

import json
from pathlib import Path

from holdtrue.demo import demo_document
from holdtrue.service import jobs
from holdtrue.service.services import Services
from tests.web.conftest import Visitor

REFERENCE = Path(__file__).parents[1] / "reference" / "tidewrack.job.json"


def test_it_works(lead: Visitor) -> None:
    answer = lead.post("/jobs/demo", seen_at="/")

    assert answer.status_code == 303
    assert "Tidewrack" in lead.get(answer.headers["Location"]).text


def test_it_can_be_released_as_it_is(lead: Visitor, job_id: str, services: Services) -> None:
    answer = lead.post(
        f"/jobs/{job_id}/release", {"way": "fasteners_first"}, seen_at=f"/jobs/{job_id}"
    )

    assert answer.status_code == 303
    assert jobs.state_of(services, job_id).is_released


def test_a_double_tap_opens_one(lead: Visitor, services: Services) -> None:
    first = lead.post("/jobs/demo", seen_at="/", key="k" * 32)
    again = lead.post("/jobs/demo", seen_at="/", key="k" * 32)

    assert first.headers["Location"] == again.headers["Location"]


def test_it_is_the_reference_job_with_its_studs_stated() -> None:
    ours, reference = demo_document(), json.loads(REFERENCE.read_text())
    for stud in ours["wall"]["studs"]:
        if stud["material"] == "wood":
            del stud["material"]

    assert ours == reference
