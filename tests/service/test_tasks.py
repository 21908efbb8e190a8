"""Recording at the wall: what is kept, what is asked once more, what is refused."""

from __future__ import annotations

import random
import threading
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from holdtrue.domain import events
from holdtrue.domain.errors import (
    AppError,
    ConflictError,
    InputError,
    NotAllowedError,
    NotFoundError,
)
from holdtrue.domain.readings import DoubtError
from holdtrue.domain.tasks import TASK_KINDS
from holdtrue.domain.trim import advice, verdicts
from holdtrue.service import jobs, review, tasks
from holdtrue.service.services import Actor
from holdtrue.service.tasks import PHOTO_LIMIT, Typed
from holdtrue.store.port import Entry, KeyReusedError, NewEntry, StreamMovedError
from tests.domain.crew import JPEG, Crew, at_fasteners, golden, panel, row

THREE = row(panel("A"), panel("B"), panel("C"))
ONE = row(panel("A"))


def accepted(crew: Crew) -> None:
    crew.walk()
    review.accept(
        crew.services,
        crew.lead,
        crew.job,
        points=dict.fromkeys(crew.state.form.seats, "seen"),
        key=crew.key(),
    )


# -- a key counts once ---------------------------------------------------------------------------


def test_the_same_form_sent_twice_is_stored_once_and_answered_alike() -> None:
    crew = at_fasteners(ONE)
    key = crew.key()
    first = crew.record("fasteners.mark:A1", key=key)
    assert crew.record("fasteners.mark:A1", key=key) == first
    assert [entry.key for entry in crew.entries].count(key) == 1


@pytest.mark.parametrize("times", [1, 2])
def test_a_measurement_sent_again_after_the_next_one_is_still_only_acknowledged(times: int) -> None:
    crew = at_fasteners(ONE)
    crew.walk(until="fasteners.measure:A1")
    raw = {"x": "200", "x.side": "left", "above": "103"}
    key = crew.key()
    first = crew.record("fasteners.measure:A1", raw, key=key)
    crew.walk()
    after = crew.state
    for _ in range(times):
        assert crew.record("fasteners.measure:A1", raw, key=key) == first
    assert crew.state is after


def test_the_same_key_for_something_else_is_refused() -> None:
    crew = at_fasteners(ONE)
    key = crew.key()
    crew.record("fasteners.mark:A1", key=key)
    before = crew.entries
    with pytest.raises(KeyReusedError):
        crew.record("fasteners.mark:A2", key=key)
    with pytest.raises(KeyReusedError):
        tasks.call_stop(crew.services, crew.installer, crew.job, "A1", what="cable", key=key)
    assert crew.entries == before


def test_the_same_key_with_another_reading_is_refused() -> None:
    crew = at_fasteners(ONE)
    crew.walk(until="fasteners.measure:A1")
    key = crew.key()
    crew.record("fasteners.measure:A1", {"x": "200", "x.side": "left", "above": "103"}, key=key)
    with pytest.raises(KeyReusedError):
        crew.record("fasteners.measure:A1", {"x": "201", "x.side": "left", "above": "103"}, key=key)


@pytest.mark.parametrize("key", ["", "short", "x" * 65, "key with spaces and more", "ключ" * 8])
def test_a_form_without_a_proper_key_is_refused(key: str) -> None:
    crew = at_fasteners(ONE)
    with pytest.raises(InputError, match="key"):
        tasks.call_stop(crew.services, crew.installer, crew.job, "A1", what="cable", key=key)


# -- two at once ---------------------------------------------------------------------------------


def test_two_who_record_different_tasks_at_once_are_both_kept() -> None:
    crew = at_fasteners(THREE)
    marks = [f"fasteners.mark:{seat}" for seat in crew.state.form.seats]
    with_all = len(crew.entries) + len(marks)
    threads = [threading.Thread(target=crew.record, args=(task,)) for task in marks]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(crew.entries) == with_all
    assert set(crew.state.marked) == set(crew.state.form.seats)


