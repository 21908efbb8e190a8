"""The lead sees what phones sent and the job refused, records it again, and settles it."""

from __future__ import annotations

import json
import re

import pytest

from holdtrue.service import jobs, parked
from holdtrue.service.services import Actor, Services
from holdtrue.store.port import Entry
from tests.walking import released, walk
from tests.web.conftest import Visitor

READ = {"outcome": "measured", "x": "22 3/8", "x.side": "left", "above": "5 1/16"}


@pytest.fixture
def job(services: Services, lead: Visitor) -> str:
    """The golden job when C1 is next to be measured."""
    ines = Actor(person="INESINES", name="Ines", role="lead")
    job_id = released(services, ines)
    walk(services, ines, job_id, until="fasteners.measure:C1")
    return job_id


def park(
    services: Services, job_id: str, task: str = "fasteners.measure:C1", **fields: str
) -> Entry:
    someone = Actor(person="IVOIVOIV", name="Ivo", role="lead")
    return parked.park(
        services,
        someone,
        job_id,
        task=task,
        fields=json.dumps({**READ, **fields}),
        words="It had to wait <b>then</b>",
        key=services.ids.key(),
        tapped="2026-03-02T07:30:00Z",
    )


def test_it_stands_on_the_jobs_page_and_in_the_review(
    lead: Visitor, job: str, services: Services
) -> None:
    entry = park(services, job)
    for url in (f"/jobs/{job}", f"/jobs/{job}/review"):
        page = lead.get(url).text
        section = page[page.index('id="parked"') :]
        assert "<strong>Measure C1</strong>" in section
        assert "from the reference line 22 3/8 left" in section
        assert "tapped 2026-03-02 07:30" in section
        assert "It had to wait &lt;b&gt;then&lt;/b&gt;" in section
        assert f'action="/jobs/{job}/parked/{entry.seq}"' in section


def test_a_job_without_any_says_nothing_of_it(lead: Visitor, job: str) -> None:
    assert 'id="parked"' not in lead.get(f"/jobs/{job}").text


def test_the_lead_settles_it_and_comes_back(lead: Visitor, job: str, services: Services) -> None:
    entry = park(services, job)
    url = f"/jobs/{job}/parked/{entry.seq}"
    for page in (f"/jobs/{job}/review", f"/jobs/{job}"):
        fields = {"note": "measured again", "back": page}
        if jobs.state_of(services, job).open_parked:
            answer = lead.post(url, fields, seen_at=page)
            assert answer.headers["Location"] == f"{page}#parked"
    text = lead.get(f"/jobs/{job}").text
    assert "Settled by Ines: measured again" in text
    assert f'action="{url}"' not in text


def test_settling_twice_or_without_a_note_is_refused(
    lead: Visitor, job: str, services: Services
) -> None:
    entry = park(services, job)
    url, page = f"/jobs/{job}/parked/{entry.seq}", f"/jobs/{job}"
    assert lead.post(url, {"note": " "}, seen_at=page).status_code == 422
    assert lead.post(url, {"note": "seen"}, seen_at=page).status_code == 303
    assert lead.post(url, {"note": "seen"}, seen_at=page).status_code == 409
    assert lead.post(f"{page}/parked/1", {"note": "seen"}, seen_at=page).status_code == 409


def test_an_installer_settles_nothing(installer: Visitor, services: Services, job_id: str) -> None:
    entry = park(services, job_id)
    url = f"/jobs/{job_id}/parked/{entry.seq}"
    assert installer.post(url, {"note": "x"}, seen_at="/join").status_code == 403


def test_it_can_be_recorded_again_with_what_was_typed(
    lead: Visitor, job: str, services: Services
) -> None:
    entry = park(services, job)
    page = lead.get(f"/jobs/{job}").text
    link = f"/jobs/{job}/phone/fasteners.measure:C1?parked={entry.seq}"
    assert f'href="{link}"' in page
    form = re.sub(r'<div id="pack" hidden>.*', "", lead.get(link).text, flags=re.DOTALL)
    assert 'value="22 3/8"' in form
    assert 'value="5 1/16"' in form
    assert 'name="stands" value="0"' in form


def test_recorded_again_it_is_where_the_phone_showed_it(
    lead: Visitor, job: str, services: Services
) -> None:
    place = {"shown.x_mm": "-570", "shown.y_mm": "1800", "shown.hole_y_mm": "1806"}
    entry = park(services, job, **place)
    page = lead.get(f"/jobs/{job}").text
    assert "Shown on the phone: 22 7/16 in left of the reference line" in page
    link = f"/jobs/{job}/phone/fasteners.measure:C1?parked={entry.seq}"
    form = re.sub(r'<div id="pack" hidden>.*', "", lead.get(link).text, flags=re.DOTALL)
    for name, value in {**place, "late": "1"}.items():
        assert f'name="{name}" value="{value}"' in form


def test_what_has_to_wait_is_shown_waiting(lead: Visitor, job: str, services: Services) -> None:
    entry = park(services, job, task="panels.level:A")
    answer = lead.get(f"/jobs/{job}/phone/panels.level:A?parked={entry.seq}")
    assert "This waits" in re.sub(r'<div id="pack".*', "", answer.text, flags=re.DOTALL)


@pytest.mark.parametrize("seq", ["x", "0", "999", ""])
def test_an_entry_that_is_not_there_shows_the_task(lead: Visitor, job: str, seq: str) -> None:
    answer = lead.get(f"/jobs/{job}/phone/fasteners.measure:C1?parked={seq}")
    assert answer.status_code == 200


def test_what_is_no_task_any_more_is_only_settled(
    lead: Visitor, job: str, services: Services
) -> None:
    park(services, job, task="undo of something")
    page = lead.get(f"/jobs/{job}").text
    assert "undo of something" in page
    assert "Record it again" not in page
