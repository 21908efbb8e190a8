"""Panels on wires, cleats and stand-offs at the wall: their tasks, words, readings, whole walks."""

from __future__ import annotations

from typing import Any

import pytest

from holdtrue.core.loads import load_share
from holdtrue.domain.errors import ConflictError, InputError, NotFoundError
from tests.domain.crew import Crew, at_fasteners, panel, row

WIRE = {"method": "wire", "rise": 80, "capacity": "2000 N", "basis": "ultimate"}


def wired(**more: Any) -> dict[str, Any]:
    """600 x 400 mm, rings 400 mm apart, 150 down: one hook 80 above them, 130 above the middle."""
    rings = [{"in": 100, "down": 150}, {"in": 500, "down": 150}]
    return panel("A", hang=WIRE | more, hangers=0) | {"hangers": rings}


def cleated() -> dict[str, Any]:
    return panel("A", hangers=3, hang={"method": "cleat", "up": 40})


def posted() -> dict[str, Any]:
    corners = [{"in": x, "down": y} for x in (40, 560) for y in (40, 360)]
    return panel("A", hang={"method": "standoff"}) | {"hangers": corners}


METHODS = {"wire": wired, "cleat": cleated, "standoff": posted}


def released(document: dict[str, Any]) -> Crew:
    crew = Crew(document)
    crew.release()
    return crew


def kinds(crew: Crew, stage: str) -> list[str]:
    return [task.id for task in crew.tasks if task.kind.stage == stage]


@pytest.mark.parametrize("method", METHODS)
@pytest.mark.parametrize("way", ["fasteners_first", "panel_by_panel"])
def test_every_method_is_walked_to_its_end(method: str, way: str) -> None:
    crew = Crew(row(METHODS[method](), panel("B")))
    crew.release(way)
    crew.walk()
    assert crew.state.review.state == "handed_over"
    assert set(crew.state.set_seats) == set(crew.state.form.seats)


# ---- which tasks


def test_a_wires_rings_are_measured_not_its_hooks() -> None:
    work = kinds(released(row(wired(), panel("B"))), "work")
    assert work == [
        "work.diagonals:A",
        "work.wire:A",
        "work.hanger:B1",
        "work.hanger:B2",
        "work.spacing:B1-B2",
        "work.diagonals:B",
    ]


def test_a_cleats_rail_is_measured_not_its_screws() -> None:
    assert kinds(released(row(cleated())), "work") == ["work.diagonals:A", "work.rail:A"]


def test_a_task_of_another_method_is_not_there() -> None:
    crew = released(row(panel("A")))
    crew.walk(until="work.hanger:A1")
    with pytest.raises(NotFoundError):
        crew.record("work.wire:A", {"apart": "400", "down": "150", "rise": "80"})


def test_stand_offs_are_checked_in_their_two_rows() -> None:
    crew = released(row(posted()))
    pairs = [task.id for task in crew.tasks if task.kind.name == "fasteners.pair"]
    assert pairs == ["fasteners.pair:A1-A3", "fasteners.pair:A2-A4"]
    assert "work.spacing:A1-A3" in crew.ids
    crew.walk(until="fasteners.pair:A1-A3")
    # both marks of a row are level and as far apart as the posts
    crew.record("fasteners.pair:A1-A3", {"spacing": "520", "higher": "level"})


@pytest.mark.parametrize(
    ("method", "task", "word"),
    [
        ("wire", "panels.lift:A", "lay its wire on the hook"),
        ("wire", "panels.engaged:A", "lies in its hook"),
        ("wire", "panels.level:A", "Slide the wire"),
        ("wire", "fasteners.anchor:A1", "set the hook"),
        ("cleat", "panels.lift:A", "lower its rail"),
        ("cleat", "fasteners.anchor:A1", "Hold the rail on its marks"),
        ("cleat", "fasteners.measure:A1", "where the rail bears above screw A1"),
        ("standoff", "panels.lift:A", "on its four posts"),
        ("standoff", "panels.engaged:A", "four caps of A crosswise"),
    ],
)
def test_what_is_asked_fits_the_method(method: str, task: str, word: str) -> None:
    crew = released(row(METHODS[method](), panel("B")))
    assert word in crew.task(task).ask
    other = task.replace(":A", ":B")
    assert word not in crew.task(other).ask


# ---- what is measured


def test_a_wire_as_measured_under_load_moves_its_hook() -> None:
    crew = released(row(wired(rise=None, length=450)))
    crew.walk(until="work.wire:A")
    crew.record("work.wire:A", {"apart": "402", "down": "152", "rise": "95"}, is_sure=True)
    (hook,) = crew.state.plan.seats
    # centred at 1500, 400 high: rings at 1548, the hook 95 above them
    assert hook.x_mm == 0.0
    assert hook.y_mm == pytest.approx(1643.0)
    entry = crew.state.document["panels"][0]
    assert entry["hang"]["rise"] == "95 mm"
    assert "length" not in entry["hang"]
    assert [ring["down"] for ring in entry["hangers"]] == ["152 mm", "152 mm"]


