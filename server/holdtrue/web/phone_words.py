"""Lengths, loads and deviations as people at the wall read them: their unit, few words."""

from __future__ import annotations

import re
from functools import lru_cache

from markupsafe import Markup

from holdtrue.core.lengths import format_length, is_inch_like
from holdtrue.core.units import KG_PER, G
from holdtrue.domain.consequence import Residual
from holdtrue.domain.subjects import pair_seats

NO_BREAK = "\xa0"
_LENGTH = re.compile(r"\d[\d.]*(?: \d+/\d+|/\d+)? (?:in|mm|cm|ft)\b")
_MIXED = re.compile(r"(?:(\d+) )?(\d+)/(\d+) in")
SAME_MM = 0.05
"""Differences below this are none."""


def fmt(mm: float, unit: str) -> str:
    """A length to what a tape can show, not to be parted at the end of a line.

    >>> fmt(527.05, "in")
    '20\\xa03/4\\xa0in'
    """
    return written(mm, unit).replace(" ", NO_BREAK)


def unparted(words: str) -> str:
    """A sentence whose lengths are not to be parted at the end of a line.

    >>> unparted("shim A1 up 1 1/16 in")
    'shim A1 up 1\\xa01/16\\xa0in'
    """
    return _LENGTH.sub(lambda found: found[0].replace(" ", NO_BREAK), words)


@lru_cache(maxsize=4096)
def written(mm: float, unit: str) -> str:
    """The same with plain spaces: to 1/64 in, or 0.1 mm without idle zeros.

    >>> written(527.05, "in"), written(527.0, "mm"), written(527.05, "cm")
    ('20 3/4 in', '527 mm', '52.71 cm')
    """
    if is_inch_like(unit):
        return format_length(mm, "in")
    number, _, name = format_length(mm, unit, graduation_mm=0.1).partition(" ")
    return f"{number.rstrip('0').rstrip('.') if '.' in number else number} {name}"


def bare(mm: float, unit: str) -> str:
    """The same without its unit, as it stands in an input.

    >>> bare(527.05, "in")
    '20 3/4'
    """
    return written(mm, unit).rpartition(" ")[0]


def large(mm: float, unit: str) -> Markup:
    """A length for a large number: the fraction small, the unit smaller."""
    text = written(mm, unit)
    fraction = _MIXED.fullmatch(text)
    if fraction is None:
        number, _, name = text.rpartition(" ")
        return Markup('{} <span class="unit">{}</span>').format(number, name)
    whole, top, bottom = fraction.groups()
    return Markup(
        '{}<span class="frac"><sup>{}</sup>&frasl;<sub>{}</sub></span> <span class="unit">in</span>'
    ).format(f"{whole} " if whole else "", top, bottom)


def side(x_mm: float) -> str:
    """Where an x lies, seen from the front.

    >>> side(-3.0), side(0.0)
    ('left of the reference line', 'on the reference line')
    """
    if abs(x_mm) < SAME_MM:
        return "on the reference line"
    return "left of the reference line" if x_mm < 0 else "right of the reference line"


def across(x_mm: float, unit: str) -> str:
    """An x in short.

    >>> across(-203.2, "in")
    '8\\xa0in left'
    """
    if abs(x_mm) < SAME_MM:
        return "on the line"
    return f"{fmt(abs(x_mm), unit)} {'left' if x_mm < 0 else 'right'}"


def small(mm: float, unit: str) -> str:
    """A deviation's size; what the unit's finest mark cannot show is said to be less than it."""
    if bare(abs(mm), unit) == "0":
        return "nothing" if abs(mm) < SAME_MM else f"less than 1/64{NO_BREAK}in"
    return fmt(abs(mm), unit)


def off_words(right_mm: float, up_mm: float, unit: str) -> tuple[str, ...]:
    """How far off, in words; nothing for a direction that is right.

    >>> off_words(-1.5875, 3.175, "in")
    ('1/8\\xa0in high', '1/16\\xa0in left')
    """
    said = []
    for value, plus, minus in ((up_mm, "high", "low"), (right_mm, "right", "left")):
        if abs(value) >= SAME_MM:
            said.append(f"{small(value, unit)} {plus if value > 0 else minus}")
    return tuple(said)


def move_words(right_mm: float, up_mm: float, unit: str) -> str:
    """By how much a mark moves.

    >>> move_words(1.5875, -1.5875, "in")
    '1/16\\xa0in right, 1/16\\xa0in down'
    """
    said = []
    for value, plus, minus in ((right_mm, "right", "left"), (up_mm, "up", "down")):
        if abs(value) >= SAME_MM:
            said.append(f"{small(value, unit)} {plus if value > 0 else minus}")
    return ", ".join(said) or "stays"


_RESIDUALS = {
    "level": ("{0} is {size} low on the left", "{0} is {size} low on the right"),
    "slack": (
        "seats {0} and {1} are {size} too far apart",
        "seats {0} and {1} are {size} too close",
    ),
    "bearing": ("seat {0} is {size} high", "seat {0} is {size} low"),
    "gap": ("gap {0} to {1} is {size} too wide", "gap {0} to {1} is {size} too narrow"),
    "step": ("{0} is {size} higher than {1}", "{1} is {size} higher than {0}"),
    "sideways step": (
        "{0} is {size} further right than {1}",
        "{1} is {size} further right than {0}",
    ),
    "centre": ("the work is {size} too far right", "the work is {size} too far left"),
    "height": ("the work is {size} too high", "the work is {size} too low"),
}
KIND_WORDS = {
    "level": "Level",
    "slack": "Seat spacing",
    "bearing": "Bearing",
    "gap": "Gap",
    "step": "Step",
    "centre": "Centre",
    "height": "Height",
    "taper": "Taper",
    "flush": "Flush",
    "line": "Line",
}


def residual_words(residual: Residual, unit: str, *, is_above: bool = False) -> str:
    """One residual as a person would say it at the wall.

    ``is_above``: the two panels stand above each other, so that their step is sideways.

    >>> gap = Residual(kind="gap", where="A|B", value_mm=-1.5875, tolerance_mm=1.5)
    >>> residual_words(gap, "in")
    'gap A to B is 1/16\\xa0in too narrow'
    """
    kind = "sideways step" if residual.kind == "step" and is_above else residual.kind
    if abs(residual.value_mm) < SAME_MM:
        return f"{KIND_WORDS[residual.kind].lower()} as planned"
    where = residual.where  # panels by their own mark; a seat's name may hold a dash itself
    names = where.split("|") if "|" in where else pair_seats(where)
    words = _RESIDUALS[kind][0 if residual.value_mm > 0 else 1]
    return words.format(*names, *names, size=small(residual.value_mm, unit))


def mass_words(kg: float, unit: str) -> str:
    """A mass in pounds for people who read inches, else in kilograms.

    >>> mass_words(14.06, "in"), mass_words(14.06, "mm")
    ('31 lb', '14.1 kg')
    """
    value, name = (kg / float(KG_PER["lb"]), "lb") if is_inch_like(unit) else (kg, "kg")
    digits = 0 if value >= 100 else 1
    return f"{value:.{digits}f}".removesuffix(".0") + f" {name}"


def large_mass(kg: float, unit: str) -> Markup:
    """A mass for a large number."""
    value, _, name = mass_words(kg, unit).partition(" ")
    return Markup('{} <span class="unit">{}</span>').format(value, name)


def load_words(force_N: float, unit: str) -> str:
    """A force as the weight of a mass, which is what capacities are printed in."""
    return mass_words(force_N / float(G), unit)
