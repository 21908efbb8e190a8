"""What a typed length means, and what is refused with a word on what to type."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest

from holdtrue.core.errors import CoreError
from holdtrue.core.lengths import (
    MAX_MM,
    LengthError,
    QuantityError,
    echo,
    length_from_number,
    length_unit,
    parse_length,
    tape_slip,
)

INCH_MM = Fraction(254, 10)

# text, default unit, inches meant, unit understood
INCHES: list[tuple[str, str | None, str, str]] = [
    ("20 3/4", "in", "20.75", "in"),
    ('20-3/4"', "mm", "20.75", "in"),
    ("20-3/4", "in", "20.75", "in"),
    ("20 3/4in", None, "20.75", "in"),
    ("20 3/4 IN", None, "20.75", "in"),
    ("20.75 inches", None, "20.75", "in"),
    ("1 inch", None, "1", "in"),
    ("5½ in", None, "5.5", "in"),
    ("5 ½ in", None, "5.5", "in"),
    ("5-½ in", None, "5.5", "in"),
    ("½ in", None, "0.5", "in"),
    ('⅜"', None, "0.375", "in"),
    ('5⅞"', None, "5.875", "in"),
    ("5⅝", "in", "5.625", "in"),
    ("5⅛", "in", "5.125", "in"),
    ("5¼", "in", "5.25", "in"),
    ("5¾", "in", "5.75", "in"),
    ("5 1/2 in", None, "5.5", "in"),
    ("5 1/16 in", None, "5.0625", "in"),
    ("5-1/2 in", None, "5.5", "in"),
    ("5 1⁄2 in", None, "5.5", "in"),  # fraction slash
    ("5 1∕2 in", None, "5.5", "in"),  # division slash
    ("63 63/64", "in", "63.984375", "in"),
    ("5 11/32 in", None, "5.34375", "in"),
    ("3/4", "in", "0.75", "in"),
    ("0 3/4", "in", "0.75", "in"),
    ("5 0/4", "in", "5", "in"),
    ("-22 1/8", "in", "-22.125", "in"),
    ("−22 1/8", "in", "-22.125", "in"),  # minus sign
    ("–22 1/8", "in", "-22.125", "in"),  # en dash
    ("- 22 1/8", "in", "-22.125", "in"),
    ("+3/16", "in", "0.1875", "in"),
    ("-½", "in", "-0.5", "in"),
    (".5 in", None, "0.5", "in"),
    ("0,125 in", None, "0.125", "in"),  # a leading zero cannot group thousands
    ("5,5 in", None, "5.5", "in"),
    ("5' 6 1/2\"", None, "66.5", "in"),
    ("5' 6 1/2''", None, "66.5", "in"),
    ("5' 6½\"", "mm", "66.5", "in"),
    ("5'6", None, "66", "in"),
    ("5'6\"", None, "66", "in"),
    ("5'-6 1/2\"", None, "66.5", "in"),
    ("5'-6-1/2\"", None, "66.5", "in"),
    ("5’ 6 1/2”", None, "66.5", "in"),  # the quotes a phone makes
    ("5‘ 6“", None, "66", "in"),
    ("5′ 6 1/2″", None, "66.5", "in"),  # primes
    ("5 ft 6 in", None, "66", "in"),
    ("5ft6in", None, "66", "in"),
    ("5 feet 6.5 inches", None, "66.5", "in"),
    ("5' 1/2\"", None, "60.5", "in"),
    ("5' ½", None, "60.5", "in"),
    ("-5' 6", None, "-66", "in"),
    ("0' 6", None, "6", "in"),
    ("5'", "mm", "60", "ft"),
    ("5 Ft", None, "60", "ft"),
    ("1 foot", None, "12", "ft"),
    ("5.5'", None, "66", "ft"),
    ("5 1/2 ft", None, "66", "ft"),
    ("5", "ft", "60", "ft"),
    ("5", "feet", "60", "ft"),
    ("5\u00a01/2\u202fin", None, "5.5", "in"),  # spaces that do not break
    ("5\u20091/2\tin", None, "5.5", "in"),
    ("  5   1/2  in ", None, "5.5", "in"),
    ("\u00a05 in\n", None, "5", "in"),
]

METRIC: list[tuple[str, str | None, str, str]] = [
    ("527", "mm", "527", "mm"),
    ("527 mm", "in", "527", "mm"),
    ("527mm", None, "527", "mm"),
    ("12 MM", None, "12", "mm"),
    ("12 Mm", None, "12", "mm"),
    ("52,7 cm", None, "527", "cm"),
    ("52.7 CM", "in", "527", "cm"),
    ("1,5 m", None, "1500", "m"),
    ("1.5 m", None, "1500", "m"),
    ("1.500 m", None, "1500", "m"),
    ("12 M", None, "12000", "m"),
    ("−3 mm", None, "-3", "mm"),
    ("-3", "mm", "-3", "mm"),
    ("+ 3", "mm", "3", "mm"),
    ("0", "mm", "0", "mm"),
    ("-0", "mm", "0", "mm"),
    ("007", "mm", "7", "mm"),
    ("0,500", "m", "500", "m"),
    ("1234,567", "mm", "1234.567", "mm"),  # groups have at most three digits before the first comma
    ("1,50", "m", "1500", "m"),
    ("1,5000", "m", "1500", "m"),
    ("0.1", "mm", "0.1", "mm"),
    ("100 m", None, "100000", "m"),
]


@pytest.mark.parametrize(("text", "default", "inches", "unit"), INCHES)
def test_inches_and_feet_are_read_exactly(
    text: str, default: str | None, inches: str, unit: str
) -> None:
    length = parse_length(text, default)
    assert length.mm == Fraction(inches) * INCH_MM
    assert length.unit == unit


@pytest.mark.parametrize(("text", "default", "mm", "unit"), METRIC)
def test_metric_lengths_are_read_exactly(
    text: str, default: str | None, mm: str, unit: str
) -> None:
    length = parse_length(text, default)
    assert length.mm == Fraction(mm)
    assert length.unit == unit


def test_the_typed_text_is_kept_as_typed_without_the_spaces_around_it() -> None:
    assert parse_length("  5½ in ", None).typed == "5½ in"


# text, default unit, words the remedy must say
REFUSED: list[tuple[str, str | None, str]] = [
    ("", "mm", "such as 20 3/4 in or 527 mm"),
    ("   ", "mm", "such as 20 3/4 in or 527 mm"),
    ("5", None, "say the unit"),
    ("1,500", "mm", "type 1500 or 1.5"),
    ("1,050 mm", None, "type 1050 or 1.05"),
    ("2,000 mm", None, "type 2000 or 2"),
    ("-1,500", "mm", "type 1500 or 1.5"),
    ("1,234,567", "mm", "type one number"),
    ("1,500.5", "mm", "type one number"),
    ("1.500,5", "mm", "type one number"),
    (",5", "mm", "type one number"),
    ("5.", "mm", "type one number"),
    ("5,", "mm", "type one number"),
    ("5..5", "mm", "type one number"),
    (".", "mm", "type one number"),
    ("-", "mm", "type one number"),
    ("--5", "mm", "type one number"),
    ("+-5", "mm", "type one number"),
    ("5-", "mm", "type one number"),
    ("5 5", "mm", "type one number"),
    ("5 1", "in", "type one number"),
    ("mm", None, "type one number"),
    ("5 17/16 in", None, "below 1"),
    ("5 4/4 in", None, "below 1"),
    ("11/2 in", None, "below 1"),  # as often "1 1/2" with its space lost
    ("203/4", "in", "below 1"),
    ("5 1/3 in", None, "2, 4, 8, 16, 32 or 64"),
    ("5 1/10 in", None, "2, 4, 8, 16, 32 or 64"),
    ("5 1/128 in", None, "2, 4, 8, 16, 32 or 64"),
    ("5 1/0 in", None, "2, 4, 8, 16, 32 or 64"),
    ("0/0", "in", "2, 4, 8, 16, 32 or 64"),
    ("5⅓ in", None, "on no tape"),
    ("↉ in", None, "on no tape"),
    ("20 3/4", "mm", "20 3/4 in or 20.75 mm"),
    ("20 3/4 mm", "in", "20 3/4 in or 20.75 mm"),
    ("½ cm", None, "½ in or 0.5 cm"),
    ("5.5 1/2 in", None, "type one number"),
    ("5 1/2 1/2 in", None, "type one number"),
    ("5 1 / 2 in", None, "type one number"),
    ("5 -1/2 in", None, "type one number"),
    ("5 - 1/2 in", None, "type one number"),
    ("5--1/2 in", None, "type one number"),
    ("5 -½ in", None, "type one number"),
    ("½5 in", None, "type one number"),
    ("½ ½ in", None, "type one number"),
    ("1/½ in", None, "type one number"),
    ("½/2 in", None, "type one number"),
    ("5 1/2/2 in", None, "type one number"),
    ("5' 12\"", None, "stay below 12"),
    ("5' 14\"", None, "stay below 12"),
    ("5' 6' ", None, "type one number"),
    ('5" 6', None, "type one number"),
    ("5.5' 6\"", None, "type one number"),
    ("5 1/2' 6\"", None, "type one number"),
    ("5' -6\"", None, "type one number"),
    ("5' 6 mm", None, "type one number"),
    ("5'.5\"", None, "type one number"),
    ("5' 1,125", None, "type 1125 or 1.125"),
    ("5 pt", None, "none of the units mm, cm, m, in, ft"),
    ("5 km", None, "none of the units"),
    ("5 yd", None, "none of the units"),
    ("5 kg", None, "none of the units"),
    ("5 mm mm", None, "type one number"),
    ("mm 5", None, "type one number"),
    ("5 in.", None, "type one number"),
    ("nan", "mm", "none of the units"),
    ("nan mm", None, "type one number"),
    ("inf", "mm", "none of the units"),
    ("-inf mm", None, "type one number"),
    ("1e3", "mm", "type one number"),
    ("1e400 mm", None, "type one number"),
    ("0x10 mm", None, "type one number"),
    ("1_000 mm", None, "'_' has no meaning"),
    ("2**10**10 mm", None, "'*' has no meaning"),
    ("5+5 mm", None, "type one number"),
    ("(5) mm", None, "'(' has no meaning"),
    ("5;6", "mm", "';' has no meaning"),
    ("5\u200b1 mm", None, "has no meaning"),  # a space of no width would join two numbers
    ("5\n1/2 in", None, "has no meaning"),
    ("5\x001 mm", None, "has no meaning"),
    ("\ud8005 mm", None, "has no meaning"),
    ("5—6 mm", None, "has no meaning"),  # em dash
    ("٣ mm", None, "digits 0 to 9"),
    ("５ mm", None, "digits 0 to 9"),
    ("5² mm", None, "digits 0 to 9"),
    ("5 ㎜", None, "has no meaning"),
    ("5 \u212am", None, "has no meaning"),  # the Kelvin sign lowers to a plain k
    ("100.001 m", None, "at most 100 m"),
    ("-101 m", None, "at most 100 m"),
    ("9" * 30, "mm", "at most 100 m"),
    ("9" * 26 + "' 6", None, "at most 100 m"),
    ("1" * 33, "mm", "at most 32 characters"),
    ("1" * 100_000, "mm", "at most 32 characters"),
]


@pytest.mark.parametrize(("text", "default", "remedy"), REFUSED)
def test_what_is_not_clear_is_refused_with_what_to_type(
    text: str, default: str | None, remedy: str
) -> None:
    with pytest.raises(LengthError) as caught:
        parse_length(text, default)
    assert remedy in caught.value.remedy
    assert len(str(caught.value)) < 400


def test_32_characters_are_read_and_the_spaces_around_do_not_count() -> None:
    text = "527." + "0" * 25 + " mm"
    assert len(text) == 32
    assert parse_length("   " + text + "   ", None).mm == 527


@pytest.mark.parametrize("value", [None, 5, 5.0, b"5 mm", ["5 mm"], {"mm": 5}])
def test_only_text_is_read_as_typed(value: object) -> None:
    with pytest.raises(LengthError, match="give it as text"):
        parse_length(value, "mm")  # type: ignore[arg-type]


def test_an_unknown_default_unit_is_named() -> None:
    with pytest.raises(LengthError, match="give one of the units mm, cm, m, in, ft"):
        parse_length("5", "furlong")


def test_a_length_error_is_a_core_error_and_a_value_error() -> None:
    assert issubclass(LengthError, QuantityError)
    assert issubclass(QuantityError, CoreError)
    assert issubclass(LengthError, ValueError)


@pytest.mark.parametrize(
    ("name", "unit"),
    [("mm", "mm"), (" CM ", "cm"), ("M", "m"), ('"', "in"), ("'", "ft"), ("Feet", "ft")],
)
def test_a_unit_is_known_by_its_names_in_any_case(name: str, unit: str) -> None:
    assert length_unit(name) == unit


@pytest.mark.parametrize("name", ["", "yd", "kg", None, 5, "m" * 1000])
def test_an_unknown_unit_is_refused(name: object) -> None:
    with pytest.raises(LengthError, match="give one of the units"):
        length_unit(name)


@pytest.mark.parametrize(
    ("value", "unit", "mm"),
    [
        (1.75, "in", "44.45"),
        (0.1, "mm", "0.1"),  # the decimal it prints as, not the binary fraction next to it
        (0.1, "in", "2.54"),
        (-3, "cm", "-30"),
        (Decimal("52.705"), "cm", "527.05"),
        (Decimal("-1E+1"), "mm", "-10"),
        (1e-7, "mm", "0.0000001"),
        (100, "m", "100000"),
        (0, "mm", "0"),
        (-0.0, "mm", "0"),
    ],
)
def test_a_number_counts_exactly_as_written(
    value: int | float | Decimal, unit: str, mm: str
) -> None:
    assert length_from_number(value, unit) == Fraction(mm)


@pytest.mark.parametrize(
    "value",
    [
        float("nan"),
        float("inf"),
        float("-inf"),
        Decimal("NaN"),
        Decimal("sNaN"),
        Decimal("Infinity"),
        Decimal("1E+999999999"),
        Decimal("1E-999999"),
        1e308,
        10**5000,
        -(10**5000),
        MAX_MM + 1,
        True,
        None,
        "5",
        [5],
    ],
    ids=lambda value: type(value).__name__,
)
def test_a_number_that_is_no_length_is_refused(value: object) -> None:
    with pytest.raises(LengthError) as caught:
        length_from_number(value, "mm")  # type: ignore[arg-type]
    assert len(str(caught.value)) < 400


def test_the_smallest_float_is_a_length_and_not_a_crash() -> None:
    assert 0 < length_from_number(5e-324, "mm") < Fraction(1, 10**300)


@pytest.mark.parametrize(
    ("text", "default", "line"),
    [
        ("20 3/4", "in", "20 3/4 in = 527.1 mm"),
        ('20-3/4"', "mm", "20 3/4 in = 527.1 mm"),
        ("527", "mm", "527 mm ≈ 20 3/4 in"),
        ("527.05", "mm", "527.05 mm = 20 3/4 in"),
        ("508 mm", "in", "508 mm = 20 in"),
        ("52,7 cm", "in", "52.7 cm = 527 mm ≈ 20 3/4 in"),
        ("1.5 m", None, "1.5 m = 1500 mm ≈ 59 1/16 in"),
        ("5' 6 1/2\"", None, "66 1/2 in = 1689.1 mm"),
        ("5.5 ft", None, "5' 6\" = 1676.4 mm"),
        ("5.333 in", None, "5.333 in = 135.5 mm"),
        ("-22 1/8", "in", "-22 1/8 in = -562.0 mm"),
        ("-0.004 in", None, "-0.004 in = -0.1 mm"),
        ("0", "mm", "0 mm = 0 in"),
    ],
)
def test_what_was_understood_is_said_in_both_systems(
    text: str, default: str | None, line: str
) -> None:
    assert echo(text, default) == line


@pytest.mark.parametrize(
    ("measured_mm", "planned_mm", "slip"),
    [
        (552.45, 527.05, "1 in"),
        (501.65, 527.05, "1 in"),
        (554.4, 527.05, "1 in"),  # 1.95 mm beside it
        (554.5, 527.05, None),  # 2.05 mm beside it
        (550.5, 527.05, "1 in"),
        (550.4, 527.05, None),
        (627.0, 527.05, "100 mm"),
        (425.1, 527.05, "100 mm"),
        (629.1, 527.05, None),
        (527.05, 527.05, None),
        (727.05, 527.05, None),
        (Fraction(-254, 10), 0.0, "1 in"),
    ],
)
def test_a_reading_off_by_an_inch_or_100_mm_is_asked_about(
    measured_mm: float | Fraction, planned_mm: float, slip: str | None
) -> None:
    assert tape_slip(measured_mm, planned_mm) == slip
