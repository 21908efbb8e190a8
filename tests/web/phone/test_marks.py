"""The mark in hand: where the hole goes, from both lines, with a check and its fastener."""

from __future__ import annotations

from tests.web.phone.conftest import At


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
