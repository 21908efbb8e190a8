"""The lead's page of one job: release, codes."""

from __future__ import annotations

import re
from typing import Any

import pytest

from holdtrue.demo import demo_document
from holdtrue.domain import tokens
from holdtrue.domain.checklist import find_task
from holdtrue.service import jobs
from holdtrue.service.services import Actor, Services
from holdtrue.service.tasks import Typed, record_task
from holdtrue.store.port import NewEntry
from holdtrue.web import forms
from tests import walking
from tests.web.conftest import Visitor

WAY = {"way": "fasteners_first"}


def test_it_works(lead: Visitor, job_id: str) -> None:
    page = lead.get(f"/jobs/{job_id}").text

    assert "not released" in page
    assert "0 of 9" in page
    assert "<svg" in page
    assert f'href="/jobs/{job_id}/plan"' in page
    assert f'href="/jobs/{job_id}/phone"' in page


def test_a_code_is_shown_once_with_its_link_and_qr(
    lead: Visitor, job_id: str, services: Services
) -> None:
    answer = lead.post(f"/jobs/{job_id}/invite", {"label": "Ivo"}, seen_at=f"/jobs/{job_id}")

    found = re.search(r'id="join-code">([0-9A-Z-]{9})<', answer.text)
    assert found
    code = found[1].replace("-", "")
    assert f"http://localhost/join?code={code}" in answer.text
    assert 'aria-label="QR code of the link to join"' in answer.text
    assert list(jobs.state_of(services, job_id).codes) == [tokens.digest(code)]
    again = lead.get(f"/jobs/{job_id}").text
    assert code not in again
    assert "Ivo" in again


def test_a_label_that_is_too_long_is_shown_again(lead: Visitor, job_id: str) -> None:
    answer = lead.post(f"/jobs/{job_id}/invite", {"label": "x" * 501}, seen_at=f"/jobs/{job_id}")

    assert answer.status_code == 422
    assert "x" * 501 in answer.text


def test_a_code_that_is_none_cannot_be_revoked(lead: Visitor, job_id: str) -> None:
    answer = lead.post(f"/jobs/{job_id}/revoke", {"code": "0" * 64}, seen_at=f"/jobs/{job_id}")

    assert answer.status_code == 404


def test_the_names_of_who_joined_stand_by_the_code(
    lead: Visitor, installer: Visitor, job_id: str
) -> None:
    assert 'data-label="Joined">Ivo<' in lead.get(f"/jobs/{job_id}").text


def made(lead: Visitor, change: Any) -> str:
    """A job like the demo with one change."""
    document = demo_document()
    change(document)
    document.pop("format")
    fields = dict(forms.write_fields(document))
    answer = lead.post("/jobs/new", {**fields, "action": "save"})
    return answer.headers["Location"].split("/")[2]


def test_an_unknown_capacity_needs_a_written_reason(lead: Visitor, services: Services) -> None:
    job_id = made(lead, lambda d: d["wall"]["studs"][5].pop("material"))
    url = f"/jobs/{job_id}"
    assert "needs a written reason" in lead.get(url).text

    refused = lead.post(f"{url}/release", {**WAY, "reason": "  "}, seen_at=url)
    assert refused.status_code == 422
    assert not jobs.state_of(services, job_id).is_released

    assert (
        lead.post(f"{url}/release", {**WAY, "reason": "Seen wood."}, seen_at=url).status_code == 303
    )
    release = jobs.state_of(services, job_id).release
    assert release
    assert release.reason == "Seen wood."
    assert "Seen wood." in lead.get(url).text


def test_a_slope_asks_who_says_yes_for_the_maker(lead: Visitor, services: Services) -> None:
    actor = Actor(person="LEAD", name="Lea", role="lead")
    document = {**demo_document(), "slope": 20}
    job = jobs.create_job(services, actor, document=document, key=services.ids.key())
    page = lead.get(f"/jobs/{job}").text
    assert "20 mm in 1 m, up to the right" in page
    assert "Who says yes to the slope for the maker" in page
    assert "Why it may hang all the same" not in page
    for address in (f"/jobs/{job}", f"/jobs/{job}/plan"):
        told = lead.get(address).text
        assert "needs the maker&#39;s yes" in told
        assert "needs a written reason" not in told

    refused = lead.post(f"/jobs/{job}/release", WAY, seen_at=f"/jobs/{job}")
    assert refused.status_code == 422
    assert "write who says yes to it for the maker, by name" in refused.text
    assert jobs.state_of(services, job).release is None

    refused = lead.post(f"/jobs/{job}/release", {**WAY, "agreed": "yes"}, seen_at=f"/jobs/{job}")
    assert refused.status_code == 422
    assert 'value="yes"' in refused.text

    yes = {**WAY, "agreed": "Mara, the maker"}
    assert lead.post(f"/jobs/{job}/release", yes, seen_at=f"/jobs/{job}").status_code == 303
    released = lead.get(f"/jobs/{job}").text
    assert "Yes to the slope: Mara, the maker" in released
    assert "released with a reason" not in released


