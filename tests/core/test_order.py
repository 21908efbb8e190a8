"""Order of driving, and where level lines go."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holdtrue.core.model import Fastener, Job, Layout, Stud, Wall
from holdtrue.core.order import driving_order, level_lines, panel_order
from holdtrue.core.plan import make_plan
from holdtrue.core.sources import LINE_NEAREST_MM, LINE_REACH_MM
from tests.core.jobs import any_job, job, panel, row


def lone(name: str, width: float = 300.0) -> Job:
    return row(panel(name, width))


def test_panels_go_from_the_middle_outwards_left_first() -> None:
    assert panel_order(make_plan(row(*(panel(name) for name in "ABCDE")))) == (2, 1, 3, 0, 4)
    assert panel_order(make_plan(row(*(panel(name) for name in "ABCD")))) == (1, 2, 0, 3)


def test_the_middle_is_that_of_the_whole_group_not_the_reference_line() -> None:
    assert panel_order(make_plan(row(*(panel(n) for n in "ABC"), offset_mm=2000.0))) == (1, 0, 2)


def test_panels_as_far_from_the_middle_keep_their_turns_wherever_the_work_hangs() -> None:
    """In inches the inner two are on half a thousandth of a millimetre from the middle."""

    def order(offset_mm: float) -> tuple[int, ...]:
        gaps = (3.175,) * 3
        layout = Layout(kind="row", gaps_mm=gaps, height_at_mm=1500.0, offset_mm=offset_mm)
        return panel_order(make_plan(job(*(panel(n, 304.8) for n in "ABCD"), layout=layout)))

    assert {order(7.3 * k) for k in range(200)} == {(1, 2, 0, 3)}


def test_in_a_column_they_go_from_the_middle_up_and_down_the_higher_first() -> None:
    def order(names: str) -> tuple[int, ...]:
        layout = Layout(kind="column", gaps_mm=(20.0,) * (len(names) - 1), height_at_mm=1500.0)
        return panel_order(make_plan(job(*(panel(n) for n in names), layout=layout)))

    assert order("ABC") == (1, 0, 2)
    assert order("ABCD") == (1, 2, 0, 3)


def test_in_a_row_of_uneven_heights_only_the_way_along_it_counts() -> None:
    heights = {"A": 300.0, "B": 900.0, "C": 300.0}
    panels = [replace(panel(name), height_mm=height) for name, height in heights.items()]
    assert panel_order(make_plan(row(*panels, align="top"))) == (1, 0, 2)


def test_seats_of_a_panel_go_from_the_reference_line_outwards() -> None:
    seats = [(-150.0, 250.0), (0.0, 250.0), (150.0, 250.0)]
    to_the_right = make_plan(row(panel("A", seats=seats), offset_mm=500.0))
    to_the_left = make_plan(row(panel("A", seats=seats), offset_mm=-500.0))
    around = make_plan(row(panel("A", seats=seats)))
    assert driving_order(to_the_right) == ("A1", "A2", "A3")
    assert driving_order(to_the_left) == ("A3", "A2", "A1")
    # two at one distance: the left one first
    assert driving_order(around) == ("A2", "A1", "A3")


def test_the_less_certain_fastener_goes_first() -> None:
    a_job = replace(
        row(panel("A")),
        wall=Wall(studs=(Stud(x_mm=150.0, width_mm=38.0),)),
        fasteners=(Fastener(name="toggle", into="hollow"), Fastener(name="screw", into="stud")),
    )
    plan = make_plan(a_job)
    assert driving_order(plan) == ("A1", "A2")
    assert driving_order(plan, {"toggle": 0.5, "screw": 2.0}) == ("A2", "A1")
    assert driving_order(plan, {"toggle": 2.0}) == ("A1", "A2")


def test_a_seat_without_a_fastener_still_has_its_turn() -> None:
    assert driving_order(make_plan(row(panel("A"))), {"screw": 2.0}) == ("A1", "A2")


@settings(max_examples=50)
@given(any_job(), st.floats(0, 3))
def test_every_seat_has_one_turn_panel_by_panel(a_job: Job, placing: float) -> None:
    plan = make_plan(a_job)
    order = driving_order(plan, {"hook": placing})
    assert sorted(order) == sorted(plan.arrangement.seat_names)
    panels = [order_name[0] for order_name in order]
    assert [name for i, name in enumerate(panels) if i == 0 or panels[i - 1] != name] == [
        a_job.panels[k].name for k in panel_order(plan)
    ]


# ---- level lines

SEATS_MM = st.lists(st.floats(300, 3000), min_size=1, max_size=30)


def test_one_line_serves_a_row() -> None:
    names = ("A1", "A2", "B1")
    (line,) = level_lines(names, [(0.0, 1803.4), (500.0, 1800.2), (900.0, 1854.2)], 10.0)
    assert line.y_mm == 1700.0
    assert line.seats == ("A2", "A1", "B1")
    assert line.name == "1"


def test_seats_far_above_get_a_line_of_their_own_named_from_the_lowest() -> None:
    lines = level_lines(("A1", "B1"), [(0.0, 2085.0), (0.0, 1402.0)], 10.0)
    assert [(line.name, line.y_mm, line.seats) for line in lines] == [
        ("1", 1300.0, ("B1",)),
        ("2", 1980.0, ("A1",)),
    ]


@given(SEATS_MM, st.sampled_from([1.0, 10.0, 12.7, 25.4, 50.0, 500.0]))
def test_a_line_lies_a_short_rule_below_every_seat_it_serves(
    heights: list[float], round_to_mm: float
) -> None:
    names = [f"A{i + 1}" for i in range(len(heights))]
    lines = level_lines(names, [(0.0, y) for y in heights], round_to_mm)
    at = dict(zip(names, heights, strict=True))
    assert sorted(name for line in lines for name in line.seats) == sorted(names)
    for line in lines:
        for name in line.seats:
            assert LINE_NEAREST_MM - 1e-6 <= at[name] - line.y_mm <= LINE_REACH_MM + 1e-6


@given(SEATS_MM)
def test_lines_are_no_more_than_they_need_to_be(heights: list[float]) -> None:
    lines = level_lines([str(i) for i in range(len(heights))], [(0.0, y) for y in heights], 10.0)
    for lower, upper in pairwise(lines):
        lowest = min(heights[int(name)] for name in upper.seats)
        assert lowest > lower.y_mm + LINE_REACH_MM


@pytest.mark.parametrize("round_to_mm", [10.0, 25.4])
def test_a_line_is_at_a_handy_figure_where_one_is_in_reach(round_to_mm: float) -> None:
    (line,) = level_lines(("A1",), [(0.0, 1777.7)], round_to_mm)
    assert line.y_mm / round_to_mm == pytest.approx(round(line.y_mm / round_to_mm))
