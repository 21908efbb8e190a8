"""What waits for the lead, first on the list of jobs and on the job's page; the page follows."""

from __future__ import annotations

from html import escape

import pytest

from holdtrue.service import jobs, parked
from tests.walking import LEAD
from tests.web.conftest import Visitor
from tests.web.phone.conftest import At, Site, stop_at
from tests.web.phone.page import read_screen

HTMX = {"HX-Request": "true"}


def waits(lead: Visitor, site: Site, where: str = "") -> list[str]:
    """The links of the part, or of the list of jobs."""
    page = read_screen(lead.get(where or f"/jobs/{site.job_id}"))
    start = page.html.find('class="waits"')
    if start < 0:
        return []
    part = page.html[start : page.html.index("</ul>", start)]
    return [
        words
        for href, words in page.links
        if f'href="{escape(href)}"' in part and f">{escape(words)}</a>" in part
    ]


def follow(lead: Visitor, site: Site, words: str) -> str:
    """Where a call is answered."""
    page = read_screen(lead.get(f"/jobs/{site.job_id}"))
    return read_screen(lead.get(page.link(words).partition("#")[0])).words


def test_nothing_waits_on_a_calm_day(at: At, lead: Visitor) -> None:
    site = at("fasteners.mark:C1")
    assert waits(lead, site) == waits(lead, site, "/") == []


def test_a_stop_waits_with_the_form_that_clears_it(at: At, lead: Visitor) -> None:
    site = at("fasteners.mark:C1")
    stop_at(site, "C1")
    assert waits(lead, site) == ["Stop at C1: cable"]
    assert waits(lead, site, "/") == ["Tidewrack, four panels: Stop at C1: cable"]
    assert "Why it is safe to go on" in follow(lead, site, "Stop at C1: cable")


def test_a_found_cable_waits_with_the_form_that_releases_it(at: At, lead: Visitor) -> None:
    site = at("fasteners.mark:C1")
    cable = {"how": "both", "found": "live cable", "near[2]": "A2"}
    site.tap("before.services?again=1", "Checked", cable)
    words = "Something to keep clear of was found near A2: live cable"
    assert waits(lead, site) == [words]
    assert "Why it may hang all the same" in follow(lead, site, words)


def test_a_hold_point_waits_once_all_before_it_is_done(at: At, lead: Visitor) -> None:
    site = at("stand_back.yes")
    jobs.release(
        site.services,
        LEAD,
        site.job_id,
        reason="the pilot will show",
        way="fasteners_first",
        holds=("first_hole",),
        key=site.services.ids.key(),
    )
    assert waits(lead, site) == []
    site.tap("stand_back.yes", "They say yes", {"who": "Ada, curator"})
    assert waits(lead, site) == ["Hold: first hole"]
    assert "Go on" in follow(lead, site, "Hold: first hole")


def test_a_panel_that_does_not_hold_waits(at: At, lead: Visitor) -> None:
    site = at("secure.try:C")
    site.tap("secure.try:C", "It does not hold", {"found": "slides left"})
    assert waits(lead, site) == ["Panel C does not hold: slides left"]


def test_a_refused_entry_waits_until_it_is_settled(at: At, lead: Visitor) -> None:
    site = at("fasteners.mark:C1")
    entry = parked.park(
        site.services,
        LEAD,
        site.job_id,
        task="fasteners.mark:C1",
        fields='{"outcome": "done"}',
        words="no",
        key=site.services.ids.key(),
    )
    assert waits(lead, site) == ["1 entry from phones, refused"]
    assert "From phones, refused" in follow(lead, site, "1 entry from phones, refused")
    key = site.services.ids.key()
    parked.settle(site.services, LEAD, site.job_id, of=entry.seq, note="seen", key=key)
    assert waits(lead, site) == []


def test_a_handed_over_work_waits_for_its_review(at: At, lead: Visitor) -> None:
    site = at("close.hand_over")
    site.tap("close.hand_over", "Hand over")
    assert waits(lead, site) == ["Handed over: review the work"]
    assert "It waits for your word." in follow(lead, site, "Handed over: review the work")


def test_a_plan_that_somebody_waits_for_is_to_be_released(at: At, lead: Visitor) -> None:
    site = at("fasteners.mark:C1")
    document = dict(site.state.document)
    key = site.services.ids.key()
    jobs.revise_plan(site.services, LEAD, site.job_id, document=document, key=key)
    assert waits(lead, site) == [f"Release: revision {site.state.revision} is not released"]


def test_a_plan_that_nobody_has_joined_waits_for_nobody(lead: Visitor, job_id: str) -> None:
    assert "Waits for you" not in lead.get(f"/jobs/{job_id}").text


# -- following -------------------------------------------------------------------------------------


def test_the_part_has_a_page_of_its_own_without_scripts(at: At, lead: Visitor) -> None:
    site = at("fasteners.mark:C1")
    stop_at(site, "C1")
    page = read_screen(lead.get(f"/jobs/{site.job_id}/now"))
    assert page.heading == "Tidewrack, four panels, now"
    assert page.has_link("Stop at C1: cable")
    assert page.has_link("Look again")
    assert "Seats set0 of 9" in page.words
    assert "LastStop at C1: cable" in page.words


def test_asked_by_htmx_it_is_the_part_alone_and_nothing_when_nothing_changed(
    at: At, lead: Visitor
) -> None:
    site = at("fasteners.mark:C1")
    url = f"/jobs/{site.job_id}/now"
    since = site.state.seq
    assert lead.get(f"{url}?since={since}", headers=HTMX).status_code == 204
    site.tap("fasteners.mark:C1", "Marked")
    part = lead.get(f"{url}?since={since}", headers=HTMX)
    assert part.status_code == 200
    assert part.text.lstrip().startswith('<section id="now"')
    assert f"since={site.state.seq}" in part.text
    assert "Mark C1" in part.text
    # a reload of the page itself is never empty
    assert lead.get(f"{url}?since={site.state.seq}").status_code == 200


@pytest.mark.parametrize("where", ["/now", "/now?since=x"])
def test_only_a_lead_sees_it(at: At, stranger: Visitor, where: str) -> None:
    site = at("fasteners.mark:C1")
    assert site.visitor.get(f"/jobs/{site.job_id}{where}").status_code == 403
    assert stranger.get(f"/jobs/{site.job_id}{where}").status_code == 303