def test_no_reason_releases_what_is_barred(lead: Visitor, services: Services) -> None:
    def overload(document: Any) -> None:
        document["fasteners"][0]["capacity"] = "2 lb"

    job_id = made(lead, overload)
    url = f"/jobs/{job_id}"
    assert "No reason releases this plan" in lead.get(url).text

    answer = lead.post(f"{url}/release", {**WAY, "reason": "please"}, seen_at=url)

    assert answer.status_code in (409, 422)
    assert not jobs.state_of(services, job_id).is_released


def test_a_revision_withdraws_the_release(lead: Visitor, job_id: str, services: Services) -> None:
    url = f"/jobs/{job_id}"
    lead.post(f"{url}/release", WAY, seen_at=url)
    document = {**demo_document(), "title": "Tidewrack, revised"}
    document.pop("format")

    lead.post(f"{url}/plan", {**dict(forms.write_fields(document)), "action": "save"})

    assert not jobs.state_of(services, job_id).is_released
    assert "not released" in lead.get(url).text
    assert lead.post(f"{url}/release", WAY, seen_at=url).status_code == 303
    assert jobs.state_of(services, job_id).is_released


def test_hold_points_and_the_order_are_asked_for(
    lead: Visitor, job_id: str, services: Services
) -> None:
    url = f"/jobs/{job_id}"
    fields = {"way": "panel_by_panel", "holds": "first_lift", "next_day": "1"}

    lead.post(f"{url}/release", fields, seen_at=url)

    release = jobs.state_of(services, job_id).release
    assert release
    assert (release.way, release.holds, release.next_day) == (
        "panel_by_panel",
        frozenset({"first_lift"}),
        True,
    )


@pytest.mark.parametrize(
    "fields",
    [{"way": ""}, {"way": "sideways"}, {**WAY, "holds": "lunch"}, {**WAY, "reason": "x" * 501}],
)
def test_a_release_that_cannot_be_read_is_refused(
    lead: Visitor, job_id: str, services: Services, fields: dict[str, str]
) -> None:
    url = f"/jobs/{job_id}"

    assert lead.post(f"{url}/release", fields, seen_at=url).status_code == 422
    assert not jobs.state_of(services, job_id).is_released


def test_a_plan_revised_meanwhile_is_not_released_unseen(
    lead: Visitor, job_id: str, services: Services
) -> None:
    url = f"/jobs/{job_id}"

    answer = lead.post(f"{url}/release", {**WAY, "revision": "7"}, seen_at=url)

    assert answer.status_code == 409
    assert not jobs.state_of(services, job_id).is_released


def test_the_job_file_comes_back_as_it_was_typed(lead: Visitor, job_id: str) -> None:
    answer = lead.get(f"/jobs/{job_id}/job.json")

    assert answer.get_json() == demo_document()
    assert f"{job_id}.job.json" in answer.headers["Content-Disposition"]


def test_the_log_file_of_a_fresh_job_is_empty(lead: Visitor, job_id: str) -> None:
    answer = lead.get(f"/jobs/{job_id}/log.json")

    assert answer.get_json() == {"format": "holdtrue.log/1", "unit": "mm", "entries": []}


@pytest.mark.parametrize("part", ["", "/plan", "/phone", "/job.json", "/log.json"])
def test_a_job_that_is_none_is_not_found(lead: Visitor, part: str) -> None:
    for job_id in ("AAAAAAAA", "aaaaaaaa", "house", "..", "AAAAAAAA%00", "x" * 300):
        assert lead.get(f"/jobs/{job_id}{part}").status_code == 404


def test_cables_found_before_drilling_wait_for_the_lead(
    lead: Visitor, job_id: str, services: Services
) -> None:
    """The form to release again is there, with what was found; a reason lets the work go on."""
    who = Actor(person="P" * 8, name="Lea", role="lead")
    jobs.release(
        services, who, job_id, reason="looked", way="panel_by_panel", holds=("leave",), key="r" * 32
    )
    raw = {"how": "detector", "found": "a cable by the left end", "near[0]": "everywhere"}
    typed = Typed(outcome="done", raw=raw, unit="mm")
    record_task(services, who, job_id, "before.services", typed, key="s" * 32)

    page = lead.get(f"/jobs/{job_id}").text
    assert "a cable by the left end" in page
    assert 'value="panel_by_panel" checked' in page
    state = jobs.state_of(services, job_id)
    waits = find_task(state, f"fasteners.mark:{state.order[0]}").why
    assert waits.startswith(("no hole before", "the lead must look first"))
    assert state.open_findings

    where = f"/jobs/{job_id}/release"
    again = {"way": "panel_by_panel", "reason": "routed well below, checked twice"}
    answer = lead.post(where, again, seen_at=f"/jobs/{job_id}")
    assert answer.status_code == 303
    assert not jobs.state_of(services, job_id).open_findings


