"""The review page: what it shows, to whom, and that nothing in it is markup of somebody else's."""

from __future__ import annotations

import re

import pytest

from holdtrue.service import jobs, tasks
from holdtrue.service.services import Services
from holdtrue.service.tasks import Typed
from tests import walking
from tests.web.conftest import Visitor


def text_of(html: str) -> str:
    return " ".join(re.sub(r"<[^>]*>", " ", html).split())


def test_it_works(lead: Visitor, clean: str) -> None:
    answer = lead.get(f"/jobs/{clean}/review")
    assert answer.status_code == 200
    said = text_of(answer.text)
    assert "Handed over by Ivo Installer" in said
    assert "Everything is inside its tolerance." in said
    assert "53 5/8 in left, 70 7/8 in up" in said
    assert "Accept the work" in said


def test_the_deviations_are_drawn_larger_and_the_scale_is_said(lead: Visitor, off: str) -> None:
    page = lead.get(f"/jobs/{off}/review").text
    assert re.search(r'aria-labelledby="as-built-t [^>]*data-magnify="5"', page)
    assert "deviations drawn 5 times larger" in page


def test_what_is_outside_comes_first_with_how_much_is_allowed(lead: Visitor, off: str) -> None:
    said = text_of(lead.get(f"/jobs/{off}/review").text)
    assert re.search(r"gap between B and C: wider by 1?[ 0-9/]+ in \([0-9.]+ mm\), allowed", said)
    assert said.index("Outside its tolerance") < said.index("Mark given")
    assert "Tapped “as planned” although the measured seats say otherwise: level of B" in said


def test_the_log_tells_both_times_of_an_entry_that_was_sent_late(
    lead: Visitor, services: Services
) -> None:
    """Tapped on the phone at one time, arrived at another: whoever asks later needs both."""
    job_id = walking.released(services, walking.LEAD)
    entry = tasks.record_task(
        services,
        walking.LEAD,
        job_id,
        "join.ways",
        Typed(outcome="done", raw={"unit": "in", "hand": "left"}, unit="in", is_late=True),
        key=services.ids.key(),
        tapped="2026-02-27T06:41:09.500Z",
    )
    page = lead.get(f"/jobs/{job_id}/review").text
    line = re.search(rf'<li id="entry-{entry.seq}">.*?</time>', page, re.DOTALL)
    assert line is not None
    arrived = entry.received[:16].replace("T", " ")
    assert text_of(line[0]) == f"{entry.seq} · {arrived} UTC, tapped 2026-02-27 06:41"


def test_stops_trims_and_corrections_are_told(lead: Visitor, off: str) -> None:
    said = text_of(lead.get(f"/jobs/{off}/review").text)
    assert "A1: cable, a hum. Called by Ivo Installer" in said
    assert "Cleared by Lea Leadbetter" not in said, "no lead of this house has that id"
    assert "Cleared by LEADLEAD: traced" in said
    assert "A1 up 1/16 in (1.6 mm), shim" in said
    # in the job's unit, as on the phone
    assert "15.4 lb of 20 lb (77%)" in said
    assert "put right by entry" in said


def test_every_entry_of_the_log_is_there(lead: Visitor, off: str, services: Services) -> None:
    page = lead.get(f"/jobs/{off}/review").text
    count = len(services.store.read(jobs.stream_of(off)))
    assert [int(n) for n in re.findall(r'<li id="entry-(\d+)"', page)] == list(range(1, count + 1))


def test_a_name_with_a_dash_is_read_whole(lead: Visitor, services: Services) -> None:
    document = walking.golden()
    document["panels"][0]["name"] = "upper-left"
    job_id = walking.released(services, walking.LEAD, document)
    said = text_of(lead.get(f"/jobs/{job_id}/review").text)
    assert "seat spacing upper-left1 to upper-left2" in said
    assert "gap between upper-left and B" in said


def test_unset_seats_never_look_fine(lead: Visitor, services: Services) -> None:
    job_id = walking.released(services, walking.LEAD)
    said = text_of(lead.get(f"/jobs/{job_id}/review").text)
    assert "Not handed over yet" in said
    assert "9 of 9 seats are not set" in said
    assert "not read yet" in said
    assert " inside " not in said
    assert "Accept the work" not in said


def test_names_and_notes_are_text_not_markup(lead: Visitor, services: Services) -> None:
    document = walking.golden()
    document["title"] = "<script>alert(1)</script>"
    document["panels"][0]["name"] = '<b onclick="x">A</b>'
    job_id = walking.released(services, walking.LEAD, document)
    walking.do(services, walking.LEAD, job_id, "before.wall_yes", {"who": "<img src=x>"})
    page = lead.get(f"/jobs/{job_id}/review").text
    for bad in ("<script>alert", "<b onclick", "<img src=x"):
        assert bad not in page
    assert "&lt;img src=x&gt;" in page


def test_strangers_are_sent_to_sign_in(stranger: Visitor, clean: str) -> None:
    assert stranger.get(f"/jobs/{clean}/review").headers["Location"] == "/"
    assert stranger.get(f"/jobs/{clean}/bundle.json").headers["Location"] == "/"


def test_installers_do_not_review(installer: Visitor, job_id: str) -> None:
    assert installer.get(f"/jobs/{job_id}/review").status_code == 403
    assert installer.get(f"/jobs/{job_id}/bundle.json").status_code == 403


def test_there_is_no_such_job(lead: Visitor) -> None:
    assert lead.get("/jobs/ZZZZZZZZ/review").status_code == 404


@pytest.mark.parametrize("name", ["review", "label"])
def test_the_jobs_page_leads_here(lead: Visitor, clean: str, name: str) -> None:
    assert f'href="/jobs/{clean}/{name}"' in lead.get(f"/jobs/{clean}").text


def test_the_bundle_is_the_whole_job(lead: Visitor, clean: str, services: Services) -> None:
    answer = lead.get(f"/jobs/{clean}/bundle.json")
    assert answer.headers["Content-Disposition"] == f'attachment; filename="{clean}.bundle.json"'
    document = answer.get_json()
    assert document["format"] == "holdtrue.bundle/1"
    assert len(document["entries"]) == len(services.store.read(jobs.stream_of(clean)))
    assert len(document["blobs"]) == 1


def test_the_forecast_is_told_as_it_was_beside_how_it_came_out(lead: Visitor, off: str) -> None:
    page = lead.get(f"/jobs/{off}/review").text
    told = page[page.index('id="forecast"') :].split("</p>")[0]

    assert "under 1\N{NO-BREAK SPACE}% at release" in told
    assert "at hand-over" in told
    assert "Outcome: 4 outside" in told


def test_the_levels_own_error_is_told_where_readings_decide(
    lead: Visitor, services: Services, clean: str
) -> None:
    said = text_of(lead.get(f"/jobs/{clean}/review").text)
    assert "taken off what was read by it" not in said
    read = {"instrument": "spirit", "over": "24", "miss": "3/16", "higher": "low"}
    walking.do(services, walking.LEAD, clean, "level.check", read)
    last = services.store.read(jobs.stream_of(clean))[-1].seq
    said = text_of(lead.get(f"/jobs/{clean}/review").text)
    # it was checked before, and true then: each reading names the entry of its check
    assert (
        f"A line the spirit level of entry {last} calls level falls 3.91 mm in 1 m to the right: "
        "taken off what was read by it. The log holds"
    ) in said
