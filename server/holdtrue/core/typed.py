"""The strict grammar of typed quantities: a number, then a unit of a closed list.

    quantity  = [sign] number [space] [unit]          at most 32 characters
    number    = digits | digits mark digits | "." digits | fraction | digits joint fraction
    mark      = "." | ","                             "1,500" is asked back: 1500 or 1.5?
    joint     = " " | "-" | nothing before ½ and its kin
    fraction  = digits "/" (2|4|8|16|32|64) | ½ ¼ ¾ ⅛ ⅜ ⅝ ⅞     always below 1

The sign belongs to the whole: -22 1/8 is -22.125. What a phone makes of quotes, primes, minus signs
and spaces is mapped character by character, never by Unicode normalisation, which would turn 5½
into 51/2. Whatever does not fit is refused with an example of what to type.

Source: the project's own grammar; what tapes and phone keypads offer is common practice.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import NoReturn

from holdtrue.core.errors import CoreError

MAX_CHARS = 32
DENOMINATORS = (2, 4, 8, 16, 32, 64)
_LARGEST = 10**9  # before any unit: only keeps absurd numbers from costing time and memory
_MOST_DECIMALS = 400  # the smallest float needs 324

_VULGAR = {
    "½": Fraction(1, 2),
    "¼": Fraction(1, 4),
    "¾": Fraction(3, 4),
    "⅛": Fraction(1, 8),
    "⅜": Fraction(3, 8),
    "⅝": Fraction(5, 8),
    "⅞": Fraction(7, 8),
}
_OTHER_VULGAR = "⅓⅔⅕⅖⅗⅘⅙⅚⅐⅑⅒⅟↉"
_VULGAR_SET = "".join(_VULGAR)
# Tab, no-break space, the widths of space from U+2000 to U+200A, narrow and mathematical ones.
_SPACES = "\t\u00a0\u202f\u205f\u3000" + "".join(map(chr, range(0x2000, 0x200B)))
_SAME = str.maketrans(
    dict.fromkeys(_SPACES, " ")
    | dict.fromkeys("\u2018\u2019\u2032", "'")
    | dict.fromkeys("\u201c\u201d\u2033", '"')
    | dict.fromkeys("\u2212\u2010\u2011\u2013", "-")
    | dict.fromkeys("\u2044\u2215", "/")
)
_ALLOWED = re.compile(rf"[0-9A-Za-z .,/'\"+\-{_VULGAR_SET}]*")
_SHAPE = re.compile(rf"([0-9.,/ \-{_VULGAR_SET}]*?) ?([a-z]+|'|\")?")
_DECIMAL = re.compile(r"([0-9]+)(?:([.,])([0-9]+))?|\.([0-9]+)")
_FRACTION = re.compile(
    rf"(?:([0-9]+)(?:[ -]|(?=[{_VULGAR_SET}])))?(?:([0-9]+)/([0-9]+)|([{_VULGAR_SET}]))"
)


class QuantityError(CoreError):
    """A typed quantity that cannot be understood, or one outside its range."""


class LengthError(QuantityError):
    """A typed length that cannot be understood, or one above 100 m."""


class MassError(QuantityError):
    """A typed mass that cannot be understood, or one outside 0 to 10 000 kg."""


class ForceError(QuantityError):
    """A typed capacity that cannot be understood, or one outside 0 to 100 kN."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """What is being read: its name, the units it may carry, and an example to show."""

    name: str
    error: type[QuantityError]
    aliases: Mapping[str, str]
    fraction_units: frozenset[str]
    example: str
    fraction_example: str

    @property
    def units(self) -> str:
        return ", ".join(dict.fromkeys(self.aliases.values()))

    def refuse(self, value: object, remedy: str) -> NoReturn:
        raise self.error(f"{self.name} not understood", shown(value), remedy)

    def unit(self, text: object) -> str:
        """The unit meant by one of its names, in any case."""
        known = self.aliases.get(text.strip().lower()) if isinstance(text, str) else None
        if known is None:
            self.refuse(text, f"give one of the units {self.units}")
        return known


@dataclass(frozen=True, slots=True)
class Amount:
    """An exact number with the unit it was typed in."""

    value: Fraction
    unit: str


def shown(value: object) -> object:
    """The value as an error may carry it: short, and without turning a huge integer into digits.

    Parameters: value [-], anything that was given.
    Returns: text, a number or None [-].
    Raises: nothing.
    Source: our grammar (module head).
    """
    if isinstance(value, str):
        return value if len(value) <= 2 * MAX_CHARS else value[: 2 * MAX_CHARS] + "…"
    if isinstance(value, int) and value.bit_length() > 128:
        return f"an integer of {value.bit_length()} bits"
    if value is None or isinstance(value, int | float | Decimal):
        return value
    return type(value).__name__


def cleaned(text: object, kind: Kind) -> str:
    """The text in the grammar's own characters and lower case, single spaces between.

    Parameters: text [-], as typed; kind of quantity.
    Returns: text [-] that holds only characters of the grammar.
    Raises: the kind's error: not text, empty, too long, or a character without meaning here.
    Source: our grammar (module head).
    """
    if not isinstance(text, str):
        kind.refuse(text, f"give it as text, such as {kind.example}")
    trimmed = text.strip()
    if not trimmed:
        kind.refuse(text, f"type a number and its unit, such as {kind.example}")
    if len(trimmed) > MAX_CHARS:
        kind.refuse(text, f"type at most {MAX_CHARS} characters, such as {kind.example}")
    mapped = trimmed.translate(_SAME)
    if not _ALLOWED.fullmatch(mapped):
        _refuse_character(trimmed, mapped, kind)
    return " ".join(mapped.replace("''", '"').lower().split())


def _refuse_character(trimmed: str, mapped: str, kind: Kind) -> NoReturn:
    char = next(c for c in mapped if not _ALLOWED.fullmatch(c))
    if char in _OTHER_VULGAR:
        kind.refuse(
            trimmed, f"{char} is on no tape: type a decimal, or such as {kind.fraction_example}"
        )
    if char.isdigit():
        kind.refuse(trimmed, f"type digits 0 to 9, such as {kind.example}")
    kind.refuse(trimmed, f"the character {char!r} has no meaning here: type it as {kind.example}")


def split_sign(text: str) -> tuple[int, str]:
    """A leading sign, which belongs to the whole, and the rest.

    Parameters: text [-], cleaned, not empty.
    Returns: (1 or -1 [-], the rest [-]).
    Raises: nothing.
    Source: our grammar (module head).
    """
    if text[0] in "+-":
        return (-1 if text[0] == "-" else 1), text[1:].removeprefix(" ")
    return 1, text


def read_number(number: str, text: str, kind: Kind) -> tuple[Fraction, bool]:
    """An unsigned number of the grammar and whether it was written with a fraction.

    Parameters: number [-], the part to read; text [-], all that was typed, for the error; kind.
    Returns: (value [-], exact; whether it had a fraction).
    Raises: the kind's error: not one number, an ambiguous comma, or a fraction not below 1.
    Source: our grammar (module head).
    """
    decimal = _DECIMAL.fullmatch(number)
    if decimal:
        return _decimal(text, decimal, kind), False
    fraction = _FRACTION.fullmatch(number)
    if not fraction:
        kind.refuse(text, f"type one number, such as {kind.example}")
    return _mixed(text, fraction, kind), True


def _decimal(text: str, found: re.Match[str], kind: Kind) -> Fraction:
    whole, mark, part, bare = found.groups()
    if bare is not None:
        return Fraction("0." + bare)
    if mark == "," and len(part) == 3 and len(whole) <= 3 and whole[0] != "0":
        small = f"{whole}.{part}".rstrip("0").rstrip(".")
        kind.refuse(text, f"the comma can mean two things: type {whole}{part} or {small}")
    return Fraction(f"{whole}.{part or 0}")


def _mixed(text: str, found: re.Match[str], kind: Kind) -> Fraction:
    whole, top, bottom, vulgar = found.groups()
    if vulgar is not None:
        return int(whole or 0) + _VULGAR[vulgar]
    if int(bottom) not in DENOMINATORS:
        kind.refuse(
            text, f"use 2, 4, 8, 16, 32 or 64 below the line, such as {kind.fraction_example}"
        )
    part = Fraction(int(top), int(bottom))
    if part >= 1:
        # "11/2" is as often "1 1/2" with its space lost as it is five and a half.
        kind.refuse(
            text, f"a fraction stays below 1, after a space: such as {kind.fraction_example}"
        )
    return int(whole or 0) + part


def read_amount(text: str, default_unit: str | None, kind: Kind) -> Amount:
    """An exact number and its unit out of typed text; the default unit when it names none.

    Parameters: text [-], as typed; default_unit [-], a unit of the kind or None; kind.
    Returns: Amount, its value in its unit.
    Raises: the kind's error, with an example of what to type.
    Source: our grammar (module head).
    """
    sign, rest = split_sign(cleaned(text, kind))
    found = _SHAPE.fullmatch(rest)
    if not found:
        kind.refuse(text, f"type one number and its unit, such as {kind.example}")
    number, name = found.groups()
    if name is not None and name not in kind.aliases:
        kind.refuse(text, f"{name!r} is none of the units {kind.units}: type it as {kind.example}")
    value, has_fraction = read_number(number, text, kind)
    if name is None and default_unit is None:
        kind.refuse(text, f"say the unit as well, such as {kind.example}")
    unit = kind.aliases[name] if name is not None else kind.unit(default_unit)
    if has_fraction and unit not in kind.fraction_units:
        kind.refuse(text, _fraction_remedy(number, value, unit, kind))
    return Amount(sign * value, unit)


def _fraction_remedy(number: str, value: Fraction, unit: str, kind: Kind) -> str:
    decimal = f"{float(value):.12g} {unit}"
    others = [
        other for other in dict.fromkeys(kind.aliases.values()) if other in kind.fraction_units
    ]
    return f"{unit} takes no fraction: type {number} {others[0]} or {decimal}"


def number_of(value: object, kind: Kind) -> Fraction:
    """A finite number exactly as it was written: 1.75 is 7/4.

    Parameters: value [-], int, float or Decimal; kind.
    Returns: the number [-], exact.
    Raises: the kind's error: not a number, not finite, or absurdly large or long.
    Source: our grammar (module head).
    """
    if isinstance(value, bool) or not isinstance(value, int | float | Decimal):
        kind.refuse(value, f"give a number, or text such as {kind.example}")
    if isinstance(value, Decimal):
        return _of_decimal(value, kind)
    # The comparison is false for NaN as well.
    if not -_LARGEST <= value <= _LARGEST:
        kind.refuse(value, f"give a finite number of a sensible size, such as {kind.example}")
    return Fraction(value) if isinstance(value, int) else Fraction(repr(float(value)))


def _of_decimal(value: Decimal, kind: Kind) -> Fraction:
    exponent = value.as_tuple().exponent
    if not isinstance(exponent, int) or not -_LARGEST <= value <= _LARGEST:
        kind.refuse(value, f"give a finite number of a sensible size, such as {kind.example}")
    if exponent < -_MOST_DECIMALS:
        kind.refuse(value, f"give fewer digits after the point, such as {kind.example}")
    return Fraction(value)
