"""A log in plain words."""

from __future__ import annotations

import pytest

from holdtrue.domain import events, timeline
from holdtrue.domain.timeline import Line
from holdtrue.service import jobs, tasks
from holdtrue.service.services import Services
from tests import walking
from tests.walking import LEAD

NAMES = {LEAD.person: LEAD.name}


def lines_of(services: Services, job_id: str) -> tuple[Line, ...]:
    state = jobs.state_of(services, job_id)
    names = NAMES | {one.person: one.name for one in state.installers.values()}
    return timeline.timeline(services.store.read(jobs.stream_of(job_id)), names, "in")


@pytest.fixture
def services() -> Services:
    return walking.minutes_apart()


def test_every_event_has_words() -> None:
    worded = timeline._FIXED.keys() | timeline._OF_BODY.keys() | timeline._OF_ENTRY.keys()
    assert worded == events.EVENTS.keys()


def test_every_entry_has_a_line_with_a_name(services: Services) -> None:
    job_id = walking.handed_over(services, "off")
    lines = lines_of(services, job_id)
    assert [line.seq for line in lines] == list(range(1, len(lines) + 1))
    assert {line.who for line in lines} == {"Lea Leadbetter", "Ivo Installer"}
    assert all(line.text and "_" not in line.text for line in lines)


def test_the_latest_line_is_the_last_of_all_at_every_moment(services: Services) -> None:
    job_id = walking.released(services, LEAD, walking.golden())
    walking.walk(services, LEAD, job_id, until="fasteners.pilot:C2")
    last = services.store.read(jobs.stream_of(job_id))[-1].seq
    tasks.undo(services, LEAD, job_id, of=last, why="wrong seat", key=services.ids.key())
    walking.walk(services, LEAD, job_id, until="fasteners.pilot:C2")
    entries = services.store.read(jobs.stream_of(job_id))
    for count in range(1, len(entries) + 1):
        told = entries[:count]
        assert timeline.latest(told, NAMES, "in") == timeline.timeline(told, NAMES, "in")[-1]


def test_a_measured_seat_says_what_was_read_and_what_was_planned(services: Services) -> None:
    job_id = walking.handed_over(services, "off")
    line = next(line for line in lines_of(services, job_id) if line.text.startswith("Measure B1"))
    assert line.text == (
        "Measure B1: measured from the reference line 22 3/8 in left, above the level line "
        "5 5/32 in; planned from the reference line 22 1/4 in left, above the level line 5 in"
    )
    assert (line.instrument, line.revision, line.is_otherwise) == ("tape", 2, True)


def test_a_task_as_planned_leaves_out_a_difference_of_nothing(services: Services) -> None:
    job_id = walking.handed_over(services)
    said = [line.text for line in lines_of(services, job_id)]
    assert "Level of A: as planned (low side level)" in said
    assert "Cautions: done" in said


def test_a_stop_is_told_with_its_note_and_who_cleared_it(services: Services) -> None:
    job_id = walking.handed_over(services, "off")
    stop, cleared = [line for line in lines_of(services, job_id) if line.text.startswith("Stop")]
    assert (stop.text, stop.who) == ("Stop at A1: cable, “a hum”", "Ivo Installer")
    assert (cleared.text, cleared.who) == ("Stop at A1 cleared, “traced”", "Lea Leadbetter")


def test_a_record_put_right_points_at_the_later_one(services: Services) -> None:
    job_id = walking.handed_over(services, "off")
    first, second = [
        line for line in lines_of(services, job_id) if line.text.startswith("Level of A")
    ]
    assert (first.corrected_by, first.stands) == (second.seq, False)
    assert (second.corrected_by, second.stands) == (None, True)


def test_an_entry_taken_back_says_so_on_both_sides(services: Services) -> None:
    job_id = walking.released(services, LEAD)
    walking.do(services, LEAD, job_id, "join.ways")
    key = services.ids.key()
    undo = tasks.undo(services, LEAD, job_id, of=3, why="wrong hand", key=key)
    taken, undone = lines_of(services, job_id)[-2:]
    assert (taken.undone_by, taken.stands) == (undo.seq, False)
    assert undone.text.startswith("Took back entry 3 (Your way of working: ")
    assert undone.text.endswith("), “wrong hand”")


def test_a_record_taken_back_puts_nothing_right(services: Services) -> None:
    job_id = walking.released(services, LEAD)
    walking.do(services, LEAD, job_id, "join.ways")
    walking.do(services, LEAD, job_id, "join.ways")
    tasks.undo(services, LEAD, job_id, of=4, key=services.ids.key())
    assert lines_of(services, job_id)[2].stands


def test_both_times_and_paper_are_kept(services: Services) -> None:
    job_id = walking.released(services, LEAD)
    typed = tasks.Typed(
        outcome="done", raw={"unit": "in", "hand": "left"}, unit="in", is_paper=True
    )
    tapped = "2026-03-01T07:00:00.000Z"
    tasks.record_task(
        services, LEAD, job_id, "join.ways", typed, key=services.ids.key(), tapped=tapped
    )
    line = lines_of(services, job_id)[-1]
    assert (line.tapped, line.is_paper) == (tapped, True)
    assert line.received > tapped


def test_what_is_in_the_way_is_told(services: Services) -> None:
    job_id = walking.released(services, LEAD)
    walking.walk(services, LEAD, job_id, until="fasteners.pilot:C1")
    tasks.block_seat(
        services,
        LEAD,
        job_id,
        "C1",
        found="stud",
        material="wood",
        fastener="wood screw #10",
        note="solid",
        key=services.ids.key(),
    )
    assert lines_of(services, job_id)[-1].text == (
        "In the way at C1: a stud (wood); wood screw #10 instead, “solid”"
    )


def test_an_unknown_person_stays_an_id(services: Services) -> None:
    job_id = walking.released(services, LEAD)
    entries = services.store.read(jobs.stream_of(job_id))
    assert timeline.timeline(entries, {}, "mm")[0].who == LEAD.person
