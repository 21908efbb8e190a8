"""Figures of the revised NIOSH lifting equation.

Applications Manual for the Revised NIOSH Lifting Equation, DHHS (NIOSH) Publication 94-110,
revised 9/2021; page numbers as given in a secondary copy. Metric and US
constants are two sets, not conversions of each other (51 lb is 23.13 kg, not 23).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

Duration = Literal["short", "moderate", "long"]
Coupling = Literal["good", "fair", "poor"]


@dataclass(frozen=True, slots=True, kw_only=True)
class System:
    """One set of constants: lengths in ``length`` (cm or in), loads in ``load`` (kg or lb)."""

    length: str
    load: str
    load_constant: float
    horizontal: float
    """HM = this / H, and the least H."""
    horizontal_max: float
    vertical_rise: float
    """VM = 1 - this |V - vertical_best|."""
    vertical_best: float
    vertical_max: float
    distance_share: float
    """DM = distance_share + distance_part / D."""
    distance_part: float
    distance_min: float
    distance_max: float
    coupling_height: float
    """From this V on fair is good; also where the columns of the frequency table part."""
    near_height: float
    """H is estimated as near_hand + W/2 from this V on, low_hand + W/2 below."""
    near_hand: float
    low_hand: float


METRIC = System(
    length="cm",
    load="kg",
    load_constant=23.0,
    horizontal=25.0,
    horizontal_max=63.0,
    vertical_rise=0.003,
    vertical_best=75.0,
    vertical_max=175.0,
    distance_share=0.82,
    distance_part=4.5,
    distance_min=25.0,
    distance_max=175.0,
    coupling_height=75.0,
    near_height=25.0,
    near_hand=20.0,
    low_hand=25.0,
)
"""[cm, kg] Publication 94-110, p. 7 and the limits of each multiplier."""

US = System(
    length="in",
    load="lb",
    load_constant=51.0,
    horizontal=10.0,
    horizontal_max=25.0,
    vertical_rise=0.0075,
    vertical_best=30.0,
    vertical_max=70.0,
    distance_share=0.82,
    distance_part=1.8,
    distance_min=10.0,
    distance_max=70.0,
    coupling_height=30.0,
    near_height=10.0,
    near_hand=8.0,
    low_hand=10.0,
)
"""[in, lb] Publication 94-110, p. 7 and the limits of each multiplier."""

ASYMMETRY_PER_DEG = 0.0032
"""[1/deg] AM = 1 - 0.0032 A. Publication 94-110."""
ASYMMETRY_MAX_DEG = 135.0
"""[deg] Beyond, AM is 0. Publication 94-110."""

FREQUENCY_MIN = 0.2
"""[1/min] Rarer lifts count as this. Publication 94-110, Table 5."""
FREQUENCY_MAX = 15.0
"""[1/min] Beyond, FM is 0. Publication 94-110, Table 5."""

FREQUENCIES: tuple[float, ...] = (0.2, 0.5, *(float(f) for f in range(1, 16)))
"""[1/min] Rows of Table 5."""

_SHORT_SHARED = (1.00, 0.97, 0.94, 0.91, 0.88, 0.84, 0.80, 0.75, 0.70, 0.60, 0.52, 0.45, 0.41, 0.37)
_MODERATE_SHARED = (0.95, 0.92, 0.88, 0.84, 0.79, 0.72, 0.60, 0.50, 0.42, 0.35, 0.30, 0.26)
_LONG_SHARED = (0.85, 0.81, 0.75, 0.65, 0.55, 0.45, 0.35, 0.27, 0.22, 0.18)
FREQUENCY_MULTIPLIER: Mapping[tuple[Duration, Literal["low", "high"]], tuple[float, ...]] = (
    MappingProxyType(
        {
            ("short", "low"): (*_SHORT_SHARED, 0.0, 0.0, 0.0),
            ("short", "high"): (*_SHORT_SHARED, 0.34, 0.31, 0.28),
            ("moderate", "low"): (*_MODERATE_SHARED, *(0.0,) * 5),
            ("moderate", "high"): (*_MODERATE_SHARED, 0.23, 0.21, *(0.0,) * 3),
            ("long", "low"): (*_LONG_SHARED, *(0.0,) * 7),
            ("long", "high"): (*_LONG_SHARED, 0.15, 0.13, *(0.0,) * 5),
        }
    )
)
"""[-] One value per row of ``FREQUENCIES``; low: V below 75 cm (30 in). Publication 94-110,
Table 5."""

COUPLING_MULTIPLIER: Mapping[tuple[Coupling, Literal["low", "high"]], float] = MappingProxyType(
    {
        ("good", "low"): 1.00,
        ("good", "high"): 1.00,
        ("fair", "low"): 0.95,
        ("fair", "high"): 1.00,
        ("poor", "low"): 0.90,
        ("poor", "high"): 0.90,
    }
)
"""[-] Publication 94-110, Table 7."""


INDEX_DESIGN = 1.0
"""[-] Design a lift to a lifting index of at most this. Publication 94-110, p. 20."""
INDEX_HIGH = 3.0
"""[-] Above, nearly all workers are at a higher risk. Publication 94-110, p. 20."""

LIMITS: tuple[str, ...] = (
    "lifting or lowering with one hand",
    "for more than 8 hours",
    "seated or kneeling",
    "in a restricted space",
    "an unstable load",
    "while carrying, pushing or pulling",
    "at high speed (faster than about 30 in, 75 cm, a second)",
    "on a slippery floor (friction below 0.4)",
    "outside 19-26 °C or 35-50 % relative humidity",
)
"""What the equation does not cover. Publication 94-110, p. 6; the metric speed is rounded."""

TEAM_LIMIT = "Lifts by two or more people are outside the equation: this is a share, no clearance."
"""Publication 94-110 (from memory)."""
ALONE_LIMIT = (
    "The equation covers lifts from the floor with two hands; it never says that one person is "
    "enough for a wall work."
)
"""Our own limit on what is reported."""
TURN_MAX_DEG = 180.0
"""[deg] Farthest a load can lie from straight ahead: behind."""
