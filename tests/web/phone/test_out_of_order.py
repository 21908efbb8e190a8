"""Order follows the table, not the URL; looking anywhere changes nothing."""

from __future__ import annotations

import pytest
from flask import Flask

from holdtrue.service import installers, jobs
from holdtrue.service.services import Services
from tests.walking import LEAD, golden
from tests.web.conftest import Visitor, sign_in_lead
from tests.web.phone.conftest import At, Site, fresh_hidden, joined
from tests.web.phone.page import read_screen


def test_a_task_ahead_of_its_turn_says_what_it_waits_for(at: At) -> None:
    site = at("fasteners.mark:C1")

    shown = site.see("fasteners.anchor:C1")

    assert "This waits" in shown.words
    assert "First finish: Pilot C1." in shown.words
    assert shown.link("Do what is ready") == f"{site.base}/fasteners.mark:C1"


def test_posting_ahead_of_its_turn_stores_nothing(at: At) -> None:
    site = at("fasteners.mark:C1")
    before = len(site.entries)

    sent = site.visitor.client.post(
        site.url("fasteners.anchor:C1"), data={**fresh_hidden(site), "outcome": "done"}
    )

    shown = read_screen(sent, 409)
    assert "Anchor C1 must wait" in shown.words
    assert len(site.entries) == before


def test_going_back_to_look_changes_nothing(at: At) -> None:
    site = at("fasteners.mark:B1")
    before = len(site.entries)

    for task in ("join.ways", "level.line:1", "fasteners.measure:C1", "close.hand_over"):
        site.see(task)
    site.see("all")
    site.see("fasteners.mark:B1?look=readout")

    assert len(site.entries) == before
    assert site.see("fasteners.measure:C1").heading == "Measure C1"


def test_before_the_release_everything_waits(app: Flask, services: Services) -> None:
    job_id = jobs.create_job(services, LEAD, document=golden(), key=services.ids.key())
    visitor = joined(app, services, job_id, "Ivo", unit="in", hand="right")
    site = Site(services, job_id, visitor)

    shown = site.see("before.cautions")

    assert "The lead has not released the plan yet." in shown.words
    assert site.see("", status=303).location == f"{site.base}/join.ways"
    assert "The lead has not released this plan." in site.see("all").words


UNKNOWN = (
    "nothing",
    "x" * 500,
    "fasteners.mark",
    "fasteners.mark:Z9",
    "fasteners.measure:Z9",
    "fasteners.pair:C1-Z9",
    "panels.facing:A|Z",
    "work.hanger:",
    "behind.studs:A",
)


@pytest.mark.parametrize("task", UNKNOWN)
def test_an_unknown_task_is_not_found(at: At, task: str) -> None:
    site = at("fasteners.mark:C1")

    assert site.visitor.get(site.url(task)).status_code == 404
    for outcome in ("done", "as_planned", "measured"):
        data = {**fresh_hidden(site), "outcome": outcome}
        assert site.visitor.client.post(site.url(task), data=data).status_code == 404


def test_another_jobs_installer_sees_nothing(at: At, app: Flask, services: Services) -> None:
    site = at("fasteners.mark:C1")
    other = jobs.create_job(services, LEAD, document=golden(), key=services.ids.key())
    visitor = joined(app, services, other, "Ada", unit="in", hand="right")
    hidden = fresh_hidden(Site(services, other, visitor))

    for where in ("fasteners.mark:C1", "all", "result/9", "way/C1", "stop/9", "echo?field=x&x=1"):
        assert visitor.get(site.url(where)).status_code == 404
    for where in ("fasteners.mark:C1", "undo", "way/C1"):
        sent = visitor.client.post(site.url(where), data={**hidden, "outcome": "done"})
        assert sent.status_code == 404


def test_a_revoked_code_ends_the_sign_in_and_what_was_typed_is_given_back(at: At) -> None:
    site = at("fasteners.measure:C1")
    form = site.see("fasteners.measure:C1").form("task-form").filled({"above": "5 1/16"})
    (digest,) = site.state.codes
    key = site.services.ids.key()
    installers.revoke_code(site.services, LEAD, site.job_id, code=digest, key=key)

    sent = site.visitor.client.post(
        form.action, data=form.fields, headers={"Sec-Fetch-Site": "same-origin"}
    )

    assert sent.status_code == 401
    assert 'value="5 1/16"' in sent.text
    assert "fasteners.measure:C1" not in site.state.records


def test_a_hold_point_is_the_leads(app: Flask, services: Services) -> None:
    site = held(app, services)

    shown = site.see("hold.first_hole")
    sent = site.visitor.client.post(
        site.url("hold.first_hole"), data={**fresh_hidden(site), "outcome": "done"}
    )

    assert "hold point" in shown.words
    assert sent.status_code == 403
    lead = Site(services, site.job_id, sign_in_lead(app, services, "Ines"))
    assert lead.tap("hold.first_hole", "Go on").heading == "Mark the hole for C1."


def held(app: Flask, services: Services) -> Site:
    """The job at its first hold point."""
    from tests.walking import walk

    job_id = jobs.create_job(services, LEAD, document=golden(), key=services.ids.key())
    jobs.release(
        services,
        LEAD,
        job_id,
        reason="the pilot shows",
        way="fasteners_first",
        holds=("first_hole",),
        key=services.ids.key(),
    )
    walk(services, LEAD, job_id, until="hold.first_hole")
    return Site(services, job_id, joined(app, services, job_id, "Ivo", unit="in", hand="left"))


def test_a_stranger_is_led_to_the_sign_in(at: At, stranger: Visitor) -> None:
    site = at("fasteners.mark:C1")

    assert stranger.get(site.url("fasteners.mark:C1")).headers["Location"] == "/"
