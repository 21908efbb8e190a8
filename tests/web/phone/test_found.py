"""A cable or pipe found before drilling, and the lead's words, where they matter."""

from __future__ import annotations

import pytest

from holdtrue.service import accounts, jobs, review, tasks
from holdtrue.service.services import Actor, Services
from tests.web.conftest import Visitor
from tests.web.phone.conftest import At, Site, stop_at

pytestmark = pytest.mark.usefixtures("lead")
CABLE = {"how": "detector", "found": "live cable, runs up", "near[2]": "A2"}


def ines(site: Site) -> Actor:
    """The lead who is signed in."""
    (found,) = accounts.house(site.services).leads.values()
    return Actor(person=found.person, name=found.name, role="lead")


def let_go_on(site: Site, reason: str) -> None:
    key = site.services.ids.key()
    way = "fasteners_first"
    jobs.release(site.services, ines(site), site.job_id, reason=reason, way=way, key=key)


def test_it_works(at: At) -> None:
    site = at("before.services")
    shown = site.see("before.services")
    assert shown.words.count("Near seats") == 1
    assert 'value="everywhere"' in shown.html

    found = site.tap("before.services", "Checked", CABLE)

    assert found.heading == "Found before drilling"
    assert "Work stops at the first hole until the lead has looked." in found.words
    assert "Near A2: live cable, runs up." in found.words


def test_what_was_found_needs_a_place_and_stays_typed(at: At) -> None:
    site = at("before.services")
    typed = {"how": "both", "found": "a pipe"}

    shown = site.refused("before.services", "Checked", typed)

    assert "choose the seats it is near, or everywhere" in shown.words
    assert 'id="error-f-near"' in shown.html
    assert shown.form("task-form").fields["found"] == "a pipe"


def test_what_was_ticked_stays_ticked(at: At) -> None:
    site = at("before.services")

    shown = site.refused("before.services", "Checked", {"how": "both", "near[2]": "A2"})

    assert "type what was found there, or clear the seats" in shown.words
    assert shown.form("task-form").fields["near[2]"] == "A2"
    site.tap("before.services", "Checked", CABLE)
    assert site.see("before.services?again=1").form("task-form").fields["near[2]"] == "A2"
    assert "A2" in site.see("before.services").words


def test_it_stands_on_every_screen_where_the_bit_may_meet_it(at: At) -> None:
    site = at("fasteners.anchor:A2")
    site.tap("before.services?again=1", "Checked", CABLE)
    assert "The lead must look first: something to keep clear of was found near A2" in (
        site.see("fasteners.anchor:A2").words
    )
    assert "Enter them as keep-clear" not in site.see("fasteners.anchor:A2").words
    let_go_on(site, "it ends at 2 m, drill 40 mm at most")

    said = (
        "Found before drilling near A2: live cable, runs up. "
        "Ines: it ends at 2 m, drill 40 mm at most."
    )
    for task in ("fasteners.mark:A2?again=1", "fasteners.pilot:A2?again=1", "fasteners.anchor:A2"):
        assert said in site.see(task).words, task
    assert said in site.see("all").words
    assert "Found before drilling" not in site.see("fasteners.mark:C1?again=1").words


def test_a_cleared_stop_is_read_before_the_task_and_on_the_list(at: At) -> None:
    site = at("fasteners.pilot:C1")
    stop = stop_at(site, "C1")
    key = site.services.ids.key()
    note = "a bigger toggle"
    tasks.clear_stop(site.services, ines(site), site.job_id, stop=stop, note=note, key=key)

    said = "Ines cleared the stop at C1: a bigger toggle."
    assert said in site.see("fasteners.pilot:C1").words
    assert said in site.see("all").words
    assert said not in site.see("fasteners.mark:A1").words


def test_what_was_sent_back_is_read_before_the_task_and_on_the_list(
    at: At, services: Services
) -> None:
    site = at("close.hand_over")
    site.tap("close.hand_over", "Hand over")
    review.send_back(
        services,
        ines(site),
        site.job_id,
        why="Shim C and read it again",
        tasks=["panels.level:C"],
        key=services.ids.key(),
    )

    said = "Ines sent this back: Shim C and read it again."
    assert said in site.see("panels.level:C").words
    listed = "Ines sent back Level of C: Shim C and read it again."
    assert listed in site.see("all").words
    assert "sent" not in site.see("panels.level:B").words


def test_the_review_lists_it_with_the_stops(at: At, lead: Visitor) -> None:
    site = at("fasteners.mark:C1")
    site.tap("before.services?again=1", "Checked", CABLE)
    url = f"/jobs/{site.job_id}/review"
    assert "Found before drilling near A2: live cable, runs up. By Ivo" in lead.get(url).text
    assert "The lead has not looked yet." in lead.get(url).text
    let_go_on(site, "drill 40 mm at most")
    assert "Let go on by Ines: drill 40 mm at most" in lead.get(url).text
