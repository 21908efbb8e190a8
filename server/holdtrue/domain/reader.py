"""Reading plain JSON strictly: every error names the path, the value and what would be right."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from fractions import Fraction
from math import isfinite
from typing import Any
from unicodedata import normalize

from holdtrue.core.errors import CoreError
from holdtrue.core.lengths import length_from_number, parse_length
from holdtrue.core.masses import parse_capacity_N, parse_mass
from holdtrue.core.readout import write_bound
from holdtrue.domain.errors import InputError, shown_key

TEXT_LIMIT = 200
LIST_LIMIT = 200
_CONTROL = re.compile("[\0-\x1f\ud800-\udfff]")
_UNSHOWN = re.compile(
    "[\0-\x1f\x7f-\x9f\xad\u061c\u200b-\u200f\u2028-\u202e\u2060-\u206f\ufeff\ud800-\udfff]"
)
"""Control characters, line ends, what turns the direction of a line and what has no width: a screen
or a terminal would show something else than what stands there, or two names alike."""
_LARGEST = 10**9
"""Whole numbers beyond this mean nothing here, and cost time."""


class Reader:
    """One object of the document, with its path and the unit its bare numbers are in.

    ``is_stored``: the document stands in a log already. What ``refuse`` refuses was passed over
    once, and an old log must still fold.
    """

    def __init__(self, value: object, path: str, unit: str, *, is_stored: bool = False) -> None:
        if not isinstance(value, Mapping):
            raise InputError(path or "document", value, "must be an object {...}")
        self.value: Mapping[str, Any] = value
        self.path = path
        self.unit = unit
        self.is_stored = is_stored

    def at(self, key: str) -> str:
        return f"{self.path}.{key}" if self.path else key

    def known(self, keys: Sequence[str]) -> None:
        """Refuse keys nobody reads: a misspelt key must not be silently ignored."""
        for key in self.value:
            if key not in keys:
                raise InputError(
                    self.at(shown_key(key)),
                    self.value[key],
                    f"unknown key; known here: {', '.join(sorted(keys))}",
                )

    def refuse(self, key: str, remedy: str) -> None:
        """Refuse a key that has no bearing here, unless it says nothing."""
        if self.has(key) and self.value[key] != [] and not self.is_stored:
            raise InputError(self.at(key), self.value[key], remedy)

    def has(self, key: str) -> bool:
        return self.value.get(key) is not None

    def need(self, key: str, what: str) -> Any:
        if not self.has(key):
            raise InputError(self.at(key), None, f"is missing; {what}")
        return self.value[key]

    def text(self, key: str, default: str | None = None) -> str:
        value = self.need(key, "give a text") if default is None else self.value.get(key, default)
        if not isinstance(value, str) or not value.strip():
            raise InputError(self.at(key), value, 'must be a text, e.g. "A"')
        if len(value) > TEXT_LIMIT:
            raise InputError(
                self.at(key), value, f"has {len(value)} characters; type at most {TEXT_LIMIT}"
            )
        if (_CONTROL if self.is_stored else _UNSHOWN).search(value):
            raise InputError(
                self.at(key),
                value,
                "must not contain control characters or others that do not show; type it again",
            )
        # what looks alike is alike; a log names its tasks by what was typed, so it stays so there
        return value.strip() if self.is_stored else normalize("NFC", value.strip())

    def choice(self, key: str, choices: Sequence[str], default: str | None = None) -> str:
        value = self.value.get(key)
        if value is None:
            value = default
        if value is None:
            raise InputError(self.at(key), None, f"is missing; give one of {', '.join(choices)}")
        if not isinstance(value, str) or value not in choices:
            raise InputError(self.at(key), value, f"must be one of {', '.join(choices)}")
        return value

    def items(self, key: str, *, least_one: str = "") -> list[Any]:
        """A list; ``least_one`` says what to list where it must not be missing or empty."""
        value = self.need(key, least_one) if least_one else self.value.get(key)
        if value is None:
            return []
        if not isinstance(value, list):
            raise InputError(self.at(key), value, "must be a list [...]")
        if len(value) > LIST_LIMIT:
            raise InputError(
                self.at(key), f"{len(value)} entries", f"must have at most {LIST_LIMIT} entries"
            )
        if least_one and not value:
            raise InputError(self.at(key), value, least_one)
        return value

    def children(self, key: str, *, least_one: str = "") -> list[Reader]:
        return [
            Reader(item, f"{self.at(key)}[{i}]", self.unit, is_stored=self.is_stored)
            for i, item in enumerate(self.items(key, least_one=least_one))
        ]

    def child(self, key: str, what: str = "give an object {...}") -> Reader:
        value = self.need(key, what)
        return Reader(value, self.at(key), self.unit, is_stored=self.is_stored)

    def length(
        self,
        key: str,
        default: float | None = None,
        *,
        low: float | None = None,
        above: float | None = None,
    ) -> float:
        """A length in mm; ``low`` is the least allowed, ``above`` must be exceeded."""
        if not self.has(key):
            if default is not None:
                return default
            raise InputError(
                self.at(key),
                None,
                f'is missing; give a length in {self.unit}, e.g. 527 or "20 3/4 in"',
            )
        value = read_length(self.value[key], self.at(key), self.unit)
        if low is not None and value < low:
            raise InputError(
                self.at(key),
                self.value[key],
                "must not be negative" if low == 0 else f"must be at least {self.least(low)}",
            )
        if above is not None and value <= above:
            raise InputError(self.at(key), self.value[key], "must be more than 0")
        return value

    def most(self, mm: float) -> str:
        """An upper bound in the document's unit."""
        return write_bound(mm, self.unit, is_most=True)

    def least(self, mm: float) -> str:
        """A lower bound in the document's unit."""
        return write_bound(mm, self.unit, is_most=False)

    def optional_length(self, key: str) -> float | None:
        return self.length(key) if self.has(key) else None

    def mass(self, key: str) -> float:
        value = self._quantity(key, lambda raw: float(parse_mass(raw)), 'e.g. "12.5 kg" or "31 lb"')
        if value <= 0:
            raise InputError(self.at(key), self.value[key], 'must be more than 0, e.g. "12.5 kg"')
        return value

    def capacity(self, key: str) -> float | None:
        if not self.has(key):
            return None
        value = self._quantity(
            key, lambda raw: float(parse_capacity_N(raw)), 'e.g. "40 lb", "20 kg" or "180 N"'
        )
        if value <= 0:
            raise InputError(self.at(key), self.value[key], 'must be more than 0, e.g. "20 kg"')
        return value

    def number(self, key: str, default: float, *, low: float, high: float) -> float:
        value = self.value.get(key)
        if value is None:
            return default
        read = read_number(value, self.at(key))
        if not low <= read <= high:
            raise InputError(self.at(key), value, f"must be between {low:g} and {high:g}")
        return read

    def _quantity(self, key: str, read: Callable[[Any], float], example: str) -> float:
        raw = self.need(key, f"give it, {example}")
        if isinstance(raw, bool) or not isinstance(raw, str | int | float):
            raise InputError(self.at(key), raw, f"must be a number or a text, {example}")
        if not isinstance(raw, str):
            read_number(raw, self.at(key))
        try:
            return read(raw)
        except CoreError as error:
            raise InputError(self.at(key), raw, error.remedy) from error


