"""Errors of the core: the value, its unit and what would be right."""

from __future__ import annotations


class CoreError(ValueError):
    """A value the mathematics cannot take.

    ``value`` is what was given, ``remedy`` says what to give instead.
    """

    def __init__(self, what: str, value: object, remedy: str) -> None:
        self.what = what
        self.value = value
        self.remedy = remedy
        super().__init__(f"{what}: {value!r}: {remedy}")
