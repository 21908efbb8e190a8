"""What was read of the floor: the lead chooses whether the work goes level or along the room."""

from __future__ import annotations

import re
from html import unescape

import pytest

from holdtrue.service import jobs
from holdtrue.service.services import Services
from tests.walking import LEAD, do, released, walk
from tests.web.conftest import Visitor, hidden_fields
from tests.web.test_plan_form import filled, shown

FLOOR = {"left": "60 1/2", "reference": "60", "right": "59 1/2"}
"""Read down from one level line: the left end lies lower, the right end higher."""
FOLLOW = "Follow the room: 5.1 mm per m"


@pytest.fixture
def read_job(services: Services) -> str:
    """A job whose floor and wall ends were read."""
    job_id = released(services, LEAD)
    walk(services, LEAD, job_id, until="reference.floor")
    do(services, LEAD, job_id, "reference.floor", raw=FLOOR)
    return job_id


def measured_ends(services: Services, job_id: str) -> None:
    do(services, LEAD, job_id, "reference.ends", raw={"left": "98", "right": "98"})


def words(page: str) -> str:
    return " ".join(unescape(re.sub("<[^>]+>", " ", page)).split())


def test_it_works(lead: Visitor, services: Services, read_job: str) -> None:
    measured_ends(services, read_job)
    url = f"/jobs/{read_job}/plan"
    before = lead.get(url)
    assert FOLLOW in words(before.text)

    followed = lead.post(url, {**filled(shown(before)), "action": "follow"})

    assert followed.status_code == 200
    assert shown(followed) == {**shown(before), "slope": "5.1"}
    assert jobs.state_of(services, read_job).job.layout.slope_mm_per_m == 0
    hidden = hidden_fields(followed)
    saved = lead.client.post(url, data={**filled(shown(followed)), **hidden, "action": "save"})
    assert saved.status_code == 303, words(saved.text)
    state = jobs.state_of(services, read_job)
    assert state.job.layout.slope_mm_per_m == 5.1
    assert [one.kind for one in state.findings if one.kind == "slope"] == ["slope"]
    assert FOLLOW not in words(lead.get(url).text)
    assert "Level, or along the room?" not in lead.get(f"/jobs/{read_job}").text


def test_it_is_said_what_a_height_is_at_both_ends(lead: Visitor, read_job: str) -> None:
    said = words(lead.get(f"/jobs/{read_job}/plan").text)

    assert "The floor was read: left end 1/2 in lower, right end 1/2 in higher than at" in said
    assert "The work's centre, 58 in up there, is 58 1/2 in over the floor at the left end" in said


def test_the_jobs_page_tells_the_lead_of_a_floor_that_is_not_level(
    lead: Visitor, read_job: str
) -> None:
    page = lead.get(f"/jobs/{read_job}").text

    assert "left end 1/2 in lower" in words(page)
    assert f'href="/jobs/{read_job}/plan#floor"' in page


def test_without_an_end_of_the_wall_no_slope_is_offered(
    lead: Visitor, services: Services, read_job: str
) -> None:
    url = f"/jobs/{read_job}/plan"
    page = lead.get(url)
    assert "Follow the room" not in page.text

    answer = lead.post(url, {**filled(shown(page)), "action": "follow"})

    assert answer.status_code == 422
    assert "no slope of this room was read yet" in answer.text
    assert filled(shown(answer)) == filled(shown(page))


def test_a_level_floor_and_one_not_read_yet_say_nothing(
    lead: Visitor, services: Services, job_id: str
) -> None:
    assert 'id="floor"' not in lead.get(f"/jobs/{job_id}/plan").text
    level = released(services, LEAD)
    walk(services, LEAD, level, until="reference.floor")
    same = dict.fromkeys(FLOOR, "60")
    do(services, LEAD, level, "reference.floor", raw=same)
    assert 'id="floor"' not in lead.get(f"/jobs/{level}").text
    assert "left end as high, right end as high" in words(lead.get(f"/jobs/{level}/plan").text)


@pytest.mark.parametrize(("bow", "is_said"), [("1/16", False), ("1/8", True)])
def test_a_wall_that_bows_more_than_faces_may_miss_each_other_is_said(
    lead: Visitor, services: Services, bow: str, is_said: bool
) -> None:
    job_id = released(services, LEAD)
    walk(services, LEAD, job_id, until="reference.bow")
    do(services, LEAD, job_id, "reference.bow", raw={"bow": bow, "lean": "0"})

    said = words(lead.get(f"/jobs/{job_id}").text)

    assert ("The wall bows 1/8 in under the straightedge" in said) == is_said
    assert ("more than the 5/64 in allowed" in said) == is_said
