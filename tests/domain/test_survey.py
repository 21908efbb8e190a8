"""The survey: what is measured of work and wall goes into the plan, until there are holes."""

from __future__ import annotations

import pytest

from holdtrue.domain.errors import (
    ConflictError,
    InputError,
)
from holdtrue.domain.readings import DoubtError
from tests.domain.crew import Crew, at_fasteners, panel, row

THREE = row(panel("A"), panel("B"), panel("C"))
ONE = row(panel("A"))


# -- the work --------------------------------------------------------------------------------------


def test_a_hanger_measured_on_the_back_is_mirrored_into_the_plan() -> None:
    crew = Crew(THREE)
    crew.release()
    crew.walk(until="work.hanger:B1")
    # seen from the back, seat 1 (left from the front) lies right: 104 from the right edge there is
    # 104 from the left edge in front; panel B is 600 wide and centred on the reference line
    crew.record("work.hanger:B1", {"edge": "right", "in": "104", "down": "97"})
    seat = crew.state.seat("B1")
    assert (seat.x_mm, seat.y_mm) == pytest.approx((-300 + 104, 1500 + 200 - 97))
    assert seat.hole_y_mm == pytest.approx(1500 + 200 - 97 + 6)
    assert crew.state.revision == 2
    # the same hanger from the other edge: 600 - 104
    crew.record("work.hanger:B1", {"edge": "left", "in": "496", "down": "97"})
    assert crew.state.seat("B1").x_mm == pytest.approx(-196)


def test_a_hanger_measured_on_the_front_is_not_mirrored() -> None:
    crew = Crew(row(panel("B", measured_on="front")))
    crew.release()
    crew.walk(until="work.hanger:B1")
    crew.record("work.hanger:B1", {"edge": "left", "in": "104", "down": "100"})
    assert crew.state.seat("B1").x_mm == pytest.approx(-196)


def test_reading_from_the_other_edge_than_planned_is_no_reason_to_doubt() -> None:
    crew = Crew(ONE)
    crew.release()
    crew.walk(until="work.hanger:A1")
    planned = crew.state.plan.seats[0]
    assert planned.x_mm == -200
    entry = crew.record("work.hanger:A1", {"edge": "left", "in": "503", "down": "100"})
    assert entry.body["planned"]["edge"] == "left"
    assert entry.body["planned"]["in"]["mm"] == 500


def test_a_sample_fastener_in_the_hanger_gives_the_bearing_point_by_its_drop() -> None:
    crew = Crew(ONE)
    crew.release()
    crew.walk(until="work.hanger:A1")
    raw = {"edge": "right", "in": "100", "down": "95", "to": "hook"}
    crew.record("work.hanger:A1", raw)
    # the hole centre 95 below the top edge, the hook bears 6 below its hole
    assert crew.state.seat("A1").y_mm == pytest.approx(1700 - 95 - 6)
    with pytest.raises(InputError, match="is not a fastener"):
        crew.record("work.hanger:A1", raw | {"to": "a nail"})


@pytest.mark.parametrize(
    ("spacing", "is_right"),
    [("400", True), ("402", True), ("398", True), ("402.1", False), ("397.9", False)],
)
def test_left_spacing_and_right_add_up_to_the_width_within_2_mm(
    spacing: str, is_right: bool
) -> None:
    crew = Crew(ONE)
    crew.release()
    crew.walk(until="work.spacing:A1-A2")
    if is_right:
        crew.record("work.spacing:A1-A2", {"spacing": spacing})
    else:
        with pytest.raises(InputError, match="misses the width"):
            crew.record("work.spacing:A1-A2", {"spacing": spacing}, is_sure=True)


def test_what_a_sum_misses_by_is_said_in_the_unit_of_the_tape() -> None:
    crew = Crew(ONE)
    crew.release()
    crew.walk(until="work.spacing:A1-A2")
    words = "misses the width by 1/8 in; with the readings from the edges it should be 15 3/4 in"
    with pytest.raises(InputError, match=words):
        crew.record("work.spacing:A1-A2", {"spacing": "15 7/8"}, unit="in", is_sure=True)


def test_a_spacing_is_read_again_when_a_hanger_turns_out_elsewhere() -> None:
    crew = at_fasteners(ONE)
    crew.record("work.hanger:A1", {"edge": "right", "in": "103", "down": "100"})
    assert crew.status("work.spacing:A1-A2") == "ready"
    assert crew.task("fasteners.mark:A1").why == "no hole before: Spacing A1 to A2"
    crew.record("work.spacing:A1-A2", {"spacing": "397"})
    assert crew.status("fasteners.mark:A1") == "ready"


