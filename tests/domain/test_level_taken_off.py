"""The level's own error is taken off every reading by it that decides something.

The other route to each number: a level whose line climbs to the right by its error is laid on an
edge that truly rises by so much, and what it shows is the edge's height over that line.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holdtrue.domain.checklist import pair_is_true, pair_off_mm
from holdtrue.domain.hanging import level_off_mm
from holdtrue.domain.levelcheck import checked_level, level_checks, read_rise_mm
from holdtrue.domain.prefill import planned_values
from holdtrue.domain.review import residual_rows
from holdtrue.domain.state import JobState, Record
from holdtrue.domain.timeline import timeline
from holdtrue.domain.trim import Verdict, verdicts
from holdtrue.domain.trimming import advice
from holdtrue.store.port import Entry
from tests.domain.crew import Crew, at_fasteners, panel, row

INCH = 25.4
WIDE = 36 * INCH
OUT = {"instrument": "spirit", "over": "24 in", "miss": "3/16 in", "higher": "high"}
"""Off by 3/32 in over 24 in: 3.9 mm in 1 m, its right end too high."""
OUT_MM = 3 / 32 * INCH / (24 * INCH) * WIDE
"""By the rule of three: over 36 in."""


def wide(name: str) -> dict[str, Any]:
    """36 in wide, its hangers 700 mm apart."""
    hangers = [{"in": WIDE / 2 + u, "down": 100} for u in (-350, 350)]
    return {**panel(name), "width": WIDE, "hangers": hangers}


def with_level(crew: Crew, check: dict[str, str]) -> Crew:
    crew.record("level.check", check)
    return crew


def hung(check: dict[str, str], *names: str, until: str = "panels.level:A") -> Crew:
    """Everything done up to the reading, the level checked before anything was read by it."""
    crew = Crew(row(*(wide(name) for name in names or ("A",))))
    crew.release()
    crew.walk(until="level.check")
    with_level(crew, check).walk(until=until)
    return crew


def shown(rise_mm: float, error_mm_per_m: float, span_mm: float) -> float:
    """What a level shows, its taped end left: the edge's right end over the level's own line."""
    line_at_right_mm = error_mm_per_m * span_mm / 1000
    return rise_mm - line_at_right_mm


def low(read_mm: float) -> dict[str, str]:
    """A reading as it is typed: which side is low, and by how much."""
    side = "left" if read_mm > 0 else "right" if read_mm < 0 else "level"
    return {"low": side, "by": f"{abs(read_mm):.6f} mm"}


def recorded(crew: Crew, task: str) -> Entry:
    """The last entry of a task."""
    return [entry for entry in crew.entries if entry.body.get("task") == task][-1]


def level_verdict(crew: Crew, where: str = "A") -> Verdict:
    return next(v for v in verdicts(crew.state) if v.kind == "level" and v.where == where)


def test_a_panel_a_wrong_level_calls_level_is_outside_and_one_that_reads_its_error_is_inside() -> (
    None
):
    crew = hung(OUT)

    crew.record("panels.level:A", low(0.0))
    verdict = level_verdict(crew)
    assert verdict.value_mm == pytest.approx(OUT_MM)
    assert round(OUT_MM, 1) == 3.6
    assert not verdict.is_inside
    assert crew.status("panels.trim:A") == "ready"

    crew.record("panels.level:A", low(-OUT_MM))
    assert level_verdict(crew).value_mm == pytest.approx(0.0, abs=1e-5)
    assert level_verdict(crew).is_inside
    assert "panels.trim:A" not in crew.ids


@pytest.mark.parametrize(("higher", "sign"), [("high", 1), ("low", -1)])
def test_the_error_is_taken_off_with_the_right_sign(higher: str, sign: int) -> None:
    crew = hung({**OUT, "higher": higher})

    crew.record("panels.level:A", low(0.0))

    assert level_verdict(crew).value_mm == pytest.approx(sign * OUT_MM)
    found = advice(crew.state)
    assert found is not None
    # the low end is raised: the left one where the right is high
    ((_, (touch,)),) = found.touches.items()
    assert (touch.seat, touch.way) == ("A1" if sign > 0 else "A2", "up")


@given(st.floats(-8.0, 8.0), st.floats(-4.0, 4.0), st.sampled_from(("spirit", "laser")))
def test_the_true_tilt_comes_back_whatever_the_level_shows(
    rise_mm: float, error: float, instrument: str
) -> None:
    state = checked(instrument, error)
    read = shown(rise_mm, error, WIDE)
    side = "left" if read > 0 else "right"
    values = {"low": side, "by": {"mm": abs(read)}}

    assert level_off_mm(state, "A", values) == pytest.approx(rise_mm, abs=1e-9)


def checked(instrument: str, error_mm_per_m: float) -> JobState:
    """A job whose level was found to be off by so much: lines of 2 m were drawn."""
    over_mm = 2000.0
    share = {"spirit": 2, "laser": 1}[instrument]
    values = {
        "instrument": instrument,
        "over": {"mm": over_mm},
        "miss": {"mm": abs(error_mm_per_m) * over_mm / 1000 * share},
        "higher": "high" if error_mm_per_m > 0 else "low",
    }
    record = Record(
        task="level.check", outcome="done", values=values, planned={}, seq=9, who="IVO", when=""
    )
    return replace(FRESH, records={"level.check": record})


FRESH = Crew(row(wide("A"))).state


def test_the_plan_is_what_this_level_shows_and_as_planned_is_inside() -> None:
    crew = hung(OUT)
    planned = planned_values(crew.state, "panels.level:A")
    assert read_rise_mm(planned) == pytest.approx(shown(0.0, 1000 * OUT_MM / WIDE, WIDE))
    assert planned["low"] == "right"

    crew.record("panels.level:A")

    assert level_verdict(crew).value_mm == 0.0
    assert crew.state.hung_read == ()


def test_a_level_nobody_can_see_off_plans_no_side() -> None:
    crew = hung({**OUT, "over": "2 m", "miss": "1 mm"})
    assert planned_values(crew.state, "panels.level:A") == {"low": "level", "by": {"mm": 0.0}}
    crew.record("panels.level:A", low(0.0))
    assert level_verdict(crew).value_mm == pytest.approx(0.25 * WIDE / 1000)


def test_what_hangs_the_marks_of_the_rest_and_the_review_go_by_the_true_tilt() -> None:
    """Two crews at the same wall: one with a true level, one whose level is off."""
    true, off = (
        hung(check, "A", "B", until="panels.level:A")
        for check in ({**OUT, "miss": "0", "higher": "same"}, OUT)
    )
    rise_mm = 2.0
    true.record("panels.level:A", low(rise_mm))
    off.record("panels.level:A", low(shown(rise_mm, 1000 * OUT_MM / WIDE, WIDE)))

    for seat, place in true.state.bearing_mm.items():
        assert off.state.bearing_mm[seat] == pytest.approx(place, abs=1e-5)
    for one, other in zip(residual_rows(true.state), residual_rows(off.state), strict=True):
        assert other.value_mm == pytest.approx(one.value_mm, abs=1e-5)
    assert advice(off.state) == advice(true.state)


def test_the_line_of_a_whole_row_goes_by_the_true_tilts() -> None:
    crew = hung(OUT, "A", "B", "C")
    crew.walk(until="secure.key")
    for name in "ABC":
        crew.record(f"panels.level:{name}", low(-OUT_MM + 0.5))
    (line,) = [v for v in verdicts(crew.state) if v.kind == "line"]
    # three panels, each 0.5 mm up to the right; their edges meet
    assert line.value_mm == pytest.approx(-1.5, abs=1e-4)


TRUE = {**OUT, "miss": "0", "higher": "same"}


def test_each_reading_is_corrected_by_the_check_it_was_made_under() -> None:
    """A level was dropped, or another one is used: what the first one read stays as it was."""
    crew = hung(TRUE, "A", "B")
    crew.record("panels.level:A", low(0.0))
    before = dict(crew.state.bearing_mm)

    with_level(crew, OUT)

    assert level_verdict(crew).value_mm == 0.0
    assert crew.state.bearing_mm == before
    crew.walk(until="panels.level:B")
    crew.record("panels.level:B", low(0.0))
    assert level_verdict(crew, "B").value_mm == pytest.approx(OUT_MM)
    assert level_verdict(crew).value_mm == 0.0
    # a laser after that takes its own tilt off what it reads, and theirs stays theirs
    with_level(crew, {**OUT, "instrument": "laser", "higher": "low"})
    crew.record("panels.level:A", low(0.0))
    assert level_verdict(crew).value_mm == pytest.approx(-2 * OUT_MM)
    assert level_verdict(crew, "B").value_mm == pytest.approx(OUT_MM)


def test_a_check_taken_back_judges_nothing() -> None:
    """A slip in the check itself: undone, and what was read under it goes by the one made then."""
    crew = hung(TRUE, "A")
    slip = with_level(crew, {**OUT, "miss": "2"}).entries[-1]
    crew.record("panels.level:A", low(-OUT_MM))
    read = crew.entries[-1]
    crew.undo(read)
    crew.undo(slip)
    with_level(crew, OUT)
    crew.record("panels.level:A", low(-OUT_MM))
    assert level_verdict(crew).value_mm == pytest.approx(0.0, abs=1e-5)
    assert [check.values["miss"]["typed"] for check in level_checks(crew.state)] == ["0", "3/16 in"]


def test_seats_read_against_each_other_keep_the_check_they_were_read_under() -> None:
    crew = hung(TRUE, until="panels.lift:A")
    crew.record("fasteners.cross:A1-A2", {"higher": "right", "by": "1 mm"}, is_sure=True)
    before = dict(crew.state.set_mm)
    with_level(crew, OUT)
    assert crew.state.set_mm == before
    crew.record("fasteners.recross:A1-A2", {"higher": "right", "by": "1 mm"}, is_sure=True)
    assert crew.state.set_mm["A2"][1] > before["A2"][1] + 0.2


def test_a_pair_of_marks_stays_true_when_another_level_is_used() -> None:
    crew = hung(TRUE, until="fasteners.pair:A1-A2")
    pair_read(crew, 0.0)
    with_level(crew, OUT)
    assert pair_is_true(crew.state, "fasteners.pair:A1-A2")


def test_the_log_tells_by_which_check_of_which_level_a_reading_was_made() -> None:
    """A job may have two levels: whoever reviews it sees under which one's check each was read."""
    crew = hung(OUT, "A", "B")
    first = recorded(crew, "level.check")
    assert first.body["instrument"] == "spirit level"
    read = crew.record("panels.level:A", low(0.0))
    assert read.body["instrument"] == f"spirit level of entry {first.seq}"
    with_level(crew, {**OUT, "instrument": "laser"})
    laser = crew.entries[-1]
    assert laser.body["instrument"] == "laser"
    crew.walk(until="panels.level:B")
    assert crew.record("panels.level:B", low(0.0)).body["instrument"] == (
        f"laser of entry {laser.seq}"
    )
    assert timeline(crew.entries, {}, "mm")[read.seq - 1].instrument == read.body["instrument"]


