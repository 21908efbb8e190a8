"""Stops: what they lock, where they stay, who clears them."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from holdtrue.domain.errors import (
    ConflictError,
    InputError,
)
from tests.domain.crew import at_fasteners, panel, row

THREE = row(panel("A"), panel("B"), panel("C"))
ONE = row(panel("A"))


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
        elif task.id == "panels.lift:A":
            # no panel is lifted onto a stopped seat
            assert task.status == "stopped"
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
    attempts: list[Callable[[], object]] = [
        lambda: crew.do("fasteners.press:A1"),
        lambda: crew.block("A1", "stud"),
        lambda: crew.free("A1"),
        lambda: crew.undo(anchor),
    ]
    for attempt in attempts:
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
