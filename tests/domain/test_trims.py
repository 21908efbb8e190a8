"""Hung panels: read, trimmed, read again, or left to the lead."""

from __future__ import annotations

from dataclasses import replace

import pytest

from holdtrue.core.trim import find_trim
from holdtrue.domain import trimming
from holdtrue.domain.card import alone, card
from holdtrue.domain.errors import (
    InputError,
    NotFoundError,
)
from holdtrue.domain.fold import fold
from holdtrue.domain.review import residual_rows
from holdtrue.domain.timeline import timeline
from holdtrue.domain.trim import verdicts
from holdtrue.domain.trimming import advice, kit_of
from holdtrue.service import jobs
from tests.domain.crew import Crew, at_fasteners, hung_low, panel, row
from tests.domain.test_choosing import choose, set_low


def test_a_panel_out_of_level_asks_for_a_trim_and_is_read_again() -> None:
    crew = hung_low()
    # 4 mm over 600, hangers 400 apart: 2.67 would be level; 2.5 is the least that comes close
    assert touches(crew) == {"A": [("shim", "A2", "up", 2.5)]}
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
        ({"seat": "", "by": "3", "means": "slide"}, "way"),
        ({"seat": "A1", "by": "3", "means": "shim", "way": "left"}, "way"),
    ],
)
def test_a_trim_names_its_seat_and_by_how_much(raw: dict[str, str], field: str) -> None:
    crew = hung_low()
    with pytest.raises(InputError) as refusal:
        crew.record("panels.trim:A", raw)
    assert refusal.value.path == field


def test_a_panel_inside_its_tolerance_needs_no_trim() -> None:
    crew = hung_low(by="0.5")
    assert "panels.trim:A" not in crew.ids
    with pytest.raises(NotFoundError):
        crew.record("panels.trim:A", {"seat": "A2", "by": "3", "means": "shim"})


def test_a_panel_on_one_hanger_is_not_levelled_by_raising_it() -> None:
    crew = at_fasteners(row(panel("A", 1)))
    crew.walk(until="panels.level:A")
    crew.record("panels.level:A", {"low": "left", "by": "4"})
    assert touches(crew) == {}
    crew.record("panels.trim:A", {"seat": "A1", "by": "1", "means": "bumper"})
    assert crew.status("panels.level:A") == "ready"


def test_a_panel_on_one_hanger_read_before_its_neighbours_hang_is_left_to_the_lead() -> None:
    crew = at_fasteners(row(panel("A"), panel("B", 1), panel("C")))
    crew.walk(until="panels.lift:B")
    for task in ("panels.lift:B", "panels.engaged:B"):
        crew.do(task)
    crew.record("panels.level:B", {"low": "left", "by": "4"})
    assert touches(crew) == {}
    assert crew.status("panels.trim:B") == "ready"


def test_a_gap_read_outside_is_mended_by_a_slide_that_lifts_nothing_off() -> None:
    crew = at_fasteners(row(panel("A"), panel("B")))
    facing = "panels.facing:A|B"
    crew.walk(until=facing)
    raw = {"first": "52", "second": "52", "ahead": "q", "by": "1", "flush": "0"}
    while crew.status(facing) == "ready":  # too near to tell, until it was read once more
        crew.record(facing, raw)
    read = {v.kind: (v.value_mm, v.is_inside) for v in verdicts(crew.state) if v.where == "A|B"}
    assert read == {
        "gap": (2, False),
        "taper": (0, True),
        "step": (-1, True),
        "flush": (0, True),
    }
    found = advice(crew.state)
    assert found is not None
    ((slid, (touch,)),) = found.touches.items()
    assert (touch.means, touch.way) == ("slide", {"A": "right", "B": "left"}[slid])
    assert found.lift_offs == ()
    assert found.remains == ()
    crew.record(f"panels.trim:{slid}")
    assert crew.state.trims[-1].by_mm == touch.by_mm
    assert crew.status(facing) == "ready"
    crew.walk()
    assert crew.state.review.state == "handed_over"


