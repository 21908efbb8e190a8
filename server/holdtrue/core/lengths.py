"""Typed lengths: read strictly, kept exactly, written the way a tape is read.

Beyond the grammar of ``typed``, a length may be feet and inches: 5' 6 1/2", 5 ft 6 in, 5'-6".
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from holdtrue.core.masses import parse_capacity_N, parse_mass
from holdtrue.core.readout import format_length, write_exactly
from holdtrue.core.typed import (
    Amount,
    ForceError,
    Kind,
    LengthError,
    MassError,
    QuantityError,
    cleaned,
    number_of,
    read_amount,
    read_number,
    split_sign,
)
from holdtrue.core.units import LENGTH_ALIASES, MM_PER, is_inch_like

__all__ = [
    "MAX_MM",
    "ForceError",
    "Length",
    "LengthError",
    "MassError",
    "QuantityError",
    "echo",
    "format_length",
    "is_inch_like",
    "length_from_number",
    "length_unit",
    "parse_capacity_N",
    "parse_length",
    "parse_mass",
    "tape_slip",
]

MAX_MM = 100_000
"""The longest length accepted, 100 m: beyond it a unit was mistaken."""

_KIND = Kind(
    name="length",
    error=LengthError,
    aliases=LENGTH_ALIASES,
    fraction_units=frozenset({"in", "ft"}),
    example="20 3/4 in or 527 mm",
    fraction_example="5 1/2 in",
)
_FEET_AND_INCHES = re.compile(
    r"([0-9]+) ?(?:'|ft|feet|foot)(?: ?|-)"
    r"([0-9½¼¾⅛⅜⅝⅞][0-9.,/ \-½¼¾⅛⅜⅝⅞]*?) ?(?:\"|in|inch|inches)?"
)
_SLIPS_MM = (("1 in", float(MM_PER["in"])), ("100 mm", 100.0))
_SLIP_WITHIN_MM = 2.0
_SIXTEENTH_MM = MM_PER["in"] / 16


@dataclass(frozen=True, slots=True)
class Length:
    """An exact length in mm, the unit it was understood in, and the text as typed."""

    mm: Fraction
    unit: str
    typed: str


def length_unit(text: object) -> str:
    """The unit of length meant by one of its names.

    Parameters:
        text [-]: mm, cm, m, in, ft, inch, inches, feet, foot, \" or ', in any case.
    Returns:
        one of mm, cm, m, in, ft.
    Raises:
        LengthError: another unit, or not text.
    Source: our grammar (module ``typed``).

    >>> length_unit("Inches")
    'in'
    """
    return _KIND.unit(text)


def parse_length(text: str, default_unit: str | None) -> Length:
    """Read a typed length exactly.

    mm = sign (whole + numerator / denominator) mm_per_unit

    Parameters:
        text: at most 32 characters in the grammar of ``typed``, or feet and inches; -100 to 100 m.
        default_unit: the unit of a number without one; None demands one in the text.
    Returns:
        the length [mm], exact; feet with inches are understood as inches.
    Raises:
        LengthError: anything else, with an example of what to type.
    Source: our grammar; factors from ``units.MM_PER``.

    >>> float(parse_length('20-3/4"', "mm").mm)
    527.05
    >>> float(parse_length("5' 6 1/2", None).mm)
    1689.1
    """
    amount = _feet_and_inches(text) or read_amount(text, default_unit, _KIND)
    return Length(_in_range(text, amount.value * MM_PER[amount.unit]), amount.unit, text.strip())


def _feet_and_inches(text: str) -> Amount | None:
    sign, rest = split_sign(cleaned(text, _KIND))
    found = _FEET_AND_INCHES.fullmatch(rest)
    if not found:
        return None
    inches, _ = read_number(found.group(2), text, _KIND)
    if inches >= 12:
        _KIND.refuse(text, "inches beside feet stay below 12: type it as 5' 6 1/2\" or 66 1/2 in")
    return Amount(sign * (12 * int(found.group(1)) + inches), "in")


def _in_range(value: object, mm: Fraction) -> Fraction:
    if abs(mm) > MAX_MM:
        _KIND.refuse(
            value, "give a length of at most 100 m (328 ft): check the unit, such as 527 mm"
        )
    return mm


def length_from_number(value: int | float | Decimal, unit: str) -> Fraction:
    """A number in a unit as exact millimetres.

    mm = value mm_per_unit

    Parameters:
        value: finite number [unit], -100 to 100 m; a float counts as the decimal it prints as.
        unit: mm, cm, m, in or ft.
    Returns:
        the length [mm], exact.
    Raises:
        LengthError: not a number, not finite, too large, or an unknown unit.
    Source: factors from ``units.MM_PER``.

    >>> length_from_number(1.75, "in")
    Fraction(889, 20)
    """
    return _in_range(value, number_of(value, _KIND) * MM_PER[_KIND.unit(unit)])


def echo(text: str, default_unit: str | None) -> str:
    """What was understood, in the unit typed and in the other system, to show before saving.

    Parameters:
        text [-]: a typed length, as for ``parse_length``.
        default_unit: the unit of a number without one, or None.
    Returns:
        one line; "≈" where the sixteenths of an inch shown are not exactly the length. Millimetres
        are to 0.1 mm, finer than a tape is read.
    Raises:
        LengthError: as ``parse_length``.
    Source: our choice of wording.

    >>> echo("20 3/4", "in")
    '20 3/4 in = 527.1 mm'
    >>> echo("52,7 cm", "in")
    '52.7 cm = 527 mm ≈ 20 3/4 in'
    """
    length = parse_length(text, default_unit)
    left = write_exactly(length.mm, length.unit)
    if is_inch_like(length.unit):
        return f"{left} = {format_length(length.mm, 'mm')}"
    if length.unit != "mm":
        left += f" = {write_exactly(length.mm, 'mm')}"
    sign = "=" if (length.mm / _SIXTEENTH_MM).denominator == 1 else "≈"
    return f"{left} {sign} {format_length(length.mm, 'in', graduation_mm=_SIXTEENTH_MM)}"


def tape_slip(measured_mm: float | Fraction, planned_mm: float | Fraction) -> str | None:
    """Which whole length a reading is off by, when it looks as if the tape was started there.

    | |measured - planned| - slip | <= 2 mm, for slips of 1 in and 100 mm

    Parameters:
        measured_mm: the reading [mm], finite.
        planned_mm: what was expected [mm], finite.
    Returns:
        "1 in", "100 mm", or None when it is neither.
    Raises:
        nothing.
    Source: our choice; people start a tape at its 1 or its 100 to spare the worn hook.

    >>> tape_slip(552.0, 527.05)
    '1 in'
    """
    off_mm = abs(float(measured_mm) - float(planned_mm))
    for name, slip_mm in _SLIPS_MM:
        if abs(off_mm - slip_mm) <= _SLIP_WITHIN_MM:
            return name
    return None
