"""Cleats, stand-offs, one fastener left alone, mixed standoffs: printed examples first.

Printed: OpenStax, University Physics volume 1, chapter 12; a plank from a page of worked problems.
"""

from __future__ import annotations

from math import cos, hypot, radians

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

from holdtrue.core.cleat import bolt_row_N, cleat_screws, line_load
from holdtrue.core.errors import CoreError
from holdtrue.core.hanging import (
    Standoffs,
    alone,
    door_pull_N,
    standoff_loads,
    twist,
)
from holdtrue.core.statics import reactions_N

ROWS = st.lists(st.integers(-1500, 1500), min_size=2, max_size=8, unique=True)


def test_swinging_door() -> None:
    # OpenStax: 400.0 N, centre 0.50 m out, hinges 2.00 m apart: 100.0 N pull at the top, 200.0 N
    # down on each; resultant 223.6 N (derived)
    pull_N = door_pull_N(400.0, out_mm=500.0, up_mm=2000.0)
    assert pull_N == 100.0
    assert hypot(400.0 / 2, pull_N) == pytest.approx(223.6, abs=0.05)


def test_plank_on_two_supports() -> None:
    # worked problem: 4 m, 20 kg, supports at one end and 1 m in from the other, g 9.8: 130.66 N
    # (exact 130.67) at the inner one; 65.33 N at the end (derived)
    end_N, inner_N = bolt_row_N(20 * 9.8, load_x_mm=2000.0, screws_x_mm=(0.0, 3000.0))
    assert inner_N == pytest.approx(130.66, abs=0.01)
    assert end_N == pytest.approx(65.33, abs=0.005)


def test_centre_of_gravity_from_two_shares() -> None:
    # OpenStax: supports 2.5 m apart carry 52 % and 48 %: 1.3 m from the one with 48 %
    assert bolt_row_N(100.0, load_x_mm=1300.0, screws_x_mm=(0.0, 2500.0)) == pytest.approx((48, 52))


def test_a_balanced_stick() -> None:
    # OpenStax: 150.0 g 20 cm and 50.0 g 70 cm and 75.0 g 40 cm left of the support balance 316.7 g
    # 30 cm right of it; the support carries 5.8 N
    masses_g, at_mm = (150.0, 50.0, 75.0, 316.7), (-200.0, -700.0, -400.0, 300.0)
    total_N = sum(masses_g) / 1000 * 9.8
    middle_mm = float(np.average(at_mm, weights=masses_g))
    assert middle_mm == pytest.approx(0.0, abs=0.05)
    (support_N,) = bolt_row_N(total_N, load_x_mm=0.0, screws_x_mm=(0.0,))
    assert support_N == pytest.approx(5.8, abs=0.05)


@given(ROWS, st.floats(-2000.0, 2000.0), st.floats(0.0, 1e4))
def test_a_row_of_screws_is_in_balance(
    screws: list[int], load_x_mm: float, weight_N: float
) -> None:
    loads = bolt_row_N(weight_N, load_x_mm=load_x_mm, screws_x_mm=screws)
    assert sum(loads) == pytest.approx(weight_N, abs=1e-6)
    moment = sum(load * x for load, x in zip(loads, screws, strict=True))
    assert moment == pytest.approx(weight_N * load_x_mm, abs=1e-3)
    mirrored = bolt_row_N(weight_N, load_x_mm=-load_x_mm, screws_x_mm=[-x for x in screws])
    assert mirrored == pytest.approx(loads, abs=1e-6)


@given(ROWS, st.floats(0.0, 1.0), st.floats(1.0, 1e4))
def test_a_row_is_the_least_effort_that_balances(
    screws: list[int], part: float, weight_N: float
) -> None:
    # a second route: of all loads in balance, a rigid rail on equal springs takes the shortest
    load_x_mm = min(screws) + part * (max(screws) - min(screws))
    balance = np.array([np.ones(len(screws)), screws])
    shortest = np.linalg.pinv(balance) @ np.array([weight_N, weight_N * load_x_mm])
    found = bolt_row_N(weight_N, load_x_mm=load_x_mm, screws_x_mm=screws)
    assert found == pytest.approx(shortest.tolist(), abs=1e-6 * weight_N)