class Interrupted:
    """A store on which somebody else is quicker once."""

    def __init__(self, crew: Crew, first: Any) -> None:
        self.inner = crew.services.store
        self.first = first

    def __getattr__(self, name: str) -> Any:
        return getattr(self.inner, name)

    def append(self, stream: str, entry: NewEntry, *, expected: int) -> Entry:
        if self.first is not None:
            first, self.first = self.first, None
            first()
        return self.inner.append(stream, entry, expected=expected)


def interrupted(crew: Crew, first: Any) -> Crew:
    """The same crew, overtaken by ``first`` before its next entry is stored."""
    other = Crew.__new__(Crew)
    other.__dict__.update(crew.__dict__)
    other.services = replace(crew.services, store=Interrupted(crew, first), memo={})
    return other


def test_who_was_overtaken_decides_again_on_what_is_there_now() -> None:
    crew = at_fasteners(ONE)
    late = interrupted(crew, lambda: crew.do("fasteners.mark:A1"))
    entry = late.record("fasteners.mark:A2")
    assert entry.seq == len(crew.entries)
    assert {"A1", "A2"} <= set(crew.state.marked)


def test_who_was_overtaken_by_a_stop_is_told_so() -> None:
    crew = at_fasteners(ONE)
    late = interrupted(crew, lambda: crew.stop("A1"))
    with pytest.raises(ConflictError, match="the lead clears it"):
        late.record("fasteners.mark:A1")
    assert crew.entries[-1].type == events.STOP_CALLED


def test_two_who_measure_the_same_seat_are_both_kept_and_the_later_stands() -> None:
    crew = at_fasteners(ONE)
    crew.walk(until="fasteners.measure:A1")
    late = interrupted(crew, lambda: crew.measure("A1", -201.0, 1602.0))
    late.measure("A1", -198.0, 1600.0)
    assert [e.body["values"]["x"]["mm"] for e in crew.entries[-2:]] == [-201.0, -198.0]
    assert crew.state.set_seats["A1"].x_mm == pytest.approx(-198.0)


def test_who_is_overtaken_again_and_again_is_told_to_send_it_again() -> None:
    crew = at_fasteners(ONE)

    class Busy(Interrupted):
        def append(self, stream: str, entry: NewEntry, *, expected: int) -> Entry:
            raise StreamMovedError("somebody was quicker")

    other = interrupted(crew, None)
    other.services = replace(crew.services, store=Busy(crew, None))
    with pytest.raises(ConflictError, match="Send it again"):
        other.record("fasteners.mark:A1")


# -- who may -------------------------------------------------------------------------------------


def test_an_installer_of_another_job_finds_nothing() -> None:
    crew = at_fasteners(ONE)
    stranger = Actor(person="X", name="Xenia", role="installer", job="23456789")
    for attempt in (
        lambda: crew.record("fasteners.mark:A1", by=stranger),
        lambda: crew.undo(5, by=stranger),
    ):
        with pytest.raises(NotFoundError):
            attempt()


def test_hold_points_and_stops_are_the_leads_to_let_go() -> None:
    crew = at_fasteners(ONE, holds=("first_lift",))
    stop = crew.stop("A1")
    with pytest.raises(NotAllowedError):
        crew.clear(stop.seq, by=crew.installer)
    crew.clear(stop.seq)
    with pytest.raises(NotAllowedError):
        crew.record("hold.first_lift")


# -- the work ------------------------------------------------------------------------------------


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


# -- the wall ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("meaning", "left_x"), [("plan", -300.0), ("centre", -300.0), ("left", 0.0), ("right", -600.0)]
)
def test_the_venues_mark_places_the_work(meaning: str, left_x: float) -> None:
    crew = Crew(ONE)
    crew.release()
    crew.walk(until="reference.mark")
    raw = {"meaning": meaning, "height": "1520", "height_of": "top"}
    crew.record("reference.mark", raw)
    seat = crew.state.seat("A1")
    assert (seat.x_mm, seat.y_mm) == pytest.approx((left_x + 100, 1520 - 100))


