"""A level that is off: said once where it is found, and on every screen that is read by it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from holdtrue.domain.checklist import checklist
from tests.web.phone.conftest import At, Site
from tests.web.phone.page import Screen, read_screen

SPIRIT = {"instrument": "spirit", "over": "24", "miss": "3/16", "higher": "high"}
"""Off by 3/32 in over 24 in: 3.91 mm in 1 m."""


def send(site: Site, task: str, typed: dict[str, str], outcome: str = "measured") -> Screen:
    form = site.see(f"{task}?again=1").form("task-form")
    echoes = {f"echoed.{name}": text for name, text in typed.items()}
    data = {**form.fields, **typed, **echoes, "outcome": outcome}
    sent = site.visitor.client.post(form.action, data=data)
    assert sent.status_code == 303, sent.text
    return site.see(sent.headers["Location"])


def test_a_laser_is_found_to_tilt_by_its_whole_miss(at: At) -> None:
    site = at("level.check")
    asked = site.see("level.check")
    assert "turn it until its left end meets that mark" in asked.words

    shown = send(site, "level.check", {**SPIRIT, "instrument": "laser"}, "done")

    assert shown.heading == "The laser's own error"
    assert "7.81 mm in 1 m" in shown.words
    assert "all of it is the laser's tilt" in shown.words
    assert "taped end" not in shown.words


@pytest.mark.parametrize(
    ("instrument", "said"),
    [
        ("spirit", "The spirit level itself reads 7/64 in low on the right"),
        ("laser", "The laser itself reads 15/64 in low on the right"),
    ],
)
def test_where_a_panel_is_read_the_levels_own_error_is_said(
    at: At, instrument: str, said: str
) -> None:
    site = at("panels.level:A")
    assert "itself reads" not in site.see("panels.level:A").words
    send(site, "level.check", {**SPIRIT, "instrument": instrument}, "done")

    shown = site.see("panels.level:A")
    assert f"{said} over this width: taken off." in shown.words
    assert ("Keep its taped end left." in shown.words) == (instrument == "spirit")
    fields = shown.form("task-form").fields
    assert (fields["low"], fields["by"]) == ("right", "7/64" if instrument == "spirit" else "15/64")


def test_a_panel_it_calls_level_is_outside_and_the_result_says_why(at: At) -> None:
    site = at("panels.level:A")
    send(site, "level.check", SPIRIT, "done")

    shown = send(site, "panels.level:A", {"low": "level", "by": "0"})

    assert "Outside tolerance: trim A." in shown.words
    assert "The spirit level itself reads 7/64 in low on the right" in shown.words
    # the right end is truly high: the left one goes up
    assert "Shim A1 up" in shown.words


def test_as_planned_is_what_this_level_shows_and_is_inside(at: At) -> None:
    site = at("panels.level:A")
    send(site, "level.check", SPIRIT, "done")

    form = site.see("panels.level:A").form("task-form")
    site.send(form.pressed("As planned"))

    assert site.state.records["panels.level:A"].outcome == "as_planned"
    assert "panels.trim:A" not in {task.id for task in checklist(site.state)}


def test_marks_it_calls_level_are_pencilled_again_and_the_result_says_why(at: At) -> None:
    site = at("fasteners.pair:C1-C2")
    send(site, "level.check", {**SPIRIT, "miss": "3/8"}, "done")
    shown = site.see("fasteners.pair:C1-C2")
    assert "The spirit level itself reads 1/8 in low on the right over this distance" in shown.words
    # by plan C2 is 1/16 in higher; this level shows C1 higher by as much
    assert "C1 is higher by 1/16\xa0in" in shown.html

    result = send(site, "fasteners.pair:C1-C2", {"higher": "level", "by": "0"})

    assert "C2 is 1/16 in too high" in result.words
    assert "The spirit level itself reads 1/8 in low on the right" in result.words


def test_a_page_from_before_the_level_was_checked_again_confirms_nothing(at: At) -> None:
    site = at("panels.level:A")
    form = site.see("panels.level:A").form("task-form")
    send(site, "level.check", SPIRIT, "done")

    sent = site.send(form.pressed("As planned"), 422)

    asked = read_screen(sent, 422)
    assert "You typed 0, which is not the plan." in asked.words
    again = asked.form("task-form").fields | {"outcome": "as_planned", "by": "0"}
    site.send(replace(form, fields=form.fields | again | {"sure": again["sure"]}), 409)
    assert "panels.level:A" not in site.state.records