def too_wide() -> tuple[Crew, str, str]:
    """Two panels 2 mm too far apart, the one to be slid, and which way."""
    crew = at_fasteners(row(panel("A"), panel("B")))
    crew.walk(until="panels.facing:A|B")
    read_too_wide(crew)
    ((panel_name, ((means, _, way, _),)),) = touches(crew).items()
    assert means == "slide"
    return crew, panel_name, way


def read_too_wide(crew: Crew) -> None:
    raw = {"first": "52", "second": "52", "ahead": "as_planned", "flush": "0"}
    crew.record("panels.facing:A|B", raw)


@pytest.mark.parametrize("went", ["0", "0.5"])
def test_a_panel_that_slides_less_far_than_advised_is_not_slid_that_way_again(went: str) -> None:
    crew, first, way = too_wide()
    crew.record(f"panels.trim:{first}", {"means": "slide", "way": way, "by": went})
    read_too_wide(crew)
    # the gap is closed from its other side
    other = {"A": "B", "B": "A"}[first]
    ((panel_name, ((means, _, back, _),)),) = touches(crew).items()
    assert (panel_name, means, back) == (other, "slide", {"right": "left", "left": "right"}[way])


def test_a_panel_that_went_as_far_as_advised_is_slid_on() -> None:
    crew, first, _ = too_wide()
    crew.record(f"panels.trim:{first}")
    read_too_wide(crew)
    assert set(touches(crew)) <= {"A", "B"}
    assert kit_of(crew.state).ends == frozenset()


def test_taken_off_and_hung_again_a_panel_may_slide_anew() -> None:
    crew, first, way = too_wide()
    crew.record(f"panels.trim:{first}", {"means": "slide", "way": way, "by": "0"})
    index = {"A": 0, "B": 1}[first]
    assert kit_of(crew.state).ends == {(index, 1 if way == "right" else -1)}
    crew.record(f"panels.level:{first}", {"low": "left", "by": "4"})
    crew.walk(until=f"panels.trim:{first}")
    crew.record(f"panels.trim:{first}", {"means": "shim", "seat": f"{first}1", "by": "1"})
    assert kit_of(crew.state).ends == frozenset()


def test_all_advised_touches_are_recorded_with_one_tap() -> None:
    crew = hung_low()
    entry = crew.record("panels.trim:A")
    assert entry.body["outcome"] == "as_planned"
    assert [(t.seat, t.by_mm, t.means, t.way) for t in crew.state.trims] == [
        ("A2", 2.5, "shim", "up")
    ]
    crew.undo(entry)
    assert crew.state.trims == ()
    assert crew.status("panels.trim:A") == "ready"


def test_nothing_is_recorded_as_advised_where_nothing_is_advised() -> None:
    crew = at_fasteners(row(panel("A", 1)))
    crew.walk(until="panels.level:A")
    crew.record("panels.level:A", {"low": "left", "by": "4"})
    with pytest.raises(InputError) as refusal:
        crew.record("panels.trim:A")
    assert refusal.value.path == "outcome"


def test_shims_put_in_can_come_out_again() -> None:
    crew = hung_low()
    for ring in ("A2", "A1"):
        crew.record("panels.trim:A", {"seat": ring, "by": "4", "means": "shim"})
        crew.record("panels.level:A", {"low": "left", "by": "4"})
    # no more goes into either ring
    ((seat, way, by_mm),) = [(s, w, by) for _, s, w, by in touches(crew)["A"]]
    assert (seat, way) == ("A2", "down")
    assert by_mm <= 3.0


def test_what_no_trim_brings_inside_is_said_with_the_best_there_is() -> None:
    crew = at_fasteners(row(panel("A"), panel("B")))
    facing = "panels.facing:A|B"
    crew.walk(until=facing)
    # more than two panels can be slid in their slack
    crew.record(
        facing, {"first": "62", "second": "62", "ahead": "as_planned", "flush": "0"}, is_sure=True
    )
    found = advice(crew.state)
    assert found is not None
    assert [(v.kind, v.where) for v in found.remains] == [("gap", "A|B")]
    assert 1.5 < found.remains[0].value_mm < 12


