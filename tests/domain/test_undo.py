"""Undo: by whom, in which order, and what stays."""

from __future__ import annotations

import pytest

from holdtrue.domain.errors import (
    AppError,
    ConflictError,
    NotAllowedError,
)
from holdtrue.service import installers, tasks
from tests.domain.crew import at_fasteners, hung_low, panel, row

THREE = row(panel("A"), panel("B"), panel("C"))
ONE = row(panel("A"))


def test_an_installer_undoes_what_they_did_and_a_lead_what_anybody_did() -> None:
    crew = at_fasteners(ONE)
    code = installers.invite_installer(
        crew.services, crew.lead, crew.job, label="two", key=crew.key()
    )
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


def test_what_was_in_the_way_at_a_seat_the_plan_has_no_more_is_not_undone() -> None:
    crew = at_fasteners(THREE)
    entry = crew.block("C1", "stud", material="wood")
    crew.revise(row(panel("A"), panel("B")))

    assert tasks.last_own(crew.services, crew.installer, crew.job) is None
    with pytest.raises(ConflictError, match="no seat C1 any more"):
        crew.undo(entry)


def test_a_pilot_that_took_its_own_record_with_it_is_taken_back() -> None:
    """What it met has no fastener listed, so that its mark is to be made again."""
    document = row(panel("A"))
    document["fasteners"] = [f for f in document["fasteners"] if f["into"] != "solid"]
    crew = at_fasteners(document)
    crew.walk(until="fasteners.pilot:A1")
    before = crew.state
    pilot = crew.record("fasteners.pilot:A1", {"met": "masonry"})
    assert "fasteners.mark:A1" not in crew.state.records
    assert tasks.last_own(crew.services, crew.installer, crew.job) == pilot
    crew.undo(pilot)
    assert crew.state.records == before.records
    assert crew.status("fasteners.pilot:A1") == "ready"