# -- forecast and order ------------------------------------------------------------------------


def test_the_forecast_and_the_order_with_its_reason_are_shown(lead: Visitor, job_id: str) -> None:
    page = lead.get(f"/jobs/{job_id}").text
    forecast = page[page.index('id="forecast"') :]

    assert (
        "Chance that all ends inside tolerance without trimming: under 1\N{NO-BREAK SPACE}%"
        in forecast
    )
    assert "With a story stick for each panel:" in forecast
    assert "Least sure: taper between A and B" in forecast
    assert "Driven in the order C1, C2; B2, B1;" in forecast
    assert "from the middle outwards" in forecast
    plan = lead.get(f"/jobs/{job_id}/plan").text
    assert 'id="plan-forecast"' in plan


def test_seats_that_scatter_more_than_the_chance_reckons_with_are_told(
    lead: Visitor, services: Services
) -> None:
    job_id = walking.released(services, walking.LEAD)
    url = f"/jobs/{job_id}"
    walking.walk(services, walking.LEAD, job_id, until="fasteners.mark:C1")
    assert "scatter" not in lead.get(url).text
    planned = jobs.state_of(services, job_id)
    hooks = [seat for seat in planned.order if planned.seat(seat).into == "hollow"]
    for at, seat in enumerate(hooks[:4]):
        task = f"fasteners.measure:{seat}"
        state = walking.walk(services, walking.LEAD, job_id, until=task)
        raw = walking.off_by(state, seat, 0.0, 5.0 if at % 2 else -5.0)
        walking.do(services, walking.LEAD, job_id, task, raw)
    page = lead.get(url).text
    assert re.search(r"Seats on [\w -]+ scatter by .+ was reckoned with \(\d readings\)", page)
    assert "enter how this fastener is placed in the plan" in page


def test_the_order_can_be_put_by_hand(lead: Visitor, job_id: str, services: Services) -> None:
    url = f"/jobs/{job_id}"
    given = {**WAY, "order": "A, B, C, D", "reason": "Seen."}

    assert lead.post(f"{url}/release", given, seen_at=url).status_code == 303

    state = jobs.state_of(services, job_id)
    assert [name[0] for name in state.order] == list("AABBCCDDD")
    assert state.release is not None
    assert state.release.chance is not None
    assert state.release.sticks == ("A", "B", "C", "D")
    assert "as the lead put it" in lead.get(url).text
    phone = lead.get(f"{url}/phone/all").text
    assert "In the order A" in phone


@pytest.mark.parametrize(
    ("order", "said"),
    [("A, B", "has no turn yet"), ("A, Q", "is no seat and no panel"), ("A, A", "has two turns")],
)
def test_what_is_wrong_with_an_order_is_said_at_its_field(
    lead: Visitor, job_id: str, services: Services, order: str, said: str
) -> None:
    url = f"/jobs/{job_id}"

    refused = lead.post(f"{url}/release", {**WAY, "order": order, "reason": "Seen."}, seen_at=url)

    assert refused.status_code == 422
    assert said in refused.text
    assert f'value="{order}"' in refused.text
    assert not jobs.state_of(services, job_id).is_released


@pytest.mark.parametrize("letter", ["\u0131", "\u017f", "i", "S"])
@pytest.mark.parametrize("kind", ["job", "log"])
def test_a_file_is_named_as_the_job_was_issued_however_its_address_is_typed(
    lead: Visitor, job_id: str, services: Services, letter: str, kind: str
) -> None:
    entries = services.store.read(f"job-{job_id}")
    like = job_id[:-1] + {"\u0131": "1", "\u017f": "S", "i": "1", "S": "S"}[letter]
    for at, entry in enumerate(entries):
        new = NewEntry(
            key=entry.key, type=entry.type, body=entry.body, who=entry.who, received=entry.received
        )
        services.store.append(f"job-{like}", new, expected=at)

    answer = lead.get(f"/jobs/{job_id[:-1]}{letter}/{kind}.json")

    assert answer.status_code == 200
    assert answer.headers["Content-Disposition"] == f'attachment; filename="{like}.{kind}.json"'