def test_what_is_read_by_tape_names_the_tape_alone() -> None:
    crew = hung(OUT)
    assert recorded(crew, "fasteners.measure:A1").body["instrument"] == "tape"
    assert recorded(crew, "fasteners.pair:A1-A2").body["instrument"].startswith("spirit level of")


# -- pairs of marks -------------------------------------------------------------------------------


def pair_read(crew: Crew, read_mm: float) -> None:
    """The two marks, 700 mm apart, held against each other."""
    side = "right" if read_mm > 0 else "left" if read_mm < 0 else "level"
    raw = {"spacing": "700 mm", "higher": side, "by": f"{abs(read_mm):.6f} mm"}
    crew.record("fasteners.pair:A1-A2", raw)


SPAN_OFF_MM = 1000 * OUT_MM / WIDE * 0.7


def test_two_marks_a_wrong_level_calls_level_are_pencilled_again() -> None:
    crew = hung(OUT, until="fasteners.pair:A1-A2")
    assert crew.state.seat("A1").hole_y_mm == crew.state.seat("A2").hole_y_mm

    pair_read(crew, 0.0)
    assert not pair_is_true(crew.state, "fasteners.pair:A1-A2")
    record = crew.state.records["fasteners.pair:A1-A2"]
    off = pair_off_mm(crew.state, record.values, record.planned)
    assert off == pytest.approx((0.0, SPAN_OFF_MM))

    pair_read(crew, -SPAN_OFF_MM)
    assert pair_is_true(crew.state, "fasteners.pair:A1-A2")


