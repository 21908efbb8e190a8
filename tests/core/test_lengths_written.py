"""Lengths written for people, and read back to the same length."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest

from holdtrue.core.lengths import LengthError, format_length, parse_length

INCH_MM = Fraction(254, 10)


@pytest.mark.parametrize(
    ("mm", "unit", "graduation_mm", "text"),
    [
        (527.05, "in", None, "20 3/4 in"),
        (527.05, "in", 1.5875, "20 3/4 in"),
        (527.05, '"', None, "20 3/4 in"),
        (527.0, "in", None, "20 3/4 in"),
        (527.0, "in", 0.396875, "20 3/4 in"),
        (526.5, "in", None, "20 47/64 in"),
        (526.5, "in", 1.5875, "20 3/4 in"),
        (526.5, "in", 25.4, "21 in"),
        (19.05, "in", None, "3/4 in"),
        (0.0, "in", None, "0 in"),
        (-0.01, "in", None, "0 in"),
        (-561.975, "in", None, "-22 1/8 in"),
        (25.4, "in", None, "1 in"),
        (1689.1, "ft", None, "5' 6 1/2\""),
        (-1689.1, "ft", None, "-5' 6 1/2\""),
        (1524.0, "ft", None, "5' 0\""),
        (1523.99, "ft", 1.5875, "5' 0\""),  # rounding carries into the foot
        (165.1, "ft", None, '6 1/2"'),
        (0.0, "ft", None, '0"'),
        (527.05, "mm", None, "527.1 mm"),
        (-527.05, "mm", None, "-527.1 mm"),  # halves away from zero: a mirror image reads alike
        (527.04, "mm", None, "527.0 mm"),
        (527.0499999999, "mm", None, "527.1 mm"),  # float noise does not decide
        (0.04, "mm", None, "0.0 mm"),
        (0.05, "mm", None, "0.1 mm"),
        (527.5, "mm", 1.0, "528 mm"),
        (527.2, "mm", 0.5, "527.0 mm"),
        (527.3, "mm", 0.5, "527.5 mm"),
        (527.0, "mm", 5.0, "525 mm"),
        (527.05, "cm", None, "52.7 cm"),
        (527.05, "cm", 0.1, "52.71 cm"),
        (1500.0, "m", None, "1.500 m"),
        (5.0, "m", None, "0.005 m"),
        (1500.0, "m", 100.0, "1.5 m"),
        (1500.0, "m", 1000.0, "2 m"),
        (Decimal("527.05"), "in", None, "20 3/4 in"),
        (Fraction(52705, 100), "in", None, "20 3/4 in"),
        (527, "mm", None, "527.0 mm"),
    ],
)
def test_a_length_is_written_as_a_tape_shows_it(
    mm: float | Fraction | Decimal, unit: str, graduation_mm: float | None, text: str
) -> None:
    assert format_length(mm, unit, graduation_mm=graduation_mm) == text


@pytest.mark.parametrize(
    ("unit", "graduation_mm", "text"),
    [
        ("in", 1.0, "20 23/32 in"),  # 1/32 in = 0.79 mm is the coarsest not above 1 mm
        ("in", 0.1, "20 47/64 in"),  # nothing finer than 1/64 in
        ("in", 100.0, "21 in"),
        ("mm", 25.4 / 16, "527 mm"),
        ("mm", 25.4 / 32, "526.5 mm"),
        ("mm", 0.0001, "526.500 mm"),
    ],
)
def test_a_graduation_of_the_other_system_only_says_how_fine_to_write(
    unit: str, graduation_mm: float, text: str
) -> None:
    assert format_length(526.5, unit, graduation_mm=graduation_mm) == text


def test_a_sign_is_written_when_asked_for_but_never_on_zero() -> None:
    assert format_length(4.7625, "in", signed=True) == "+3/16 in"
    assert format_length(-4.7625, "in", signed=True) == "-3/16 in"
    assert format_length(1.0, "mm", signed=True) == "+1.0 mm"
    assert format_length(-0.01, "mm", signed=True) == "0.0 mm"


def test_the_unit_can_be_left_out_except_for_the_marks_of_feet() -> None:
    assert format_length(527.05, "in", with_unit=False) == "20 3/4"
    assert format_length(527.05, "mm", with_unit=False) == "527.1"
    assert format_length(1689.1, "ft", with_unit=False) == "5' 6 1/2\""


@pytest.mark.parametrize("mm", [float("nan"), float("inf"), Decimal("NaN"), Decimal("-Infinity")])
def test_what_is_not_finite_is_never_written(mm: float | Decimal) -> None:
    with pytest.raises(LengthError, match="finite"):
        format_length(mm, "mm")


def test_an_unknown_unit_is_refused() -> None:
    with pytest.raises(LengthError, match="mm, cm, m, in or ft"):
        format_length(1.0, "yd")


@pytest.mark.parametrize("graduation_mm", [0.0, -1.0, 1e-9, float("nan")])
def test_a_graduation_must_be_a_size(graduation_mm: float) -> None:
    with pytest.raises(LengthError):
        format_length(1.0, "mm", graduation_mm=graduation_mm)


@pytest.mark.parametrize("unit", ["in", "ft"])
def test_every_64th_of_an_inch_is_read_back_as_itself(unit: str) -> None:
    """Down to -2 ft and up to 20 ft, as fraction and as the stored float."""
    for sixty_fourths in range(-24 * 64, 240 * 64 + 1):
        mm = Fraction(sixty_fourths, 64) * INCH_MM
        text = format_length(mm, unit)
        assert text == format_length(float(mm), unit)
        assert parse_length(text, None).mm == mm
        assert parse_length(format_length(mm, unit, with_unit=False), "in").mm == mm


@pytest.mark.parametrize("denominator", [1, 2, 4, 8, 16, 32, 64])
def test_every_mark_of_an_inch_tape_is_written_on_that_tape(denominator: int) -> None:
    graduation_mm = 25.4 / denominator
    for mark in range(40 * denominator):
        mm = Fraction(mark, denominator) * INCH_MM
        assert parse_length(format_length(mm, "in", graduation_mm=graduation_mm), None).mm == mm


def test_every_tenth_of_a_millimetre_is_read_back_as_itself() -> None:
    """From -0.5 m to 5 m."""
    for tenths in range(-5_000, 50_001):
        mm = Fraction(tenths, 10)
        text = format_length(mm, "mm")
        assert text == format_length(tenths / 10, "mm")
        assert parse_length(text, None).mm == mm


@pytest.mark.parametrize("unit", ["cm", "m"])
def test_every_tenth_of_a_millimetre_survives_other_metric_units(unit: str) -> None:
    for tenths in range(-1_000, 20_001):
        mm = Fraction(tenths, 10)
        text = format_length(mm, unit, graduation_mm=Fraction(1, 10))
        assert parse_length(text, None).mm == mm


@pytest.mark.parametrize(
    ("unit", "graduation_mm"),
    [("in", Fraction(254, 160)), ("ft", Fraction(254, 640)), ("mm", Fraction(1, 2)), ("cm", 1)],
)
def test_writing_moves_a_length_by_at_most_half_a_graduation(
    unit: str, graduation_mm: Fraction
) -> None:
    for hundredths in range(-2_000, 60_000, 7):
        mm = Fraction(hundredths, 100)
        text = format_length(mm, unit, graduation_mm=graduation_mm)
        assert abs(parse_length(text, None).mm - mm) <= Fraction(graduation_mm) / 2
        mirrored = format_length(-mm, unit, graduation_mm=graduation_mm)
        assert parse_length(mirrored, None).mm == -parse_length(text, None).mm