def test_a_free_layout_keeps_its_own_places() -> None:
    document = row(panel("A", centre={"x": 0, "y": 1500}), panel("B", centre={"x": 900, "y": 1400}))
    document["layout"] = {"kind": "free"}
    crew = Crew(document)
    crew.release()
    crew.walk(until="reference.mark")
    raw = {"meaning": "left", "height": "1500", "height_of": "centre"}
    crew.record("reference.mark", raw, is_sure=True)
    assert crew.state.seat("A1").x_mm == -200
    crew.walk()
    assert crew.state.review.state == "handed_over"


def test_studs_found_change_the_fastener_and_keep_the_seat() -> None:
    crew = Crew(ONE)
    crew.release()
    crew.walk(until="behind.studs")
    raw = {"studs[0].x": "200", "studs[0].x.side": "left", "studs[0].material": "wood"}
    crew.record("behind.studs", raw)
    seat = crew.state.seat("A1")
    assert (seat.x_mm, seat.y_mm, seat.into) == (-200, 1600, "stud")
    assert (seat.fastener.name, seat.hole_y_mm) == ("wood screw", 1598)


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
    with pytest.raises(InputError, match="must lie below the seats it serves; A1 is at 1600.0 mm"):
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


# -- readings that are doubted -------------------------------------------------------------------


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
    ],
)
def test_half_of_a_reading_is_refused_and_never_counts_as_level(
    task_id: str, raw: dict[str, str], field: str
) -> None:
    crew = at_fasteners(THREE)
    crew.walk(until=task_id)
    before = crew.entries
    with pytest.raises(InputError) as refusal:
        crew.record(task_id, raw)
    assert refusal.value.path == field
    assert crew.entries == before


# -- consent -------------------------------------------------------------------------------------


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


# -- the plan is closed by holes -----------------------------------------------------------------


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


# -- fasteners -----------------------------------------------------------------------------------


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
    assert crew.state.spoilt_mm == (hole,)
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
    assert crew.task("fasteners.mark:A2").why.startswith("stop, the lead must look: A2: ")
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
    assert crew.task("panels.lift:A").why.startswith("stop, the lead must look: A1: ")
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
    attempts = {
        "block": lambda: crew.block("Q7", "stud"),
        "free": lambda: crew.free("Q7"),
        "stop": lambda: crew.stop("Q7"),
    }
    with pytest.raises(NotFoundError, match="no seat 'Q7'"):
        attempts[act]()


# -- stops ---------------------------------------------------------------------------------------


def test_a_stop_locks_what_is_within_300_mm_and_nothing_else() -> None:
    # seats 400 apart on a panel, 250 apart across the gap: A2 at -450 and B1 at -200
    crew = at_fasteners(THREE)
    before = {task.id: task.status for task in crew.tasks}
    crew.stop("A2")
    for task in crew.tasks:
        seats = set(task.subject.split("-")) if task.kind.stage == "fasteners" else set()
        if seats & {"A2", "B1"}:
            assert task.status == "stopped", task.id
            assert "stop at A2 (cable)" in task.why
        else:
            assert task.status == before[task.id], task.id


def test_a_stop_exactly_300_mm_away_locks_and_just_beyond_does_not() -> None:
    for spacing, is_locked in ((300, True), (301, False)):
        document = row(panel("A"))
        document["panels"][0]["hangers"] = [
            {"in": 100, "down": 100},
            {"in": 100 + spacing, "down": 100},
        ]
        document["panels"][0]["centre_of_gravity"] = {"in": 200, "down": 200}
        crew = at_fasteners(document)
        crew.stop("A1")
        assert (crew.status("fasteners.mark:A2") == "stopped") is is_locked, spacing


