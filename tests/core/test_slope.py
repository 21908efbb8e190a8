"""Following a sloping room: panels turned on their seats, by the seats and by the corners."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from math import hypot
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holdtrue.core.geometry import arrange
from holdtrue.core.hung import shared_mm
from holdtrue.core.model import Job, Layout, Panel
from holdtrue.core.plan import make_plan
from holdtrue.core.slope import (
    Stand,
    corners_mm,
    panel_stands,
    planned_rise_mm,
    sloped_readings_mm,
)
from tests.core.jobs import any_job, job, panel, row

WIDE = panel("A", 900.0, 600.0, [(-300.0, 200.0), (300.0, 200.0)])


def sloping(*panels: Panel, slope: float = 5.0, **layout: Any) -> Job:
    return row(*panels, slope_mm_per_m=slope, **layout)


def column(*panels: Panel, slope: float) -> Job:
    layout = Layout(kind="column", gaps_mm=(50.0,), height_at_mm=1500.0, slope_mm_per_m=slope)
    return job(*panels, layout=layout)


def test_a_panel_of_900_on_a_slope_of_5_in_1_m_is_planned_to_rise_4_and_a_half() -> None:
    a_job = sloping(WIDE)
    assert planned_rise_mm(a_job, WIDE) == pytest.approx(4.5)
    top_left, top_right, *_ = corners_mm(WIDE, panel_stands(a_job, arrange(a_job))[0])
    assert top_right[1] - top_left[1] == pytest.approx(4.5)


@given(any_job())
def test_the_hangers_of_a_panel_where_it_stands_lie_on_its_seats(a_job: Job) -> None:
    """The panel is moved and turned as a whole; its hangers must then meet the planned seats."""
    arrangement = arrange(a_job)
    seats = iter(arrangement.seats_mm)
    for one, stand in zip(a_job.panels, panel_stands(a_job, arrangement), strict=True):
        own = [next(seats) for _ in one.hangers]
        held = [
            (stand.x_mm + h.u_mm - stand.tilt * h.v_mm, stand.y_mm + h.v_mm + stand.tilt * h.u_mm)
            for h in one.hangers
        ]
        assert [y for _, y in held] == pytest.approx([y for _, y in own], abs=1e-6)
        if len(own) > 1:
            assert [x for x, _ in held] == pytest.approx([x for x, _ in own], abs=1e-6)


def test_hangers_at_different_heights_lie_aside_of_each_other_on_a_slope() -> None:
    """20 mm in 1 m over 200 mm of height: 4 mm, more than hangers have of slack."""
    uneven = panel("A", 900.0, 600.0, [(-300.0, 250.0), (300.0, 50.0)])
    a, b = arrange(sloping(uneven, slope=20.0)).seats_mm
    assert (b[0] - a[0], b[1] - a[1]) == pytest.approx((604.0, -188.0))


@given(any_job(), st.integers(-20, 20).map(float))
def test_a_panel_turned_as_one_piece_meets_its_seats(a_job: Job, slope: float) -> None:
    """Another way there: distances between a panel's seats are those between its hangers."""
    sloped = replace(a_job, layout=replace(a_job.layout, slope_mm_per_m=slope))
    seats = iter(arrange(sloped).seats_mm)
    for one in sloped.panels:
        own = [next(seats) for _ in one.hangers]
        for (h, at), (i, beside) in pairwise(zip(one.hangers, own, strict=True)):
            apart = hypot(i.u_mm - h.u_mm, i.v_mm - h.v_mm)
            # to the second order of the turn: 0.0002 of it
            assert hypot(beside[0] - at[0], beside[1] - at[1]) == pytest.approx(apart, rel=2.1e-4)


@given(any_job())
def test_on_a_level_layout_every_panel_stands_where_the_layout_has_it(a_job: Job) -> None:
    level = replace(a_job, layout=replace(a_job.layout, slope_mm_per_m=0.0))
    arrangement = arrange(level)
    stands = panel_stands(level, arrangement)
    assert [(s.x_mm, s.y_mm, s.tilt) for s in stands] == [
        (x, y, 0.0) for x, y in arrangement.centres_mm
    ]
    assert set(sloped_readings_mm(level, arrangement).values()) <= {0.0}


