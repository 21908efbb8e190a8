"""Constants of the formulas, each with unit, value and source (and a note if it is our choice)."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Constant:
    """One figure and where it comes from."""

    value: float
    unit: str
    source: str
    note: str = ""


STANDARD_GRAVITY = Constant(
    value=9.80665,
    unit="m/s^2",
    source="3rd General Conference on Weights and Measures (1901), declaration on the kilogram and "
    "weight; NIST Special Publication 811, appendix B.8",
    note="Exact by definition. The real value on a wall differs by less than 0.5 %.",
)