@given(st.floats(1.0, 1e4), st.floats(0.0, 1.0))
def test_two_screws_follow_the_lever_rule(weight_N: float, part: float) -> None:
    found = bolt_row_N(weight_N, load_x_mm=800 * part, screws_x_mm=(0.0, 800.0))
    assert found == pytest.approx(reactions_N((0.0, 800.0), 800 * part, weight_N), abs=1e-9)


def test_the_worst_screw_of_a_cleat() -> None:
    # P 100 N, 100 mm right of the middle of screws at -200, 0, 200: 33.3 -+ 25 N; by hand
    loads = cleat_screws(100.0, load_x_mm=100.0, screws_x_mm=(-200.0, 0.0, 200.0), lean_N=6.0)
    assert loads.down_N == pytest.approx((8.333, 33.333, 58.333), abs=1e-3)
    assert loads.pull_N == pytest.approx((0.5, 2.0, 3.5))
    assert loads.worst == 2


def test_a_thick_cleat_prises_at_its_screws() -> None:
    # bears 20 mm out, screws 40 mm above its lower edge: 100 * 20/40 = 50 N more pull in all
    loads = cleat_screws(
        100.0,
        load_x_mm=0.0,
        screws_x_mm=(-200.0, 200.0),
        lean_N=6.0,
        bearing_out_mm=20.0,
        screws_up_mm=40.0,
    )
    assert sum(loads.pull_N) == pytest.approx(56.0)


@given(st.floats(-499.0, 499.0), st.floats(1.0, 1e4))
def test_a_line_load_is_in_balance_and_never_pulls(off_mm: float, weight_N: float) -> None:
    load = line_load(weight_N, off_middle_mm=off_mm, length_mm=1000.0)
    assert load.left_N_per_mm >= -1e-12 * weight_N
    assert load.right_N_per_mm >= -1e-12 * weight_N
    mean = (load.left_N_per_mm + load.right_N_per_mm) / 2
    assert mean * load.bearing_mm == pytest.approx(weight_N)
    # centroid of the trapezoid, from the middle of what bears
    tilt = (load.right_N_per_mm - load.left_N_per_mm) / (12 * mean) * load.bearing_mm
    beside = (1000.0 - load.bearing_mm) / 2 * (1 if off_mm > 0 else -1)
    assert tilt + beside == pytest.approx(off_mm, abs=1e-6)


def test_at_the_end_of_the_middle_third_one_end_is_free() -> None:
    load = line_load(120.0, off_middle_mm=20.0, length_mm=120.0)
    assert load.left_N_per_mm == pytest.approx(0.0)
    assert load.right_N_per_mm == pytest.approx(2.0)
    assert load.bearing_mm == 120.0


def test_four_standoffs_off_centre() -> None:
    # left pair 100 * 600/1000 = 60 N, pull 60 * 40/500, bending 60 * 25; by hand
    posts = Standoffs(
        across_mm=1000.0, up_mm=500.0, cg_from_left_mm=400.0, out_mm=40.0, post_mm=25.0
    )
    left, right = standoff_loads(100.0, posts)
    assert (left.down_N, right.down_N) == pytest.approx((60.0, 40.0))
    assert (left.top_pull_N, right.top_pull_N) == pytest.approx((4.8, 3.2))
    assert (left.bending_Nmm, right.bending_Nmm) == pytest.approx((1500.0, 1000.0))
    # both upper posts together hold the whole door
    assert left.top_pull_N + right.top_pull_N == door_pull_N(100.0, out_mm=40.0, up_mm=500.0)


def swing_peak_N(weight_N: float, u_mm: float, v_mm: float, spread: float) -> float:
    """Largest force at the pivot of a falling body, by integrating its swing; ``spread``: its
    moment of inertia over m r^2."""
    r_m, mass_kg = hypot(u_mm, v_mm) / 1000, weight_N / 9.80665
    start = np.arctan2(abs(u_mm), v_mm)
    inertia = spread * mass_kg * r_m**2

    def slope(_: float, state: NDArray[np.float64]) -> list[float]:
        return [float(state[1]), float(-weight_N * r_m * np.sin(state[0]) / inertia)]

    run = solve_ivp(slope, (0.0, 6.0), [start, 0.0], rtol=1e-9, atol=1e-12, max_step=0.002)
    angle, speed = run.y
    fall = -weight_N * r_m * np.sin(angle) / inertia
    along = weight_N * np.cos(angle) + mass_kg * speed**2 * r_m
    across = mass_kg * fall * r_m + weight_N * np.sin(angle)
    return float(np.max(np.hypot(along, across)))