def test_under_a_stop_nothing_is_recorded_blocked_given_up_or_taken_back() -> None:
    crew = at_fasteners(ONE)
    crew.walk(until="fasteners.press:A1")
    anchor = crew.state.records["fasteners.anchor:A1"].seq
    crew.stop("A1", "pipe")
    before = crew.entries
    for attempt in (
        lambda: crew.do("fasteners.press:A1"),
        lambda: crew.block("A1", "stud"),
        lambda: crew.free("A1"),
        lambda: crew.undo(anchor),
    ):
        with pytest.raises(ConflictError, match="the lead clears it"):
            attempt()
    assert crew.entries == before


def test_a_block_is_not_taken_back_under_a_stop() -> None:
    crew = at_fasteners(ONE)
    block = crew.block("A1", "stud", material="wood")
    crew.stop("A1")
    with pytest.raises(ConflictError, match="the lead clears it"):
        crew.undo(block)


def test_a_cleared_stop_lets_the_work_go_on_and_says_who_cleared_it() -> None:
    crew = at_fasteners(ONE)
    stop = crew.stop("A1")
    crew.clear(stop.seq)
    assert crew.status("fasteners.mark:A1") == "ready"
    (kept,) = crew.state.stops
    assert (kept.cleared_by, kept.cleared_note, kept.is_open) == (
        "LEAD",
        "traced, it is dead",
        False,
    )
    with pytest.raises(ConflictError, match="not open"):
        crew.clear(stop.seq)


def test_two_stops_are_cleared_one_by_one() -> None:
    crew = at_fasteners(ONE)
    first, second = crew.stop("A1"), crew.stop("A1", "pipe")
    crew.clear(first.seq)
    assert crew.status("fasteners.mark:A1") == "stopped"
    crew.clear(second.seq)
    assert crew.status("fasteners.mark:A1") == "ready"


def test_a_stop_stays_where_the_cable_is_when_the_plan_moves() -> None:
    crew = at_fasteners(THREE)
    crew.stop("C1")  # at 450
    document = dict(crew.state.document)
    document["layout"] = {**document["layout"], "offset": 1300}
    crew.revise(document)
    crew.release()
    # A2 came to 850, A1 to 450, where C1 was; C1 itself stays locked wherever it goes
    status = {t.id: t.status for t in crew.tasks}
    assert status["fasteners.mark:A1"] == status["fasteners.mark:C1"] == "stopped"
    assert status["fasteners.mark:A2"] != "stopped"


def test_a_stop_at_a_panel_that_was_taken_out_of_the_plan_stands() -> None:
    crew = at_fasteners(THREE)
    stop = crew.stop("C2")
    crew.revise({**crew.state.document, "panels": crew.state.document["panels"][:2]})
    crew.release()
    crew.walk()
    assert crew.task("close.hand_over").why == "the stop at C2 is not cleared"
    crew.clear(stop.seq)
    crew.do("close.hand_over")


@pytest.mark.parametrize("what", ["", "load", "ghost"])
def test_a_stop_says_what_it_is_for(what: str) -> None:
    with pytest.raises(InputError, match="what"):
        at_fasteners(ONE).stop("A1", what)


# -- hung panels ---------------------------------------------------------------------------------


def hung_low(by: str = "4") -> Crew:
    crew = at_fasteners(ONE)
    crew.walk(until="panels.level:A")
    crew.record("panels.level:A", {"low": "right", "by": by})
    return crew


def test_a_panel_out_of_level_asks_for_a_trim_and_is_read_again() -> None:
    crew = hung_low()
    advised = advice(crew.state, "A")
    assert advised is not None
    # 4 mm over 600, hangers 400 apart: 2.67, on the tape 3
    assert (advised.seat, advised.raise_mm) == ("A2", 3.0)
    assert crew.status("panels.trim:A") == "ready"
    assert crew.task("secure.lock:A").why == "first finish: Trim A"
    crew.record("panels.trim:A", {"seat": "A2", "by": "3", "means": "shim"})
    assert "panels.trim:A" not in crew.ids
    assert crew.status("panels.level:A") == "ready"
    assert crew.walk()[0] == "panels.level:A"
    assert [(t.seat, t.by_mm, t.means) for t in crew.state.trims] == [("A2", 3.0, "shim")]


