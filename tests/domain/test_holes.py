"""Holes there are: a new one keeps off every one of them, or is one of them on purpose."""

from __future__ import annotations

from collections.abc import Iterator
from copy import deepcopy
from dataclasses import dataclass, replace
from math import dist, hypot
from random import Random
from typing import Any

import pytest

from holdtrue.core.sources_trim import APART_FULL_MM, APART_PILOT_MM
from holdtrue.domain import events
from holdtrue.domain.choosing import offers
from holdtrue.domain.consequence import consequence
from holdtrue.domain.errors import ConflictError, InputError
from holdtrue.domain.fold import fold
from holdtrue.domain.outlook import chance_now
from holdtrue.domain.state import JobState, Point
from holdtrue.service import choosing
from holdtrue.store.port import Entry
from tests.domain.crew import Crew, at_fasteners, panel, row
from tests.e2e.phone_math import Values, story

ONE = row(panel("A"))
TWO = row(panel("A"), panel("B"))


def with_screw_drop(document: dict[str, Any], drop_mm: float) -> dict[str, Any]:
    """The wood screw's drop beside the hook's 6 mm."""
    new = deepcopy(document)
    new["fasteners"][1]["drop"] = drop_mm
    return new


def hole(state: JobState, seat: str) -> Point:
    """Where the seat's hole goes now."""
    row_ = state.seat(seat)
    return (row_.x_mm, row_.hole_y_mm)


def made(crew: Crew, seat: str = "A1") -> Point:
    """The seat marked, drilled and anchored: its hole."""
    crew.walk(until=f"fasteners.press:{seat}")
    return crew.state.holes[seat]


# ---- a pilot that met something else


def test_a_screw_goes_into_its_own_pilot_where_that_moves_the_seat_least() -> None:
    crew = at_fasteners(with_screw_drop(ONE, 3.5))
    crew.walk(until="fasteners.measure:A1")
    crew.do("fasteners.measure:A1")
    crew.walk(until="fasteners.pilot:A2")
    pilot, seat = hole(crew.state, "A2"), crew.state.marks_mm["A2"]
    crew.record("fasteners.pilot:A2", {"met": "wood"})
    # in the pilot 2.5 higher, clear of it 3.5 lower or 8.5 higher; beside it there may be no stud
    assert hole(crew.state, "A2") == pilot
    assert crew.state.marks_mm["A2"] == (seat[0], seat[1] + 2.5)
    # mark and pilot stand: the hole is opened for the screw
    assert crew.state.marked["A2"].fastener == "wood screw"
    assert crew.status("fasteners.pilot:A2") == "done"
    assert crew.state.old_holes == ()
    crew.do("fasteners.anchor:A2")
    assert crew.state.holes["A2"] == pilot


def test_a_pilot_said_to_have_met_something_else_is_drilled_once_more_in_its_hole() -> None:
    crew = at_fasteners(with_screw_drop(ONE, 3.5))
    crew.walk(until="fasteners.anchor:A1")
    pilot = crew.state.pilots["A1"]
    crew.block("A1", "stud", material="wood")
    assert crew.state.pilots["A1"] == hole(crew.state, "A1") == pilot
    assert (crew.status("fasteners.mark:A1"), crew.status("fasteners.pilot:A1")) == (
        "done",
        "waiting",
    )
    assert crew.task("fasteners.pilot:A1").why == "first finish: Check marks A1 to A2"


def test_a_log_in_which_it_was_marked_again_beside_its_pilot_keeps_that_mark() -> None:
    """As was asked for before a pilot counted as a hole."""
    crew = at_fasteners(with_screw_drop(ONE, 3.5))
    crew.walk(until="fasteners.pilot:A1")
    pilot = hole(crew.state, "A1")
    crew.record("fasteners.pilot:A1", {"met": "wood"})
    crew.do("fasteners.mark:A1")
    last = crew.entries[-1]
    beside = {**last.body["mark"], "y_mm": pilot[1] - 6, "hole_y_mm": pilot[1] - 2.5}
    state = fold([*crew.entries[:-1], replace(last, body={**last.body, "mark": beside})])
    assert state.marked["A1"].hole_y_mm == pilot[1] - 2.5
    assert [one.at_mm for one in state.old_holes] == [pilot]
    assert not state.is_drilled("A1")
    assert "fasteners.pilot:A1" not in state.records


