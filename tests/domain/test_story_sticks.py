"""A story stick: offered where it helps, and then the others follow their first seat."""

from __future__ import annotations

import pytest

from holdtrue.domain.outlook import outlook, stick_panels
from holdtrue.service import jobs
from tests.domain.crew import Crew, at_fasteners, panel, row

THREE = row(panel("A"), panel("B"), panel("C", 1))


def with_stick() -> Crew:
    crew = at_fasteners(THREE)
    crew.do("fasteners.stick:B")
    return crew


def test_it_is_offered_where_it_raises_the_chance_and_nowhere_else() -> None:
    crew = at_fasteners(THREE)
    assert stick_panels(crew.state) == ("A", "B")
    assert crew.state.release is not None
    assert crew.state.release.sticks == ("A", "B")
    sticks = [t for t in crew.tasks if t.kind.name == "fasteners.stick"]
    assert [(t.subject, t.status, t.kind.is_optional) for t in sticks] == [
        ("B", "ready", True),
        ("A", "ready", True),
    ]
    seen = outlook(crew.state)
    assert seen.with_sticks > seen.chance


def test_it_is_no_longer_offered_once_the_panel_is_pencilled() -> None:
    crew = at_fasteners(THREE)
    crew.do("fasteners.mark:B1")
    assert "fasteners.stick:B" not in crew.ids
    assert "fasteners.stick:A" in crew.ids


def test_using_it_raises_the_forecast_and_is_logged() -> None:
    crew = at_fasteners(THREE)
    before = outlook(crew.state).chance
    entry = crew.do("fasteners.stick:B")
    assert crew.state.sticks == {"B"}
    assert outlook(crew.state).chance > before
    crew.undo(entry)
    assert crew.state.sticks == frozenset()
    assert outlook(crew.state).chance == before


def test_the_first_seat_is_set_before_the_others_are_marked_from_it() -> None:
    crew = with_stick()
    assert crew.task("fasteners.mark:B2").why == "first finish: Measure B1"
    crew.do("fasteners.mark:B1")
    assert crew.status("fasteners.pilot:B1") == "ready"
    crew.walk(until="fasteners.measure:B1")
    x_mm, y_mm = crew.state.marks_mm["B1"]
    crew.measure("B1", x_mm + 2.3, y_mm - 1.7)
    # off the tape's marks: the stick carries what is, not what a tape can read
    assert crew.state.marks_mm["B2"] == pytest.approx((x_mm + 400 + 2.3, y_mm - 1.7))
    assert crew.status("fasteners.mark:B2") == "ready"


def test_the_pair_is_then_checked_from_the_seat_that_is_set() -> None:
    crew = with_stick()
    crew.walk(until="fasteners.pair:B1-B2")
    entry = crew.do("fasteners.pair:B1-B2")
    # from seat to hole: the hook's drop of 6 above
    assert entry.body["planned"]["higher"] == "right"
    assert entry.body["planned"]["by"]["mm"] == pytest.approx(6.0)
    assert crew.status("fasteners.pilot:B2") == "ready"
    crew.walk()
    assert crew.state.review.state == "handed_over"


def test_a_rail_is_its_own_story_stick() -> None:
    rail = {
        "hangers": [{"in": x, "down": 60} for x in (100, 500)],
        "hang": {"method": "cleat", "up": 20},
    }
    crew = Crew(row(panel("A") | rail, panel("B")))
    jobs.release(
        crew.services,
        crew.lead,
        crew.job,
        reason="as built",
        way="fasteners_first",
        key=crew.key(),
    )
    assert crew.state.release is not None
    assert crew.state.release.sticks == ("B",)
