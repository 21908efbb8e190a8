"""Loads of each hanging method on the panels of a plan, against printed examples.

Sources: OpenStax University Physics vol. 1 ch. 12 (48/52 % shares of two supports; the swinging
door, 400 N, 0.50 m out, fixings 2.00 m apart: 100.0 N; shallow wire, 70 kg at 5 degrees: 3930 N);
rigging charts (leg tension per share of load: 1.414 at 45 degrees, 2.000 at 30).
"""

from __future__ import annotations

from dataclasses import replace
from math import cos, radians, sin, tan

import pytest

from holdtrue.core.errors import CoreError
from holdtrue.core.hang_loads import (
    left_alone,
    posts_of,
    safe_factor,
    seat_loads,
    wire_hang,
    wire_rise_mm,
)
from holdtrue.core.model import CleatSpec, Fastener, Hang, Panel, WireSpec
from holdtrue.core.statics import hanger_loads_N
from tests.core.jobs import panel

G = 9.80665
POST = Fastener(name="post", into="hollow", standoff_mm=20.0)


def on_wire(mass_kg: float, spec: WireSpec) -> Panel:
    half = spec.hooks_mm / 2
    v = spec.rings_mm[0][1] + wire_rise_mm(mass_kg, spec)
    seats = ((0.0, v),) if not half else ((-half, v), (half, v))
    return panel(
        width=1000.0,
        height=800.0,
        seats=seats,
        mass_kg=mass_kg,
        hang=Hang(method="wire", wire=spec),
    )


def rings(half_mm: float = 300.0, v_mm: float = 100.0) -> tuple[tuple[float, float], ...]:
    return ((-half_mm, v_mm), (half_mm, v_mm))


def spec_at(angle_deg: float, **values: float) -> WireSpec:
    """A wire at an angle from level, one hook, rings 600 mm apart."""
    length = 600.0 / cos(radians(angle_deg))
    return WireSpec(rings_mm=((-300.0, 100.0), (300.0, 100.0)), length_mm=length, **values)  # type: ignore[arg-type]


@pytest.mark.parametrize(("angle", "factor"), [(60.0, 1.155), (45.0, 1.414), (30.0, 2.000)])
def test_a_wires_tension_is_that_of_the_rigging_chart(angle: float, factor: float) -> None:
    hang = wire_hang(on_wire(10.0, spec_at(angle)), spec_at(angle))
    assert hang.tension_N == pytest.approx(10.0 * G / 2 * factor, rel=5e-4)
    assert hang.is_too_flat is (angle < 30.0)


def test_a_shallow_wire_pulls_many_times_the_weight() -> None:
    hang = wire_hang(on_wire(70.0 * 9.8 / G, spec_at(5.0)), spec_at(5.0))
    assert hang.tension_N == pytest.approx(3930, rel=2e-3)
    assert hang.is_too_flat


def test_one_hook_carries_all_and_its_seat_stands_up_by_the_rise() -> None:
    spec = spec_at(45.0)
    a_panel = on_wire(10.0, spec)
    (load,) = seat_loads(a_panel, [None])
    assert load.down_N == pytest.approx(10.0 * G)
    assert load.side_N == 0.0
    assert a_panel.hangers[0].v_mm == pytest.approx(100.0 + 300.0 * tan(radians(45.0)))
    # it is held at its rings, 500 mm above the lower edge: half the depth of 40 mm out
    assert load.pull_N == pytest.approx(10.0 * G * 20.0 / 500.0)


def test_two_hooks_share_it_and_are_drawn_together() -> None:
    # slopes of 200 across and 200 up: 45 degrees, hooks 200 mm apart
    spec = WireSpec(rings_mm=rings(), hooks_mm=200.0, rise_mm=200.0)  # type: ignore[arg-type]
    left, right = seat_loads(on_wire(10.0, spec), [None, None])
    tension = 10.0 * G / 2 / sin(radians(45.0))
    assert left.down_N == right.down_N == pytest.approx(10.0 * G / 2)
    assert left.side_N == pytest.approx(tension * (1 - cos(radians(45.0))))


def test_a_rise_measured_under_load_counts_as_it_is() -> None:
    spec = WireSpec(rings_mm=rings(), rise_mm=123.4)  # type: ignore[arg-type]
    assert wire_rise_mm(10.0, spec) == 123.4
    assert wire_hang(on_wire(10.0, spec), spec).rise_mm == pytest.approx(123.4)


def test_a_stretching_wire_hangs_lower_by_its_sag() -> None:
    stiff, soft = spec_at(20.0), spec_at(20.0, stiffness_N=5000.0)
    assert wire_rise_mm(10.0, soft) > wire_rise_mm(10.0, stiff)
    hang = wire_hang(on_wire(10.0, soft), soft)
    assert hang.sag_mm == pytest.approx(wire_rise_mm(10.0, soft) - wire_rise_mm(10.0, stiff))