def test_a_screw_goes_beside_its_pilot_where_that_moves_the_seat_less() -> None:
    # in the pilot the seat would come 5 mm higher, 6 mm below it 1 mm lower
    crew = at_fasteners(with_screw_drop(ONE, 1))
    crew.walk(until="fasteners.measure:A1")
    crew.do("fasteners.measure:A1")
    crew.walk(until="fasteners.pilot:A2")
    pilot, seat = hole(crew.state, "A2"), crew.state.marks_mm["A2"]
    crew.record("fasteners.pilot:A2", {"met": "wood"})
    assert hole(crew.state, "A2") == (pilot[0], pilot[1] - APART_PILOT_MM)
    assert crew.state.marks_mm["A2"] == (seat[0], seat[1] - 1)


def test_the_rest_answers_to_a_seat_that_moved_for_its_hole_and_the_finish_is_said() -> None:
    crew = at_fasteners(with_screw_drop(TWO, 3.5))
    first, *others = crew.state.order
    crew.walk(until=f"fasteners.pilot:{first}")
    before = crew.state
    crew.record(f"fasteners.pilot:{first}", {"met": "wood"})
    after = crew.state
    up = after.marks_mm[first][1] - before.marks_mm[first][1]
    assert up == pytest.approx(2.5)
    # nothing else is set: the others come up with it, and all is level
    assert all(after.marks_mm[seat][1] > before.marks_mm[seat][1] for seat in others)
    found = consequence(before, after, None)
    assert found.finish["level"].share < 1
    assert chance_now(after) == pytest.approx(chance_now(before), abs=0.1)


def test_a_pilot_that_could_not_tell_is_a_hole_all_the_same() -> None:
    crew = at_fasteners(ONE)
    crew.walk(until="fasteners.pilot:A1")
    place = hole(crew.state, "A1")
    crew.record("fasteners.pilot:A1", {"met": "unclear"})
    assert crew.state.pilots == {"A1": place}
    assert crew.state.is_drilled("A1")
    assert hole(crew.state, "A1") == place


# ---- given up, once and more


@pytest.mark.parametrize("why", ["spent", "wrong_hole"])
def test_a_hole_given_up_is_kept_off_by_what_an_opened_hole_asks(why: str) -> None:
    crew = at_fasteners(TWO)
    old = made(crew)
    crew.free("A1", why)
    assert dist(hole(crew.state, "A1"), old) >= APART_FULL_MM - 1e-6
    # it is on the graduation of this tape, and as near as that allows
    assert dist(hole(crew.state, "A1"), old) <= APART_FULL_MM + 2
    assert all(at == round(at) for at in hole(crew.state, "A1"))


def test_every_hole_made_at_a_seat_is_kept_off_not_only_the_last() -> None:
    crew = at_fasteners(TWO)
    old: list[Point] = []
    for _ in range(4):
        old.append(made(crew))
        crew.free("A1", "spent")
        assert all(dist(hole(crew.state, "A1"), one) >= APART_FULL_MM - 1e-6 for one in old)
    assert [one.at_mm for one in crew.state.old_holes] == old


