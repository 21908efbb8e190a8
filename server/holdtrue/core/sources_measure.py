"""Figures of tapes, levels and readings, with unit and source."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

TAPE_U_MM = 0.5
"""[mm] Standard uncertainty of one reading of a tape. Our choice, editable."""
LEVEL_U_MM = 0.3
"""[mm] Of one reading off a level line, besides its part by distance. Our choice, editable."""
LEVEL_U_MM_PER_M = 0.5
"""[mm/m] Of a level by distance, root-sum-square with the one above. Our choice, editable; a
construction spirit level is about 0.5 mm/m (trade pages)."""

SUSPECT_U = 3.0
"""[-] A reading that misses the estimate by more than this many of its standard uncertainties is
asked for again. Our choice."""
UNCHECKED_SHARE = 1e-6
"""[-] A reading whose miss has less than this share of its variance is checked by nothing else.
Our choice, far above rounding and far below any second reading."""
VAGUE_MM = 1e4
"""[mm] Stands for knowing nothing about a coordinate, far beyond any wall. Our choice."""
SETTLED_MM = 1e-7
"""[mm] A step of the estimate below this ends it, far below any reading. Our choice."""
MAX_STEPS = 50
"""[-] Steps of the estimate before it is given up; it takes two or three. Our choice."""

TapeClass = Literal["I", "II", "III"]


@dataclass(frozen=True, slots=True, kw_only=True)
class TapeErrors:
    """Greatest permissible error a + b L [mm], L in whole metres; ``surface_mm`` is added when one
    end is a surface, such as a hook."""

    a_mm: float
    b_mm_per_m: float
    surface_mm: float


TAPES: Mapping[TapeClass, TapeErrors] = MappingProxyType(
    {
        "I": TapeErrors(a_mm=0.1, b_mm_per_m=0.1, surface_mm=0.1),
        "II": TapeErrors(a_mm=0.3, b_mm_per_m=0.2, surface_mm=0.2),
        "III": TapeErrors(a_mm=0.6, b_mm_per_m=0.4, surface_mm=0.3),
    }
)
"""[mm] The Measuring Instruments Regulations 2016 (UK SI 2016/1153), schedule 1I, paragraph 2, from
Directive 2014/32/EU."""
