"""Loads: printed examples first, at the precision they are printed with, then what must hold.

Printed examples: OpenStax, University Physics volume 1, chapter 12 (static equilibrium), as noted
beside each.
"""

from __future__ import annotations

from itertools import combinations

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from holdtrue.core.errors import CoreError
from holdtrue.core.model import Fastener
from holdtrue.core.statics import hanger_loads_N, reactions_N, weight_N
from tests.core.jobs import panel

G_BOOK = 9.80
"""[m/s^2] The book's round figure; ours has five more digits."""


def test_standard_gravity() -> None:
    # 3rd General Conference on Weights and Measures (1901): 9.80665 m/s^2
    assert weight_N(100.0) == pytest.approx(980.665, abs=1e-9)


def test_centre_of_gravity_from_two_scales() -> None:
    # OpenStax, chapter 12: axles 2.5 m apart carry 52 % and 48 % of a car's weight; its centre of
    # gravity is 0.52 * 2.5 m = 1.3 m from the axle that carries 48 %
    loads = reactions_N((0.0, 2500.0), 1300.0, 100.0)
    assert loads == pytest.approx((48.0, 52.0), abs=0.05)


def test_torque_balance_of_a_stick() -> None:
    # OpenStax, chapter 12, torque balance: 50.0 g at 70 cm and 75.0 g at 40 cm left of the support,
    # the stick's own 150.0 g at 20 cm left, 316.7 g at 30 cm right: the support carries 5.8 N.
    # The same stick held by its two ends of the balance: everything left of the support acts at
    # one place, and the support is where the pair of outer loads has its centre of gravity.
    left_g, moment = 50.0 + 75.0 + 150.0, 50.0 * 70 + 75.0 * 40 + 150.0 * 20
    arm_cm = moment / left_g
    total_N = (left_g + 316.7) / 1000 * 9.8
    at_left, at_right = reactions_N((-arm_cm, 30.0), 0.0, total_N)
    assert total_N == pytest.approx(5.8, abs=0.05)
    assert at_left / 9.8 * 1000 == pytest.approx(left_g, abs=0.05)
    assert at_right / 9.8 * 1000 == pytest.approx(316.7, abs=0.05)


def test_plank_on_two_supports() -> None:
    # Published exercise: a uniform 4 m plank of 20 kg on supports at one end and 1 m in from the
    # other, g 9.8: 130.66 N at the inner support, so 65.33 N at the end (196 N in all)
    at_end, inner = reactions_N((0.0, 3.0), 2.0, 20.0 * 9.8)
    assert inner == pytest.approx(130.66, abs=0.01)
    assert at_end == pytest.approx(65.33, abs=0.01)


@pytest.mark.parametrize("standoff", [0.0, 10.0])
def test_a_door_on_two_hinges_pulls_like_a_panel_off_its_wall(standoff: float) -> None:
    # OpenStax, chapter 12, swinging door: 400.0 N, centre of gravity 0.50 m out from the hinges,
    # hinges 2.00 m apart, weight shared equally: 200.0 N vertical each, 100.0 N horizontal
    # (H = w e / a). Turned to a panel: two hangers side by side, 2.00 m above the edge on which it
    # leans, e = 0.50 m from the wall, so the pair pulls 100.0 N, half each.
    door = panel(
        width=1000.0,
        height=2000.0,
        seats=[(-400.0, 1000.0), (400.0, 1000.0)],
        depth_mm=2 * (500.0 - standoff),
        mass_kg=400.0 / 9.80665,
    )
    hinge = Fastener(name="hinge", into="solid", standoff_mm=standoff)
    (load, pull), (other_load, other_pull) = hanger_loads_N(door, [hinge, hinge])
    assert (load, other_load) == pytest.approx((200.0, 200.0), abs=0.05)
    assert pull + other_pull == pytest.approx(100.0, abs=0.05)


@given(st.floats(0.1, 3000), st.floats(0.1, 3000), st.floats(0.1, 5000))
def test_uneven_hanging_points(left_mm: float, right_mm: float, weight: float) -> None:
    # R_left = W x_right / L, R_right = W x_left / L, x from the centre of gravity to each point
    span = left_mm + right_mm
    loads = reactions_N((-left_mm, right_mm), 0.0, weight)
    assert loads == pytest.approx((weight * right_mm / span, weight * left_mm / span))


def test_a_lone_hanger_carries_it_all_wherever_the_centre_of_gravity_is() -> None:
    assert reactions_N((120.0,), -40.0, 80.0) == (80.0,)


