"""Cable or pipe suspected: that seat and all near it lock; only the lead clears it."""

from __future__ import annotations

from copy import deepcopy

from flask import Flask

from holdtrue.service import jobs
from holdtrue.service.services import Services
from tests.walking import LEAD
from tests.web.conftest import Visitor, sign_in_lead
from tests.web.phone.conftest import At, Site, stop_at
from tests.web.phone.page import read_screen


def test_it_works(at: At) -> None:
    site = at("fasteners.pilot:C1")
    form = site.see("way/C1").forms[0].filled({"note": "the detector hums"})

    shown = site.see(site.send(form.pressed("Cable suspected")).headers["Location"])

    assert shown.heading == "Stop at C1"
    assert "Cable suspected: the detector hums" in shown.words
    assert "Only the lead clears it" in shown.words
    assert not any(button for form in shown.forms for button in form.buttons)


def test_the_seat_and_what_is_near_it_lock_and_the_rest_goes_on(at: At) -> None:
    site = at("fasteners.mark:C1")
    stop_at(site, "C1")

    assert site.see("fasteners.mark:C1").heading == "Stop at C1"
    assert site.see("fasteners.mark:B2").heading == "Stop at C1"  # 274 mm away
    assert site.see("fasteners.mark:A1").heading == "Mark the hole for A1."


def test_a_stop_is_seen_on_every_screen(at: At) -> None:
    site = at("fasteners.mark:C1")
    seq = stop_at(site, "C1")

    shown = site.see("fasteners.mark:A1")

    assert shown.link("Stop at C1: cable") == f"{site.base}/stop/{seq}"


def test_recording_at_a_stopped_seat_is_refused_with_what_was_typed(at: At) -> None:
    site = at("fasteners.measure:C1")
    form = site.see("fasteners.measure:C1").form("task-form").filled({"above": "5 1/16"})
    stop_at(site, "C1")

    sent = site.visitor.client.post(form.action, data={**form.fields, "outcome": "measured",
                                                       "echoed.above": "5 1/16"})  # fmt: skip

    shown = read_screen(sent, 409)
    assert shown.heading == "Not recorded"
    assert "5 1/16" in shown.words
    assert shown.has_link("Do what is ready")


def lead_on(app: Flask, services: Services, site: Site) -> Site:
    return Site(services, site.job_id, sign_in_lead(app, services, "Ines"))


def test_the_lead_clears_it_in_writing(at: At, app: Flask, services: Services) -> None:
    site = at("fasteners.mark:C1")
    seq = stop_at(site, "C1")
    lead = lead_on(app, services, site)

    form = lead.see(f"stop/{seq}").forms[0].filled({"note": "traced: it runs behind B"})
    shown = lead.see(lead.send(form.pressed("Clear this stop")).headers["Location"])

    assert shown.heading == "Cleared: C1"
    assert "Ines: traced: it runs behind B" in shown.words
    assert site.see("fasteners.mark:C1").heading == "Mark the hole for C1."


def test_the_lead_must_say_why(at: At, app: Flask, services: Services) -> None:
    site = at("fasteners.mark:C1")
    seq = stop_at(site, "C1")
    lead = lead_on(app, services, site)

    form = lead.see(f"stop/{seq}").forms[0]
    shown = read_screen(lead.send(form.filled({"note": "  "}), 422), 422)

    assert "write a few words" in shown.words
    assert site.state.open_stops


def test_cleared_twice_is_said(at: At, app: Flask, services: Services) -> None:
    site = at("fasteners.mark:C1")
    seq = stop_at(site, "C1")
    lead = lead_on(app, services, site)
    first, second = (lead.see(f"stop/{seq}").forms[0].filled({"note": "fine"}) for _ in range(2))
    lead.send(first)

    assert lead.send(first).status_code == 303
    assert "not open" in read_screen(lead.send(second, 409), 409).words


def test_an_installer_cannot_clear_it(at: At) -> None:
    site = at("fasteners.mark:C1")
    seq = stop_at(site, "C1")
    form = site.see("fasteners.mark:A1").form("task-form")

    sent = site.visitor.client.post(
        site.url(f"stop/{seq}"), data={**form.fields, "note": "looks fine to me"}
    )

    assert sent.status_code == 403
    assert site.state.open_stops


def test_an_unknown_stop_is_not_found(at: At, stranger: Visitor) -> None:
    site = at("fasteners.mark:C1")

    assert site.visitor.get(site.url("stop/7")).status_code == 404
    assert stranger.get(site.url("stop/7")).status_code == 303


def test_a_stop_at_a_panel_the_plan_has_no_more_is_still_seen_and_cleared(
    at: At, app: Flask, services: Services
) -> None:
    site = at("fasteners.mark:C1")
    seq = stop_at(site, "C1")
    document = deepcopy(dict(site.state.document))
    document["panels"] = [one for one in document["panels"] if one["name"] != "C"]
    document["layout"]["gap"] = "2 in"
    key = services.ids.key()
    jobs.revise_plan(services, LEAD, site.job_id, document=document, key=key)
    lead = lead_on(app, services, site)

    assert lead.see(f"stop/{seq}").heading == "Stop at C1"
    assert lead.see("all").heading
    lead.send(lead.see(f"stop/{seq}").forms[0].filled({"note": "the cable is dead"}))
    assert not site.state.open_stops
