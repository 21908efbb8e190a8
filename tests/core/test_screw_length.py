"""How long a screw must and may be."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holdtrue.core.errors import CoreError
from holdtrue.core.screw_length import (
    cable_limit_mm,
    depth_in_stud_mm,
    length_window,
    may_meet_cable,
)
from holdtrue.core.wood_screws import (
    Stud,
    StudScrew,
    least_penetration_mm,
    screw_in_stud,
    screw_shares,
)

SPF = Stud(gravity=0.42, material="wood")


def test_cables_keep_an_inch_and_a_quarter() -> None:
    # NEC 300.4(A)(1): 1 1/4 in = 31.75 mm from the stud's edge; half-inch board before it
    assert cable_limit_mm(lining_mm=12.7) == pytest.approx(44.45)
    assert not may_meet_cable(length_mm=44.45, lining_mm=12.7)
    assert may_meet_cable(length_mm=44.5, lining_mm=12.7)
    # a standoff keeps the screw out of the wall by its own length
    assert not may_meet_cable(length_mm=49.0, lining_mm=12.7, standoff_mm=5.0)


def test_a_limit_entered_in_inches_is_not_missed_by_rounding() -> None:
    for sixteenths in range(64):
        lining_mm = sixteenths * 25.4 / 16
        assert not may_meet_cable(length_mm=(sixteenths / 16 + 1.25) * 25.4, lining_mm=lining_mm)


def test_depth_is_what_is_left_of_the_length() -> None:
    assert depth_in_stud_mm(length_mm=63.5, lining_mm=12.7, standoff_mm=3.0) == pytest.approx(47.8)
    assert depth_in_stud_mm(length_mm=10.0, lining_mm=12.7) == 0.0
    with pytest.raises(CoreError):
        depth_in_stud_mm(length_mm=-1.0, lining_mm=0.0)


def test_thick_gauges_cannot_keep_both_rules() -> None:
    # 6 D (NDS 12.1.5.6) of a No. 12 is 1.296 in, more than the 1 1/4 in cables leave
    assert least_penetration_mm(10) < 31.75 < least_penetration_mm(12)
    for gauge, fits in ((10, True), (12, False)):
        screw = StudScrew(gauge=gauge, length_mm=1.0, lining_mm=12.7)
        assert length_window(screw, SPF, load_N=1.0, pull_N=0.0).fits is fits


@settings(max_examples=30)
@given(
    st.sampled_from([6, 8, 10, 12]),
    st.floats(0.0, 16.0),
    st.floats(0.0, 10.0),
    st.floats(0.0, 1.0),
    st.floats(0.0, 1.0),
)
def test_the_needed_length_just_carries(
    gauge: int, lining_mm: float, standoff_mm: float, load: float, pull: float
) -> None:
    screw = StudScrew(gauge=gauge, length_mm=1.0, lining_mm=lining_mm, standoff_mm=standoff_mm)
    deepest = screw_in_stud(replace(screw, length_mm=lining_mm + standoff_mm + SPF.depth_mm), SPF)
    load_N, pull_N = load / 2 * deepest.lateral_N, pull / 2 * deepest.withdrawal_N
    needed_mm = length_window(screw, SPF, load_N=load_N, pull_N=pull_N).needed_mm

    def share(length_mm: float) -> float:
        allowed = screw_in_stud(replace(screw, length_mm=length_mm), SPF)
        return screw_shares(allowed, load_N=load_N, pull_N=pull_N).together

    assert share(needed_mm + 1e-6) <= 1.0
    shortest_mm = lining_mm + standoff_mm + least_penetration_mm(gauge)
    assert needed_mm >= shortest_mm
    if needed_mm > shortest_mm + 0.1:
        assert share(needed_mm - 0.05) > 1.0


def test_a_load_no_length_carries_is_refused() -> None:
    screw = StudScrew(gauge=8, length_mm=1.0, lining_mm=12.7)
    with pytest.raises(CoreError, match="no length of a No"):
        length_window(screw, SPF, load_N=2000.0, pull_N=0.0)
    shallow = replace(SPF, depth_mm=20.0)
    with pytest.raises(CoreError, match="no length"):
        length_window(screw, shallow, load_N=1.0, pull_N=0.0)


def test_a_stud_that_is_not_known_gets_no_length() -> None:
    screw = StudScrew(gauge=8, length_mm=1.0, lining_mm=12.7)
    with pytest.raises(CoreError, match="confirmed as wood"):
        length_window(screw, replace(SPF, material="unknown"), load_N=1.0, pull_N=0.0)
