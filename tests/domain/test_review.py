"""Planned against as built, what is outside, and what bars accepting."""

from __future__ import annotations

from dataclasses import replace

import pytest

from holdtrue.core.model import Finding
from holdtrue.domain import events
from holdtrue.domain.hanging import with_reading
from holdtrue.domain.planning import remarked
from holdtrue.domain.review import (
    ResidualRow,
    bars_to_accepting,
    has_done_work,
    outside,
    photos,
    poses,
    reading_task,
    residual_rows,
    residual_words,
    seat_rows,
    way_words,
    work_since,
)
from holdtrue.domain.state import HungRead, JobState, Record
from holdtrue.service import jobs
from holdtrue.store.port import Entry
from tests import walking
from tests.walking import LEAD


def story(name: str) -> tuple[JobState, tuple[Entry, ...]]:
    services = walking.minutes_apart()
    job_id = walking.handed_over(services, name)
    return jobs.state_of(services, job_id), services.store.read(jobs.stream_of(job_id))


def rows_of(state: JobState) -> dict[str, ResidualRow]:
    return {row.name: row for row in residual_rows(state)}


def test_a_seat_row_says_planned_given_measured_and_how_far_off() -> None:
    state, entries = story("off")
    row = next(row for row in seat_rows(state, entries) if row.seat == "B1")

    assert row.is_measured
    assert row.off_given_mm is not None
    # read off a tape: to 1/64 in of the -3 and +4 mm that were tried
    assert row.off_given_mm == pytest.approx((-3.0, 4.0), abs=0.4)
    assert row.off_plan_mm is not None
    assert row.built_mm == pytest.approx(
        (row.planned_mm[0] + row.off_plan_mm[0], row.planned_mm[1] + row.off_plan_mm[1])
    )
    assert (row.fastener, row.into, row.met) == ("hook on a toggle", "hollow", "nothing")
    assert row.instrument == "tape"
    assert row.who == next(iter(state.installers))
    assert row.share == pytest.approx(row.force_N / (row.allowed_N or 0))


def test_a_seat_accepted_on_its_mark_is_not_called_measured() -> None:
    state, entries = story("clean")
    rows = seat_rows(state, entries)
    assert [row.seat for row in rows] == list(state.form.seats)
    assert not any(row.is_measured for row in rows)
    assert all(row.off_given_mm == pytest.approx((0, 0), abs=1e-5) for row in rows)


def test_a_seat_not_set_yet_has_no_place_and_nobody() -> None:
    services = walking.minutes_apart()
    job_id = walking.released(services, LEAD)
    state = jobs.state_of(services, job_id)
    row = seat_rows(state, services.store.read(jobs.stream_of(job_id)))[0]
    assert (row.built_mm, row.off_plan_mm, row.off_given_mm, row.who) == (None, None, None, None)


def test_nothing_is_outside_when_everything_landed_on_its_mark() -> None:
    state, _ = story("clean")
    assert outside(residual_rows(state)) == ()
    assert bars_to_accepting(state) == ()


def test_readings_decide_and_every_residual_appears_once() -> None:
    state, _ = story("clean")
    rows = residual_rows(state)
    names = [row.name for row in rows]
    assert len(set(names)) == len(names)
    assert {"taper A|B", "flush C|D", "gap B|C", "level A", "bearing D2"} <= set(names)
    assert rows_of(state)["level A"].decided_by == "reading"
    assert rows_of(state)["slack A1-A2"].decided_by == "seats"


def test_as_planned_tapped_against_the_measured_seats_decides_nothing() -> None:
    state, _ = story("off")
    row = rows_of(state)["level B"]
    assert row.is_tapped
    assert row.reading_mm == 0.0
    assert row.decided_by == "seats"
    assert row.is_contradicted
    assert row.name in [out.name for out in outside(residual_rows(state))]


def test_a_measured_reading_overrules_the_seats() -> None:
    state, _ = story("off")
    record = replace(
        state.records["panels.level:B"],
        outcome="measured",
        values={"low": "right", "by": {"mm": 0.5, "typed": "0.5 mm"}},
    )
    row = rows_of(with_read(state, record))["level B"]
    assert (row.decided_by, row.reading_mm, row.is_inside) == ("reading", -0.5, True)


def with_read(state: JobState, record: Record) -> JobState:
    """The same with one more reading on the hung panels, the last of all."""
    record = replace(record, seq=state.seq + 1)
    read = HungRead(task=record.task, values=record.values, planned=record.planned, seq=record.seq)
    state = replace(state, hung_read=with_reading(state, read, is_read=True))
    return remarked(replace(state, records={**state.records, record.task: record}))


def test_a_measured_reading_outside_is_outside_whatever_the_seats_say() -> None:
    state, _ = story("clean")
    record = replace(
        state.records["panels.facing:A|B"],
        outcome="measured",
        values={
            **state.records["panels.facing:A|B"].values,
            "ahead": "q",
            "by": {"mm": 3.0, "typed": "3 mm"},
        },
    )
    state = with_read(state, record)
    assert [row.name for row in outside(residual_rows(state))] == ["step A|B"]
    assert way_words(rows_of(state)["step A|B"], -3.0) == "B higher by"


def test_a_tap_after_a_trim_counts_when_the_seats_allow_it_with_or_without_the_trim() -> None:
    state, _ = story("off")
    assert "A1" in [trim.seat for trim in state.trims]
    row = rows_of(state)["level A"]
    assert row.seats_mm == pytest.approx(0, abs=1e-6)
    assert row.decided_by == "reading"


