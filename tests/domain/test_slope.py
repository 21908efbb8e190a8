"""A work that follows a sloping room on purpose: hung as planned, everything read on it is inside.

The other route: the panels are drawn as they hang on their planned seats (``slope.corners_mm``,
tested against the seats in the core), and read off those corners by level and rule.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from holdtrue.core.slope import corners_mm, panel_stands
from holdtrue.domain.card import alone, card
from holdtrue.domain.checklist import pair_is_true
from holdtrue.domain.errors import InputError
from holdtrue.domain.fold import fold
from holdtrue.domain.prefill import planned_facing, planned_values, shown_plan
from holdtrue.domain.review import residual_rows
from holdtrue.domain.timeline import timeline
from holdtrue.domain.trim import verdicts
from tests.domain.crew import Crew, at_fasteners, panel, row

SLOPE = 5.0


def sloping(*panels: dict[str, Any], slope: float = SLOPE, **layout: Any) -> dict[str, Any]:
    document = row(*panels)
    document["layout"] |= layout
    return {**document, "slope": slope}


def hung(*panels: dict[str, Any], slope: float = SLOPE, **layout: Any) -> Crew:
    crew = at_fasteners(sloping(*panels, slope=slope, **layout))
    crew.walk(until="secure.key")
    return crew


def top_edge(crew: Crew, k: int) -> tuple[tuple[float, float], tuple[float, float]]:
    """Both ends of a panel's upper edge where it hangs on its planned seats."""
    stands = panel_stands(crew.state.job, crew.state.plan.arrangement)
    left, right, *_ = corners_mm(crew.state.job.panels[k], stands[k])
    return left, right


def test_a_panel_hung_as_planned_on_a_slope_is_inside_and_reads_as_its_plan_says() -> None:
    """600 mm on 5 mm/m: 3 mm, twice the tolerance of level."""
    crew = hung(panel("A"), offset=800)
    (left, right) = top_edge(crew, 0)
    assert right[1] - left[1] == pytest.approx(3.0)
    assert planned_values(crew.state, "panels.level:A") == {"low": "left", "by": {"mm": 3.0}}

    crew.record("panels.level:A", {"low": "left", "by": "3"})
    (level,) = [v for v in verdicts(crew.state) if v.kind == "level"]
    assert level.is_inside
    assert level.value_mm == pytest.approx(0.0)

    crew.record("panels.level:A", {"low": "level", "by": "0"})
    (level,) = [v for v in verdicts(crew.state) if v.kind == "level"]
    assert not level.is_inside
    assert level.value_mm == pytest.approx(-3.0)


def test_the_hang_and_the_review_of_what_reads_as_planned_are_on_plan() -> None:
    crew = hung(panel("A"), panel("B"), panel("C"), slope=20.0, offset=-700)
    for name in "ABC":
        crew.record(f"panels.level:{name}", {"low": "left", "by": "12"})
    assert crew.state.hang is not None
    assert crew.state.hang.deviation_mm == pytest.approx(0.0, abs=1e-6)
    rows = {row.name: row.value_mm for row in residual_rows(crew.state)}
    assert set(rows) >= {"level A", "line A..C", "step A|B", "taper B|C"}
    assert list(rows.values()) == pytest.approx([0.0] * len(rows), abs=1e-6)


def test_an_edge_read_off_level_by_a_wrong_level_is_judged_against_the_slope() -> None:
    crew = hung(panel("A"))
    off = {"instrument": "spirit", "over": "1 m", "miss": "8 mm", "higher": "high"}
    crew.record("level.check", off)
    # truly 3 mm up to the right; the level's own line climbs by 2.4 mm over 600
    assert planned_values(crew.state, "panels.level:A")["by"]["mm"] == pytest.approx(3.0 - 2.4)
    crew.record("panels.level:A", {"low": "left", "by": "0.6"})
    (level,) = [v for v in verdicts(crew.state) if v.kind == "level"]
    assert level.value_mm == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize("slope", [20.0, -20.0])
