"""Hung panels on the phone: what a reading asks for, how it is trimmed, and what it does to the
forecast."""

from __future__ import annotations

from dataclasses import replace

import pytest

from holdtrue.core.trim import find_trim
from holdtrue.domain import trimming
from holdtrue.service import jobs
from holdtrue.web.chances import chance_line
from tests.web.phone.conftest import At, Site
from tests.web.phone.page import Screen

LEVEL, TRIM = "panels.level:A", "panels.trim:A"
LAST = "panels.facing:A|B"
"""What is still to be read then: nothing is trimmed before all that hangs was read."""


def chance_told(site: Site) -> str:
    """The forecast before and after the last entry, as both states give it."""
    last = site.entries[-1].seq
    before, after = (jobs.state_before(site.services, site.job_id, k) for k in (last, last + 1))
    return " ".join(chance_line(before, after).split())


def read_low(site: Site, by: str = "1/8") -> Screen:
    form = site.see(LEVEL).form("task-form")
    typed = {"low": "left", "by": by, "echoed.by": by}
    sent = site.send(form.filled(typed).pressed("Record what I measured"))
    return site.see(sent.headers["Location"])


def test_a_reading_says_what_it_does_to_the_forecast(at: At) -> None:
    site = at(LEVEL)

    shown = read_low(site)

    assert chance_told(site) in shown.words
    assert "Chance that all ends inside: " in shown.words


def test_a_trim_says_what_it_does_to_the_forecast(at: At) -> None:
    site = at(LEVEL)
    read_low(site)
    site.tap(LAST, "As planned")

    shown = site.tap(TRIM, "Done as advised")

    assert shown.heading == "A is trimmed"
    assert chance_told(site) in shown.words


def test_a_trim_waits_until_all_that_hangs_is_read(at: At) -> None:
    site = at(LEVEL)
    read_low(site)

    waits = site.see(TRIM).words

    assert "First finish: Between A and B. " in waits
    site.tap(LAST, "As planned")
    assert "Shim A1 up" in site.see(TRIM).words


def test_what_is_left_as_it_is_says_no_forecast(at: At) -> None:
    site = at(LEVEL)
    read_low(site)
    site.tap(LAST, "As planned")

    shown = site.tap(TRIM, "Record what I did", {"means": "none"})

    assert shown.heading == "A stays as it is"
    assert "Chance" not in shown.words


def test_another_fastener_says_what_it_does_to_the_forecast(at: At) -> None:
    site = at("fasteners.pilot:C2")

    shown = site.tap("fasteners.pilot:C2", "Record", {"met": "wood"})

    assert shown.heading == "C2: wood screw #10"
    assert chance_told(site) in shown.words


def test_what_is_not_proven_the_fewest_is_said_in_one_line(
    at: At, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(
        trimming, "find_trim", lambda problem: replace(find_trim(problem), is_proven=False)
    )
    trimming._best.cache_clear()
    site = at(LEVEL)

    shown = read_low(site)
    assert "Then all is inside; not proven the fewest." in shown.words
    site.tap(LAST, "As planned")
    trim = site.see(TRIM)
    assert "Then all is inside; not proven the fewest. Check it again." in trim.words
    trimming._best.cache_clear()


def test_what_is_proven_says_nothing_of_proof(at: At) -> None:
    site = at(LEVEL)

    assert "proven" not in read_low(site).words
    site.tap(LAST, "As planned")
    assert "Then all is inside. Check it again." in site.see(TRIM).words


def test_a_slide_that_stops_short_is_recorded_as_far_as_it_went(at: At) -> None:
    site = at(LAST)
    wide = {"first": "2 5/8", "second": "2 5/8"}
    echoed = {f"echoed.{name}": text for name, text in wide.items()}
    site.tap(LAST, "Record what I measured", wide | echoed)
    (trim,) = [f"panels.trim:{panel}" for panel in trimming.panels_to_trim(site.state)]
    shown = site.see(trim)
    assert "If it does not slide so far, record how far it went." in shown.words
    way = "left" if trim.endswith("B") else "right"

    typed = {"means": "slide", "way": way, "by": "0", "echoed.by": "0"}
    site.tap(trim, "Record what I did", typed)

    assert [(t.by_mm, t.end) for t in site.state.trims] == [(0.0, 1 if way == "right" else -1)]
