"""Tapes and levels: tables as printed, and the signs of a level's error."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holdtrue.core.errors import CoreError
from holdtrue.core.instruments import (
    corrected_rise_mm,
    drawn_reversal,
    laser_check_mm,
    level_reversal,
    level_u_mm,
    shown_rise_mm,
    tape_limit_mm,
)
from holdtrue.core.sources_measure import TapeClass

MM = st.floats(-50.0, 50.0)


@pytest.mark.parametrize(
    ("tape", "printed"),
    [
        ("I", (0.2, 0.3, 0.4, 0.6, 0.9, 1.1)),
        ("II", (0.5, 0.7, 0.9, 1.3, 1.9, 2.3)),
        ("III", (1.0, 1.4, 1.8, 2.6, 3.8, 4.6)),
    ],
)
def test_tape_classes(tape: TapeClass, printed: tuple[float, ...]) -> None:
    # Directive 2014/32/EU, as tables of the trade print it for 1, 2, 3, 5, 8, 10 m
    found = [tape_limit_mm(m * 1000.0, tape=tape) for m in (1, 2, 3, 5, 8, 10)]
    assert found == pytest.approx(printed)


def test_a_length_counts_as_the_next_whole_metre() -> None:
    assert tape_limit_mm(2000.1, tape="II") == tape_limit_mm(3000.0, tape="II")
    # a tape's hook adds c = 0.2 mm in class II
    assert tape_limit_mm(500.0, tape="II", from_surface=True) == pytest.approx(0.7)


def test_a_cross_line_laser() -> None:
    # operating manual of a laser level: 0.3 mm/m over 5 m: at most 3 mm
    assert laser_check_mm(5000.0, per_m_mm=0.3) == pytest.approx(3.0)


def read_mm(rise_mm: float, span_mm: float, error_mm_per_m: float, *, is_turned: bool) -> float:
    """What a level shows whose line climbs to the right by its error: the height over that line."""
    climbs = -error_mm_per_m if is_turned else error_mm_per_m
    return rise_mm - climbs * span_mm / 1000.0


@given(MM, st.floats(100.0, 3000.0), st.floats(-3.0, 3.0))
def test_reversal_finds_the_truth_and_the_error(
    rise_mm: float, span_mm: float, error_mm_per_m: float
) -> None:
    found = level_reversal(
        first_mm=read_mm(rise_mm, span_mm, error_mm_per_m, is_turned=False),
        turned_mm=read_mm(rise_mm, span_mm, error_mm_per_m, is_turned=True),
        span_mm=span_mm,
    )
    assert found.true_mm == pytest.approx(rise_mm, abs=1e-9)
    assert found.error_mm_per_m == pytest.approx(error_mm_per_m, abs=1e-9)


@given(MM, st.floats(-3000.0, 3000.0), st.floats(-3.0, 3.0), st.booleans())
def test_the_error_found_is_taken_off_later_readings(
    rise_mm: float, span_mm: float, error_mm_per_m: float, is_turned: bool
) -> None:
    read = read_mm(rise_mm, span_mm, error_mm_per_m, is_turned=is_turned)
    corrected = corrected_rise_mm(
        read, span_mm=span_mm, error_mm_per_m=error_mm_per_m, is_turned=is_turned
    )
    assert corrected == pytest.approx(rise_mm, abs=1e-9)


@given(MM, st.floats(-3000.0, 3000.0), st.floats(-3.0, 3.0), st.booleans())
def test_what_a_level_shows_of_a_rise_is_the_height_over_its_line(
    rise_mm: float, span_mm: float, error_mm_per_m: float, is_turned: bool
) -> None:
    shown = shown_rise_mm(
        rise_mm, span_mm=span_mm, error_mm_per_m=error_mm_per_m, is_turned=is_turned
    )
    read = read_mm(rise_mm, span_mm, error_mm_per_m, is_turned=is_turned)
    assert shown == pytest.approx(read, abs=1e-9)


def test_a_line_drawn_too_high_is_a_right_end_too_high() -> None:
    found = drawn_reversal(first_end_mm=1403.0, turned_end_mm=1401.0, span_mm=2000.0)
    assert (found.true_mm, found.error_mm, found.error_mm_per_m) == (1402.0, 1.0, 0.5)


def test_level_uncertainty_grows_with_distance() -> None:
    # our defaults: 0.3 mm and 0.5 mm/m; 0.8 m: sqrt(0.09 + 0.16)
    assert level_u_mm(0.0) == 0.3
    assert level_u_mm(800.0) == level_u_mm(-800.0) == pytest.approx(0.5)


@pytest.mark.parametrize(
    "call",
    [
        lambda: level_reversal(first_mm=0.0, turned_mm=0.0, span_mm=0.0),
        lambda: level_reversal(first_mm=float("nan"), turned_mm=0.0, span_mm=1.0),
        lambda: corrected_rise_mm(0.0, span_mm=float("inf"), error_mm_per_m=0.0),
        lambda: level_u_mm(1.0, fixed_mm=-1.0),
        lambda: tape_limit_mm(0.0, tape="I"),
        lambda: laser_check_mm(1.0, per_m_mm=0.0),
    ],
)
def test_values_outside_their_range_are_refused(call: Any) -> None:
    with pytest.raises(CoreError):
        call()