def test_a_reading_of_the_next_day_takes_the_place_of_the_first() -> None:
    state, _ = story("clean")
    record = replace(
        state.records["panels.level:C"],
        task="close.next_day:C",
        outcome="measured",
        values={"low": "left", "by": {"mm": 4.5, "typed": "4.5 mm"}},
    )
    state = with_read(state, record)
    row = rows_of(state)["level C"]
    assert (row.reading_mm, row.decided_by, row.is_inside) == (4.5, "reading", False)
    assert reading_task(state, "level", "C") == "close.next_day:C"
    assert reading_task(state, "level", "D") == "panels.level:D"
    assert reading_task(state, "step", "A|B") == "panels.facing:A|B"
    assert reading_task(state, "slack", "A1-A2") is None


def test_the_poses_are_those_of_the_seats() -> None:
    state, _ = story("off")
    dx, dy, theta = poses(state)["B"]
    b1, b2 = (state.set_mm[name] for name in ("B1", "B2"))
    planned = {seat.seat: (seat.x_mm, seat.y_mm) for seat in state.plan.seats}
    off = [(b1[i] - planned["B1"][i], b2[i] - planned["B2"][i]) for i in (0, 1)]
    assert theta == pytest.approx((off[1][1] - off[1][0]) / (planned["B2"][0] - planned["B1"][0]))
    assert dy == pytest.approx(sum(off[1]) / 2, abs=0.05)
    assert dx < 0
    assert poses(state)["A"][2] == pytest.approx(0, abs=1e-9)


def test_a_panel_with_a_seat_missing_has_no_pose() -> None:
    state, _ = story("clean")
    left = {name: seat for name, seat in state.set_seats.items() if name != "B1"}
    assert set(poses(replace(state, set_seats=left))) == {"A", "C", "D"}


@pytest.mark.parametrize(
    ("kind", "where", "words"),
    [
        ("level", "A", "level of A"),
        ("gap", "A|B", "gap between A and B"),
        ("slack", "A1-A2", "seat spacing A1 to A2"),
        ("height", "A+B", "height of A, B"),
        ("bearing", "D2", "bearing of D2"),
    ],
)
def test_residuals_have_words(kind: str, where: str, words: str) -> None:
    assert residual_words(kind, where) == words


@pytest.mark.parametrize(
    ("kind", "value", "stacked", "words"),
    [
        ("level", 1.0, False, "left low by"),
        ("level", -1.0, False, "right low by"),
        ("step", 1.0, False, "A higher by"),
        ("step", -1.0, True, "B further right by"),
        ("taper", 1.0, False, "wider above by"),
        ("taper", 1.0, True, "wider on the right by"),
        ("taper", -1.0, True, "wider on the left by"),
        ("gap", -1.0, False, "narrower by"),
        ("flush", 0.01, False, ""),
    ],
)
def test_the_way_a_residual_lies_is_said(
    kind: str, value: float, stacked: bool, words: str
) -> None:
    row = ResidualRow(
        kind=kind,
        where="A|B",
        tolerance_mm=1.0,
        seats_mm=value,
        reading_mm=None,
        is_tapped=False,
        decided_by="seats",
        is_stacked=stacked,
    )
    assert way_words(row, value) == words


def test_work_under_way_cannot_be_accepted_and_the_reason_names_what_is_missing() -> None:
    services = walking.minutes_apart()
    job_id = walking.released(services, LEAD)
    (bar,) = bars_to_accepting(jobs.state_of(services, job_id))
    assert bar.startswith("Not done: Your way of working and ")


def test_every_bar_is_said() -> None:
    state, _ = story("off")
    opened = tuple(replace(stop, cleared_by=None) for stop in state.stops)
    bars = bars_to_accepting(replace(state, stops=opened, release=None))
    assert "The plan was changed and not released again." in bars
    assert "The stop at A1 (cable) is not cleared." in bars
    open_review = replace(state, review=replace(state.review, state="sent_back"))
    assert bars_to_accepting(open_review) == ("It has not been handed over.",)
    accepted = replace(state, review=replace(state.review, state="accepted"))
    assert bars_to_accepting(accepted) == ("It is accepted already.",)


def test_a_fastener_that_fails_its_load_check_bars_accepting() -> None:
    state, _ = story("clean")
    finding = Finding(kind="overload", seat="A1", weight="bar", text="A1: too much")
    worse = replace(state, current=replace(state.current, findings=(finding,)))
    assert "A1: too much." in bars_to_accepting(worse)


def test_photos_are_those_of_the_log() -> None:
    _, entries = story("clean")
    (photo,) = photos(entries)
    assert (photo.kind, photo.task) == ("image/jpeg", "close.photo")


def test_who_did_the_work_is_known_and_a_lead_who_only_looked_did_none() -> None:
    state, entries = story("off")
    ivo = next(iter(state.installers))
    assert has_done_work(entries, ivo)
    assert not has_done_work(entries, LEAD.person)


def test_letting_a_hold_go_and_choosing_a_unit_are_no_work() -> None:
    _, entries = story("clean")
    recorded = [e for e in entries if e.type == events.TASK_RECORDED]
    for task in ("hold.first_hole", "join.ways"):
        entry = replace(recorded[0], who="X", body={**recorded[0].body, "task": task})
        assert not has_done_work([entry], "X")
    marked = replace(recorded[0], who="X", body={**recorded[0].body, "task": "fasteners.mark:A1"})
    assert has_done_work([marked], "X")


def test_a_card_made_since_is_no_work_since() -> None:
    _, entries = story("clean")
    last = entries[-1]
    card = replace(last, seq=last.seq + 1, type=events.CARD_ISSUED, body={"card": "d"})
    assert not work_since((*entries, card), last.seq)
    assert work_since(entries, last.seq - 1)