def test_two_hangers_at_one_place_are_refused_and_nothing_is_kept() -> None:
    crew = at_fasteners(ONE)
    before = crew.entries
    with pytest.raises(InputError, match="same x"):
        crew.record("work.hanger:A1", {"edge": "right", "in": "500", "down": "100"}, is_sure=True)
    assert crew.entries == before


# -- the wall --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("meaning", "left_x"), [("plan", -300.0), ("centre", -300.0), ("left", 0.0), ("right", -600.0)]
)
def test_the_venues_mark_places_the_work(meaning: str, left_x: float) -> None:
    crew = Crew(ONE)
    crew.release()
    crew.walk(until="reference.mark")
    raw = {"meaning": meaning, "height": "1520", "height_of": "top"}
    crew.record("reference.mark", raw, is_sure=True)
    seat = crew.state.seat("A1")
    assert (seat.x_mm, seat.y_mm) == pytest.approx((left_x + 100, 1520 - 100))


def free() -> Crew:
    document = row(panel("A", centre={"x": 0, "y": 1500}), panel("B", centre={"x": 900, "y": 1400}))
    document["layout"] = {"kind": "free"}
    crew = Crew(document)
    crew.release()
    crew.walk(until="reference.mark")
    return crew


def test_a_free_layout_is_taken_as_planned_without_being_moved() -> None:
    crew = free()
    crew.do("reference.mark")
    # tops at 1700 and 1600, bottoms at 1300 and 1200
    assert crew.state.records["reference.mark"].values["height"]["mm"] == 1450
    assert crew.state.seat("A1").x_mm == -200
    crew.walk()
    assert crew.state.review.state == "handed_over"


def test_a_free_layout_moves_as_a_whole() -> None:
    crew = free()
    crew.record("reference.mark", {"meaning": "left", "height": "1710", "height_of": "top"})
    # its left edge, at -300, comes to the mark; its top, at 1700, to 1710
    seats = [(seat.x_mm, seat.y_mm) for seat in crew.state.current.seats]
    assert seats == [(100, 1610), (500, 1610), (1000, 1510), (1400, 1510)]


def test_a_height_read_at_another_edge_than_planned_is_no_reason_to_doubt() -> None:
    crew = Crew(ONE)
    crew.release()
    crew.walk(until="reference.mark")
    raw = {"meaning": "plan", "height": "1705", "height_of": "top"}
    entry = crew.record("reference.mark", raw)
    assert entry.body["planned"]["height"]["mm"] == 1700
    assert crew.state.job.layout.height_at_mm == 1705
    with pytest.raises(DoubtError, match="off the plan"):
        crew.record("reference.mark", raw | {"height": "1500"})


def test_studs_found_change_the_fastener_and_keep_the_seat() -> None:
    crew = Crew(ONE)
    crew.release()
    crew.walk(until="behind.studs")
    raw = {"studs[0].x": "200", "studs[0].x.side": "left", "studs[0].material": "wood"}
    crew.record("behind.studs", raw)
    seat = crew.state.seat("A1")
    assert (seat.x_mm, seat.y_mm, seat.into) == (-200, 1600, "stud")
    assert (seat.fastener.name, seat.hole_y_mm) == ("wood screw", 1598)


def test_a_wall_found_to_be_solid_is_planned_again() -> None:
    document = row(panel("A", 1))
    document["wall"] = {"behind": "hollow", "studs": [{"x": 0}]}
    crew = Crew(document)
    crew.release()
    crew.walk(until="behind.wall")
    assert crew.state.seat("A1").into == "stud"
    crew.record("behind.wall", {"behind": "solid"})
    seat = crew.state.seat("A1")
    assert (seat.into, seat.fastener.name, seat.hole_y_mm - seat.y_mm) == ("solid", "plug", 1)


def test_a_solid_wall_has_no_studs() -> None:
    document = row(panel("A", 1))
    document["wall"] = {"behind": "solid", "studs": [{"x": 0}]}
    crew = at_fasteners(document)
    assert crew.state.seat("A1").fastener.name == "plug"
    crew.walk()
    assert crew.state.review.state == "handed_over"