def test_a_wire_without_length_or_rise_is_refused() -> None:
    with pytest.raises(CoreError, match="length"):
        wire_rise_mm(10.0, WireSpec(rings_mm=rings()))  # type: ignore[arg-type]


def test_a_cleat_shares_the_weight_like_two_supports() -> None:
    # 2.5 m apart, the centre of gravity 1.3 m from the screw that carries 48 %
    a_panel = panel(
        width=2600.0,
        seats=((-1250.0, 250.0), (1250.0, 250.0)),
        cg_u_mm=50.0,
        hang=Hang(method="cleat", cleat=CleatSpec(screws_up_mm=40.0, out_mm=0.0)),
    )
    left, right = seat_loads(a_panel, [None, None])
    assert left.down_N == pytest.approx(0.48 * 10.0 * G)
    assert right.down_N == pytest.approx(0.52 * 10.0 * G)


def test_a_cleats_own_lever_adds_to_the_pull() -> None:
    seats = ((-200.0, 250.0), (200.0, 250.0))
    flat = CleatSpec(screws_up_mm=50.0, out_mm=0.0)
    deep = replace(flat, out_mm=25.0)
    pulls = [
        seat_loads(panel(seats=seats, hang=Hang(method="cleat", cleat=spec)), [None, None])
        for spec in (flat, deep)
    ]
    # the lean P 20/600 shared by two, and the rail's own P 25/50
    weight = 10.0 * G
    assert pulls[0][0].pull_N == pytest.approx(weight * 20 / 600 / 2)
    assert pulls[1][0].pull_N == pytest.approx((weight * 20 / 600 + weight * 25 / 50) / 2)


def test_a_cleat_bears_at_its_fasteners_standoff_unless_said_otherwise() -> None:
    spec = CleatSpec(screws_up_mm=50.0)
    a_panel = panel(hang=Hang(method="cleat", cleat=spec))
    said = panel(hang=Hang(method="cleat", cleat=replace(spec, out_mm=20.0)))
    assert seat_loads(a_panel, [POST, POST]) == seat_loads(said, [POST, POST])


CORNERS = ((-500.0, 1000.0), (-500.0, -1000.0), (500.0, 1000.0), (500.0, -1000.0))


def test_stand_offs_hold_a_panel_like_a_door_on_its_hinges() -> None:
    # 400 N, 500 mm out, upper and lower pair 2000 mm apart: 100 N at the top, both together
    a_panel = panel(
        width=1100.0,
        height=2100.0,
        depth_mm=960.0,
        mass_kg=400.0 / G,
        seats=CORNERS,
        hang=Hang(method="standoff"),
    )
    upper_left, lower_left, upper_right, lower_right = seat_loads(a_panel, [POST] * 4)
    assert upper_left.pull_N + upper_right.pull_N == pytest.approx(100.0)
    assert lower_left.pull_N == lower_right.pull_N == 0.0
    # up and down, two of the four may carry all: each counts its side's whole share
    assert [p.down_N for p in (upper_left, lower_left, upper_right, lower_right)] == pytest.approx(
        [200.0] * 4
    )
    assert posts_of(a_panel, [POST] * 4)[0].bending_Nmm == pytest.approx(200.0 * 20.0)


def test_four_stand_offs_are_four() -> None:
    with pytest.raises(CoreError, match="four"):
        seat_loads(panel(hang=Hang(method="standoff")), [None, None])


def test_hangers_carry_as_before() -> None:
    a_panel = panel(cg_u_mm=40.0)
    was = hanger_loads_N(a_panel, [POST, None])
    now = seat_loads(a_panel, [POST, None])
    assert [(one.down_N, one.pull_N, one.side_N) for one in now] == [(d, p, 0.0) for d, p in was]


def test_an_estimated_mass_counts_with_two_standard_uncertainties_more() -> None:
    assert safe_factor(panel(mass_kg=10.0)) == 1.0
    assert safe_factor(panel(mass_kg=10.0, mass_u_kg=0.6)) == pytest.approx(1.12)


def test_the_last_fastener_carries_the_whole_panel() -> None:
    a_panel = panel()
    left = left_alone(a_panel, 0, POST)
    assert left.down_N == pytest.approx(10.0 * G)
    assert left.pull_N == pytest.approx(10.0 * G * 40.0 / 600.0)
    assert left.swing_Nmm == pytest.approx(10.0 * G * 150.0)
    # a seat at the very lower edge: the arm of all of them together
    low = panel(seats=((-150.0, -350.0), (150.0, 250.0)))
    assert left_alone(low, 0, None).pull_N == pytest.approx(10.0 * G * 20.0 / 300.0)
