"""The card: the numbers of the work, nothing of the wall or the people."""

from __future__ import annotations

from dataclasses import replace

import pytest

from holdtrue.core.geometry import bounding_box_mm
from holdtrue.core.statics import weight_N
from holdtrue.domain import events
from holdtrue.domain.card import Card, alone, card, worked_minutes
from holdtrue.service import cards, jobs, tasks
from holdtrue.service.services import Services
from holdtrue.store.port import NewEntry
from tests import walking
from tests.walking import LEAD


def card_of(services: Services, job_id: str) -> Card:
    return card(jobs.state_of(services, job_id), services.store.read(jobs.stream_of(job_id)))


@pytest.fixture
def services() -> Services:
    return walking.minutes_apart()


@pytest.fixture
def installed(services: Services) -> Card:
    return card_of(services, walking.handed_over(services, "off"))


@pytest.fixture
def planned(services: Services) -> Card:
    return card_of(services, walking.released(services, LEAD))


def test_the_clear_wall_is_the_box_around_the_panels(installed: Card) -> None:
    # 30 + 18 + 36 in of panels, 610 mm, and gaps of 2 1/2, 2 1/2 and 3 in; the highest is 40 in
    assert installed.clear_mm == pytest.approx(((84 + 8) * 25.4 + 610, 40 * 25.4))


def test_the_load_is_the_weight_of_all_panels(installed: Card) -> None:
    kg = (31 + 19.5 + 34) * 0.45359237 + 10.4
    assert installed.mass_kg == pytest.approx(kg)
    assert installed.weight_N == pytest.approx(weight_N(kg))


def test_every_seat_has_its_load_and_the_worst_is_named(installed: Card) -> None:
    assert [seat.seat for seat in installed.seat_loads][:3] == ["A1", "A2", "B1"]
    assert installed.worst.seat == "D2"
    assert installed.worst.force_N == max(seat.force_N for seat in installed.seat_loads)


def test_the_fasteners_are_counted_with_what_they_are_allowed(installed: Card) -> None:
    hooks, screws = installed.fasteners
    assert (hooks.name, hooks.seats, hooks.into) == ("hook on a toggle", 8, ("hollow",))
    assert (screws.name, screws.seats, screws.into) == ("wood screw #10", 1, ("stud",))
    assert hooks.allowed_N == pytest.approx(40 * 0.45359237 * 9.80665 / 2)
    assert installed.unassigned == 0
    assert installed.secured == ("security locks",)


def test_packing_is_the_reverse_of_hanging(installed: Card) -> None:
    assert installed.hanging == ("C", "B", "D", "A")
    assert installed.packing == ("A", "D", "B", "C")


def test_the_last_install_is_told_relative_to_the_panel(installed: Card) -> None:
    pair = next(pair for pair in installed.built if pair.seats == ("B1", "B2"))
    assert pair.planned_spacing_mm == pytest.approx(11.5 * 25.4)
    assert pair.spacing_mm == pytest.approx(11.5 * 25.4 + 3.0, abs=0.5)
    assert pair.rise_mm == pytest.approx(-4.0, abs=0.5)
    assert pair.planned_rise_mm == pytest.approx(0.0)
    told = [(trim.where, trim.way, trim.by_mm, trim.means) for trim in installed.trims]
    assert told == [("A1", "up", 1.5875, "shim")]


def test_before_an_install_nothing_is_said_of_one(planned: Card) -> None:
    assert not planned.is_installed
    assert planned.built == ()
    assert planned.trims == ()
    assert (planned.people, planned.people_basis[:9]) == (2, "the least")
    assert planned.minutes == 60 + 9 * 20 + 4 * 20
    assert planned.minutes_basis.startswith("reckoned, not measured: ")


def test_people_and_time_come_from_the_last_install(installed: Card) -> None:
    assert (installed.people, installed.people_basis) == (2, "2 on a platform at the last install")
    assert installed.minutes % 15 == 0
    assert installed.minutes_basis.startswith("by the last install's log")


def test_one_person_is_never_enough_for_a_lift(services: Services) -> None:
    """Nor in a log of a time when it could be recorded."""
    job_id = walking.released(services, LEAD)
    body = {
        "task": "before.people",
        "outcome": "done",
        "values": {"people": 1, "platform": "floor"},
        "planned": {},
        "revision": 1,
    }
    old = NewEntry(
        key="1" * 32,
        type=events.TASK_RECORDED,
        body=body,
        who=LEAD.person,
        received=services.now(),
    )
    stream = jobs.stream_of(job_id)
    services.store.append(stream, old, expected=len(services.store.read(stream)))
    found = card_of(services, job_id)
    assert found.people == 2
    assert "nobody lifts a panel alone" in found.people_basis


def test_pauses_do_not_count_as_work() -> None:
    services = walking.minutes_apart()
    job_id = walking.released(services, LEAD)
    for _ in range(4):
        walking.do(services, LEAD, job_id, "join.ways")
    entries = [e for e in services.store.read(jobs.stream_of(job_id)) if "task" in e.body]
    hours = ("08:00", "08:20", "12:00", "12:10")
    timed = [
        replace(entry, received=f"2026-03-02T{hour}:00.000Z")
        for entry, hour in zip(entries, hours, strict=True)
    ]
    assert worked_minutes(timed) == pytest.approx(30)


def test_a_clock_put_back_takes_no_work_away(services: Services) -> None:
    job_id = walking.released(services, LEAD)
    walking.walk(services, LEAD, job_id, until="before.services")
    entries = services.store.read(jobs.stream_of(job_id))[2:6]
    timed = [
        replace(entry, received=f"2026-03-02T{moment}:00.000Z")
        for entry, moment in zip(entries, ("08:00", "08:10", "06:00", "06:05"), strict=True)
    ]
    assert worked_minutes(timed) == pytest.approx(15)


def test_what_was_taken_back_is_no_work(services: Services) -> None:
    job_id = walking.released(services, LEAD)
    walking.do(services, LEAD, job_id, "join.ways")
    walking.do(services, LEAD, job_id, "before.loads")
    tasks.undo(services, LEAD, job_id, of=4, key=services.ids.key())
    assert worked_minutes(services.store.read(jobs.stream_of(job_id))) == 0


def test_alone_the_work_keeps_its_shape_and_loses_its_place(services: Services) -> None:
    state = jobs.state_of(services, walking.handed_over(services))
    moved = alone(state.plan)
    left, low, right, high = bounding_box_mm(moved.job.panels, moved.arrangement.centres_mm)
    assert (left + right, low + high) == pytest.approx((0, 0))
    assert moved.job.wall.studs == ()
    assert (moved.job.title, moved.findings) == ("", ())
    shift = {
        (round(a.x_mm - b.x_mm, 6), round(a.y_mm - b.y_mm, 6))
        for a, b in zip(state.plan.seats, moved.seats, strict=True)
    }
    assert len(shift) == 1


def test_the_card_is_dated_by_the_work_not_by_the_card(services: Services) -> None:
    job_id = walking.handed_over(services)
    before = card_of(services, job_id).dated
    cards.issue_card(services, LEAD, job_id, key=services.ids.key())
    assert card_of(services, job_id).dated == before
