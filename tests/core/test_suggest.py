"""The least shift that clears every conflict, against trying every place; other fasteners."""

from __future__ import annotations

from dataclasses import replace
from math import hypot
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holdtrue.core.model import Fastener, Job, KeepClear, Layout, Material, Outlet, Stud, Wall
from holdtrue.core.plan import make_plan
from holdtrue.core.suggest import BLOCKING, Shift, least_shift, suggest
from tests.core.jobs import panel

REACH_MM = 24
MATERIALS: tuple[Material, ...] = ("wood", "steel", "unknown")
HOLLOW = Fastener(name="hook", into="hollow", drop_mm=4.0, capacity_N=500.0, basis_stated=True)
STUD = Fastener(name="screw", into="stud", drop_mm=-2.0, capacity_N=500.0, basis_stated=True)


def one(*fasteners: Fastener, **wall: Any) -> Job:
    """One panel, its seats at x -20 and 20 mm, 120 mm up; holes 124 mm up on a hook."""
    small = panel("A", 60.0, 80.0, seats=((-20.0, 20.0), (20.0, 20.0)), mass_kg=1.0)
    return Job(
        title="to shift",
        unit="mm",
        panels=(small,),
        layout=Layout(kind="row", height_at_mm=100.0),
        wall=Wall(**wall),
        fasteners=fasteners or (HOLLOW, STUD),
    )


def keep(x0: float, y0: float, x1: float, y1: float) -> KeepClear:
    return KeepClear(x0_mm=x0, y0_mm=y0, x1_mm=x1, y1_mm=y1, why="a pipe")


def shifted(job: Job, dx_mm: float, dy_mm: float) -> Job:
    layout = job.layout
    moved = replace(
        layout, offset_mm=layout.offset_mm + dx_mm, height_at_mm=layout.height_at_mm + dy_mm
    )
    return replace(job, layout=moved)


def test_nothing_is_suggested_where_nothing_is_in_the_way() -> None:
    assert suggest(make_plan(one())) is None


def test_a_pipe_beside_a_hole_is_passed_on_its_nearer_side() -> None:
    # the hole at x 20 lies 3 mm from the area's left edge, 7 mm from its right
    found = suggest(make_plan(one(keep_clear=(keep(17, 0, 27, 1000),))))
    assert found is not None
    assert found.blocked == ("A2",)
    assert found.shift == Shift(dx_mm=-4.0, dy_mm=0.0)


def test_a_conflict_is_passed_above_when_that_is_nearer() -> None:
    assert least_shift(make_plan(one(keep_clear=(keep(-500, 100, 500, 126),)))) == Shift(
        dx_mm=0.0, dy_mm=3.0
    )


def test_a_seat_that_comes_to_stand_on_a_stud_takes_its_drop_along() -> None:
    # to the left A2 meets the stud: its screw's hole, 6 mm lower than a hook's, is in the area
    studs = (Stud(x_mm=10.0, width_mm=8.0, material="wood"),)
    job = one(
        studs=studs,
        stud_clearance_mm=0.0,
        keep_clear=(keep(17, 110, 21, 130), keep(0, 110, 16, 120)),
    )
    found = least_shift(make_plan(job))
    assert found == Shift(dx_mm=2.0, dy_mm=0.0)


def test_no_seat_is_moved_to_a_studs_edge() -> None:
    studs = (Stud(x_mm=30.0, width_mm=8.0, material="wood"),)
    job = one(studs=studs, stud_clearance_mm=4.0, keep_clear=(keep(15, 0, 20, 1000),))
    # 1 mm to the right clears the area, but 22 to 26 mm is the stud's edge: 21 is just free
    assert least_shift(make_plan(job)) == Shift(dx_mm=1.0, dy_mm=0.0)
    nearer = replace(job, wall=replace(job.wall, stud_clearance_mm=5.5))
    assert least_shift(make_plan(nearer)) == Shift(dx_mm=-6.0, dy_mm=0.0)


