"""What an entry changed, in numbers worked by hand."""

from __future__ import annotations

import pytest

from holdtrue.domain.consequence import consequence, is_finish_inside, worst_of_each
from holdtrue.domain.prefill import is_as_shown, shown_plan
from holdtrue.service import jobs
from tests.domain.crew import Crew, at_fasteners, panel, row


def measured(off_x: float, off_y: float) -> Crew:
    crew = at_fasteners(row(panel("A")))
    crew.walk(until="fasteners.measure:A1")
    x_mm, y_mm = crew.state.marks_mm["A1"]
    crew.measure("A1", x_mm + off_x, y_mm + off_y)
    return crew


def test_a_seat_on_its_mark_moves_nothing_and_ends_inside() -> None:
    crew = measured(0, 0)
    state, seq = crew.state, crew.entries[-1].seq
    said = consequence(jobs.state_before(crew.services, crew.job, seq), state, "A1")
    assert (said.seat, said.moves, said.is_inside) == ("A1", (), True)
    assert said.off_mm == pytest.approx((0, 0), abs=1e-6)
    assert said.kept is not None
    assert said.kept.share == pytest.approx(0, abs=1e-6)


def test_a_low_seat_takes_the_other_mark_down_with_it() -> None:
    crew = measured(0, -5)
    state, seq = crew.state, crew.entries[-1].seq
    said = consequence(jobs.state_before(crew.services, crew.job, seq), state, "A1")
    assert said.off_mm == pytest.approx((0, -5), abs=1e-6)
    (move,) = said.moves
    assert (move.seat, move.is_marked, move.right_mm) == ("A2", True, 0)
    # the level of the panel weighs more than its height: the other seat follows nearly all the way
    assert -5 <= move.up_mm <= -4
    assert move.hole_mm == (state.seat("A2").x_mm, state.seat("A2").hole_y_mm)
    assert (move.fastener_before, move.fastener_after) == ("hook", "hook")
    # unmoved, 5 mm over 400 is 7.5 over the width of 600
    assert said.kept is not None
    assert said.kept.kind == "level"
    assert abs(said.kept.value_mm) == pytest.approx(7.5, rel=0.2)
    assert said.is_inside
    assert said.worst.share == max(r.share for r in said.finish.values())


def test_the_last_seat_cannot_be_made_up_for() -> None:
    crew = measured(0, 0)
    crew.walk(until="fasteners.measure:A2")
    x_mm, y_mm = crew.state.marks_mm["A2"]
    crew.measure("A2", x_mm, y_mm + 4)
    seq = crew.entries[-1].seq
    said = consequence(jobs.state_before(crew.services, crew.job, seq), crew.state, "A2")
    assert said.moves == ()
    assert not said.is_inside
    assert said.worst.kind == "level"
    assert not said.worst.is_inside
    assert not is_finish_inside(crew.state)


def test_another_fastener_is_a_move_of_the_hole_alone() -> None:
    crew = at_fasteners(row(panel("A")))
    crew.walk(until="fasteners.pilot:A1")
    entry = crew.record("fasteners.pilot:A1", {"met": "wood"})
    said = consequence(jobs.state_before(crew.services, crew.job, entry.seq), crew.state, "A1")
    (move,) = said.moves
    assert (move.seat, move.right_mm, move.up_mm) == ("A1", 0, -8)
    assert (move.fastener_before, move.fastener_after) == ("hook", "wood screw")
    assert said.off_mm is None


def test_a_plan_with_other_seats_is_not_compared_mark_by_mark() -> None:
    crew = at_fasteners(row(panel("A")))
    before = crew.state
    crew.revise(row(panel("A"), panel("B")))
    said = consequence(before, crew.state, None)
    assert said.kept is None
    assert {move.seat for move in said.moves} == {"A1", "A2"}


def test_the_worst_of_each_kind_is_the_one_with_the_largest_share() -> None:
    crew = measured(0, 0)
    form = crew.state.form
    deviation = form.planned_mm * 0
    deviation[len(form.seats)] = 2.0
    worst = worst_of_each(form, deviation)
    assert worst["level"].value_mm == pytest.approx(600 * -2 / 400)
    assert not worst["level"].is_inside


@pytest.mark.parametrize(
    ("task_id", "text"),
    [
        ("fasteners.mark:A1", "-200.00 1606.00 hook"),
        ("fasteners.measure:A1", "-200.00 100.00"),
        ("work.hanger:A1", "right 100.00 100.00 "),
        ("behind.studs", ""),
        ("stand_back.yes", "A 0.00 1500.00 600.00 400.00"),
        ("before.cautions", ""),
    ],
)
def test_what_a_page_showed_is_known_again_by_a_short_text(task_id: str, text: str) -> None:
    crew = at_fasteners(row(panel("A")))
    assert shown_plan(crew.state, task_id) == text


@pytest.mark.parametrize(
    ("seen", "is_same"),
    [
        ("-200.00 100.00", True),
        ("-200.01 99.99", True),
        ("-200.02 100.00", False),
        ("-200.00", False),
        ("-200.00 100.00 100.00", False),
        ("nan 100.00", False),
        ("-200.00 1e2", False),
        ("", False),
    ],
)
def test_a_last_digit_rounded_the_other_way_is_no_change(seen: str, is_same: bool) -> None:
    """3 7/8 in is 98.425 mm: two programs may both be right and write .42 and .43."""
    crew = at_fasteners(row(panel("A")))
    assert is_as_shown(crew.state, "fasteners.measure:A1", seen) == is_same


def test_a_fastener_of_another_name_is_a_change() -> None:
    crew = at_fasteners(row(panel("A")))
    assert not is_as_shown(crew.state, "fasteners.mark:A1", "-200.00 1606.00 plug")