def test_facing_edges_are_planned_as_the_turned_panels_lie(slope: float) -> None:
    crew = hung(panel("A"), panel("B"), slope=slope)
    (_, a_right), (b_left, _) = top_edge(crew, 0), top_edge(crew, 1)
    found = planned_facing(crew.state, "A|B")
    assert found.first_mm == pytest.approx(b_left[0] - a_right[0])
    assert found.step_mm == pytest.approx(a_right[1] - b_left[1])

    read = {"first": f"{found.first_mm} mm", "second": f"{found.second_mm} mm"}
    crew.record("panels.facing:A|B", {**read, "ahead": "as_planned", "by": "0", "flush": "0"})
    assert {v.kind: v.value_mm for v in verdicts(crew.state) if v.where == "A|B"} == {
        kind: pytest.approx(0.0, abs=1e-6) for kind in ("gap", "taper", "step", "flush")
    }


def test_beside_a_panel_that_hangs_plumb_from_one_hanger_the_gap_is_planned_to_taper() -> None:
    crew = hung(panel("A"), panel("B", 1), slope=20.0)
    found = planned_facing(crew.state, "A|B")
    # A's right edge leans left at the top, over the 400 mm they share
    assert found.first_mm - found.second_mm == pytest.approx(0.020 * 400)
    read = {"first": f"{found.first_mm} mm", "second": f"{found.second_mm} mm"}
    crew.record("panels.facing:A|B", {**read, "ahead": "as_planned", "by": "0", "flush": "0"})
    taper = next(v for v in verdicts(crew.state) if v.kind == "taper")
    gap = next(v for v in verdicts(crew.state) if v.kind == "gap")
    assert [taper.value_mm, gap.value_mm] == pytest.approx([0.0, 0.0])


def test_marks_as_planned_on_a_slope_are_a_true_pair() -> None:
    crew = at_fasteners(sloping(panel("A")))
    crew.walk(until="fasteners.pair:A1-A2")
    planned = planned_values(crew.state, "fasteners.pair:A1-A2")
    assert (planned["higher"], planned["by"]["mm"]) == ("right", pytest.approx(2.0))
    crew.record("fasteners.pair:A1-A2", {"spacing": "400", "higher": "right", "by": "2"})
    assert pair_is_true(crew.state, "fasteners.pair:A1-A2")
    crew.record("fasteners.pair:A1-A2", {"spacing": "400", "higher": "level", "by": "0"})
    assert not pair_is_true(crew.state, "fasteners.pair:A1-A2")


def test_the_yes_is_said_to_where_the_turned_panels_hang() -> None:
    crew = at_fasteners(sloping(panel("A"), offset=1000))
    ((name, x, y, width, height, rise),) = planned_values(crew.state, "stand_back.yes")["places"]
    assert (name, width, height, rise) == ("A", 600.0, 400.0, 3.0)
    # hangers 100 mm over the middle: turned by 5 mm/m, the middle goes 0.5 mm right
    assert (x, y) == (pytest.approx(1000.5), pytest.approx(1505.0))


def test_another_slope_asks_for_another_yes() -> None:
    crew = at_fasteners(sloping(panel("A")))
    assert crew.status("stand_back.yes") == "done"
    crew.revise(sloping(panel("A"), slope=9.0))
    crew.release()
    assert crew.status("stand_back.yes") != "done"
    crew.revise(row(panel("A")))
    crew.release()
    assert crew.status("stand_back.yes") != "done"


def test_the_yes_to_a_level_work_names_no_rise() -> None:
    crew = at_fasteners(row(panel("A")))
    assert shown_plan(crew.state, "stand_back.yes") == "A 0.00 1500.00 600.00 400.00"


