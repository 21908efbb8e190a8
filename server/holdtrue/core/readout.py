"""Lengths written the way they are read off a tape."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from math import ceil, floor, isfinite, log10

from holdtrue.core.typed import DENOMINATORS, LengthError
from holdtrue.core.units import LENGTH_ALIASES, MM_PER, is_inch_like

# Every 1/64 in is exact in 6 decimals of a mm; what lies beyond is float noise.
_STORED_DECIMALS = 6
_FINEST_MM = dict.fromkeys(("in", "ft"), MM_PER["in"] / 64) | {
    "mm": Fraction(1, 10),
    "cm": Fraction(1),
    "m": Fraction(1),
}
# Graduations found on metric tapes and rules; another one only says how fine to write.
_METRIC_MM = tuple(
    sorted(Fraction(lead) * Fraction(10) ** power for lead in (1, 2, 5) for power in range(-3, 4))
)


def format_length(
    mm: float | Fraction | Decimal,
    unit: str,
    *,
    graduation_mm: float | Fraction | None = None,
    signed: bool = False,
    with_unit: bool = True,
) -> str:
    """Write a length in a unit, rounded to a graduation, halves away from zero.

    n = sign(mm) floor(|mm| / graduation + 1/2)

    Parameters:
        mm: length [mm], finite; counted to 6 decimals, as it is stored.
        unit: mm, cm, m, in (reduced fractions) or ft (feet and inches, whose marks always stay).
        graduation_mm: graduation [mm], above 0; default 1/64 in, 0.1 mm for mm, 1 mm for cm and m.
            Inches take halves to 64ths, metric units 1, 2 or 5 times a power of ten; any other
            graduation is replaced by the coarsest of these that is not coarser than it.
        signed: write + before what is above zero.
        with_unit: write the unit.
    Returns:
        the text [unit]; ``parse_length`` reads it back.
    Raises:
        LengthError: not finite, an unknown unit, or a graduation not above zero.
    Source: our choice.

    >>> format_length(527.05, "in"), format_length(527.05, "mm"), format_length(1689.1, "ft")
    ('20 3/4 in', '527.1 mm', '5\\' 6 1/2"')
    """
    known = LENGTH_ALIASES.get(unit)
    if known is None:
        raise LengthError("unit not known", unit, "give mm, cm, m, in or ft")
    value = _exact(mm)
    graduation = _graduation(known, graduation_mm)
    steps = int(abs(value) / graduation + Fraction(1, 2))
    sign = ("-" if value < 0 else "+" if signed else "") if steps else ""
    return sign + _body(steps * graduation, known, graduation, with_unit=with_unit)


def _exact(mm: float | Fraction | Decimal) -> Fraction:
    if isinstance(mm, Fraction):
        return mm
    if not isfinite(mm):
        raise LengthError("length not finite", mm, "give a finite number of mm")
    return Fraction(str(round(mm, _STORED_DECIMALS)))


def _graduation(unit: str, graduation_mm: float | Fraction | None) -> Fraction:
    if graduation_mm is None:
        return _FINEST_MM[unit]
    given = _exact(graduation_mm)
    if given <= 0:
        raise LengthError("graduation not usable", graduation_mm, "give a size above 0 mm")
    usable = (
        [MM_PER["in"] / bottom for bottom in (1, *DENOMINATORS)]
        if is_inch_like(unit)
        else _METRIC_MM
    )
    return max((size for size in usable if size <= given), default=min(usable))


def _body(size: Fraction, unit: str, graduation: Fraction, *, with_unit: bool) -> str:
    if unit == "ft":
        return _feet(size / MM_PER["in"])
    suffix = f" {unit}" if with_unit else ""
    if unit == "in":
        return _mixed(size / MM_PER["in"]) + suffix
    return _decimal(size / MM_PER[unit], _decimals(graduation / MM_PER[unit])) + suffix


def _mixed(inches: Fraction) -> str:
    whole, part = divmod(inches, 1)
    if not part:
        return str(whole)
    return f"{whole} {part}" if whole else str(part)


def _feet(inches: Fraction) -> str:
    feet, rest = divmod(inches, 12)
    return f"{feet}' {_mixed(rest)}\"" if feet else f'{_mixed(rest)}"'


def _decimals(value: Fraction) -> int:
    """The digits after the point that write a value of finite decimals exactly."""
    digits = 0
    while (value * 10**digits).denominator != 1:
        digits += 1
    return digits


def _decimal(value: Fraction, digits: int) -> str:
    scaled = str(int(value * 10**digits)).rjust(digits + 1, "0")
    return f"{scaled[:-digits]}.{scaled[-digits:]}" if digits else scaled


def write_exactly(mm: Fraction, unit: str) -> str:
    """A typed length without any rounding: in 64ths where it is one of those, else in decimals.

    Parameters:
        mm: length [mm], exact, whose value in the unit has finite decimals.
        unit: mm, cm, m, in or ft.
    Returns:
        the text [unit].
    Raises:
        nothing for a length that was typed in this unit.
    Source: our choice.

    >>> write_exactly(Fraction(5271, 10), "cm")
    '52.71 cm'
    """
    if is_inch_like(unit) and (mm / _FINEST_MM[unit]).denominator == 1:
        return format_length(mm, unit)
    value = abs(mm / MM_PER[unit])
    return ("-" if mm < 0 else "") + _decimal(value, _decimals(value)) + f" {unit}"


def write_bound(mm: float | Fraction, unit: str, *, is_most: bool) -> str:
    """A bound of a range of lengths, for whoever is told to stay inside it.

    n = floor(mm / unit 10^d) for the most, ceil for the least: what is said is always allowed

    Parameters:
        mm: length [mm], 0 or more; counted to 6 decimals, as it is stored.
        unit: mm, cm, m, in or ft.
        is_most: whether it is the upper bound; the lower one otherwise.
    Returns:
        the text [unit]: in 64ths of an inch where it is one of those, else in decimals of four
        digits or more; rounded, the millimetres stand behind it.
    Raises:
        LengthError: not finite, or an unknown unit.
    Source: our choice.

    >>> write_bound(762.0, "in", is_most=True), write_bound(610.0, "in", is_most=True)
    ('30 in', '24.0157 in (610 mm)')
    >>> write_bound(0.01, "in", is_most=False)
    '0.0003938 in (0.01 mm)'
    """
    length = _exact(mm)
    if is_inch_like(unit) and (length / _FINEST_MM[unit]).denominator == 1:
        return format_length(length, unit)
    value = length / MM_PER[unit]
    digits = max(4, 3 - floor(log10(value))) if value else 0
    steps = (floor if is_most else ceil)(value * 10**digits)
    text = _decimal(Fraction(steps, 10**digits), digits)
    text = (text.rstrip("0").rstrip(".") if digits else text) + f" {unit}"
    return text if Fraction(steps, 10**digits) == value else f"{text} ({float(length):g} mm)"