def test_what_cannot_be_trimmed_is_left_to_the_lead_and_does_not_go_round() -> None:
    crew = hung_low()
    crew.record("panels.trim:A", {"means": "none"})
    assert crew.status("panels.trim:A") == "done"
    assert crew.state.trims == ()
    crew.walk()
    assert crew.state.review.state == "handed_over"
    assert not verdicts(crew.state)[0].is_inside


def test_a_panel_left_as_it_is_and_read_worse_asks_again() -> None:
    crew = hung_low()
    crew.record("panels.trim:A", {"means": "none"})
    crew.record("panels.level:A", {"low": "right", "by": "6"})
    assert crew.status("panels.trim:A") == "ready"


@pytest.mark.parametrize(
    ("raw", "field"),
    [
        ({"seat": "B1", "by": "3", "means": "shim"}, "seat"),
        ({"seat": "", "by": "3", "means": "shim"}, "seat"),
        ({"seat": "A1", "by": "", "means": "shim"}, "by"),
        ({"seat": "A1", "by": "0", "means": "shim"}, "by"),
        ({"seat": "A1", "by": "3", "means": "glue"}, "means"),
    ],
)
def test_a_trim_names_its_seat_and_by_how_much(raw: dict[str, str], field: str) -> None:
    crew = hung_low()
    with pytest.raises(InputError) as refusal:
        crew.record("panels.trim:A", raw)
    assert refusal.value.path == field


def test_a_panel_inside_its_tolerance_needs_no_trim() -> None:
    crew = hung_low(by="1.5")
    assert "panels.trim:A" not in crew.ids
    with pytest.raises(NotFoundError):
        crew.record("panels.trim:A", {"seat": "A2", "by": "3", "means": "shim"})


# -- photos --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("data", "kind"),
    [
        (JPEG, "image/jpeg"),
        (b"\x89PNG\r\n\x1a\n" + bytes(4), "image/png"),
        (b"RIFF\0\0\0\0WEBP", "image/webp"),
    ],
)
def test_a_photo_is_kept_before_the_entry_that_names_it(data: bytes, kind: str) -> None:
    crew = at_fasteners(ONE)
    crew.walk(until="close.photo")
    photo = crew.record("close.photo", photo=data).body["values"]["photo"]
    assert photo["type"] == kind
    assert crew.services.store.get_blob(photo["sha256"]) == data


@pytest.mark.parametrize("data", [b"", b"GIF89a", b"RIFF\0\0\0\0WAVE", bytes(PHOTO_LIMIT + 1)])
def test_what_is_no_photo_or_too_large_is_refused(data: bytes) -> None:
    crew = at_fasteners(ONE)
    crew.walk(until="close.photo")
    with pytest.raises(InputError, match="photo"):
        crew.record("close.photo", photo=data)
    with pytest.raises(InputError, match="choose a photo"):
        crew.record("close.photo")


# -- undo ----------------------------------------------------------------------------------------


def test_an_installer_undoes_what_they_did_and_a_lead_what_anybody_did() -> None:
    crew = at_fasteners(ONE)
    code = jobs.invite_installer(crew.services, crew.lead, crew.job, label="two", key=crew.key())
    other = crew.joined(code, "Una")
    entry = crew.do("fasteners.mark:A1")
    with pytest.raises(NotAllowedError, match="Somebody else"):
        crew.undo(entry, by=other)
    crew.undo(entry, by=crew.lead)
    assert crew.state.marked == {}