def test_wall_ends_left_empty_stay_as_they_were_and_an_end_too_near_is_a_conflict() -> None:
    crew = Crew(ONE)
    crew.release()
    crew.walk(until="reference.ends")
    crew.record("reference.ends", {"left": "150", "right": ""})
    wall = crew.state.job.wall
    assert (wall.left_mm, wall.right_mm) == (-150, None)
    assert "beyond the wall's left end" in crew.state.open_findings[0].text


def test_the_level_line_lies_below_the_seats_it_serves() -> None:
    crew = Crew(ONE)
    crew.release()
    crew.walk(until="level.line:1")
    with pytest.raises(InputError, match=r"below the seats it serves; A1 is at 1600\.0 mm"):
        crew.record("level.line:1", {"height": "1600"}, is_sure=True)
    crew.record("level.line:1", {"height": "1498"})
    line = crew.state.lines[0]
    assert crew.state.line_height_mm(line) == 1498


def test_a_measured_seat_counts_from_the_line_as_it_was_measured() -> None:
    crew = Crew(ONE)
    crew.release()
    crew.walk(until="level.line:1")
    crew.record("level.line:1", {"height": "1497"})
    crew.walk(until="fasteners.measure:A1")
    given = crew.state.marks_mm["A1"]
    raw = {"x": "201", "x.side": "left", "above": "101.5"}
    entry = crew.record("fasteners.measure:A1", raw)
    assert entry.body["place"] == {"x_mm": -201.0, "y_mm": 1497 + 101.5}
    assert entry.body["given"] == {"x_mm": given[0], "y_mm": given[1]}


def test_a_level_line_wanted_elsewhere_is_drawn_again() -> None:
    crew = at_fasteners(ONE)
    crew.record(
        "reference.mark",
        {"meaning": "plan", "height": "1700", "height_of": "centre"},
        is_sure=True,
    )
    assert crew.status("level.line:1") == "ready"
    assert crew.status("level.tape:1") == "ready"
    assert crew.task("fasteners.mark:A1").why == "no hole before: Level line 1"


# -- readings that are doubted ---------------------------------------------------------------------


@pytest.mark.parametrize(
    ("x", "side", "said"),
    [
        ("225.4", "left", "by 1 in: was the tape started from the 1?"),
        ("174.6", "left", "by 1 in: was the tape started from the 1?"),
        ("300", "left", "by 100 mm: was the tape started from the 1?"),
        ("223", "left", "23.0 mm off the plan"),
        ("200", "right", "other side of the reference line"),
    ],
)
def test_a_reading_that_looks_like_a_slip_is_asked_once_more(x: str, side: str, said: str) -> None:
    crew = at_fasteners(ONE)
    crew.walk(until="fasteners.measure:A1")
    before = crew.entries
    raw = {"x": x, "x.side": side, "above": "104"}
    with pytest.raises(DoubtError, match=said.replace("?", r"\?")):
        crew.record("fasteners.measure:A1", raw)
    assert crew.entries == before
    crew.record("fasteners.measure:A1", raw, is_sure=True)
    assert crew.state.set_seats["A1"].is_measured


@pytest.mark.parametrize(
    ("task_id", "raw", "field"),
    [
        ("panels.level:B", {"low": "level", "by": "3"}, "low"),
        ("panels.level:B", {"low": "left"}, "by"),
        (
            "panels.facing:A|B",
            {"first": "50", "second": "50", "ahead": "as_planned", "by": "3"},
            "ahead",
        ),
        ("panels.facing:A|B", {"first": "50", "second": "50", "ahead": "p"}, "by"),
        ("fasteners.pair:B1-B2", {"spacing": "400", "higher": "level", "by": "3"}, "higher"),
        ("fasteners.pair:B1-B2", {"spacing": "400", "higher": "left"}, "by"),
        (
            "level.check",
            {"instrument": "spirit", "over": "1000", "miss": "2", "higher": "same"},
            "higher",
        ),
        (
            "level.check",
            {"instrument": "spirit", "over": "0", "miss": "0", "higher": "same"},
            "over",
        ),
    ],
)
def test_half_of_a_reading_is_refused_and_never_counts_as_level(
    task_id: str, raw: dict[str, str], field: str
) -> None:
    crew = Crew(THREE)
    crew.release()
    crew.walk(until=task_id)
    before = crew.entries
    with pytest.raises(InputError) as refusal:
        crew.record(task_id, raw)
    assert refusal.value.path == field
    assert crew.entries == before


# -- consent ---------------------------------------------------------------------------------------