def test_a_centre_of_gravity_over_one_hanger_loads_it_alone() -> None:
    assert reactions_N((-100.0, 100.0), 100.0, 50.0) == (0.0, 50.0)
    # of three, every pair that brackets it has the hanger under it as one end
    assert reactions_N((-100.0, 0.0, 100.0), 0.0, 50.0) == (25.0, 50.0, 25.0)


@pytest.mark.parametrize("cg", [-100.001, 100.001, 1e6])
def test_a_centre_of_gravity_outside_the_hangers_is_refused(cg: float) -> None:
    with pytest.raises(CoreError, match="between the outermost hangers") as caught:
        reactions_N((-100.0, 0.0, 100.0), cg, 50.0)
    assert caught.value.value == cg


def test_golden_three_hangers_worked_by_hand() -> None:
    # 34 lb on hangers at 5, 18 and 31 in of 36, centre of gravity at 20 in, all on the back:
    # seen from the front u = +13, 0, -13 in and the centre at -2 in.
    # D1: worst with D3 (11 + 13 apart): 15/26 P; D2: with D1: 11/13 P; D3: with D1: 11/26 P
    weight = weight_N(34 * 0.45359237)
    loads = reactions_N((-13.0, 0.0, 13.0), -2.0, weight)
    assert loads == pytest.approx((15 / 26 * weight, 11 / 13 * weight, 11 / 26 * weight))
    assert loads == pytest.approx((87.25, 127.97, 63.99), abs=0.005)


@st.composite
def hung(draw: st.DrawFn) -> tuple[list[float], float]:
    at = sorted(draw(st.sets(st.integers(-2000, 2000), min_size=2, max_size=6)))
    return [float(u) for u in at], draw(st.floats(at[0], at[-1]))


@given(hung(), st.floats(1, 5000))
def test_each_hanger_carries_the_worst_over_all_pairs(
    hangers: tuple[list[float], float], weight: float
) -> None:
    """Each pair solved as two equations: forces add up, moments about the centre vanish."""
    u_mm, cg = hangers
    worst = [0.0] * len(u_mm)
    for i, j in combinations(range(len(u_mm)), 2):
        left, right = u_mm[i] - cg, u_mm[j] - cg
        if left <= 0 <= right:
            at_j = weight * left / (left - right)
            worst[i], worst[j] = max(worst[i], weight - at_j), max(worst[j], at_j)
    assert reactions_N(u_mm, cg, weight) == pytest.approx(worst, abs=1e-6 * weight)


@given(hung(), st.floats(1, 5000))
def test_loads_are_never_negative_and_never_add_up_to_less_than_the_weight(
    hangers: tuple[list[float], float], weight: float
) -> None:
    loads = reactions_N(*hangers, weight)
    assert min(loads) >= -1e-9
    assert max(loads) <= weight * (1 + 1e-9)
    assert sum(loads) >= weight * (1 - 1e-9)
    if len(loads) == 2:
        assert sum(loads) == pytest.approx(weight)


def test_pull_is_each_load_times_depth_over_height() -> None:
    hung_panel = panel(height=800.0, depth_mm=50.0, seats=[(-100.0, 300.0), (200.0, 200.0)])
    spaced = Fastener(name="spacer", into="hollow", standoff_mm=15.0)
    flat = Fastener(name="hook", into="hollow")
    loads = hanger_loads_N(hung_panel, [spaced, flat])
    # mean height of the seats above the bottom edge: 400 + 250 = 650
    assert [pull / load for load, pull in loads] == pytest.approx([40 / 650, 25 / 650])
    assert hanger_loads_N(hung_panel, [None, None])[0][1] == pytest.approx(loads[0][0] * 25 / 650)


def test_an_entered_depth_of_the_centre_of_gravity_replaces_half_the_depth() -> None:
    hung_panel = panel(height=600.0, depth_mm=50.0, centre_depth_mm=32.0, seats=[(0.0, 100.0)])
    ((load, pull),) = hanger_loads_N(hung_panel, [None])
    assert pull == pytest.approx(load * 32.0 / 400.0)


def test_hangers_at_the_bottom_edge_cannot_hold_a_panel_to_the_wall() -> None:
    with pytest.raises(CoreError, match="above its bottom edge"):
        hanger_loads_N(panel(height=600.0, seats=[(0.0, -300.0)]), [None])


@given(st.floats(-149, 149), st.floats(0.1, 500))
def test_the_far_side_of_the_centre_of_gravity_carries_less(cg: float, mass: float) -> None:
    assume(abs(cg) > 1e-3)
    loads = hanger_loads_N(panel(mass_kg=mass, cg_u_mm=cg), [None, None])
    heavier, lighter = (1, 0) if cg > 0 else (0, 1)
    assert loads[heavier][0] > loads[lighter][0]
