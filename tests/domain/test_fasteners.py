"""Fasteners: what the bit met, what is in the way, what the lead must look at."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from holdtrue.core.loads import seat_allowed_N
from holdtrue.core.screw_checks import is_formula_ground
from holdtrue.domain.errors import (
    ConflictError,
    InputError,
    NotFoundError,
)
from tests.domain.crew import Crew, at_fasteners, panel, row

THREE = row(panel("A"), panel("B"), panel("C"))
ONE = row(panel("A"))


def test_wood_where_hollow_was_planned_keeps_the_seat_and_asks_for_a_new_mark() -> None:
    crew = at_fasteners(ONE)
    crew.walk(until="fasteners.pilot:A1")
    before = crew.state.seat("A1")
    crew.record("fasteners.pilot:A1", {"met": "wood"})
    after = crew.state.seat("A1")
    assert (after.x_mm, after.y_mm) == (before.x_mm, before.y_mm)
    assert (before.fastener.name, after.fastener.name) == ("hook", "wood screw")
    assert after.hole_y_mm == before.hole_y_mm - 8  # drop 6 becomes -2
    assert crew.status("fasteners.mark:A1") == "ready"
    assert crew.walk(until="fasteners.anchor:A1") == [
        "fasteners.mark:A1",
        "fasteners.pair:A1-A2",
        "fasteners.pilot:A1",
    ]


def test_a_bit_that_cannot_tell_leaves_the_question_open() -> None:
    crew = at_fasteners(ONE)
    crew.walk(until="fasteners.pilot:A1")
    crew.record("fasteners.pilot:A1", {"met": "unclear"})
    assert crew.status("fasteners.pilot:A1") == "ready"
    assert crew.status("fasteners.anchor:A1") == "waiting"


def test_what_the_bit_met_as_planned_moves_nothing() -> None:
    crew = at_fasteners(ONE)
    crew.walk(until="fasteners.pilot:A1")
    marks = crew.state.marks_mm
    crew.record("fasteners.pilot:A1", {"met": "nothing"})
    assert crew.state.marks_mm == marks
    assert crew.status("fasteners.anchor:A1") == "ready"


def test_a_hole_opened_for_the_wrong_fastener_is_one_to_patch() -> None:
    crew = at_fasteners(ONE)
    crew.walk(until="fasteners.press:A1")
    hole = crew.state.holes["A1"]
    crew.block("A1", "stud", material="wood", note="it was a stud after all")
    assert [(one.at_mm, one.is_full) for one in crew.state.old_holes] == [(hole, True)]
    assert "A1" not in crew.state.holes
    assert crew.status("fasteners.mark:A1") == "ready"


def test_a_mark_made_again_has_its_pair_checked_again() -> None:
    crew = at_fasteners(ONE)
    crew.walk(until="fasteners.pilot:A1")
    crew.do("fasteners.mark:A2")
    assert crew.status("fasteners.pair:A1-A2") == "ready"
    assert crew.task("fasteners.pilot:A1").why == "first finish: Check marks A1 to A2"


def test_marks_too_far_off_each_other_are_not_drilled() -> None:
    crew = at_fasteners(ONE)
    crew.walk(until="fasteners.pair:A1-A2")
    off = {"spacing": "401.2", "higher": "level"}
    crew.record("fasteners.pair:A1-A2", off)
    assert crew.status("fasteners.pair:A1-A2") == "ready"
    assert crew.status("fasteners.pilot:A1") == "waiting"
    crew.record("fasteners.pair:A1-A2", {"spacing": "400", "higher": "right", "by": "1.2"})
    assert crew.status("fasteners.pilot:A1") == "waiting"
    crew.record("fasteners.pair:A1-A2", {"spacing": "400.9", "higher": "left", "by": "0.9"})
    assert crew.status("fasteners.pilot:A1") == "ready"


def test_a_mark_recorded_again_beside_a_hole_changes_nothing_there() -> None:
    crew = at_fasteners(ONE)
    crew.walk(until="fasteners.press:A1")
    hole, mark = crew.state.holes["A1"], crew.state.marked["A1"]
    crew.do("fasteners.mark:A1")
    assert (crew.state.holes["A1"], crew.state.marked["A1"]) == (hole, mark)
    assert crew.status("fasteners.pair:A1-A2") == "done"


def test_a_mark_stands_while_the_wish_for_it_moves_less_than_half_a_graduation() -> None:
    crew = at_fasteners(THREE)
    crew.walk(until="fasteners.measure:B1")
    marks = dict(crew.state.marks_mm)
    x_mm, y_mm = marks.pop("B1")
    crew.measure("B1", x_mm + 0.4, y_mm - 0.4)
    assert dict(crew.state.marks_mm) == marks


def test_a_seat_far_off_moves_the_marks_that_can_make_up_for_it() -> None:
    crew = at_fasteners(THREE)
    crew.walk(until="fasteners.measure:B1")
    x_mm, y_mm = crew.state.marks_mm["B1"]
    before = crew.state.marks_mm["B2"]
    crew.measure("B1", x_mm, y_mm - 4)
    after = crew.state.marks_mm["B2"]
    assert after[1] < before[1]
    assert after[1] == pytest.approx(round(after[1]))


def test_a_fastener_that_cannot_carry_it_is_a_stop_until_the_lead_lets_it() -> None:
    crew = at_fasteners(ONE)
    crew.walk(until="fasteners.mark:A2")
    crew.block("A2", "same", fastener="tired hook")
    assert crew.task("fasteners.mark:A2").why.startswith("the lead must look first: A2: ")
    with pytest.raises(ConflictError, match="the lead must look"):
        crew.do("fasteners.mark:A2")
    crew.release(reason="two of them side by side next week, until then nobody below")
    assert crew.status("fasteners.mark:A2") == "ready"
    assert crew.state.release is not None
    assert crew.state.release.reason is not None


@pytest.mark.parametrize(
    ("fastener", "said"),
    [("weak hook", "no reason releases this"), ("unlabelled hook", "is not known")],
)
def test_more_than_capacity_or_an_unknown_one_is_never_released(fastener: str, said: str) -> None:
    crew = at_fasteners(ONE)
    crew.block("A2", "same", fastener=fastener)
    with pytest.raises(ConflictError, match=said):
        crew.release(reason="it will do")
    assert crew.status("fasteners.mark:A2") == "waiting"
    # another fastener is the way on
    crew.block("A2", "same", fastener="hook")
    assert crew.status("fasteners.mark:A2") == "ready"


def test_a_fastener_changed_behind_a_set_seat_keeps_the_panel_on_the_floor() -> None:
    crew = at_fasteners(ONE)
    crew.walk(until="panels.lift:A")
    crew.block("A1", "same", fastener="tired hook")
    assert crew.task("panels.lift:A").why.startswith("the lead must look first: A1: ")
    assert "A1" in crew.state.set_seats


@pytest.mark.parametrize(
    ("found", "fastener", "said"),
    [
        ("same", "wood screw", "is for stud, and here is hollow; listed for that: hook, weak"),
        ("stud", "hook", "is for hollow, and here is stud; listed for that: wood screw"),
        ("backed", "hook", "listed for that: none"),
        ("same", "a nail", "is not listed"),
        ("same", "", "choose the fastener"),
    ],
)
def test_a_fastener_picked_on_site_must_be_listed_for_what_is_there(
    found: str, fastener: str, said: str
) -> None:
    crew = at_fasteners(ONE)
    with pytest.raises(InputError, match=said):
        crew.block("A1", found, material="wood", fastener=fastener)


def test_a_picked_fastener_is_dropped_when_the_bit_meets_something_else() -> None:
    crew = at_fasteners(ONE)
    crew.block("A1", "same", fastener="tired hook")
    crew.release(reason="for one night")
    crew.walk(until="fasteners.pilot:A1")
    assert crew.state.seat("A1").fastener.name == "tired hook"
    crew.record("fasteners.pilot:A1", {"met": "wood"})
    assert crew.state.seat("A1").fastener.name == "wood screw"


@pytest.mark.parametrize(
    ("found", "material", "field"),
    [("void", "", "found"), ("", "", "found"), ("stud", "cheese", "material")],
)
def test_only_what_a_wall_can_be_is_found(found: str, material: str, field: str) -> None:
    crew = at_fasteners(ONE)
    with pytest.raises(InputError) as refusal:
        crew.block("A1", found, material=material)
    assert refusal.value.path == field


def test_nothing_is_in_the_way_of_a_seat_nobody_may_reach_yet() -> None:
    crew = Crew(ONE)
    with pytest.raises(ConflictError, match="not released"):
        crew.block("A1", "stud")
    crew.release()
    with pytest.raises(ConflictError, match="no hole before"):
        crew.block("A1", "stud")


def test_giving_up_a_seat_needs_a_hole_a_reason_and_no_panel_on_it() -> None:
    crew = at_fasteners(ONE)
    with pytest.raises(ConflictError, match="no hole yet"):
        crew.free("A1")
    with pytest.raises(InputError, match="why"):
        crew.free("A1", "bored")
    crew.walk(until="panels.engaged:A")
    with pytest.raises(ConflictError, match="hangs on this seat"):
        crew.free("A1")
    crew.undo(crew.state.records["panels.lift:A"].seq)
    crew.free("A1")
    assert "A1" not in crew.state.set_seats
    assert crew.status("panels.lift:A") == "waiting"


@pytest.mark.parametrize("act", ["block", "free", "stop"])
def test_a_seat_that_does_not_exist_is_not_found(act: str) -> None:
    crew = at_fasteners(ONE)
    attempts: dict[str, Callable[[], object]] = {
        "block": lambda: crew.block("Q7", "stud"),
        "free": lambda: crew.free("Q7"),
        "stop": lambda: crew.stop("Q7"),
    }
    with pytest.raises(NotFoundError, match="no seat 'Q7'"):
        attempts[act]()


CROSS = "fasteners.cross:upper-left1-upper-left2"


def two_seats_set() -> Crew:
    crew = at_fasteners(row(panel("upper-left")))
    crew.walk(until="panels.lift:upper-left")
    return crew


def test_seats_read_against_each_other_shift_their_estimate() -> None:
    crew = two_seats_set()
    before = crew.state.set_mm
    crew.record(CROSS, {"distance": "403", "higher": "unread"})
    after = crew.state.set_mm
    gap = after["upper-left2"][0] - after["upper-left1"][0]
    assert before["upper-left2"][0] - before["upper-left1"][0] < gap < 403
    crew.record(CROSS, {"higher": "right", "by": "3"})
    heights = crew.state.set_mm
    assert 0 < heights["upper-left2"][1] - heights["upper-left1"][1] < 3


@pytest.mark.parametrize(
    ("raw", "field"),
    [
        ({"higher": "unread"}, "distance"),
        ({"higher": "unread", "by": "3"}, "higher"),
        ({"higher": "left"}, "by"),
        ({"higher": "level", "by": "3", "distance": "400"}, "higher"),
    ],
)
def test_a_reading_between_two_seats_is_whole(raw: dict[str, str], field: str) -> None:
    crew = two_seats_set()
    with pytest.raises(InputError) as refusal:
        crew.record(CROSS, raw)
    assert refusal.value.path == field


def test_wood_behind_a_backed_lining_is_the_board_that_was_planned() -> None:
    document = row(panel("A", 1))
    document["wall"] = {"behind": "backed"}
    backed = {"name": "board screw", "into": "backed", "capacity": "40 kg", "basis": "working"}
    document["fasteners"].append(backed)
    crew = at_fasteners(document)
    crew.walk(until="fasteners.pilot:A1")
    crew.record("fasteners.pilot:A1", {"met": "wood"})
    assert crew.state.found == {}
    assert crew.state.seat("A1").fastener.name == "board screw"
    assert crew.status("fasteners.anchor:A1") == "ready"


@pytest.mark.parametrize(
    ("met", "into", "fastener"),
    [
        ("wood", "edge", "wood screw"),
        ("steel", "edge", "self-driller"),
        ("nothing", "hollow", "hook"),
    ],
)
def test_what_the_bit_meets_at_a_studs_edge_is_the_stud_or_a_surprise(
    met: str, into: str, fastener: str
) -> None:
    document = row(panel("A", 1))
    # 22 from the centre of a stud 38.1 wide: 3 beyond its edge, within the clearance of 6
    document["wall"] = {"behind": "hollow", "studs": [{"x": 22, "material": "wood"}]}
    document["fasteners"].append(
        {"name": "self-driller", "into": "steel", "capacity": "40 kg", "basis": "working"}
    )
    crew = at_fasteners(document)
    assert crew.state.seat("A1").into == "edge"
    crew.walk(until="fasteners.pilot:A1")
    crew.record("fasteners.pilot:A1", {"met": met})
    seat = crew.state.seat("A1")
    assert (seat.into, seat.fastener.name) == (into, fastener)
    # the screw for steel goes 2 mm off the other's hole, so into its pilot; the hook 8 mm off
    assert (crew.status("fasteners.mark:A1") == "done") is (met != "nothing")


FORMULA_SCREW = {
    "name": "plain screw",
    "into": "stud",
    "drop": -2,
    "screw": {"gauge": 10, "length": 75, "lining": 12.5},
}


def beside_a_stud(material: str, x: float = 22.0) -> Crew:
    """A1 that far from the centre of a stud 38.1 wide: at 22 it is 3 beyond its edge."""
    document = row(panel("A", 1))
    document["wall"] = {"behind": "hollow", "studs": [{"x": x, "material": material}]}
    document["fasteners"].append(FORMULA_SCREW)
    return at_fasteners(document)


def test_wood_at_a_studs_edge_is_still_its_edge() -> None:
    crew = beside_a_stud("unknown")
    crew.walk(until="fasteners.pilot:A1")
    crew.record("fasteners.pilot:A1", {"met": "wood"})
    seat = crew.state.seat("A1")
    assert (seat.into, seat.material) == ("edge", "wood")
    assert [f.kind for f in crew.state.findings] == ["edge"]
    # nor does it become the stud's middle by a slip of the thumb put right
    crew.record("fasteners.pilot:A1", {"met": "nothing"})
    crew.walk(until="fasteners.pilot:A1")
    crew.record("fasteners.pilot:A1", {"met": "wood"})
    assert crew.state.seat("A1").into == "edge"


def test_said_to_be_wood_it_is_still_the_edge() -> None:
    crew = beside_a_stud("unknown")
    crew.block("A1", "stud", material="wood")
    seat = crew.state.seat("A1")
    assert (seat.into, seat.material) == ("edge", "wood")


@pytest.mark.parametrize(("x", "is_inside"), [(5.0, True), (22.0, False)])
def test_a_formula_counts_inside_a_stud_confirmed_as_wood_and_at_no_edge(
    x: float, is_inside: bool
) -> None:
    """How far a screw is from the stud's edge is what NDS values presuppose."""
    crew = beside_a_stud("unknown", x)
    crew.walk(until="fasteners.pilot:A1")
    crew.record("fasteners.pilot:A1", {"met": "wood"})
    crew.block("A1", "same", fastener="plain screw")
    seat = crew.state.seat("A1")
    assert is_formula_ground(seat) is is_inside
    assert (seat_allowed_N(seat) is not None) is is_inside
    bars = [f.text for f in crew.state.findings if f.weight == "bar"]
    assert any("only inside a stud confirmed as wood" in text for text in bars) is not is_inside