def test_a_shift_keeps_off_walls_ends_and_cable_zones() -> None:
    outlet = Outlet(x_mm=35.0, y_mm=10.0, width_mm=10.0, height_mm=10.0)
    job = one(keep_clear=(keep(15, 0, 26, 1000),), outlets=(outlet,), left_mm=-29.0)
    # left is 6 mm to clear, and 2.5 mm of wall would be left; right is 7 mm, up to the outlet
    assert least_shift(make_plan(job)) == Shift(dx_mm=-6.0, dy_mm=0.0)
    shorter = replace(job, wall=replace(job.wall, left_mm=-26.0))
    assert least_shift(make_plan(shorter)) == Shift(dx_mm=7.0, dy_mm=0.0)


def test_where_no_shift_in_reach_clears_it_that_is_said() -> None:
    found = suggest(make_plan(one(keep_clear=(keep(-5000, -5000, 5000, 5000),))))
    assert found is not None
    assert found.shift is None


def test_a_missing_fastener_is_something_to_move_away_from() -> None:
    job = one(HOLLOW, studs=(Stud(x_mm=22.0, width_mm=6.0),), stud_clearance_mm=2.0)
    assert least_shift(make_plan(job)) == Shift(dx_mm=-4.0, dy_mm=0.0)


@pytest.mark.parametrize("graduation_mm", [25.4 / 16, 0.5])
def test_shifts_are_whole_graduations_of_at_least_a_millimetre(graduation_mm: float) -> None:
    job = replace(one(keep_clear=(keep(17, 0, 27, 1000),)), graduation_mm=graduation_mm)
    found = least_shift(make_plan(job))
    assert found is not None
    grid = max(graduation_mm, 1.0)
    assert found.dx_mm / grid == pytest.approx(round(found.dx_mm / grid))
    assert found.dx_mm < -3.0


def test_another_fastener_is_named_when_its_hole_is_clear_and_it_carries() -> None:
    longer = replace(HOLLOW, name="long hook", drop_mm=15.0)
    weaker = replace(longer, name="weak hook", capacity_N=1.0)
    unknown = replace(longer, name="odd hook", capacity_N=None)
    job = one(HOLLOW, longer, weaker, unknown, STUD, keep_clear=(keep(10, 120, 30, 130),))
    found = suggest(make_plan(job))
    assert found is not None
    assert [(o.seat, o.fastener.name, o.hole_up_mm) for o in found.fasteners] == [
        ("A2", "long hook", 11.0)
    ]


@st.composite
def crowded(draw: st.DrawFn) -> Job:
    """One or two small panels on a crowded piece of wall."""
    near = st.integers(-60, 60)
    studs = tuple(
        Stud(x_mm=float(draw(near)), width_mm=draw(st.sampled_from([10.0, 15.5])), material=m)
        for m in draw(st.lists(st.sampled_from(MATERIALS), max_size=2))
    )
    areas = []
    for _ in range(draw(st.integers(1, 3))):
        x, y = draw(near), draw(st.integers(90, 130))
        areas.append(keep(x, y, x + draw(st.integers(0, 15)), y + draw(st.integers(0, 20))))
    steel = (Fastener(name="anchor", into="steel", drop_mm=1.0),) if draw(st.booleans()) else ()
    return one(
        HOLLOW,
        STUD,
        *steel,
        studs=studs,
        stud_clearance_mm=draw(st.sampled_from([0.0, 3.0])),
        keep_clear=tuple(areas),
        left_mm=draw(st.sampled_from([None, -30.0])),
    )


def is_clear(job: Job, dx_mm: float, dy_mm: float, edges: set[str]) -> bool:
    plan = make_plan(shifted(job, dx_mm, dy_mm))
    now = {seat.seat for seat in plan.seats if seat.into == "edge"}
    return now <= edges and not any(f.kind in BLOCKING for f in plan.findings)


@settings(max_examples=25)
@given(job=crowded())
def test_it_is_the_least_of_all_places_tried_one_by_one(job: Job) -> None:
    plan = make_plan(job)
    found = least_shift(plan)
    edges = {seat.seat for seat in plan.seats if seat.into == "edge"}
    if found is not None:
        assert is_clear(job, found.dx_mm, found.dy_mm, edges)
    size = hypot(found.dx_mm, found.dy_mm) if found else float(REACH_MM)
    for dx in range(-REACH_MM, REACH_MM + 1):
        for dy in range(-REACH_MM, REACH_MM + 1):
            if hypot(dx, dy) < min(size, REACH_MM) - 1e-9:
                assert not is_clear(job, dx, dy, edges), (dx, dy)