def test_the_rings_of_a_wire_stay_where_they_are_sideways() -> None:
    rings = [{"in": 90, "down": 150}, {"in": 490, "down": 150}]
    for face in ("back", "front"):
        crew = released(row(wired() | {"hangers": rings, "measured_on": face}))
        crew.walk(until="work.wire:A")
        before = crew.state.plan.seats[0].x_mm
        crew.record("work.wire:A", {"apart": "404", "down": "150", "rise": "80"})
        assert crew.state.plan.seats[0].x_mm == pytest.approx(before)
        wire = crew.state.job.panels[0].hang.wire
        assert wire is not None
        assert wire.rings_mm[1][0] - wire.rings_mm[0][0] == pytest.approx(404.0)


def test_a_wire_as_planned_leaves_the_plan() -> None:
    crew = released(row(wired(rise=None, length=450)))
    crew.walk(until="work.wire:A")
    before = crew.state.document
    crew.record("work.wire:A")
    assert crew.state.document == before


def test_a_hook_that_would_show_above_the_panel_is_refused() -> None:
    crew = released(row(wired()))
    crew.walk(until="work.wire:A")
    with pytest.raises(InputError, match="above the panel's top edge"):
        crew.record("work.wire:A", {"apart": "400", "down": "150", "rise": "160"}, is_sure=True)
    assert "work.wire:A" not in crew.state.records


def test_a_rail_as_measured_moves_all_its_screws() -> None:
    crew = released(row(cleated()))
    crew.walk(until="work.rail:A")
    crew.record("work.rail:A", {"left": "104", "right": "105"})
    assert [seat.y_mm for seat in crew.state.plan.seats] == [pytest.approx(1595.5)] * 3


def test_a_rail_that_is_not_parallel_is_said_to_be_so() -> None:
    crew = released(row(cleated()))
    crew.walk(until="work.rail:A")
    with pytest.raises(InputError, match=r"differ by 3\.0 mm against"):
        crew.record("work.rail:A", {"left": "100", "right": "103"})
    with pytest.raises(InputError, match=r"differ by 1/8 in against"):
        crew.record("work.rail:A", {"left": "4", "right": "4 1/8"}, unit="in")


# ---- wood screws at the wall


def screws(length: int, **fastener: Any) -> dict[str, Any]:
    """A panel of 8 kg, its seats on studs nobody has looked into yet, screws by formula alone."""
    document = row(panel("A"))
    document["wall"]["studs"] = [{"x": -200}, {"x": 200}]
    document["fasteners"] = [
        {
            "name": "screw",
            "into": "stud",
            "drop": -2,
            "screw": {"gauge": 8, "length": length, "lining": 12.5},
            **fastener,
        },
        {"name": "anchor", "into": "steel", "capacity": "20 kg", "basis": "working"},
    ]
    return document


def test_a_screw_by_formula_alone_needs_a_stud_known_to_be_wood() -> None:
    crew = Crew(screws(60))
    with pytest.raises(ConflictError):
        crew.release()
    document = screws(60)
    for stud in document["wall"]["studs"]:
        stud["material"] = "wood"
    crew.revise(document)
    crew.release()
    assert [load_share(seat) is not None for seat in crew.state.plan.seats] == [True, True]


def test_a_pilot_that_meets_wood_makes_the_formula_count() -> None:
    # the capacity lets the plan be released; the formula only speaks once wood is met
    crew = at_fasteners(screws(60, capacity="60 kg", basis="working"))
    assert not [f for f in crew.state.open_findings if f.kind == "formula"]
    crew.walk(until="fasteners.pilot:A1")
    crew.record("fasteners.pilot:A1", {"met": "wood"})
    (found,) = [f for f in crew.state.open_findings if f.kind == "formula"]
    assert found.seat == "A1"
    assert "less than the 588.4 N stated" in found.text
    # and the lead must look before the hole is opened
    assert crew.status("fasteners.anchor:A1") == "waiting"
    assert "the lead must look" in crew.task("fasteners.anchor:A1").why


def test_a_screw_changed_to_on_site_that_fails_is_a_stop() -> None:
    document = row(panel("A"))
    spec = {"gauge": 6, "length": 25, "lining": 12.5}
    document["fasteners"].insert(
        1, {"name": "short screw", "into": "stud", "drop": -2, "screw": spec}
    )
    crew = at_fasteners(document)
    crew.walk(until="fasteners.pilot:A1")
    crew.block("A1", "stud", material="wood")
    assert crew.state.seat("A1").fastener.name == "short screw"
    assert [f.weight for f in crew.state.open_findings] == ["bar"]
    assert "gives no value for short screw" in crew.state.open_findings[0].text
    # nothing more happens at this seat, until another fastener is picked that carries it
    assert crew.status("fasteners.mark:A1") == "waiting"
    crew.block("A1", "same", fastener="wood screw")
    assert crew.state.open_findings == ()
    assert crew.status("fasteners.mark:A1") == "ready"
