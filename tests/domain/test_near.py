"""Hung panels too near a tolerance to tell are read once more; what is clear is left alone."""

from __future__ import annotations

import pytest

from holdtrue.core.sources_trim import MOST_READINGS
from holdtrue.domain.hanging import readings_of
from holdtrue.domain.trim import verdicts
from holdtrue.domain.trimming import advice
from tests.domain.crew import Crew, at_fasteners, panel, row

LEVEL = "panels.level:A"


def hung() -> Crew:
    crew = at_fasteners(row(panel("A"), panel("B")))
    crew.walk(until=LEVEL)
    return crew


def low(crew: Crew, by: str) -> None:
    crew.record(LEVEL, {"low": "right", "by": by})


def test_what_is_clear_of_its_tolerance_is_done_at_once() -> None:
    crew = hung()
    low(crew, "0.3")
    assert crew.status(LEVEL) == "done"
    assert advice(crew.state) is None


def test_what_is_near_is_read_again_until_it_was_read_often_enough() -> None:
    crew = hung()
    for times in range(1, MOST_READINGS + 1):
        assert crew.status(LEVEL) == "ready"
        low(crew, "1.7")
        assert len(readings_of(crew.state, LEVEL)) == times
    assert crew.status(LEVEL) == "done"
    level = next(v for v in verdicts(crew.state) if v.kind == "level")
    assert level.value_mm == pytest.approx(-1.7)
    # inside by all that is known or not, it is too near to be left
    assert not level.is_clear
    assert "panels.trim:A" in crew.ids


def test_every_reading_counts_and_makes_it_better_known() -> None:
    crew = hung()
    us = []
    for by in ("1.5", "1.9"):
        low(crew, by)
        us.append(next(v.u_mm for v in verdicts(crew.state)))
    assert us[1] < us[0]
    assert next(v.value_mm for v in verdicts(crew.state)) == pytest.approx(-1.7)


def test_a_far_reading_is_corrected_by_the_next_one() -> None:
    crew = hung()
    low(crew, "14")
    assert crew.status(LEVEL) == "done"
    low(crew, "0.3")
    assert [r.values["by"]["mm"] for r in readings_of(crew.state, LEVEL)] == [0.3]


def test_a_tap_says_no_more_than_the_reading_before_it() -> None:
    crew = hung()
    low(crew, "1.7")
    crew.record(LEVEL)
    assert crew.status(LEVEL) == "done"
    assert next(v.value_mm for v in verdicts(crew.state)) == pytest.approx(-1.7)


def test_undone_the_second_reading_is_asked_for_again() -> None:
    crew = hung()
    low(crew, "1.7")
    first = crew.state
    second = crew.record(LEVEL, {"low": "right", "by": "1.9"})
    crew.undo(second)
    assert crew.status(LEVEL) == "ready"
    assert crew.state.hung_read == first.hung_read


def test_nothing_is_trimmed_before_what_is_near_was_read_again() -> None:
    crew = hung()
    crew.record(LEVEL, {"low": "right", "by": "2"})
    assert crew.status(LEVEL) == "ready"
    if "panels.trim:A" in crew.ids:
        assert crew.status("panels.trim:A") == "waiting"


def test_edges_are_read_while_a_mark_is_left_to_go_with_them() -> None:
    crew = Crew(row(panel("A"), panel("B")))
    crew.release("panel_by_panel")
    crew.walk(until="panels.edge:A")
    first = next(task for task in crew.ids if task.startswith("panels.edge:"))
    crew.walk(until=first)
    name = first.partition(":")[2]
    other = "B1" if name == "A" else "A1"
    before = crew.state.marks_mm[other]
    planned = crew.state.plan.arrangement.centres_mm["AB".index(name)][0]
    left = planned - crew.state.job.panels[0].width_mm / 2 + 1.4
    side = "left" if left < 0 else "right"
    crew.record(first, {"across": f"{abs(left):.3f}", "across.side": side})
    assert crew.state.marks_mm[other][0] > before[0]
    crew.walk()
    assert crew.state.review.state == "handed_over"
    assert [task for task in crew.ids if task.startswith("panels.edge:")] == [first]


def test_no_edge_is_read_where_all_seats_are_set_first() -> None:
    crew = hung()
    assert not [task for task in crew.ids if task.startswith("panels.edge:")]
