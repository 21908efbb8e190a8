"""The plan of a job and what must be known before it is released."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings

from holdtrue.core.errors import CoreError
from holdtrue.core.model import Fastener, Finding, Hanger, Job, KeepClear, Plan, Stud, Wall
from holdtrue.core.plan import (
    found_behind,
    load_share,
    make_plan,
    seat_force_N,
    seat_load_findings,
)
from holdtrue.core.wall import Behind
from tests.core.jobs import any_job, panel, row

# 10 kg on two hangers: 49.03 N each; depth 40, seats 600 above the bottom edge: 1.63 N pull each
LOAD_N, PULL_N = 49.03325, 49.03325 * 20 / 600
FORCE_N = 49.0605
OK = {"capacity_N": 100.0, "basis_stated": True}


def toggle(**values: Any) -> Fastener:
    return Fastener(**({"name": "toggle", "into": "hollow"} | OK | values))


def screw(**values: Any) -> Fastener:
    return Fastener(**({"name": "screw", "into": "stud"} | OK | values))


def one(*fasteners: Fastener, studs: tuple[Stud, ...] = (), **wall: Any) -> Job:
    """Seats A1 at x -150 and A2 at x 150, both at height 1750."""
    return replace(row(panel("A")), fasteners=fasteners, wall=Wall(studs=studs, **wall))


def kinds(found: tuple[Finding, ...] | list[Finding]) -> list[tuple[str, str | None, str]]:
    return [(f.kind, f.seat, f.weight) for f in found]


def stud(x_mm: float, material: Any = "wood") -> Stud:
    return Stud(x_mm=x_mm, width_mm=38.0, material=material)


# ---- seats


def test_each_seat_gets_its_fastener_hole_load_and_pull() -> None:
    plan = make_plan(
        one(toggle(drop_mm=6.0), screw(drop_mm=-2.0, standoff_mm=30.0), studs=(stud(150),))
    )
    a1, a2 = plan.seats
    assert (a1.seat, a1.x_mm, a1.y_mm, a1.hole_y_mm, a1.into) == (
        "A1",
        -150.0,
        1750.0,
        1756.0,
        "hollow",
    )
    assert (a2.seat, a2.x_mm, a2.y_mm, a2.hole_y_mm, a2.into) == (
        "A2",
        150.0,
        1750.0,
        1748.0,
        "stud",
    )
    assert [s.fastener.name for s in plan.seats if s.fastener] == ["toggle", "screw"]
    assert (a1.load_N, a1.pull_N) == pytest.approx((LOAD_N, PULL_N))
    assert a2.pull_N == pytest.approx(LOAD_N * 50 / 600)
    assert (a1.material, a2.material) == ("unknown", "wood")
    assert [finding.kind for finding in plan.findings] == ["twist"]


def test_backing_is_judged_where_the_seat_is_now() -> None:
    a_job = one(toggle(), screw(), studs=(stud(200),))
    assert make_plan(a_job).seats[1].into == "hollow"
    moved = make_plan(a_job, places_mm={"A2": (190.0, 1751.0)}).seats
    assert (moved[1].into, moved[1].x_mm, moved[1].y_mm) == ("stud", 190.0, 1751.0)
    assert moved[0] == make_plan(a_job).seats[0]


def test_what_was_found_behind_a_seat_prevails_over_the_plan() -> None:
    a_job = one(toggle(drop_mm=6.0), screw(drop_mm=1.0), studs=(stud(150),))
    seats = make_plan(a_job, blocked={"A1": Behind(into="stud"), "A2": Behind(into="hollow")}).seats
    assert [s.into for s in seats] == ["stud", "hollow"]
    # the seat stays; only its fastener, and so its hole, changes
    assert [s.hole_y_mm - s.y_mm for s in seats] == [1.0, 6.0]
    assert [s.y_mm for s in seats] == [1750.0, 1750.0]


def test_a_fastener_picked_at_the_wall_prevails_over_the_first_listed() -> None:
    a_job = one(toggle(), toggle(name="other", drop_mm=9.0))
    seats = make_plan(a_job, chosen={"A2": "other"}).seats
    assert [s.fastener.name for s in seats if s.fastener] == ["toggle", "other"]
    assert seats[1].hole_y_mm == 1759.0


@pytest.mark.parametrize(
    ("met", "material", "behind"),
    [
        ("steel", None, Behind(into="steel", material="steel")),
        ("stud", None, Behind(into="stud")),
        ("stud", "wood", Behind(into="stud", material="wood")),
        ("stud", "steel", Behind(into="steel", material="steel")),
        ("hollow", None, Behind(into="hollow")),
        ("backed", "wood", Behind(into="backed")),
        ("solid", None, Behind(into="solid")),
    ],
)
def test_what_a_log_says_was_found(met: Any, material: Any, behind: Behind) -> None:
    assert found_behind(met, material) == behind
    assert found_behind(met, material, Behind(into="hollow")) == behind


@pytest.mark.parametrize(
    ("met", "material", "behind"),
    [
        ("stud", "wood", Behind(into="edge", material="wood")),
        ("stud", None, Behind(into="edge")),
        ("stud", "steel", Behind(into="edge", material="steel")),
        ("steel", None, Behind(into="edge", material="steel")),
        ("hollow", None, Behind(into="hollow")),
        ("solid", None, Behind(into="solid")),
    ],
)
def test_a_stud_met_where_its_edge_was_expected_is_that_edge(
    met: Any, material: Any, behind: Behind
) -> None:
    assert found_behind(met, material, Behind(into="edge")) == behind


@settings(max_examples=50)
@given(any_job())
def test_a_plan_has_every_seat_of_the_arrangement_in_order(a_job: Job) -> None:
    plan = make_plan(a_job)
    assert tuple(s.seat for s in plan.seats) == plan.arrangement.seat_names
    assert [(s.panel, s.hanger) for s in plan.seats] == list(
        zip(plan.arrangement.seat_panel, plan.arrangement.seat_hanger, strict=True)
    )
    assert all(s.hole_y_mm == s.y_mm + a_job.fasteners[0].drop_mm for s in plan.seats)


def test_hangers_that_cannot_hold_their_panel_are_an_error() -> None:
    with pytest.raises(CoreError, match="between the outermost hangers"):
        make_plan(row(panel("A", cg_u_mm=160.0)))


# ---- load against what is allowed


def first(plan: Plan) -> Any:
    return plan.seats[0]


def test_force_is_load_and_pull_together() -> None:
    # 3-4-5 as vectors: never less than the vertical load
    seat = replace(first(make_plan(one(toggle()))), load_N=40.0, pull_N=30.0)
    assert seat_force_N(seat) == 50.0
    assert seat_force_N(replace(seat, pull_N=0.0)) == 40.0


def test_share_is_force_over_capacity_over_factor() -> None:
    seat = first(make_plan(one(toggle(capacity_N=400.0, basis="ultimate", design_factor=4.0))))
    assert seat_force_N(seat) == pytest.approx(FORCE_N, abs=1e-3)
    assert load_share(seat) == pytest.approx(FORCE_N / 100.0, abs=1e-5)


@pytest.mark.parametrize(
    "fastener", [None, toggle(capacity_N=None), toggle(basis_stated=False)], ids=str
)
def test_what_is_not_known_has_no_share(fastener: Fastener | None) -> None:
    seat = replace(first(make_plan(one(toggle()))), fastener=fastener)
    assert load_share(seat) is None


@pytest.mark.parametrize(
    ("material", "x", "known"),
    [
        ("wood", -150, True),
        ("steel", -150, True),
        ("unknown", -150, False),
        ("unknown", -172, False),
        ("wood", -172, True),
    ],
)
def test_in_a_stud_of_unknown_material_the_share_is_not_known(
    material: str, x: float, known: bool
) -> None:
    a_job = one(toggle(), screw(), screw(name="tapper", into="steel"), studs=(stud(x, material),))
    seat = first(make_plan(a_job))
    assert seat.into == ("edge" if x == -172 else "steel" if material == "steel" else "stud")
    assert (load_share(seat) is not None) is known


# ---- findings


def findings(a_job: Job) -> list[tuple[str, str | None, str]]:
    return kinds(make_plan(a_job).findings)


def both(kind: str, weight: str) -> list[tuple[str, str | None, str]]:
    return [(kind, "A1", weight), (kind, "A2", weight)]


def test_a_sound_plan_has_none() -> None:
    assert findings(one(toggle())) == []


@pytest.mark.parametrize(
    ("behind", "says"),
    [("hollow", "a hollow wall"), ("backed", "a backed wall"), ("solid", "a solid wall")],
)
def test_no_fastener_listed_bars_release(behind: str, says: str) -> None:
    a_job = one(screw(), behind=behind)
    plan = make_plan(a_job)
    assert kinds(plan.findings) == both("no fastener", "bar")
    assert says in plan.findings[0].text
    assert [s.hole_y_mm - s.y_mm for s in plan.seats] == [0.0, 0.0]


@pytest.mark.parametrize(
    ("x", "material", "says"),
    [
        (-150, "wood", "for a stud"),
        (-150, "steel", "a steel stud"),
        (-172, "wood", "a stud's edge"),
    ],
)
def test_no_fastener_for_a_stud_bars_release(x: float, material: str, says: str) -> None:
    (finding,) = make_plan(one(toggle(), studs=(stud(x, material),))).findings
    assert (finding.kind, finding.weight, finding.seat) == ("no fastener", "bar", "A1")
    assert says in finding.text


def test_a_capacity_that_is_not_known_bars_release() -> None:
    assert findings(one(toggle(capacity_N=None))) == both("not known", "bar")


def test_a_basis_that_is_not_stated_bars_release() -> None:
    found = make_plan(one(toggle(basis_stated=False))).findings
    assert kinds(found) == both("not known", "bar")
    assert "basis" in found[0].text


@pytest.mark.parametrize(
    ("capacity", "factor", "weight"),
    [
        (FORCE_N - 0.01, 1.0, "bar"),
        (FORCE_N + 0.01, 1.0, None),
        (FORCE_N + 0.01, 1.5, "reason"),
        (2 * FORCE_N - 0.01, 2.0, "reason"),
        (2 * FORCE_N + 0.01, 2.0, None),
        # no reason releases a load above capacity at factor 1, whatever the factor
        (FORCE_N - 0.01, 4.0, "bar"),
    ],
)
def test_more_than_allowed_needs_a_reason_more_than_capacity_has_none(
    capacity: float, factor: float, weight: str | None
) -> None:
    a_job = one(toggle(capacity_N=capacity, design_factor=factor))
    assert findings(a_job) == (both("overload", weight) if weight else [])


def test_an_overload_is_said_even_when_the_basis_is_not_stated() -> None:
    found = findings(one(toggle(capacity_N=10.0, basis_stated=False)))
    assert found[:2] == [("not known", "A1", "bar"), ("overload", "A1", "bar")]


def test_a_stud_of_unknown_material_needs_a_reason_and_a_pilot_hole() -> None:
    (finding,) = make_plan(one(toggle(), screw(), studs=(stud(-150, "unknown"),))).findings
    assert (finding.kind, finding.seat, finding.weight) == ("not known", "A1", "reason")
    assert "pilot hole" in finding.text


def test_a_studs_edge_is_worth_knowing() -> None:
    (finding,) = make_plan(one(toggle(), screw(), studs=(stud(-172),))).findings
    assert (finding.kind, finding.seat, finding.weight) == ("edge", "A1", "note")
    assert "screw is used" in finding.text


def test_an_edge_of_an_unknown_stud_says_both() -> None:
    found = findings(one(toggle(), screw(), studs=(stud(-172, "unknown"),)))
    assert found == [("not known", "A1", "reason"), ("edge", "A1", "note")]


def test_conflicts_name_the_seat_and_bar_release() -> None:
    area = KeepClear(x0_mm=-160.0, y0_mm=1700.0, x1_mm=-140.0, y1_mm=1800.0, why="a cable")
    found = findings(one(toggle(), keep_clear=(area,), left_mm=-5000.0, right_mm=140.0))
    assert found == both("conflict", "bar")


def test_a_keep_clear_area_is_tried_with_the_hole_not_the_seat() -> None:
    area = KeepClear(x0_mm=-500.0, y0_mm=1755.0, x1_mm=500.0, y1_mm=1760.0, why="a pipe")
    assert findings(one(toggle(), keep_clear=(area,))) == []
    assert findings(one(toggle(drop_mm=6.0), keep_clear=(area,))) == both("conflict", "bar")


@pytest.mark.parametrize(("capacity", "is_over"), [(49.0, True), (49.1, False), (None, False)])
def test_the_hangers_own_capacity_is_checked_too(capacity: float | None, is_over: bool) -> None:
    a_job = one(toggle())
    weak = replace(a_job.panels[0].hangers[0], capacity_N=capacity)
    a_panel = replace(a_job.panels[0], hangers=(weak, a_job.panels[0].hangers[1]))
    found = findings(replace(a_job, panels=(a_panel,)))
    assert found == ([("hanger overload", "A1", "bar")] if is_over else [])


@pytest.mark.parametrize(("u", "is_said"), [(0.9, False), (1.1, True), (-40.0, True)])
def test_a_lone_hanger_off_the_centre_of_gravity_will_hang_crooked(u: float, is_said: bool) -> None:
    lone = replace(one(toggle()).panels[0], hangers=(Hanger(u_mm=u, v_mm=250.0),))
    found = findings(replace(one(toggle()), panels=(lone,)))
    assert found == ([("crooked", "A1", "note")] if is_said else [])


def test_findings_of_one_seat_are_the_same_alone() -> None:
    plan = make_plan(one(toggle(capacity_N=None), screw(), studs=(stud(150, "unknown"),)))
    alone = [finding for seat in plan.seats for finding in seat_load_findings(seat)]
    assert tuple(alone) == plan.findings