def test_nothing_is_undone_twice_and_an_undo_is_not_undone() -> None:
    crew = at_fasteners(ONE)
    entry = crew.do("fasteners.mark:A1")
    undoing = crew.undo(entry)
    for seq in (entry.seq, undoing.seq, 1, 9999, -1):
        with pytest.raises(ConflictError, match="nothing to undo"):
            crew.undo(seq)


def test_what_something_later_builds_on_is_not_undone() -> None:
    crew = at_fasteners(ONE)
    crew.walk(until="fasteners.press:A1")
    with pytest.raises(ConflictError, match="Something later builds on this"):
        crew.undo(crew.state.records["fasteners.mark:A1"].seq)
    last = tasks.last_undoable(crew.services, crew.installer, crew.job, "fasteners.anchor:A1")
    assert last == crew.state.records["fasteners.anchor:A1"].seq
    for task_id in ("fasteners.mark:A1", "fasteners.press:A1"):
        assert tasks.last_undoable(crew.services, crew.installer, crew.job, task_id) is None


def test_a_level_reading_between_is_not_pulled_from_under_a_trim() -> None:
    crew = hung_low()
    trim = crew.record("panels.trim:A", {"seat": "A2", "by": "3", "means": "shim"})
    with pytest.raises(ConflictError, match="Something later"):
        crew.undo(crew.state.records["panels.engaged:A"].seq)
    crew.do("panels.level:A")
    with pytest.raises(ConflictError, match="Something later"):
        crew.undo(trim)
    crew.undo(crew.state.records["panels.level:A"].seq)
    crew.undo(trim)
    assert crew.state.trims == ()
    assert crew.status("panels.trim:A") == "ready"


def test_a_panel_is_not_taken_down_under_a_reading_against_its_neighbour() -> None:
    crew = at_fasteners(row(panel("A"), panel("B")))
    crew.walk(until="secure.lock:A")
    facing = next(t for t in crew.ids if t.startswith("panels.facing"))
    with pytest.raises(ConflictError, match="Something later"):
        crew.undo(crew.state.records["panels.level:A"].seq)
    crew.undo(crew.state.records[facing].seq)


def test_nothing_before_a_release_or_a_revised_plan_is_undone() -> None:
    crew = at_fasteners(ONE)
    entry = crew.do("fasteners.mark:A1")
    crew.revise(crew.state.document)
    with pytest.raises(ConflictError, match="Something later"):
        crew.undo(entry)


def test_a_block_of_a_seat_the_plan_no_longer_has_stays() -> None:
    crew = at_fasteners(THREE)
    mark = crew.do("fasteners.mark:A1")
    block = crew.block("C1", "stud", material="wood")
    crew.revise({**crew.state.document, "panels": crew.state.document["panels"][:2]})
    for entry in (mark, block):
        with pytest.raises(AppError):
            crew.undo(entry)


# -- a closed job --------------------------------------------------------------------------------


def test_an_accepted_job_takes_no_more_entries() -> None:
    crew = at_fasteners(ONE)
    accepted(crew)
    assert crew.state.review.state == "accepted"
    before = crew.entries
    for attempt in (
        lambda: crew.record("close.note", {"note": "one more thing"}),
        lambda: crew.measure("A1", -200.0, 1600.0),
        lambda: crew.block("A1", "stud"),
        lambda: crew.free("A1"),
        lambda: crew.stop("A1"),
        lambda: crew.undo(crew.state.records["close.note"].seq),
        lambda: crew.revise(crew.state.document),
        crew.release,
    ):
        with pytest.raises(ConflictError, match="accepted"):
            attempt()
    assert crew.entries == before


# -- hostile forms -------------------------------------------------------------------------------

