"""Panels on a wire, on a rail, on stand-offs: their own tasks, walked to the end."""

from __future__ import annotations

from typing import Any

import pytest

from holdtrue.domain.card import hardware
from holdtrue.domain.errors import InputError
from holdtrue.domain.jobfile import parse_job
from tests.domain.crew import Crew, at_fasteners, panel, row

FASTENERS: dict[str, Any] = {
    "fasteners": [
        {
            "name": "hook",
            "into": "hollow",
            "drop": 6,
            "capacity": "80 kg",
            "basis": "working",
        }
    ]
}


def on_a_wire(face: str = "back") -> dict[str, Any]:
    """Rings 100 mm in and 150 down; the hook stands 80 mm above them, so 70 below the top edge."""
    rings = [{"in": 100, "down": 150}, {"in": 500, "down": 150}]
    wire = {"method": "wire", "rise": 80, "capacity": "200 kg", "basis": "working"}
    return row(panel("A", hangers=1, measured_on=face) | {"hangers": rings, "hang": wire})


def on_a_rail() -> dict[str, Any]:
    screws = [{"in": x, "down": 60} for x in (100, 300, 500)]
    rail = {"method": "cleat", "up": 20, "rail": 450}
    return row(panel("A") | {"hangers": screws, "hang": rail})


def on_stand_offs() -> dict[str, Any]:
    posts = [{"in": x, "down": y} for x in (50, 550) for y in (50, 350)]
    return row(panel("A") | {"hangers": posts, "hang": {"method": "standoff"}})


def until(document: dict[str, Any], task_id: str) -> Crew:
    crew = Crew(document | FASTENERS)
    crew.release()
    crew.walk(until=task_id)
    return crew


@pytest.mark.parametrize(
    ("document", "own", "others"),
    [
        (on_a_wire(), ["work.wire:A"], ["work.rail:A", "work.hanger:A1", "fasteners.pair:A1-A2"]),
        (on_a_rail(), ["work.rail:A", "fasteners.pair:A1-A2"], ["work.wire:A"]),
        (
            on_stand_offs(),
            ["fasteners.pair:A1-A3", "fasteners.pair:A2-A4"],
            ["fasteners.pair:A1-A2", "work.wire:A", "work.rail:A"],
        ),
    ],
    ids=["wire", "rail", "stand-offs"],
)
def test_each_way_of_hanging_has_its_own_tasks_and_comes_to_its_end(
    document: dict[str, Any], own: list[str], others: list[str]
) -> None:
    crew = Crew(document | FASTENERS)
    crew.release()
    walked = crew.walk()
    assert crew.state.review.state == "handed_over"
    assert set(own) <= set(walked)
    assert not set(others) & set(walked)


def test_the_words_of_a_task_are_those_of_its_way_of_hanging() -> None:
    asks = {
        at_fasteners(document | FASTENERS).task("panels.engaged:A").ask
        for document in (on_a_wire(), on_a_rail(), on_stand_offs(), row(panel("A")))
    }
    assert len(asks) > 1
    assert not any("{" in ask for ask in asks)


@pytest.mark.parametrize("face", ["back", "front"])
def test_a_wire_pulled_taut_puts_its_hook_where_it_really_stands(face: str) -> None:
    crew = until(on_a_wire(face), "work.wire:A")
    assert crew.state.seat("A1").y_mm == pytest.approx(1700 - 70)
    crew.record("work.wire:A", {"apart": "404", "down": "152", "rise": "85"})
    seat = crew.state.seat("A1")
    assert (seat.x_mm, seat.y_mm) == pytest.approx((0, 1700 - 152 + 85))
    wire = crew.state.job.panels[0].hang.wire
    assert wire is not None
    assert [u for u, _ in wire.rings_mm] == pytest.approx([-202, 202])
    crew.walk()
    assert crew.state.review.state == "handed_over"


def test_a_wire_measured_taut_no_longer_counts_by_its_length() -> None:
    document = on_a_wire()
    document["panels"][0]["hang"] = {
        "method": "wire",
        "length": 440,
        "capacity": "200 kg",
        "basis": "working",
    }
    crew = until(document, "work.wire:A")
    # 220 along each half, 200 across: 91.65 up
    assert crew.state.plan.seats[0].y_mm == pytest.approx(1700 - 150 + 91.65, abs=0.01)
    crew.record("work.wire:A", {"apart": "400", "down": "150", "rise": "90"})
    assert crew.state.seat("A1").y_mm == pytest.approx(1700 - 150 + 90)
    assert "length" not in crew.state.document["panels"][0]["hang"]


def test_a_rail_is_read_at_both_ends() -> None:
    crew = until(on_a_rail(), "work.rail:A")
    with pytest.raises(InputError, match=r"ends differ by 3\.0 mm"):
        crew.record("work.rail:A", {"left": "60", "right": "63"})
    crew.record("work.rail:A", {"left": "61", "right": "63"})
    assert {seat.y_mm for seat in crew.state.current.seats} == {1700 - 62}


@pytest.mark.parametrize("document", [on_a_wire(), on_a_rail()], ids=["wire", "rail"])
def test_as_planned_changes_nothing(document: dict[str, Any]) -> None:
    task_id = "work.wire:A" if document["panels"][0]["hang"]["method"] == "wire" else "work.rail:A"
    crew = until(document, task_id)
    before = crew.state
    crew.do(task_id)
    assert crew.state.document == before.document
    assert crew.state.revision == before.revision


@pytest.mark.parametrize(
    ("document", "words"),
    [
        (on_a_wire(), "two rings 400 mm apart with one wire, over one hook"),
        (on_a_rail(), "a rail, on a rail in the wall with 3 screws"),
        (on_stand_offs(), "4 stand-offs"),
        (row(panel("A")), "2 hangers, a fastener each"),
    ],
)
def test_the_card_says_what_is_on_the_back_to_hang_it_by(
    document: dict[str, Any], words: str
) -> None:
    (one,) = parse_job(document).panels
    assert hardware(one, lambda mm: f"{mm:g} mm") == words