def test_a_yes_counts_for_what_it_was_said_to() -> None:
    crew = at_fasteners(THREE)
    crew.record("reference.mark", {"meaning": "plan", "height": "1510", "height_of": "centre"})
    assert crew.status("stand_back.yes") == "waiting"
    assert crew.task("fasteners.mark:A1").why == "no hole before: Corners on the wall"
    crew.do("stand_back.corners")
    crew.do("stand_back.yes")
    assert crew.status("fasteners.mark:A1") == "ready"


def test_undoing_what_the_yes_was_said_to_asks_for_it_again() -> None:
    crew = Crew(THREE)
    crew.release()
    crew.walk(until="reference.mark")
    moved = crew.record(
        "reference.mark", {"meaning": "plan", "height": "1510", "height_of": "centre"}
    )
    crew.walk(until="fasteners.mark:B1")
    crew.undo(moved)
    assert crew.state.job.layout.height_at_mm == 1500
    assert crew.status("stand_back.yes") != "done"
    crew.do("reference.mark")
    assert crew.walk(until="fasteners.mark:B1") == ["stand_back.corners", "stand_back.yes"]


# -- the plan is closed by holes -------------------------------------------------------------------


def drilled() -> Crew:
    crew = at_fasteners(THREE)
    crew.walk(until="fasteners.anchor:B1")
    return crew


@pytest.mark.parametrize(
    ("task_id", "raw"),
    [
        ("work.hanger:B1", {"edge": "right", "in": "103", "down": "100"}),
        ("work.spacing:B1-B2", {"spacing": "401"}),
        ("reference.mark", {"meaning": "plan", "height": "1510", "height_of": "centre"}),
        ("reference.ends", {"left": "2000"}),
        ("behind.studs", {"studs[0].x": "0"}),
        ("behind.wall", {"behind": "solid"}),
    ],
)
def test_what_shapes_the_plan_is_closed_once_there_is_a_hole(
    task_id: str, raw: dict[str, str]
) -> None:
    crew = drilled()
    before = crew.state
    with pytest.raises(ConflictError, match="holes already"):
        crew.record(task_id, raw, is_sure=True)
    assert crew.state is before


def test_a_survey_that_changed_the_plan_is_not_undone_under_a_hole() -> None:
    crew = Crew(THREE)
    crew.release()
    crew.walk(until="reference.mark")
    moved = crew.record(
        "reference.mark", {"meaning": "plan", "height": "1510", "height_of": "centre"}
    )
    crew.walk(until="fasteners.anchor:B1")
    before = crew.state
    with pytest.raises(ConflictError, match="holes already"):
        crew.undo(moved)
    assert crew.state is before


def test_a_panel_without_holes_may_still_have_its_hangers_measured() -> None:
    crew = drilled()
    hole = crew.state.marks_mm["B1"]
    crew.record("work.hanger:A1", {"edge": "right", "in": "103", "down": "100"})
    assert crew.state.seat("A1").x_mm == pytest.approx(-650 - 300 + 103)
    assert crew.state.marks_mm["B1"] == hole


def test_a_panel_added_after_the_first_hole_gets_its_survey_and_its_yes() -> None:
    crew = drilled()
    document = dict(crew.state.document)
    document["panels"] = [*document["panels"], panel("D")]
    document["layout"] = {**document["layout"], "gap": 50, "offset": 325}
    crew.revise(document)
    assert crew.status("fasteners.mark:D1") == "waiting"
    crew.release()
    walked = crew.walk()
    assert walked[:4] == [
        "work.hanger:D1",
        "work.hanger:D2",
        "work.spacing:D1-D2",
        "work.diagonals:D",
    ]
    assert "stand_back.yes" in walked
    assert crew.state.review.state == "handed_over"


def test_diagonals_that_differ_are_asked_once_more() -> None:
    """A true rectangle's diagonals are alike (common practice, no source)."""
    crew = Crew(ONE)
    crew.release()
    crew.walk(until="work.diagonals:A")
    (panel,) = crew.state.job.panels
    mm = (panel.width_mm**2 + panel.height_mm**2) ** 0.5
    raw = {"one": f"{mm:.1f}", "two": f"{mm + 1.9:.1f}", "level_edge": "top"}
    odd = raw | {"two": f"{mm + 2.2:.1f}"}
    with pytest.raises(DoubtError, match=r"differs from the other diagonal by 2\.2 mm"):
        crew.record("work.diagonals:A", odd)
    crew.record("work.diagonals:A", raw)
    crew.record("work.diagonals:A", odd, is_sure=True)