def test_the_level_read_the_next_day_takes_the_place_of_the_first() -> None:
    crew = Crew(row(panel("A")))
    jobs.release(
        crew.services,
        crew.lead,
        crew.job,
        reason="",
        way="fasteners_first",
        next_day=True,
        key=crew.key(),
    )
    crew.walk(until="close.next_day:A")
    crew.record("close.next_day:A", {"low": "right", "by": "3"})
    (level,) = [v for v in verdicts(crew.state) if v.kind == "level"]
    assert (level.value_mm, level.is_inside) == (-3.0, False)
    assert crew.status("panels.trim:A") == "ready"
    crew.record("panels.trim:A")
    assert crew.status("close.next_day:A") != "done"
    assert crew.status("panels.level:A") == "ready"
    crew.walk()
    assert crew.state.review.state == "handed_over"


def test_the_line_of_a_row_is_judged_once_every_gap_is_read() -> None:
    crew = at_fasteners(row(panel("A"), panel("B"), panel("C")))
    crew.walk(until="panels.facing:B|C")
    assert "line" not in {v.kind for v in verdicts(crew.state)}
    # B a little higher than A, C than B: each step inside, the line outside
    crew.record("panels.facing:B|C", {**FLUSH, "ahead": "q", "by": "1.4"})
    crew.record("panels.facing:A|B", {**FLUSH, "ahead": "q", "by": "1.4"})
    (line,) = [v for v in verdicts(crew.state) if v.kind == "line"]
    assert line.where == "A..C"
    assert line.value_mm == pytest.approx(-2.8, abs=0.6)


def test_a_bumper_brings_a_leaning_edge_out() -> None:
    crew = at_fasteners(row(panel("A"), panel("B")))
    facing = "panels.facing:A|B"
    crew.walk(until=facing)
    crew.record(facing, {**FLUSH, "flush": "3", "out": "p"})
    (touch,) = touches(crew)["B"]
    assert touch[0] == "bumper"
    assert touch[2] == "out"


def low_by_9(turn: str | None) -> Crew:
    """9 mm over 600, hangers 400 apart: 5 mm up brings it inside, a ring takes 4 mm of shims."""
    document = row(panel("A"))
    if turn is not None:
        document["fasteners"][0]["turn"] = turn
    crew = at_fasteners(document)
    crew.walk(until="panels.level:A")
    crew.record("panels.level:A", {"low": "right", "by": "9"})
    return crew


def test_a_screw_is_turned_where_its_fastener_says_what_a_turn_raises() -> None:
    found = touches(low_by_9("1 mm"))["A"]
    assert [means for means, *_ in found].count("screw") == 1
    assert ("shim", "A2", "up") in {(means, seat, way) for means, seat, way, _ in found}
    assert all(by_mm % 0.5 == 0 for _, _, _, by_mm in found)


def test_a_screw_nobody_says_that_of_is_not_turned() -> None:
    crew = low_by_9(None)
    found = advice(crew.state)
    assert {means for means, *_ in touches(crew)["A"]} == {"shim"}
    assert found is not None
    assert [(v.kind, v.where) for v in found.remains] == [("level", "A")]


def test_what_was_turned_before_counts() -> None:
    crew = low_by_9("1 mm")
    crew.record("panels.trim:A", {"means": "screw", "seat": "A2", "way": "up", "by": "1.5"})
    ways = {kind: (down, up) for kind, _, down, up in kit_of(crew.state).of_seat("A2")}
    assert ways["screw"] == (3.5, 0.5)
    assert ways["shim"] == (0.0, 4.0)


@pytest.mark.parametrize(("said", "hangers"), [("yes", {"B2": 1.0}), ("no", {}), (None, {})])
def test_a_hanger_is_moved_only_by_the_makers_yes_that_the_lead_recorded(
    said: str | None, hangers: dict[str, float]
) -> None:
    crew = set_low()
    if said is not None:
        choose(crew, "move_hanger")
        crew.walk(until="panels.move:B2")
        crew.record("panels.move:B2", {"agreed": said, "who": "Mara, maker"}, by=crew.lead)
    assert kit_of(crew.state).hanger_mm == hangers