def read_number(value: object, path: str) -> float:
    """A finite number, as JSON number or as plain text."""
    number = _number_of(value) if isinstance(value, str) else value
    if isinstance(number, bool) or not isinstance(number, int | float):
        raise InputError(path, value, "must be a number, e.g. 2 or 2.5")
    if isinstance(number, int) and abs(number) > _LARGEST:
        raise InputError(path, value, "must be a number of ordinary size, e.g. 2 or 2.5")
    if not isfinite(number):
        raise InputError(path, value, "must be a finite number, e.g. 2 or 2.5")
    return float(number)


def _number_of(text: str) -> float | None:
    """The number a plain text stands for; None when it is none."""
    try:
        return float(Fraction(text.strip())) if len(text) <= 32 and _plain(text) else None
    except (ValueError, ZeroDivisionError, OverflowError):
        return None


def _plain(text: str) -> bool:
    return bool(text.strip()) and set(text.strip()) <= set("0123456789.+-")


def read_length(value: object, path: str, unit: str) -> float:
    """A length in mm from a JSON number (in ``unit``) or a typed text."""
    if isinstance(value, bool) or not isinstance(value, str | int | float):
        raise InputError(path, value, f'must be a length, e.g. 527 (in {unit}) or "20 3/4 in"')
    try:
        if isinstance(value, str):
            return float(parse_length(value, unit).mm)
        return float(length_from_number(read_number(value, path), unit))
    except CoreError as error:
        raise InputError(path, value, error.remedy) from error
