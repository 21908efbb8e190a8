"""Shims in the rings, from the lead's plan to the crate's card."""

from __future__ import annotations

import re
from functools import cache

import pytest
from flask import Flask

from holdtrue.domain.checklist import checklist, next_task
from holdtrue.domain.documents import with_shims
from holdtrue.service import cards, jobs
from holdtrue.service.services import Services
from holdtrue.store.port import Entry, NewEntry
from tests.walking import LEAD, do, golden, minutes_apart, off_by, released
from tests.web.conftest import Visitor
from tests.web.phone.conftest import Site, joined

FIRST = "panels.shim:C1"
HIGH = "fasteners.measure:C1"


@cache
def walked() -> tuple[str, tuple[Entry, ...], dict[str, int]]:
    """The golden job planned with shims; C1 came out 1/16 in high, and level with C2."""
    services = minutes_apart(first_number=9 << 64)
    job_id = released(services, LEAD, with_shims(golden(), "ABCD", 25.4 / 16))
    before: dict[str, int] = {}
    while (task := next_task(checklist(state := jobs.state_of(services, job_id)))) is not None:
        before.setdefault(task.id, len(services.store.read(jobs.stream_of(job_id))))
        raw = None
        if task.id == HIGH:
            raw = off_by(state, "C1", 0, 25.4 / 16)
        if task.id == "fasteners.cross:C1-C2":
            raw = {"higher": "level"}
        do(services, LEAD, job_id, task.id, raw)
    return job_id, services.store.read(jobs.stream_of(job_id)), before


def bring(services: Services, until: str | None) -> str:
    job_id, entries, before = walked()
    for entry in entries[: before[until] if until else None]:
        new = NewEntry(
            key=entry.key, type=entry.type, body=entry.body, who=entry.who, received=entry.received
        )
        services.store.append(entry.stream, new, expected=entry.seq - 1)
    return job_id


@pytest.fixture
def site(app: Flask, services: Services) -> Site:
    job_id = bring(services, FIRST)
    ivo = joined(app, services, job_id, "Ivo", unit="in", hand="right")
    return Site(services, job_id, ivo)


def text_of(html: str) -> str:
    return " ".join(re.sub(r"<[^>]*>", " ", html).split())


# -- on the phone


def test_a_ring_is_told_its_thickness_and_how_many_shims_that_is(site: Site) -> None:
    one, other = (site.see(f"panels.shim:{seat}").words for seat in ("C1", "C2"))
    assert "On the floor, before the lift" in one
    # the right seat is planned 1/16 in higher, and was found level with the left one
    counts = [int(re.search(r"(\d+) shims? of 1/64 in", words)[1]) for words in (one, other)]  # type: ignore[index]
    assert counts[1] - counts[0] == 4


def test_laid_as_said_is_one_tap(site: Site) -> None:
    site.tap(FIRST, "Laid as said")
    record = site.record_of(FIRST)
    assert record.outcome == "as_planned"
    assert record.values["thick"]["mm"] == record.planned["thick"]["mm"]


def test_what_was_laid_instead_is_typed_and_the_next_ring_answers(site: Site) -> None:
    before = site.see("panels.shim:C2").words
    site.tap(FIRST, "Record what I laid", {"thick": "3/32", "echoed.thick": "3/32"})
    record = site.record_of(FIRST)
    assert (record.outcome, record.values["thick"]["mm"]) == (
        "measured",
        pytest.approx(25.4 * 3 / 32),
    )
    assert site.see("panels.shim:C2").words != before


def test_more_than_a_ring_takes_is_refused_with_what_it_takes(site: Site) -> None:
    typed = {"thick": "3/16", "echoed.thick": "3/16"}
    answer = site.refused(FIRST, "Record what I laid", typed)
    assert "is more than a ring takes: at most" in answer.words
    assert answer.form("task-form").fields["thick"] == "3/16"


def test_the_lift_waits_for_them(site: Site) -> None:
    assert "First finish: Shims C1" in site.see("panels.lift:C").words


# -- on the lead's pages


def test_a_plan_that_ends_better_with_shims_offers_them(lead: Visitor, job_id: str) -> None:
    page = text_of(lead.get(f"/jobs/{job_id}").text)
    assert "With shims planned in the rings too, laid before each lift:" in page
    assert "Rings of A, B, C, D: every mark 1/16 in lower" in page
    assert "Plan with shims in the rings" in page


def test_one_tap_plans_them_in_once(lead: Visitor, job_id: str, services: Services) -> None:
    here = f"/jobs/{job_id}"
    answer = lead.post(f"{here}/shims", seen_at=here, key="k" * 20)
    assert answer.status_code == 303
    state = jobs.state_of(services, job_id)
    assert {p.shims_mm for p in state.job.panels} == {25.4 / 16}
    lead.post(f"{here}/shims", seen_at=here, key="k" * 20)
    assert jobs.state_of(services, job_id).revision == state.revision
    page = lead.get(here).text
    assert "Plan with shims in the rings" not in page
    # nothing was released before, so no release is withdrawn
    assert "Plan changed, \u201cshims planned in the rings\u201d" in page
    assert "withdrawn" not in page
    # and it stands in the plan's form
    assert 'name="panels[0].shims" value="1.5875 mm"' in lead.get(f"{here}/plan").text


def test_after_the_first_hole_they_are_neither_offered_nor_taken(
    lead: Visitor, services: Services
) -> None:
    drilled = released(services, LEAD)
    while (task := next_task(checklist(jobs.state_of(services, drilled)))) is not None:
        if task.kind.name == "fasteners.anchor":
            break
        do(services, LEAD, drilled, task.id)
    here = f"/jobs/{drilled}"
    assert "Plan with shims in the rings" not in lead.get(here).text
    stale = {"revision": str(jobs.state_of(services, drilled).revision)}
    answer = lead.post(f"{here}/shims", stale, seen_at=here)
    assert answer.status_code == 409
    assert "There are holes already, made for rings without shims." in answer.text


def test_an_installer_cannot_plan_them(installer: Visitor, job_id: str, services: Services) -> None:
    answer = installer.post(f"/jobs/{job_id}/shims", seen_at=f"/jobs/{job_id}/phone/join.ways")
    assert answer.status_code in (403, 404)
    assert {p.shims_mm for p in jobs.state_of(services, job_id).job.panels} == {0.0}


def test_review_and_card_say_what_was_laid(
    lead: Visitor, stranger: Visitor, services: Services
) -> None:
    job_id = bring(services, None)
    page = text_of(lead.get(f"/jobs/{job_id}/review").text)
    assert "Shims before the lift" in page
    assert re.search(r"C1 [0-9/]+ in \([0-9.]+ mm\) ?; ", page)
    token = cards.issue_card(services, LEAD, job_id, key=services.ids.key())
    card = text_of(stranger.get(f"/C/{token}").text)
    assert re.search(r"Shims laid in the rings before the lift: [A-D]1 [0-9/]+ in", card)
    assert "Planned again, they are worked out from the new wall's seats." in card