@pytest.mark.parametrize(("u_mm", "v_mm"), [(300.0, 300.0), (-500.0, 200.0), (250.0, 900.0)])
def test_the_swing_never_pulls_more_than_said(u_mm: float, v_mm: float) -> None:
    gone = alone(100.0, cg_right_mm=u_mm, cg_below_mm=v_mm, out_mm=20.0, h_mm=700.0)
    point_N = swing_peak_N(100.0, u_mm, v_mm, spread=1.0)
    assert point_N == pytest.approx(gone.peak_N, rel=1e-3)
    assert swing_peak_N(100.0, u_mm, v_mm, spread=1.4) < gone.peak_N


def test_one_fastener_alone() -> None:
    gone = alone(100.0, cg_right_mm=-250.0, cg_below_mm=433.013, out_mm=20.0, h_mm=800.0)
    assert (gone.down_N, gone.pull_N, gone.swing_Nmm) == (100.0, 2.5, 25000.0)
    assert gone.swing_deg == pytest.approx(30.0, abs=1e-4)
    assert gone.peak_N == pytest.approx(100 * (3 - 2 * cos(radians(30.0))), abs=1e-3)
    plumb = alone(100.0, cg_right_mm=0.0, cg_below_mm=0.0, out_mm=20.0, h_mm=800.0)
    assert (plumb.swing_deg, plumb.peak_N) == (0.0, 100.0)
    above = alone(100.0, cg_right_mm=0.0, cg_below_mm=-300.0, out_mm=20.0, h_mm=800.0)
    assert (above.swing_deg, above.peak_N) == (180.0, 500.0)


@given(
    st.lists(st.integers(-900, 900), min_size=1, max_size=5, unique=True),
    st.floats(0.0, 50.0),
    st.floats(-0.02, 0.02),
)
def test_a_twist_on_a_line_is_found_and_evened(
    u_mm: list[int], standoff_mm: float, turn: float
) -> None:
    standoffs = [standoff_mm + 20.0 + turn * u for u in u_mm]
    found = twist(u_mm=u_mm, standoffs_mm=standoffs, width_mm=2000.0)
    if len(u_mm) > 1:
        assert found.turn == pytest.approx(turn, abs=1e-9)
    assert found.left_mm == -found.right_mm
    evened = [s + shim for s, shim in zip(standoffs, found.shims_mm, strict=True)]
    assert evened == pytest.approx([max(standoffs)] * len(u_mm))
    assert min(found.shims_mm) == 0.0


def test_values_outside_their_range_are_refused() -> None:
    posts = Standoffs(
        across_mm=1000.0, up_mm=500.0, cg_from_left_mm=1001.0, out_mm=40.0, post_mm=25.0
    )
    with pytest.raises(CoreError):
        standoff_loads(100.0, posts)
    with pytest.raises(CoreError):
        bolt_row_N(1.0, load_x_mm=0.0, screws_x_mm=())
    with pytest.raises(CoreError):
        bolt_row_N(1.0, load_x_mm=0.0, screws_x_mm=(5.0, 5.0))
    with pytest.raises(CoreError):
        bolt_row_N(1.0, load_x_mm=1.0, screws_x_mm=(0.0,))
    with pytest.raises(CoreError):
        bolt_row_N(1.0, load_x_mm=float("nan"), screws_x_mm=(0.0, 1.0))
    with pytest.raises(CoreError):
        line_load(1.0, off_middle_mm=50.0, length_mm=100.0)
    with pytest.raises(CoreError):
        cleat_screws(
            1.0, load_x_mm=0.0, screws_x_mm=(0.0,), lean_N=0.0, bearing_out_mm=5.0, screws_up_mm=0.0
        )
    with pytest.raises(CoreError):
        alone(1.0, cg_right_mm=float("inf"), cg_below_mm=0.0, out_mm=0.0, h_mm=1.0)
    with pytest.raises(CoreError):
        door_pull_N(1.0, out_mm=1.0, up_mm=0.0)
    with pytest.raises(CoreError):
        twist(u_mm=(1.0,), standoffs_mm=(1.0, 2.0), width_mm=10.0)
