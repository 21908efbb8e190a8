"""The mark in hand: where the hole goes, from both lines, with a check and its fastener."""

from __future__ import annotations

from holdtrue.core.readout import format_length
from holdtrue.domain.state import JobState, Point
from tests.walking import LEAD, do, off_by
from tests.web.phone.conftest import At


def hole(state: JobState, seat: str) -> Point:
    row = state.seat(seat)
    return (row.x_mm, row.hole_y_mm)


def test_the_hole_is_given_from_both_lines(at: At) -> None:
    site = at("fasteners.mark:C1")

    shown = site.see("fasteners.mark:C1")

    seat = site.state.seat("C1")
    assert (round(seat.x_mm, 2), round(seat.hole_y_mm - seat.y_mm, 2)) == (-31.75, 6.35)
    assert "Hole left of the reference line 1 1⁄4 in" in shown.words
    assert "Hole above the level line 5 3⁄16 in" in shown.words
    assert "its seat comes 1/4 in below the hole" in shown.words


def test_the_seat_is_what_is_measured_not_the_hole(at: At) -> None:
    site = at("fasteners.measure:C1")

    shown = site.see("fasteners.measure:C1")

    assert shown.form("task-form").fields["above"] == "4 15/16"
    assert "1/4 in below the hole" in shown.words


def test_the_nearest_set_seat_is_a_check(at: At) -> None:
    assert "from seat" not in at("fasteners.mark:C1").see("fasteners.mark:C1").words


def test_the_check_appears_once_a_seat_is_set(at: At) -> None:
    shown = at("fasteners.mark:B1").see("fasteners.mark:B1")

    assert "from seat C1" in shown.words or "from seat C2" in shown.words


def test_the_drawing_says_the_same_to_who_cannot_see_it(at: At) -> None:
    html = at("fasteners.mark:C1").see("fasteners.mark:C1").html.replace("\xa0", " ")

    assert "1 1/4 in left of the reference line, 5 3/16 in above the level line" in html


def test_a_panel_measured_on_its_back_is_drawn_mirrored(at: At) -> None:
    html = at("work.hanger:A1").see("work.hanger:A1").html

    assert "A seen from the back" in html


def test_the_level_line_names_whom_it_serves(at: At) -> None:
    assert "It serves every seat." in at("level.line:1").see("level.line:1").words


def test_corners_are_given_to_the_tape_not_finer(at: At) -> None:
    shown = at("stand_back.corners").see("stand_back.corners")

    assert "58 in left to 28 in left; 38 in to 78 in up" in shown.words


def test_the_read_out_shows_one_number_and_leads_round(at: At) -> None:
    site = at("fasteners.mark:C1")

    first = site.see("fasteners.mark:C1?look=readout")
    second = site.see(first.link("Next number (1 of 2)"))

    assert "Hole, left of the reference line" in first.words
    assert "Hole, above the level line" in second.words
    assert "data-awake" in first.html
    assert site.see(second.link("Next number (2 of 2)")).words == first.words


def test_a_task_without_numbers_has_nothing_to_read_out(at: At) -> None:
    site = at("before.cautions")

    assert site.visitor.get(site.url("before.cautions?look=readout")).status_code == 404


def test_an_old_mark_is_to_be_rubbed_out_before_the_new_one_is_made(at: At) -> None:
    """C1 came out high: C2, pencilled already and not drilled, goes higher as well."""
    site = at("fasteners.measure:C1")
    old = site.see("fasteners.mark:C2?again=1").words
    assert "Rub out" not in old
    (x, y), line = hole(site.state, "C2"), site.state.line_height_mm(site.state.lines[0])

    high = off_by(site.state, "C1", 0, 4.7625)
    do(site.services, LEAD, site.job_id, "fasteners.measure:C1", high)

    said = site.see("fasteners.mark:C2").words
    where = f"{format_length(x, 'in')} right, {format_length(y - line, 'in')} above the level line"
    assert f"Rub out the old one: it was at {where}." in said
    assert hole(site.state, "C2")[1] > y
    do(site.services, LEAD, site.job_id, "fasteners.mark:C2")
    assert "Rub out" not in site.see("fasteners.mark:C2?again=1").words