def test_a_pair_checked_as_planned_is_true_and_shows_what_the_level_should_read() -> None:
    crew = hung(OUT, until="fasteners.pair:A1-A2")
    planned = planned_values(crew.state, "fasteners.pair:A1-A2")
    assert read_rise_mm(planned) == pytest.approx(-SPAN_OFF_MM)
    assert planned["rise"]["mm"] == pytest.approx(0.0)
    crew.record("fasteners.pair:A1-A2")
    assert crew.status("fasteners.pair:A1-A2") == "done"


def test_a_pair_of_an_older_log_is_judged_by_the_plan_it_names() -> None:
    """Before the plan was shown as the level reads it, it had no ``rise``."""
    crew = hung(OUT, until="fasteners.pair:A1-A2")
    values = {"spacing": {"mm": 700.0}, "higher": "left", "by": {"mm": SPAN_OFF_MM}}
    old = {"spacing": {"mm": 700.0}, "higher": "level", "by": {"mm": 0.0}}
    assert pair_off_mm(crew.state, values, old) == pytest.approx((0.0, 0.0))


# -- seats against each other ---------------------------------------------------------------------


@pytest.mark.parametrize("turned", ["no", "yes"])
def test_seats_read_as_planned_by_a_wrong_level_are_as_planned(turned: str) -> None:
    crew = hung(OUT, until="panels.lift:A")
    before = dict(crew.state.set_mm)
    read_mm = -SPAN_OFF_MM if turned == "no" else SPAN_OFF_MM
    side = "right" if read_mm > 0 else "left"
    crew.record(
        "fasteners.cross:A1-A2",
        {"higher": side, "by": f"{abs(read_mm):.6f} mm", "turned": turned},
        is_sure=True,
    )
    for seat, place in before.items():
        assert crew.state.set_mm[seat] == pytest.approx(place, abs=1e-4)


def test_seats_recorded_as_planned_with_one_tap_are_as_planned() -> None:
    crew = hung(OUT, until="panels.lift:A")
    before = dict(crew.state.set_mm)
    crew.record("fasteners.cross:A1-A2")
    for seat, place in before.items():
        assert crew.state.set_mm[seat] == pytest.approx(place, abs=1e-4)


def test_a_laser_cannot_be_turned() -> None:
    laser = {**OUT, "instrument": "laser"}
    crew = hung(laser, until="panels.lift:A")
    assert checked_level(crew.state).error_mm_per_m == pytest.approx(2 * 1000 * OUT_MM / WIDE)
    raw = {"higher": "left", "by": "2 mm"}
    crew.record("fasteners.cross:A1-A2", {**raw, "turned": "no"}, is_sure=True)
    as_checked = dict(crew.state.set_mm)
    crew.record("fasteners.cross:A1-A2", {**raw, "turned": "yes"}, is_sure=True)
    assert crew.state.set_mm == as_checked


def test_an_unchecked_level_counts_as_true() -> None:
    assert checked_level(at_fasteners(row(panel("A"))).state).error_mm_per_m == 0.0
    assert checked_level(Crew(row(panel("A"))).state).error_mm_per_m == 0.0