@given(any_job())
def test_readings_on_a_slope_are_what_the_corners_of_the_turned_panels_say(a_job: Job) -> None:
    """By corners: levels over the width, gaps at both ends of the shared edge, steps."""
    arrangement = arrange(a_job)
    stands = panel_stands(a_job, arrangement)
    sloped = sloped_readings_mm(a_job, arrangement)
    for one, stand in zip(a_job.panels, stands, strict=True):
        top_left, top_right, *_ = corners_mm(one, stand)
        assert sloped.get(("level", one.name), 0.0) == pytest.approx(
            top_right[1] - top_left[1], abs=1e-6
        )
    for pair in arrangement.neighbours:
        p, q = a_job.panels[pair.p], a_job.panels[pair.q]
        at_p, at_q = corners_mm(p, stands[pair.p]), corners_mm(q, stands[pair.q])
        label = f"{p.name}|{q.name}"
        (xp, yp), (xq, yq) = arrangement.centres_mm[pair.p], arrangement.centres_mm[pair.q]
        if pair.how == "beside":
            ends = shared_mm(yp, p.height_mm, yq, q.height_mm)
            level_gap = (xq - q.width_mm / 2) - (xp + p.width_mm / 2)
            gaps = [
                along(at_q[0], at_q[3], (y - yq) / q.height_mm)[0]
                - along(at_p[1], at_p[2], (y - yp) / p.height_mm)[0]
                for y in ends
            ]
            step = (at_p[1][1] - at_q[0][1]) - ((yp + p.height_mm / 2) - (yq + q.height_mm / 2))
        else:
            ends = shared_mm(xp, p.width_mm, xq, q.width_mm)[::-1]
            level_gap = (yp - p.height_mm / 2) - (yq + q.height_mm / 2)
            gaps = [
                along(at_p[2], at_p[3], (x - xp) / p.width_mm)[1]
                - along(at_q[1], at_q[0], (x - xq) / q.width_mm)[1]
                for x in ends
            ]
            step = (at_p[3][0] - at_q[0][0]) - ((xp - p.width_mm / 2) - (xq - q.width_mm / 2))
        read = [sloped[kind, label] for kind in ("gap first", "gap second")]
        assert read == pytest.approx([gap - level_gap for gap in gaps], abs=1e-6)
        assert sloped["step", label] == pytest.approx(step, abs=1e-6)


def along(high: tuple[float, float], low: tuple[float, float], share: float) -> tuple[float, float]:
    """The point of an edge a share of its length from its middle, towards ``high``."""
    part = 0.5 + share
    return low[0] + part * (high[0] - low[0]), low[1] + part * (high[1] - low[1])


def test_a_row_on_a_slope_keeps_its_gaps_where_its_hangers_are_at_one_height() -> None:
    a_job = sloping(WIDE, replace(WIDE, name="B"), slope=20.0)
    sloped = sloped_readings_mm(a_job, arrange(a_job))
    assert sloped["gap first", "A|B"] == pytest.approx(0.0)
    # plumb over 50 mm of gap the next edge lies 1 mm higher
    assert sloped["step", "A|B"] == pytest.approx(-1.0)


def test_panels_above_each_other_stand_a_jog_apart_on_a_slope() -> None:
    """Hangers stay over each other and each panel turns about its own: from A's hangers down to
    its lower edge are 500 mm, from B's up to its upper edge 100; 20 mm/m over both."""
    a_job = column(WIDE, replace(WIDE, name="B"), slope=20.0)
    sloped = sloped_readings_mm(a_job, arrange(a_job))
    assert sloped["gap first", "A|B"] == sloped["gap second", "A|B"] == pytest.approx(0.0)
    assert sloped["step", "A|B"] == pytest.approx(0.020 * 600.0)


def test_a_panel_on_one_hanger_hangs_plumb_whatever_the_room_does() -> None:
    lone = panel("A", 900.0, 600.0, [(100.0, 250.0)])
    a_job = sloping(lone, slope=20.0, offset_mm=1000.0)
    (stand,) = panel_stands(a_job, arrange(a_job))
    assert stand == Stand(x_mm=1000.0, y_mm=1500.0 + 22.0, tilt=0.0)
    assert planned_rise_mm(a_job, lone) == 0.0


def test_a_turn_keeps_a_panels_size() -> None:
    corners = corners_mm(WIDE, Stand(x_mm=0.0, y_mm=1500.0, tilt=0.005))
    sides = [hypot(a[0] - b[0], a[1] - b[1]) for a, b in pairwise(corners)]
    # small turns: to the second order of the tilt, 0.02 mm
    assert sides == pytest.approx([900.0, 600.0, 900.0], abs=0.02)


@pytest.mark.parametrize(("slope", "way"), [(20.0, "right"), (-2.5, "left")])
def test_a_slope_needs_somebodys_yes(slope: float, way: str) -> None:
    (found,) = [f for f in make_plan(sloping(WIDE, slope=slope)).findings if f.kind == "slope"]
    assert (found.weight, found.seat) == ("reason", None)
    assert f"{abs(slope):g} mm in 1 m, up to the {way}" in found.text
    assert "who says yes to it for the maker" in found.text


@given(st.floats(-100.0, 100.0))
def test_a_level_work_needs_none(at_mm: float) -> None:
    plan = make_plan(sloping(WIDE, slope=0.0, offset_mm=at_mm))
    assert "slope" not in {f.kind for f in plan.findings}