NASTY = (
    "", " ", "0", "-1", "1e9", "NaN", "inf", "9" * 400, "1/0", "½", "5' 6 1/2\"", "20 3/4",
    "\x00", "\u202e", "💥" * 50, "<script>", "left", "level", "as_planned", "A1", "none", "wood",
    "99999 mm", "-0", "0.0000001", "x" * 10_000, "１２", "٣", "1,5", "1.5 m", "shim", "in", "right",
)  # fmt: skip
SUBJECTS = (
    "",
    "A1",
    "A2",
    "A",
    "B",
    "A1-A2",
    "A|B",
    "1",
    "Q",
    "A1-",
    "|",
    ":",
    "A1\n",
    "💥",
    "x" * 999,
)
FIELDS = sorted({field.name for kind in TASK_KINDS.values() for field in kind.fields})
KEYS = (
    *FIELDS,
    *(f"{field}.side" for field in FIELDS),
    *(
        f"studs[{i}].{part}"
        for i in (0, 1, 39, 40)
        for part in ("x", "x.side", "material", "width")
    ),
    "no such field",
)


@pytest.fixture(scope="module")
def half_done() -> tuple[Crew, ...]:
    """Jobs at different points: surveyed, drilled, hung."""
    found = []
    for until in ("work.hanger:A1", "fasteners.mark:A1", "fasteners.press:A1", "secure.lock:A"):
        crew = Crew(row(panel("A"), panel("B")))
        crew.release()
        crew.walk(until=until)
        found.append(crew)
    return tuple(found)


@settings(
    max_examples=400, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(seed=st.integers(0, 2**32))
def test_whatever_is_sent_to_a_task_is_stored_or_refused_in_words(
    half_done: tuple[Crew, ...], seed: int
) -> None:
    draw = random.Random(seed)
    crew = draw.choice(half_done)
    kind = draw.choice([*TASK_KINDS, "no.such", "", "fasteners"])
    own = crew.tasks
    task_id = draw.choice(own).id if draw.random() < 0.5 else f"{kind}:{draw.choice(SUBJECTS)}"
    names = [f.name for f in TASK_KINDS[kind].fields] if kind in TASK_KINDS else []
    raw = {
        key: draw.choice(NASTY)
        for key in {*names, *draw.sample(KEYS, draw.randrange(6))}
        if draw.random() < 0.9
    }
    typed = Typed(
        outcome=draw.choice(("as_planned", "measured", "done", "", "won")),
        raw=raw,
        unit=draw.choice(("mm", "in", "cm", "furlong", "")),
        is_sure=draw.random() < 0.5,
        photo=draw.choice((None, None, b"", JPEG)),
    )
    before = crew.entries
    refusal: AppError | None = None
    try:
        tasks.record_task(
            crew.services,
            draw.choice((crew.installer, crew.lead)),
            crew.job,
            task_id,
            typed,
            key=crew.key(),
        )
    except AppError as error:
        refusal = error
    assert len(crew.entries) == len(before) + (refusal is None)
    assert refusal is None or 0 < len(str(refusal)) < 1500
    assert {task.status for task in crew.tasks} <= {"waiting", "ready", "done", "stopped"}


def test_a_huge_note_is_refused_with_a_short_message() -> None:
    crew = at_fasteners(ONE)
    with pytest.raises(InputError) as refusal:
        crew.block("A1", "stud", note="x" * 1_000_000)
    assert len(str(refusal.value)) < 200


def test_tasks_posted_out_of_order_are_refused_and_say_for_what_they_wait() -> None:
    crew = Crew(golden("tidewrack"))
    for task in crew.tasks:
        if task.status == "waiting" and task.kind.has_plan:
            with pytest.raises(ConflictError, match="must wait"):
                crew.do(task.id)
    assert len(crew.entries) == 3  # created, invited, joined


@pytest.mark.parametrize("outcome", ["measured", "as_planned"])
def test_a_task_without_a_plan_is_done_and_one_with_a_plan_is_not(outcome: str) -> None:
    crew = at_fasteners(ONE)
    with pytest.raises(InputError, match="use the buttons"):
        crew.record("before.cautions", outcome=outcome)
    with pytest.raises(InputError, match="use the buttons"):
        crew.record("level.line:1", outcome="done")