def test_a_second_correction_keeps_off_the_first_hole() -> None:
    crew = at_fasteners(TWO)
    crew.walk(until="fasteners.measure:A1")
    for _ in range(3):
        x, y = crew.state.marks_mm["A1"]
        entry = crew.measure("A1", x, y - 5)
        choosing.choose(
            crew.services,
            crew.installer,
            crew.job,
            "A1",
            choice="correct",
            of=entry.seq,
            key=crew.key(),
        )
        new = hole(crew.state, "A1")
        assert all(dist(new, one.at_mm) >= APART_FULL_MM - 1e-6 for one in crew.state.old_holes)
        assert crew.state.aims["A1"] == crew.state.marks_mm["A1"]
        crew.walk(until="fasteners.measure:A1")
    assert len(crew.state.old_holes) == 3


def test_a_hole_is_where_its_seat_was_read_not_where_it_was_marked() -> None:
    """Measured from the tape's 1: an inch to the right. The planned place is clear of that hole."""
    crew = at_fasteners(ONE)
    crew.walk(until="fasteners.measure:A1")
    x, y = crew.state.marks_mm["A1"]
    crew.measure("A1", x + 25.4, y)
    crew.free("A1", "wrong_hole")
    (old,) = crew.state.old_holes
    assert old.at_mm == pytest.approx((x + 25.4, y + 6), abs=0.01)
    assert crew.state.marks_mm["A1"] == (x, y)


def test_a_wrong_hole_nobody_read_is_where_it_is_said_to_be() -> None:
    crew = at_fasteners(ONE)
    crew.walk(until="fasteners.press:A1")
    x, y = crew.state.marks_mm["A1"]
    line = crew.state.line_height_mm(crew.state.line_of("A1"))
    said = {"hole.x": "170", "hole.x.side": "left", "hole.above": f"{y + 6 - line}"}
    entry = crew.free("A1", "wrong_hole", said)
    assert entry.body["read"]["x"] == {"mm": -170.0, "typed": "170", "side": "left"}
    assert crew.state.old_holes[0].at_mm == pytest.approx((-170.0, y + 6))
    # 30 mm off: the mark may stay where it was
    assert crew.state.marks_mm["A1"] == (x, y)


@pytest.mark.parametrize(
    ("said", "field"),
    [
        ({"hole.x": "12"}, "hole.x.side"),
        ({"hole.x": "12", "hole.x.side": "left"}, "hole.above"),
        ({"hole.above": "12"}, "hole.x"),
        ({"hole.x": "wide", "hole.x.side": "left", "hole.above": "3"}, "hole.x"),
    ],
)
def test_half_a_place_is_none(said: dict[str, str], field: str) -> None:
    crew = at_fasteners(ONE)
    made(crew)
    with pytest.raises(InputError) as refusal:
        crew.free("A1", "wrong_hole", said)
    assert refusal.value.path == field
    assert crew.state.old_holes == ()


def test_a_hole_at_one_seat_is_kept_off_by_its_neighbour_too() -> None:
    crew = at_fasteners(ONE)
    made(crew)
    x, y = crew.state.marks_mm["A2"]
    line = crew.state.line_height_mm(crew.state.line_of("A1"))
    said = {"hole.x": f"{x - 10}", "hole.x.side": "right", "hole.above": f"{y + 6 - line}"}
    assert x - 10 > 0
    crew.free("A1", "wrong_hole", said)
    assert dist(hole(crew.state, "A2"), (x - 10, y + 6)) >= APART_FULL_MM - 1e-6


def test_a_mark_left_keeps_off_a_neighbours_hole_as_soon_as_that_is_open() -> None:
    """Planned 12.5 apart, marked 12 apart: clear of a pilot, not of what the plan keeps."""
    document = deepcopy(ONE)
    for hanger, x in zip(document["panels"][0]["hangers"], (293.8, 306.3), strict=True):
        hanger["in"] = x
    crew = at_fasteners(document)
    first, other = crew.state.order
    crew.walk(until=f"fasteners.anchor:{first}")
    assert dist(hole(crew.state, other), crew.state.pilots[first]) == 12
    crew.do(f"fasteners.anchor:{first}")
    opened = crew.state.holes[first]
    assert 12.5 - 1e-6 <= dist(hole(crew.state, other), opened) < 13.5
    assert crew.status(f"fasteners.mark:{other}") == "ready"


