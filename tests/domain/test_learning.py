"""A fastener kind's real drop: offered when the readings say so, applied only when taken."""

from __future__ import annotations

from copy import deepcopy

import pytest

from holdtrue.domain.errors import ConflictError
from holdtrue.domain.learning import learned_drops, scattered
from holdtrue.domain.timeline import timeline
from holdtrue.service import choosing
from holdtrue.store.port import Entry
from tests.domain.crew import Crew, at_fasteners, panel, row


def lower_by(mm: float, seats: int) -> Crew:
    """Hooks that bear lower than planned by that much, read on the first so many seats."""
    document = deepcopy(row(panel("A"), panel("B"), panel("C")))
    document["fasteners"][0]["placing"] = "0.5 mm"
    crew = at_fasteners(document)
    for _ in range(seats):
        seat = next(name for name in crew.state.order if name not in crew.state.set_seats)
        crew.walk(until=f"fasteners.measure:{seat}")
        x_mm, hole_y_mm = crew.state.holes[seat]
        crew.measure(seat, x_mm, hole_y_mm - 6 - mm)
    return crew


def scattered_by(*misses: float) -> Crew:
    crew = at_fasteners(row(panel("A"), panel("B"), panel("C")))
    for mm in misses:
        seat = next(name for name in crew.state.order if name not in crew.state.set_seats)
        crew.walk(until=f"fasteners.measure:{seat}")
        x_mm, hole_y_mm = crew.state.holes[seat]
        crew.measure(seat, x_mm, hole_y_mm - 6 - mm)
    return crew


def test_seats_that_scatter_more_than_is_reckoned_with_are_told_to_the_lead() -> None:
    """1 mm of placing and 0.5 of the tape are reckoned with."""
    assert scattered(scattered_by(1.0, -1.0, 0.5).state) == ()
    state = scattered_by(4.0, -4.0, 3.0, -3.0).state
    (found,) = scattered(state)
    assert (found.fastener, found.count) == ("hook", 4)
    assert found.scatter_mm == pytest.approx(4.1, abs=0.1)


def take(crew: Crew, drop_mm: float | None = None) -> Entry:
    (found,) = learned_drops(crew.state) or (None,)
    drop = found.drop_mm if found and drop_mm is None else drop_mm or 0.0
    return choosing.learn_drop(
        crew.services, crew.installer, crew.job, fastener="hook", drop_mm=drop, key=crew.key()
    )


def test_a_common_drop_is_offered_from_the_second_reading_on() -> None:
    assert learned_drops(lower_by(2, 1).state) == ()
    (found,) = learned_drops(lower_by(2, 2).state)
    # placing 0.5 and tape 0.5 a reading: 0.71, two of them 0.5
    assert (found.fastener, found.was_mm, found.drop_mm, found.count) == ("hook", 6.0, 8.0, 2)
    assert found.u_mm == pytest.approx(0.5)
    assert found.left == 4


def test_what_may_be_chance_is_not_offered() -> None:
    assert learned_drops(lower_by(0.9, 2).state) == ()
    assert learned_drops(lower_by(0.9, 4).state) != ()


def test_taking_it_changes_the_drop_and_the_marks_that_are_left_and_nothing_silently() -> None:
    crew = lower_by(2, 2)
    revision = crew.state.revision
    left = [name for name in crew.state.order if name not in crew.state.set_seats]
    built = crew.state.set_mm
    assert crew.state.seat(left[0]).fastener.drop_mm == 6.0
    entry = take(crew)
    assert crew.state.revision == revision + 1
    assert crew.state.is_released
    assert crew.state.set_mm == built
    for name in left:
        seat = crew.state.seat(name)
        assert seat.fastener.drop_mm == 8.0
        assert seat.hole_y_mm - seat.y_mm == pytest.approx(8.0)
    assert learned_drops(crew.state) == ()
    text = timeline(crew.entries, {}, "mm")[-1].text
    assert text == "Drop of hook learned from 2 readings: 8.0 mm, was 6.0 mm"
    assert entry.body["was"] == {"mm": 6.0}


def test_a_hole_there_already_gives_its_seat_lower() -> None:
    crew = lower_by(2, 2)
    third = next(name for name in crew.state.order if name not in crew.state.set_seats)
    crew.walk(until=f"fasteners.press:{third}")
    before = crew.state.marks_mm[third]
    hole = crew.state.holes[third]
    take(crew)
    assert crew.state.marks_mm[third] == pytest.approx((before[0], before[1] - 2.0))
    assert crew.state.seat(third).hole_y_mm == pytest.approx(hole[1])


def test_readings_after_it_was_taken_still_count_from_their_own_holes() -> None:
    crew = lower_by(2, 2)
    take(crew)
    third = next(name for name in crew.state.order if name not in crew.state.set_seats)
    crew.walk(until=f"fasteners.measure:{third}")
    x_mm, y_mm = crew.state.marks_mm[third]
    crew.measure(third, x_mm, y_mm)
    assert learned_drops(crew.state) == ()


def test_a_drop_the_readings_no_longer_say_is_refused() -> None:
    crew = lower_by(2, 2)
    with pytest.raises(ConflictError):
        take(crew, drop_mm=7.0)
    take(crew)
    with pytest.raises(ConflictError):
        take(crew, drop_mm=8.0)
