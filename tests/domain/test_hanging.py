"""Readings on hung panels tell where they hang; the marks of the rest answer to it."""

from __future__ import annotations

import pytest

from holdtrue.domain.contradictions import contradictions
from holdtrue.domain.hanging import hung_panels
from holdtrue.domain.outlook import outlook
from tests.domain.crew import Crew, at_fasteners, panel, row


def first_hung() -> Crew:
    """Panel by panel: B hangs, A and C are still to be driven."""
    crew = at_fasteners(row(panel("A"), panel("B"), panel("C")), way="panel_by_panel")
    crew.walk(until="panels.level:B")
    return crew


def test_a_level_read_on_a_hung_panel_moves_the_marks_of_the_next() -> None:
    crew = first_hung()
    before = dict(crew.state.marks_mm)
    crew.record("panels.level:B", {"low": "right", "by": "1.4"})
    state = crew.state
    assert hung_panels(state) == (1,)
    low, high = state.bearing_mm["B2"][1], state.bearing_mm["B1"][1]
    # 1.4 over 600 is 0.93 over the 400 between the seats, most of it believed
    assert 0.7 < high - low < 0.94
    assert state.set_mm["B1"][1] - state.set_mm["B2"][1] == pytest.approx(0.0)
    assert state.marks_mm != before


def test_as_planned_with_one_tap_is_no_reading() -> None:
    crew = first_hung()
    before = dict(crew.state.marks_mm)
    crew.do("panels.level:B")
    assert crew.state.hang is None
    assert crew.state.marks_mm == before


def test_a_reading_put_right_takes_the_place_of_the_first() -> None:
    crew = first_hung()
    crew.record("panels.level:B", {"low": "right", "by": "1.4"})
    once = crew.state.bearing_mm
    crew.record("panels.level:B", {"low": "left", "by": "3"})
    crew.record("panels.level:B", {"low": "right", "by": "1.4"})
    assert crew.state.bearing_mm == once
    entry = crew.entries[-1]
    crew.undo(entry)
    assert crew.state.bearing_mm["B2"][1] > crew.state.bearing_mm["B1"][1]


def test_a_trim_moves_the_panel_and_is_no_reading_of_it() -> None:
    crew = first_hung()
    crew.record("panels.level:B", {"low": "right", "by": "4"})
    low = crew.state.bearing_mm["B2"][1]
    crew.record("panels.edge:B")
    crew.record("panels.trim:B", {"seat": "B2", "by": "2", "means": "shim"})
    assert crew.state.bearing_mm["B2"][1] == pytest.approx(low + 2.0)
    assert [r.task for r in crew.state.hung_read] == ["panels.level:B"]


def test_readings_on_hung_panels_sharpen_the_forecast() -> None:
    crew = at_fasteners(row(panel("A"), panel("B")))
    crew.walk(until="panels.level:A")
    before = outlook(crew.state)
    assert before.is_settled
    crew.record("panels.level:A", {"low": "left", "by": "0.1"})
    assert outlook(crew.state).chance > before.chance


def test_readings_that_do_not_go_together_are_named() -> None:
    crew = at_fasteners(row(panel("A"), panel("B")))
    crew.walk(until="panels.lift:A")
    for name in ("A1", "A2"):
        x_mm, y_mm = crew.state.set_mm[name]
        crew.measure(name, x_mm, y_mm)
    crew.record(
        "level.check", {"over": "1200", "miss": "0", "higher": "same", "instrument": "spirit"}
    )
    crew.record(
        "fasteners.cross:A1-A2", {"higher": "left", "by": "0.6", "turned": "no"}, is_sure=True
    )
    assert contradictions(crew.state) == ()
    crew.record(
        "fasteners.cross:A1-A2", {"higher": "left", "by": "5", "turned": "no"}, is_sure=True
    )
    (found,) = contradictions(crew.state)
    assert found.text == "A2 by tape (height) does not agree with level: measure again"
    assert found.task == "fasteners.measure:A2"