def test_a_seat_piloted_on_an_old_mark_stays_on_it_even_if_nobody_could_tell_what_was_met() -> None:
    """Else it is marked once more beside its own pilot, nearer than a bit keeps straight."""
    crew = at_fasteners(TWO)
    first, other, *_ = crew.state.order
    crew.walk(until=f"fasteners.measure:{first}")
    pencilled = hole(crew.state, other)
    x, y = crew.state.marks_mm[first]
    crew.measure(first, x, y + 3)
    assert hole(crew.state, other) != pencilled
    crew.record(f"fasteners.pilot:{other}", {"met": "unclear"})
    assert crew.state.pilots[other] == pencilled
    assert hole(crew.state, other) == pencilled


def test_a_new_hole_for_a_screw_stays_in_the_stud_the_pilot_found() -> None:
    crew = at_fasteners(ONE)
    crew.walk(until="fasteners.pilot:A1")
    crew.record("fasteners.pilot:A1", {"met": "wood"})
    old = made(crew)
    crew.free("A1", "spent")
    new = hole(crew.state, "A1")
    assert new[0] == old[0]
    assert abs(new[1] - old[1]) >= APART_FULL_MM


def test_a_new_hole_for_a_hook_stays_between_the_studs_and_off_what_is_closed() -> None:
    document = deepcopy(ONE)
    # A1 at -200; a stud from -189 to -151 with its edges, a duct to the left of it
    document["wall"]["studs"] = [{"x": -164, "material": "wood"}]
    duct = {"x0": -260, "y0": 1500, "x1": -215, "y1": 1700, "why": "duct"}
    document["wall"]["keep_clear"] = [duct]
    crew = at_fasteners(document)
    old = made(crew)
    assert old[0] == -200
    crew.free("A1", "spent")
    x, y = hole(crew.state, "A1")
    assert crew.state.seat("A1").into == "hollow"
    assert not -260 <= x <= -215
    assert not crew.state.open_findings
    assert hypot(x - old[0], y - old[1]) >= APART_FULL_MM - 1e-6


def test_holes_of_a_panel_taken_off_the_plan_stay_in_the_wall() -> None:
    crew = at_fasteners(TWO)
    first = crew.state.order[0]
    old = made(crew, first)
    left = "B" if first.startswith("A") else "A"
    document = deepcopy(dict(crew.state.document))
    document["panels"] = [panel(left)]
    document["layout"] = {
        "kind": "row",
        "gap": 0,
        "height": {"of": "centre", "at": 1500},
        # its own seats come where the other panel's were
        "offset": -325 if first.startswith("A") else 325,
    }
    crew.revise(document)
    assert [one.at_mm for one in crew.state.old_holes] == [old]
    for seat in crew.state.form.seats:
        assert dist(hole(crew.state, seat), old) >= APART_FULL_MM - 1e-6


def test_an_offer_to_correct_a_hook_names_the_way_from_the_hole_there_is() -> None:
    crew = at_fasteners(TWO)
    crew.walk(until="fasteners.measure:A1")
    x, y = crew.state.marks_mm["A1"]
    crew.measure("A1", x + 8, y)
    offer = next(one for one in offers(crew.state, "A1") if one.name == "correct")
    assert offer.hole_by_mm is not None
    assert offer.aim is not None
    drop = next(f.drop_mm for f in crew.state.job.fasteners if f.name == offer.fastener)
    read = crew.state.set_mm["A1"]
    new = (offer.aim[0], offer.aim[1] + drop)
    assert new == pytest.approx(
        (read[0] + offer.hole_by_mm[0], read[1] + 6 + offer.hole_by_mm[1]), abs=1e-6
    )


# ---- kept