def raised_by(means: str) -> Crew:
    """A panel read 4 mm low over 600 at its right end, its right seat raised 2.5 by these means."""
    crew = hung_low()
    by = {"means": means, "seat": "A2", "way": "up", "by": "2.5"}
    crew.record("panels.trim:A", by)
    return crew


def test_a_hanger_moved_on_a_hung_panel_is_in_the_job_for_the_next_venue() -> None:
    """Its panel stands up by it, so it goes down on the panel; nothing else differs from a shim."""
    moved, shimmed = raised_by("hanger"), raised_by("shim")
    downs = [hanger["down"] for hanger in moved.state.document["panels"][0]["hangers"]]
    assert downs == ["102.5 mm", 100]  # measured on the back
    assert moved.state.job.panels[0].hangers[1].v_mm == pytest.approx(97.5)
    assert shimmed.state.job.panels[0].hangers[1].v_mm == pytest.approx(100.0)
    assert alone(moved.state.plan).seats[1].y_mm == pytest.approx(97.5)
    assert [t.means for t in card(moved.state, moved.entries).trims] == ["hanger, already moved"]

    a, b = moved.state, shimmed.state
    assert a.hang is not None
    assert b.hang is not None
    assert a.hang.deviation_mm == pytest.approx(b.hang.deviation_mm)
    assert a.hang.covariance_mm2 == pytest.approx(b.hang.covariance_mm2)
    assert a.set_mm == b.set_mm
    for mine, same in zip(residual_rows(a), residual_rows(b), strict=True):
        assert (mine.kind, mine.is_open) == (same.kind, same.is_open)
        assert mine.value_mm == pytest.approx(same.value_mm)
    assert moved.walk()[0] == "panels.level:A"
    moved.record("panels.level:A", {"low": "right", "by": "0.2"})
    assert all(v.is_inside for v in verdicts(moved.state))


def test_a_hanger_moved_by_two_trims_is_where_both_put_it() -> None:
    crew = raised_by("hanger")
    crew.record("panels.level:A", {"low": "left", "by": "3"})
    crew.record("panels.trim:A", {"means": "hanger", "seat": "A2", "way": "down", "by": "1.5"})
    assert crew.state.job.panels[0].hangers[1].v_mm == pytest.approx(99.0)
    assert crew.state.hang is not None
    assert fold(crew.entries).document == crew.state.document


def test_a_hanger_said_to_be_moved_off_its_panel_leaves_the_job_readable() -> None:
    crew = hung_low()
    crew.record("panels.trim:A", {"means": "hanger", "seat": "A2", "way": "down", "by": "800"})
    assert crew.state.job.panels[0].hangers[1].v_mm == pytest.approx(100.0)
    assert [t.by_mm for t in crew.state.trims] == [-800.0]


def test_what_is_not_proven_the_fewest_is_recorded_so(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(
        trimming, "find_trim", lambda problem: replace(find_trim(problem), is_proven=False)
    )
    trimming._best.cache_clear()
    crew = hung_low()
    found = advice(crew.state)
    assert found is not None
    assert (found.is_proven, found.remains) == (False, ())
    entry = crew.record("panels.trim:A")
    assert entry.body["values"]["proven"] is False
    assert [(t.seat, t.by_mm) for t in crew.state.trims] == [("A2", 2.5)]
    lines = timeline(crew.entries, {}, "mm")
    assert lines[-1].text.endswith("; not proven the fewest)")
    trimming._best.cache_clear()


FLUSH = {"first": "50", "second": "50", "ahead": "as_planned", "flush": "0"}


def touches(crew: Crew) -> dict[str, list[tuple[str, str, str, float]]]:
    """What is advised, panel by panel."""
    found = advice(crew.state)
    listed = found.touches if found else {}
    return {
        name: [(t.means, t.seat, t.way, round(abs(t.by_mm), 6)) for t in own]
        for name, own in listed.items()
    }
