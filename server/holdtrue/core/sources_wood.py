"""Figures of the wood-screw formulas, in the units they were published in: inch, psi, lb.

NDS is the National Design Specification for Wood Construction, 2018 edition (American Wood
Council). Its formulas were read in independent public implementations, not in the printed book;
what was not read anywhere and is recalled only says "from memory".
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

SCREW_WITHDRAWAL = 2850.0
"""[lb per inch of thread, for D in inches and G^2] NDS 12.2.2; the same in handbooks, eq. 6.37."""
SCREW_WITHDRAWAL_G_POWER = 2.0
"""[-] NDS 12.2.2."""

LAG_WITHDRAWAL = 1800.0
"""[lb per inch of thread, for D in inches] NDS eq. 12.2-1."""
LAG_WITHDRAWAL_G_POWER = 1.5
"""[-] NDS eq. 12.2-1."""
LAG_WITHDRAWAL_D_POWER = 0.75
"""[-] NDS eq. 12.2-1."""


GRAVITY_MIN = 0.35
"""[-] Lightest species group of NDS Table 12.3.3A, Northern Species."""
GRAVITY_MAX = 0.73
"""[-] Heaviest species group of NDS Table 12.3.3A, White Oak."""

LARGE_DIAMETER_IN = 0.25
"""[in] From here on dowel bearing depends on the direction of the grain. NDS 12.3.3."""
DIAMETER_MAX_IN = 1.0
"""[in] Largest diameter of NDS Table 12.3.1B (the upper end from memory)."""

BEARING_SMALL_PSI = 16600.0
"""[psi] Dowel bearing below 1/4 in, times G^1.84. NDS 12.3.3."""
BEARING_SMALL_G_POWER = 1.84
"""[-] NDS 12.3.3."""
BEARING_PARALLEL_PSI = 11200.0
"""[psi] Dowel bearing from 1/4 in on along the grain, times G. NDS 12.3.3."""
BEARING_PERPENDICULAR_PSI = 6100.0
"""[psi] The same across the grain, times G^1.45 / sqrt(D). NDS 12.3.3."""
BEARING_PERPENDICULAR_G_POWER = 1.45
"""[-] NDS 12.3.3."""

STEEL_HOT_ROLLED = 1.5
"""[-] Dowel bearing of a hot-rolled steel plate, 1/4 in or more, per ultimate strength.
NDS appendix I, read in university notes."""
STEEL_COLD_FORMED = 1.375
"""[-] The same for cold-formed sheet below 1/4 in. NDS appendix I, read in university notes."""
STEEL_SHEET_PSI = 45_000.0
"""[psi] Ultimate strength of cold-formed sheet whose grade nobody knows, A653 grade 33. From
memory; matches the bearing figure printed for it."""
STEEL_PLATE_PSI = 58_000.0
"""[psi] The same of hot-rolled plate, A36. From memory; matches the bearing figure printed for
it."""
STEEL_PLATE_FROM_MM = 6.35
"""[mm] 1/4 in: from here on hot-rolled. NDS appendix I, read in university notes."""

KD_SMALL = 2.2
"""[-] Reduction term K_D up to 0.17 in. NDS Table 12.3.1B."""
KD_SMALL_TO_IN = 0.17
"""[in] NDS Table 12.3.1B."""
KD_SLOPE_PER_IN = 10.0
"""[1/in] K_D = 10 D + 0.5 above 0.17 in and below 1/4 in. NDS Table 12.3.1B."""
KD_OFFSET = 0.5
"""[-] The same."""
RD_LARGE: Mapping[str, float] = MappingProxyType(
    {"Im": 4.0, "Is": 4.0, "II": 3.6, "IIIm": 3.2, "IIIs": 3.2, "IV": 3.2}
)
"""[-] Reduction terms from 1/4 in on, each times K_theta. NDS Table 12.3.1B."""
K_THETA_RISE = 0.25
"""[-] K_theta = 1 + 0.25 theta / 90. NDS Table 12.3.1B."""
RIGHT_ANGLE_DEG = 90.0
"""[deg] Largest angle of load to grain."""

BENDING_YIELD_PSI: tuple[tuple[float, float], ...] = (
    (0.142, 100_000.0),
    (0.177, 90_000.0),
    (0.236, 80_000.0),
    (0.273, 70_000.0),
)
"""([in] up to this nominal diameter, [psi]) NDS Table I1. 90 000 at 0.162 in and 80 000 at
0.190 in were read; the bands' ends and the other two values are from memory."""

PENETRATION_MIN_DIAMETERS = 6.0
"""[-] Least penetration of a wood screw, tip included, in nominal diameters. NDS 12.1.5.6."""
TIP_DIAMETERS = 2.0
"""[-] Length of the tip in nominal diameters. NDS 12.1.5.6."""
THREAD_SHARE = 2.0 / 3.0
"""[-] Threaded share of a wood screw's length where it was not measured. From memory of NDS
appendix L; a maker's figure prevails."""