def test_a_spent_fastener_may_go_back_into_its_hole() -> None:
    crew = at_fasteners(ONE)
    crew.walk(until="panels.lift:A")
    place, seat = crew.state.holes["A1"], crew.state.set_seats["A1"]
    crew.free("A1", "same_hole")
    assert crew.state.holes["A1"] == place
    assert crew.state.old_holes == ()
    assert crew.status("fasteners.pilot:A1") == "done"
    assert crew.walk(until="panels.lift:A") == [
        "fasteners.anchor:A1",
        "fasteners.press:A1",
        "fasteners.measure:A1",
    ]
    assert crew.state.set_seats["A1"].given_mm == seat.given_mm


def test_a_lost_reading_is_read_again_and_nothing_else() -> None:
    crew = at_fasteners(ONE)
    crew.walk(until="fasteners.measure:A1")
    x, y = crew.state.marks_mm["A1"]
    crew.measure("A1", x + 1, y - 2)
    crew.walk(until="panels.lift:A")
    crew.record("fasteners.cross:A1-A2", {"distance": "400", "higher": "level"})
    before = crew.state
    crew.free("A1", "dropped")
    assert "A1" not in crew.state.set_seats
    assert (crew.state.holes, crew.state.marked) == (before.holes, before.marked)
    assert crew.state.marks_mm["A1"] == (x, y)
    assert "fasteners.cross:A1-A2" not in crew.state.records
    assert crew.walk(until="panels.lift:A") == ["fasteners.measure:A1"]


def test_a_hanger_that_moved_is_measured_again_and_the_marks_left_answer_to_it() -> None:
    crew = at_fasteners(TWO)
    first = crew.state.order[0]
    crew.walk(until=f"fasteners.measure:{first}")
    x, y = crew.state.marks_mm[first]
    crew.measure(first, x, y)
    holes, marks = crew.state.holes, dict(crew.state.marks_mm)
    hanger = f"work.hanger:{first}"
    crew.free(first, "moved")
    assert (crew.state.holes, crew.state.old_holes) == (holes, ())
    assert crew.status(hanger) == "ready"
    assert crew.task(f"fasteners.measure:{first}").why.endswith(f"Hanger {first}")
    # 3 mm further down than planned: its panel hangs that much higher on this seat
    crew.record(hanger, {"edge": "left", "in": f"{100 if first[1] == '2' else 500}", "down": "103"})
    crew.measure(first, x, y)
    assert crew.state.set_mm[first] == pytest.approx((x, y), abs=0.5)
    other = first[0] + ("1" if first[1] == "2" else "2")
    assert crew.state.marks_mm[other][1] > marks[other][1]


def test_only_what_is_there_is_kept() -> None:
    crew = at_fasteners(ONE)
    crew.walk(until="fasteners.anchor:A1")
    with pytest.raises(ConflictError, match="no fastener yet"):
        crew.free("A1", "same_hole")
    with pytest.raises(ConflictError, match="not been read yet"):
        crew.free("A1", "dropped")


def test_a_log_written_before_readings_could_be_taken_back_still_gives_its_seats() -> None:
    """Then a lost reading gave its hole up; the hole was good, and is drilled at once more."""
    crew = at_fasteners(ONE)
    crew.walk(until="panels.lift:A")
    old = crew.state.holes["A1"]
    crew.free("A1", "dropped")
    entries = [*crew.entries[:-1], _without_keeps(crew.entries[-1])]
    state = fold(entries)
    assert [(one.at_mm, one.is_usable) for one in state.old_holes] == [(old, True)]
    assert "A1" not in state.holes
    assert "fasteners.mark:A1" not in state.records
    assert hole(state, "A1") == old


def _without_keeps(entry: Entry) -> Entry:
    body = {name: value for name, value in entry.body.items() if name != "keeps"}
    return replace(entry, body=body)


# ---- any sequence of events


