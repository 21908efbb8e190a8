"""What was measured is echoed, asked once more when it is unlikely, and stored."""

from __future__ import annotations

import pytest

from tests.web.phone.conftest import At, Site
from tests.web.phone.page import read_screen

TASK = "fasteners.measure:C1"
MEASURED = "Record what I measured"


def test_it_works(at: At) -> None:
    """Typed, echoed by the server, saved: three answers without any script."""
    site = at(TASK)

    echoed = site.refused(TASK, MEASURED, {"x": "1 5/16", "above": "5"})
    assert "Is this what you read?" in echoed.words
    assert "1 5/16 in = 33.3 mm" in echoed.words
    site.send(echoed.form("task-form").pressed("Save"))

    record = site.record_of(TASK)
    assert record.outcome == "measured"
    assert record.values["x"] == {"mm": -33.3375, "typed": "1 5/16", "side": "left"}
    assert record.values["above"] == {"mm": 127.0, "typed": "5"}


def test_an_echoed_length_is_saved_with_one_tap(at: At) -> None:
    """The script's way: the echo was fetched while typing, its hidden field says so."""
    site = at(TASK)
    echo = site.visitor.get(site.url("echo?field=above&above=5")).text
    assert 'name="echoed.above" value="5"' in echo
    form = site.see(TASK).form("task-form").filled({"above": "5", "echoed.above": "5"})

    site.send(form.pressed(MEASURED))

    assert site.record_of(TASK).values["above"]["mm"] == 127.0


def test_a_length_changed_after_its_echo_is_echoed_again(at: At) -> None:
    site = at(TASK)
    echoed = site.refused(TASK, MEASURED, {"above": "5"})

    changed = echoed.form("task-form").filled({"above": "5 1/16"}).pressed("Save")
    answer = read_screen(site.send(changed, 422), 422)

    assert "5 1/16 in = 128.6 mm" in answer.words
    assert TASK not in site.state.records


def test_a_far_reading_is_asked_once_more(at: At) -> None:
    site = at(TASK)
    echoed = site.refused(TASK, MEASURED, {"above": "8"})

    doubted = read_screen(site.send(echoed.form("task-form").pressed("Save"), 422), 422)

    assert "off the plan" in doubted.words
    assert doubted.form("task-form").fields["above"] == "8"
    site.send(doubted.form("task-form").pressed("Yes, save it"))
    assert site.record_of(TASK).values["above"]["mm"] == pytest.approx(203.2)


def test_a_tape_started_from_the_one_is_asked_about(at: At) -> None:
    site = at(TASK)
    planned = site.see(TASK).form("task-form").fields["above"]
    assert planned == "4 15/16"
    echoed = site.refused(TASK, MEASURED, {"above": "5 15/16"})

    doubted = read_screen(site.send(echoed.form("task-form").pressed("Save"), 422), 422)

    assert "was the tape started from the 1?" in doubted.words


def test_yes_holds_for_that_reading_only(at: At) -> None:
    site = at(TASK)
    echoed = site.refused(TASK, MEASURED, {"above": "8"})
    doubted = read_screen(site.send(echoed.form("task-form").pressed("Save"), 422), 422)

    form = doubted.form("task-form").filled({"above": "9", "echoed.above": "9"})
    asked_again = read_screen(site.send(form.pressed("Yes, save it"), 422), 422)

    assert "9 is" in asked_again.words
    assert TASK not in site.state.records


def test_the_persons_own_unit_counts(at: At) -> None:
    site = at(TASK, unit="mm")
    shown = site.see(TASK)
    assert shown.form("task-form").fields["above"] == "125.4"

    echoed = site.refused(TASK, MEASURED, {"above": "126"})
    assert "126 mm" in echoed.words
    site.send(echoed.form("task-form").pressed("Save"))

    assert site.record_of(TASK).values["above"] == {"mm": 126.0, "typed": "126"}


def test_the_side_of_the_reference_line_is_a_choice_not_a_sign(at: At) -> None:
    site = at(TASK)

    echoed = site.refused(TASK, MEASURED, {"x": "1/2", "x.side": "right"})
    answer = read_screen(site.send(echoed.form("task-form").pressed("Save"), 422), 422)

    assert "on the other side of the reference line than planned" in answer.words
    assert answer.form("task-form").fields["x.side"] == "right"


def test_recording_a_done_task_again_is_a_correction(at: At) -> None:
    site = at(TASK)
    site.tap(TASK, "As planned")
    form = site.see(f"{TASK}?again=1").form("task-form").filled({"above": "5", "echoed.above": "5"})

    site.send(form.pressed(MEASURED))

    assert site.record_of(TASK).outcome == "measured"
    written = [entry for entry in site.entries if entry.body.get("task") == TASK]
    assert [entry.body["outcome"] for entry in written] == ["as_planned", "measured"]


def test_the_time_of_the_tap_is_kept(at: At) -> None:
    site = at(TASK)
    form = site.see(TASK).form("task-form").filled({"tapped": "2026-03-02T07:59:58.120Z"})

    site.send(form.pressed("As planned"))

    assert site.entries[-1].tapped == "2026-03-02T07:59:58.120Z"


@pytest.mark.parametrize("odd", ["yesterday", "2026-03-02", "x" * 400, "\u0662026-03-02T07:59:58Z"])
def test_an_odd_time_of_the_tap_is_left_out(at: At, odd: str) -> None:
    site = at(TASK)

    site.send(site.see(TASK).form("task-form").filled({"tapped": odd}).pressed("As planned"))

    assert site.entries[-1].tapped is None


def from_right(site: Site, task: str) -> str:
    return site.see(f"{task}?edge=right").form("task-form").fields["in"]


def test_a_hanger_may_be_measured_from_either_edge(at: At) -> None:
    site = at("work.hanger:A1")
    left = site.see("work.hanger:A1?edge=left").form("task-form").fields
    right = site.see("work.hanger:A1?edge=right").form("task-form").fields
    assert (left["in"], right["in"]) == ("25 5/8", "4 3/8")

    form = site.see("work.hanger:A1?edge=left").form("task-form")
    typed = {"in": "25 3/4", "echoed.in": "25 3/4"}
    site.send(form.filled(typed).pressed(MEASURED))

    values = site.record_of("work.hanger:A1").values
    assert (values["edge"], values["in"]["typed"]) == ("left", "25 3/4")


def test_spacing_that_misses_the_width_says_what_it_should_be(at: At) -> None:
    site = at("work.spacing:A1-A2")

    echoed = site.refused("work.spacing:A1-A2", MEASURED, {"spacing": "21 1/2"})
    answer = read_screen(site.send(echoed.form("task-form").pressed("Save"), 422), 422)

    assert "it should be 21 1/8 in" in answer.words


def test_a_seat_read_off_its_mark_is_drawn_beside_where_it_was_aimed(at: At) -> None:
    site = at("fasteners.measure:C1")
    assert "d-ghost" not in site.see("all").html
    form = site.see("fasteners.measure:C1").form("task-form")
    typed = {"above": "5 1/4", "echoed.above": "5 1/4"}
    site.send(form.filled(typed).pressed("Record what I measured"))
    shown = site.see("all").html
    assert "d-ghost" in shown
    assert "deviations drawn 10 times larger" in shown