WET_SERVICE = 0.7
"""[-] C_M of wood screws, withdrawal and lateral. NDS Table 11.3.3."""
HEAT: Mapping[tuple[str, str], float] = MappingProxyType(
    {
        ("usual", "dry"): 1.0,
        ("usual", "wet"): 1.0,
        ("warm", "dry"): 0.8,
        ("warm", "wet"): 0.7,
        ("hot", "dry"): 0.7,
        ("hot", "wet"): 0.5,
    }
)
"""[-] C_t. usual: up to 100 F (38 C); warm: 100-125 F (52 C); hot: 125-150 F (66 C).
NDS Table 11.3.4."""
Duration = Literal["permanent", "ten years"]
LOAD_DURATION: Mapping[Duration, float] = MappingProxyType({"permanent": 0.9, "ten years": 1.0})
"""[-] C_D. A hung work is a permanent load. NDS Table 2.3.2, from memory."""

LEAD_HOLES: tuple[tuple[float, float], ...] = ((0.6, 0.9), (0.5, 0.7))
"""([-] from this specific gravity on, [-] share of the root diameter) Lead hole of a wood screw in
withdrawal; none is needed below the last. NDS, read in an engineering reference."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ScrewGauge:
    """Diameters of a wood screw; ``*_from_memory`` says which were not read in a source."""

    number: int
    nominal_in: float
    root_in: float
    is_nominal_from_memory: bool = True
    is_root_from_memory: bool = True

    @property
    def name(self) -> str:
        """Its number, or its diameter where it has none."""
        return f"No. {self.number}" if self.number else f"{self.nominal_in:.3f} in"


GAUGES: Mapping[int, ScrewGauge] = MappingProxyType(
    {
        6: ScrewGauge(number=6, nominal_in=0.138, root_in=0.113, is_nominal_from_memory=False),
        7: ScrewGauge(number=7, nominal_in=0.151, root_in=0.122),
        8: ScrewGauge(number=8, nominal_in=0.164, root_in=0.131, is_nominal_from_memory=False),
        9: ScrewGauge(number=9, nominal_in=0.177, root_in=0.142),
        10: ScrewGauge(
            number=10,
            nominal_in=0.190,
            root_in=0.152,
            is_nominal_from_memory=False,
            is_root_from_memory=False,
        ),
        12: ScrewGauge(number=12, nominal_in=0.216, root_in=0.171),
        14: ScrewGauge(number=14, nominal_in=0.242, root_in=0.196),
    }
)
"""[in] NDS appendix L; nominal D of 6, 8 and 10 and the root of 10 were read, the rest is from
memory. The nominal series is 0.060 + 0.013 N (from memory, gives every entry)."""

SPECIES_GRAVITY: Mapping[str, float] = MappingProxyType(
    {
        "Douglas Fir-Larch": 0.50,
        "Douglas Fir-Larch (North)": 0.49,
        "Douglas Fir-South": 0.46,
        "Southern Pine": 0.55,
        "Mixed Southern Pine": 0.51,
        "Spruce-Pine-Fir": 0.42,
        "Spruce-Pine-Fir (South)": 0.36,
        "Hem-Fir": 0.43,
        "Hem-Fir (North)": 0.46,
        "Western Hemlock": 0.47,
        "Eastern White Pine": 0.36,
        "Ponderosa Pine": 0.43,
        "Sitka Spruce": 0.43,
        "Engelmann Spruce-Lodgepole Pine": 0.38,
        "Redwood": 0.37,
        "Western Cedars": 0.36,
        "Northern Species": 0.35,
        "Yellow Poplar": 0.43,
        "Aspen": 0.39,
        "Red Oak": 0.67,
        "White Oak": 0.73,
        "Red Maple": 0.58,
        "Mixed Maple": 0.55,
        "Beech-Birch-Hickory": 0.71,
    }
)
"""[-] Assigned specific gravity, oven-dry. NDS Table 12.3.3A. A stud whose species nobody knows is
safest taken as the lightest, ``GRAVITY_MIN``."""

STUD_DEPTH_MM = 88.9
"""[mm] Depth of a nominal 2 x 4, 3 1/2 in. American Softwood Lumber Standard PS 20."""
CABLE_EDGE_MM = 31.75
"""[mm] 1 1/4 in: a cable's hole must lie at least this far from the edge of a wood member, or
behind a steel plate. NEC (NFPA 70) 300.4(A)(1)."""
CABLE_PLATE_MM = 25.4 / 16
"""[mm] 1/16 in: least thickness of that plate. NEC (NFPA 70) 300.4(A)(1)."""