@dataclass
class Wall:
    """The holes of a wall, kept beside the state from the events alone."""

    live: dict[str, tuple[Point, bool]]
    old: list[tuple[str, Point, bool]]

    def note(self, event: Values, before: JobState, after: JobState) -> None:
        """Holes that came and went; one is where it was marked, or its seat was read, or said."""
        for seat, (_, is_full) in list(self.live.items()):
            if seat not in after.pilots and seat not in after.holes:
                told = tuple(event["hole_mm"]) if event.get("hole_mm") else self.read(before, seat)
                self.old.append((seat, told or self.live[seat][0], is_full))
                del self.live[seat]
        for seat in (*after.pilots, *after.holes):
            mark = after.marked[seat]
            place = (mark.seat_mm[0], mark.hole_y_mm)
            # a reading taken back, or measured again as planned, no longer says where it is
            self.live[seat] = (place, seat in after.holes)
        for seat in self.live:
            read = self.read(after, seat)
            if read is not None:
                self.live[seat] = (read, self.live[seat][1])

    @staticmethod
    def read(state: JobState, seat: str) -> Point | None:
        built = state.set_seats.get(seat)
        again = f"fasteners.again:{seat}" in state.records
        if built is None or not (built.is_measured or again):
            return None
        fastener, (x, y) = state.seat(seat).fastener, state.set_mm[seat]
        return (x, y + (fastener.drop_mm if fastener else 0.0))

    def too_near(self, state: JobState) -> Iterator[str]:
        """Planned holes nearer to a hole there is than they may be."""
        planned = dict(zip(state.form.seats, state.plan.arrangement.seats_mm, strict=True))
        holes = [*self.old, *((seat, at, full) for seat, (at, full) in self.live.items())]
        for row_ in state.current.seats:
            if row_.seat in state.set_seats or row_.seat in self.live:
                continue
            for seat, at, is_full in holes:
                least = APART_FULL_MM if is_full else APART_PILOT_MM
                if seat != row_.seat:
                    least = min(least, dist(planned[seat], planned[row_.seat]))
                off = dist((row_.x_mm, row_.hole_y_mm), at)
                is_same = seat == row_.seat and not is_full and off < 1e-6
                if off < least - 1e-5 and not is_same:
                    yield f"{row_.seat}: {off} from {seat}'s hole at {at}, {least} asked for"


def _is_in_its_pilot(before: JobState, after: JobState, seat: str) -> bool:
    """Another fastener goes into the pilot there was."""
    both = (before.pilots.get(seat), after.pilots.get(seat))
    marks = (before.marked.get(seat), after.marked.get(seat))
    if None in (*both, *marks) or seat in after.set_seats:
        return False
    return both[0] == both[1] and marks[0].fastener != marks[1].fastener  # type: ignore[union-attr]


def test_no_planned_hole_is_ever_too_near_a_hole_that_was_made() -> None:
    aims, opened, again = 0, 0, 0
    for seed in range(1000):
        told = story(Random(seed))
        if told.states[0].old_holes or told.states[0].set_seats:
            continue  # begun before: what was made then is not told
        wall = Wall(live={}, old=[])
        wall.note({}, told.states[0], told.states[0])
        for event, before, after in zip(told.events, told.states, told.states[1:], strict=False):
            wall.note(event, before, after)
            assert list(wall.too_near(after)) == [], (seed, event)
            aims += len(after.aims)
            opened += len(wall.old)
            again += _is_in_its_pilot(before, after, str(event.get("seat")))
    # the property would be empty if nothing was given up, aimed elsewhere or drilled out again
    assert aims > 100
    assert opened > 100
    assert again >= 3


def test_the_events_name_what_was_kept_and_where_a_wrong_hole_is() -> None:
    crew = at_fasteners(ONE)
    crew.walk(until="panels.lift:A")
    entry = crew.free("A1", "dropped")
    assert entry.type == events.SEAT_FREED
    assert entry.body["keeps"] is True
    entry = crew.free("A2", "spent")
    assert "keeps" not in entry.body