def test_the_card_takes_no_slope_to_the_next_room() -> None:
    crew = hung(panel("A"), panel("B"), slope=20.0, offset=500)
    level = hung(panel("A"), panel("B"), slope=0.0, offset=500)
    one, other = card(crew.state, crew.entries), card(level.state, level.entries)
    assert one.clear_mm == other.clear_mm
    assert one.gaps == other.gaps
    assert [pair.planned_rise_mm for pair in one.built] == pytest.approx([0.0, 0.0])
    assert [pair.rise_mm for pair in one.built] == pytest.approx([0.0, 0.0], abs=0.51)
    heights = [seat.y_mm for seat in alone(crew.state.plan).seats]
    assert heights == pytest.approx([seat.y_mm for seat in alone(level.state.plan).seats])
    assert alone(crew.state.plan).job.layout.slope_mm_per_m == 0.0


def test_the_card_takes_hangers_at_different_heights_as_they_are_on_the_panel() -> None:
    uneven = {**panel("A"), "hangers": [{"in": 100, "down": 50}, {"in": 500, "down": 150}]}
    crew = hung(uneven, slope=20.0)
    (built,) = card(crew.state, crew.entries).built
    assert built.planned_spacing_mm == pytest.approx(400.0)
    assert abs(built.planned_rise_mm) == pytest.approx(100.0)
    assert built.spacing_mm == pytest.approx(400.0, abs=0.51)
    first, second = alone(crew.state.plan).seats
    assert second.x_mm - first.x_mm == pytest.approx(400.0)
    # planned on the wall they lie 2 mm aside of that
    x1, x2 = (x for x, _ in crew.state.plan.arrangement.seats_mm)
    assert abs(x2 - x1 - 400.0) == pytest.approx(2.0)


# -- the maker's yes ------------------------------------------------------------------------------


@pytest.mark.parametrize("nobody", ["", "  ", "the maker", "Yes."])
def test_a_slope_is_not_released_without_a_named_yes(nobody: str) -> None:
    crew = Crew(sloping(panel("A"), slope=20.0))
    with pytest.raises(InputError) as refusal:
        crew.release(reason="they want it to follow the stairs", agreed=nobody)
    assert refusal.value.path == "agreed"
    assert "20 mm in 1 m, up to the right" in refusal.value.remedy
    assert "who says yes to it for the maker, by name, e.g. Mara" in refusal.value.remedy
    assert crew.state.release is None

    entry = crew.release(reason="", agreed=" Mara, maker")
    assert any("20 mm in 1 m" in text for text in entry.body["accepted"])
    assert crew.state.release is not None
    assert crew.state.release.agreed == "Mara, maker"
    assert crew.state.open_findings == ()
    assert "to its slope Mara, maker says yes" in timeline(crew.entries, {}, "mm")[-1].text


def test_a_yes_to_the_slope_is_no_reason_for_the_rest() -> None:
    document = sloping(panel("A"), slope=20.0)
    document["wall"] = {"studs": [{"x": x, "material": "unknown"} for x in (-200, 200)]}
    crew = Crew(document)
    with pytest.raises(InputError) as refusal:
        crew.release(reason="")
    assert refusal.value.path == "reason"
    assert "slope" not in refusal.value.remedy


def test_a_slope_released_before_anybody_was_asked_waits_for_the_yes() -> None:
    """A release of an older log named no such finding: nobody goes on as if it had."""
    crew = Crew(sloping(panel("A")))
    entry = crew.release()
    old = {k: v for k, v in entry.body.items() if k != "agreed"} | {"accepted": [], "reason": None}
    entries = [replace(e, body=old) if e.seq == entry.seq else e for e in crew.entries]
    state = fold(entries)
    assert [f.kind for f in state.open_findings] == ["slope"]


def test_a_level_work_is_released_without_a_word() -> None:
    crew = Crew(row(panel("A")))
    crew.release(reason="", agreed="")
    assert crew.state.release is not None
