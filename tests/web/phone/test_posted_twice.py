"""Sent twice, stored once; another key for a done task is a correction."""

from __future__ import annotations

from tests.web.phone.conftest import HTMX, At
from tests.web.phone.page import read_screen

TASK = "fasteners.mark:C1"


def test_the_same_form_twice_is_stored_once_and_answered_the_same(at: At) -> None:
    site = at(TASK)
    form = site.see(TASK).form("task-form").pressed("Marked")
    before = len(site.entries)

    first, second = site.send(form), site.send(form)

    assert len(site.entries) == before + 1
    assert first.headers["Location"] == second.headers["Location"]


def test_a_repeat_that_comes_late_is_still_harmless(at: At) -> None:
    """The reply was lost; the person went on; the form comes again."""
    site = at(TASK)
    form = site.see(TASK).form("task-form").pressed("Marked")
    site.send(form)
    site.tap("fasteners.mark:C2", "Marked")
    before = len(site.entries)

    site.send(form)

    assert len(site.entries) == before


def test_a_measured_length_repeated_is_not_asked_about_again(at: At) -> None:
    site = at("fasteners.measure:C1")
    form = site.see("fasteners.measure:C1").form("task-form")
    form = form.filled({"above": "5", "echoed.above": "5"}).pressed("Record what I measured")
    site.send(form)
    before = len(site.entries)

    site.send(form)

    assert len(site.entries) == before


def test_another_key_for_a_done_task_is_a_correction(at: At) -> None:
    site = at(TASK)
    site.tap(TASK, "Marked")
    before = len(site.entries)

    site.tap(f"{TASK}?again=1", "Marked")

    assert len(site.entries) == before + 1


def test_an_old_page_sent_with_something_else_keeps_what_is_typed(at: At) -> None:
    """The back button brought the page back with its used key."""
    site = at("fasteners.measure:C1")
    form = site.see("fasteners.measure:C1").form("task-form")
    site.send(form.pressed("As planned"))
    typed = form.filled({"above": "5", "echoed.above": "5"})

    answer = site.send(typed.pressed("Record what I measured"), 422)

    shown = read_screen(answer, 422)
    assert "was sent before, and that is kept" in shown.words
    again = shown.form("task-form")
    assert again.fields["above"] == "5"
    assert again.fields["key"] != form.fields["key"]
    site.send(again.pressed("Record what I measured"))
    assert site.record_of("fasteners.measure:C1").outcome == "measured"


def test_a_task_that_is_gone_once_it_is_done_takes_its_repeat(at: At) -> None:
    """A trimmed panel is checked again: its trim task is no more on the list."""
    site = at("panels.level:A")
    level = site.see("panels.level:A").form("task-form")
    typed = {"low": "left", "by": "1/8", "echoed.by": "1/8"}
    site.send(level.filled(typed).pressed("Record what I measured"))
    site.tap("panels.facing:A|B", "As planned")
    form = site.see("panels.trim:A").form("task-form").pressed("Done as advised")

    first, second = site.send(form), site.send(form)

    assert first.headers["Location"] == second.headers["Location"]
    assert len(site.state.trims) == 1
    assert "A is trimmed" in site.see(first.headers["Location"]).heading


def test_with_htmx_as_well(at: At) -> None:
    site = at(TASK)
    form = site.see(TASK).form("task-form").pressed("Marked")

    first, second = (site.send(form, 200, headers=HTMX) for _ in range(2))

    assert first.headers["HX-Push-Url"] == second.headers["HX-Push-Url"]
    assert sum(entry.body.get("task") == TASK for entry in site.entries) == 1
