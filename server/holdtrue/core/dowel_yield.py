"""Lateral strength of a dowel (screw, nail) in wood by its yield modes.

Method: wood crushes at its dowel bearing strength, steel bends at its bending yield strength, and
the joint gives way in the cheapest of six ways: crushing in the main (Im) or side member (Is), a
stiff dowel turning (II), one plastic hinge in the main (IIIm) or side member (IIIs), two hinges
(IV). Everything is in the units of the source: inch, psi, lb.

A wood screw yields at its root: the diameter here is the ROOT diameter, also in the reduction term
(the nominal one there makes a No. 10 screw a tenth too weak, throughout a third too strong).
Printed tables round the dowel bearing strength to 50 psi first and so differ by up to 1 lb.

Source: NDS 2018 (American Wood Council) 12.3, Tables 12.3.1A and 12.3.1B; k2 with (1 + 2 Re), in
which two public implementations agree against one. Six modes hold for members that touch. A load
at a distance from the wood (a lining in between, a head that stands out) is not among them; it is
derived here from the same theory, see ``free_head_lb``.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import cos, radians, sin, sqrt
from typing import Literal

from holdtrue.core import sources_wood as nds
from holdtrue.core.errors import CoreError
from holdtrue.core.ranges import above_zero, in_range

Mode = Literal["Im", "Is", "II", "IIIm", "IIIs", "IV", "free turning", "free hinge"]


@dataclass(frozen=True, slots=True, kw_only=True)
class DowelJoint:
    """Two members that touch and the dowel through them; diameter: the root of a wood screw."""

    diameter_in: float
    main_length_in: float
    """Bearing length in the main member."""
    side_length_in: float
    main_bearing_psi: float
    side_bearing_psi: float
    bending_yield_psi: float
    grain_angle_deg: float = 0.0
    """Largest angle of load to grain in any member; counts from 1/4 in on."""


def dowel_bearing_psi(gravity: float, *, diameter_in: float, grain_angle_deg: float = 0.0) -> float:
    """Dowel bearing strength of wood.

    D < 1/4 in: Fe = 16600 G^1.84, whatever the grain; else parallel 11200 G, perpendicular
    6100 G^1.45 / sqrt(D), between them by Hankinson.

    Parameters: gravity, specific gravity [-], 0.35 to 0.73; diameter_in [in], above 0 to 1;
    grain_angle_deg, load to grain [deg], 0 to 90.
    Returns: Fe [psi].
    Raises: CoreError outside those ranges.
    Source: NDS 2018 12.3.3; Hankinson, appendix J.

    >>> round(dowel_bearing_psi(0.50, diameter_in=0.148))
    4637
    """
    in_range("specific gravity", gravity, low=nds.GRAVITY_MIN, high=nds.GRAVITY_MAX)
    _check_diameter(diameter_in)
    if diameter_in < nds.LARGE_DIAMETER_IN:
        return nds.BEARING_SMALL_PSI * float(gravity**nds.BEARING_SMALL_G_POWER)
    across = nds.BEARING_PERPENDICULAR_PSI * gravity**nds.BEARING_PERPENDICULAR_G_POWER
    return hankinson(
        nds.BEARING_PARALLEL_PSI * gravity,
        float(across) / sqrt(diameter_in),
        angle_deg=grain_angle_deg,
    )


def hankinson(parallel: float, perpendicular: float, *, angle_deg: float) -> float:
    """Strength at an angle to the grain: F = Fpar Fperp / (Fpar sin^2 + Fperp cos^2).

    Parameters: parallel, perpendicular [any one unit], > 0; angle_deg [deg], 0 to 90.
    Returns: strength in the same unit [any].
    Raises: CoreError outside those ranges.
    Source: NDS 2018 appendix J.

    >>> hankinson(5600.0, 3000.0, angle_deg=0.0), round(hankinson(5600.0, 3000.0, angle_deg=90.0))
    (5600.0, 3000)
    """
    for value in (parallel, perpendicular):
        above_zero("strength", value)
    in_range("angle to the grain", angle_deg, high=nds.RIGHT_ANGLE_DEG, unit="degrees")
    angle = radians(angle_deg)
    return parallel * perpendicular / (parallel * sin(angle) ** 2 + perpendicular * cos(angle) ** 2)


def steel_bearing_psi(ultimate_psi: float, *, is_cold_formed: bool) -> float:
    """Dowel bearing strength of a steel side plate: 1.375 Fu cold formed, 1.5 Fu hot rolled.

    Parameters: ultimate_psi, ultimate tensile strength [psi], > 0; is_cold_formed: sheet below
    1/4 in.
    Returns: Fe [psi].
    Raises: CoreError for a strength that is not above 0.
    Source: NDS 2018 appendix I.

    >>> steel_bearing_psi(58000.0, is_cold_formed=False)
    87000.0
    """
    above_zero("ultimate strength", ultimate_psi)
    return ultimate_psi * (nds.STEEL_COLD_FORMED if is_cold_formed else nds.STEEL_HOT_ROLLED)


def bending_yield_psi(nominal_in: float) -> float:
    """Bending yield strength of a nail's or wood screw's steel, by nominal diameter.

    Parameters: nominal_in [in], above 0 to 0.273.
    Returns: Fyb [psi].
    Raises: CoreError for a thicker one: take the maker's figure.
    Source: NDS 2018 Table I1, see ``sources_wood.BENDING_YIELD_PSI`` for what is from memory.

    >>> bending_yield_psi(0.190)
    80000.0
    """
    above_zero("nominal diameter", nominal_in)
    for up_to_in, strength_psi in nds.BENDING_YIELD_PSI:
        if nominal_in <= up_to_in:
            return strength_psi
    raise CoreError("nominal diameter", nominal_in, f"give at most {up_to_in:g} in")


def reduction_term(mode: Mode, *, diameter_in: float, grain_angle_deg: float = 0.0) -> float:
    """What a yield load is divided by to give an allowable one, Rd.

    D <= 0.17 in: 2.2; to 1/4 in: 10 D + 0.5; from there 4, 3.6 or 3.2 by mode, times
    K_theta = 1 + 0.25 theta / 90.

    Parameters: mode; diameter_in [in], above 0 to 1: the ROOT diameter of a wood screw;
    grain_angle_deg [deg], 0 to 90, the largest in any member.
    Returns: Rd [-].
    Raises: CoreError outside those ranges.
    Source: NDS 2018 Table 12.3.1B. At 1/4 in itself the second rule counts. A free head: the term
    of the mode it comes from, II for turning, IV for the hinge (our choice).

    >>> reduction_term("IV", diameter_in=0.152), reduction_term("II", diameter_in=0.25)
    (2.2, 3.6)
    """
    _check_diameter(diameter_in)
    in_range("angle to the grain", grain_angle_deg, high=nds.RIGHT_ANGLE_DEG, unit="degrees")
    if diameter_in <= nds.KD_SMALL_TO_IN:
        return nds.KD_SMALL
    if diameter_in < nds.LARGE_DIAMETER_IN:
        return nds.KD_SLOPE_PER_IN * diameter_in + nds.KD_OFFSET
    turned = 1.0 + nds.K_THETA_RISE * grain_angle_deg / nds.RIGHT_ANGLE_DEG
    listed = {"free turning": "II", "free hinge": "IV"}.get(mode, mode)
    return nds.RD_LARGE[listed] * turned


def single_shear_lb(joint: DowelJoint) -> dict[Mode, float]:
    """Allowable lateral load of each of the six yield modes; the least one governs.

    Im: D lm Fem/Rd. Is: D ls Fes/Rd. II: k1 D ls Fes/Rd. IIIm: k2 D lm Fem/((1 + 2 Re) Rd).
    IIIs: k3 D ls Fem/((2 + Re) Rd). IV: (D^2/Rd) sqrt(2 Fem Fyb/(3 (1 + Re))).
    Re = Fem/Fes, Rt = lm/ls.

    Parameters: joint, all lengths [in] and strengths [psi] > 0.
    Returns: mode to load [lb], without the factors of load duration, wetness and heat.
    Raises: CoreError for a length or strength that is not above 0, a diameter above 1 in.
    Source: NDS 2018 Tables 12.3.1A, 12.3.1B.

    >>> nail = DowelJoint(diameter_in=0.148, main_length_in=2.25, side_length_in=0.75,
    ...     main_bearing_psi=4637.0, side_bearing_psi=4637.0, bending_yield_psi=90000.0)
    >>> round(min(single_shear_lb(nail).values()), 1)
    105.1
    """
    yields = _yield_loads_lb(joint)
    return {mode: load / _rd(joint, mode) for mode, load in yields.items()}


def governing(loads_lb: Mapping[Mode, float]) -> tuple[Mode, float]:
    """The mode that gives way first, and its load.

    Parameters: loads_lb, mode to load [lb], at least one.
    Returns: mode, load [lb].
    Raises: ValueError when there is no mode.
    Source: NDS 2018 12.3.1: the least of the modes.

    >>> governing({"Im": 701.8, "IIIs": 105.1})
    ('IIIs', 105.1)
    """
    return min(loads_lb.items(), key=lambda item: item[1])


def free_head_lb(
    *,
    diameter_in: float,
    main_length_in: float,
    arm_in: float,
    main_bearing_psi: float,
    bending_yield_psi: float,
) -> dict[Mode, float]:
    """Allowable lateral load of a dowel loaded at a distance from the wood, its head free to turn.

    With q = Fe D and M = Fyb D^3/6. Turning: P = q (sqrt(4 a^2 + 4 a l + 2 l^2) - 2 a - l).
    Hinge in the wood at depth P/q: P a + P^2/(2 q) = M, so P = q (sqrt(a^2 + 2 M/q) - a).
    Each is divided by Rd.

    Parameters: diameter_in [in], the ROOT of a wood screw, above 0 to 1; main_length_in, l,
    bearing length in the wood [in], > 0; arm_in, a, from the wood's face to the load [in], >= 0;
    main_bearing_psi, Fe, and bending_yield_psi, Fyb [psi], > 0.
    Returns: mode to load [lb], without the factors of load duration, wetness and heat.
    Raises: CoreError outside those ranges.
    Source: our derivation by statics from the theory of NDS 12.3.1 (perfectly plastic wood and
    steel). With a = 0 and two equal members it is NDS mode II and mode IV exactly. No printed value
    was at hand for a > 0.

    >>> loads = free_head_lb(diameter_in=0.152, main_length_in=1.0, arm_in=0.5,
    ...     main_bearing_psi=3364.0, bending_yield_psi=80000.0)
    >>> {mode: round(load, 1) for mode, load in loads.items()}
    {'free turning': 54.9, 'free hinge': 36.8}
    """
    in_range("distance to the load", arm_in, unit="in")
    for what, value in (
        ("bearing length", main_length_in),
        ("dowel bearing strength", main_bearing_psi),
        ("bending yield strength", bending_yield_psi),
    ):
        above_zero(what, value)
    a, length = arm_in, main_length_in
    q = main_bearing_psi * diameter_in
    moment = bending_yield_psi * diameter_in**3 / 6.0
    turning = q * (sqrt(4 * a**2 + 4 * a * length + 2 * length**2) - 2 * a - length)
    hinge = q * (sqrt(a**2 + 2 * moment / q) - a)
    return {
        "free turning": turning / reduction_term("free turning", diameter_in=diameter_in),
        "free hinge": hinge / reduction_term("free hinge", diameter_in=diameter_in),
    }


def _yield_loads_lb(joint: DowelJoint) -> dict[Mode, float]:
    """The six loads before division by Rd; symbols of the source."""
    D, lm, ls = joint.diameter_in, joint.main_length_in, joint.side_length_in
    Fem, Fes, Fyb = joint.main_bearing_psi, joint.side_bearing_psi, joint.bending_yield_psi
    for what, value in (
        ("bearing length in the main member", lm),
        ("bearing length in the side member", ls),
        ("dowel bearing strength of the main member", Fem),
        ("dowel bearing strength of the side member", Fes),
        ("bending yield strength", Fyb),
    ):
        above_zero(what, value)
    _check_diameter(D)
    Re, Rt = Fem / Fes, lm / ls
    k1 = (sqrt(Re + 2 * Re**2 * (1 + Rt + Rt**2) + Rt**2 * Re**3) - Re * (1 + Rt)) / (1 + Re)
    k2 = -1 + sqrt(2 * (1 + Re) + 2 * Fyb * (1 + 2 * Re) * D**2 / (3 * Fem * lm**2))
    k3 = -1 + sqrt(2 * (1 + Re) / Re + 2 * Fyb * (2 + Re) * D**2 / (3 * Fem * ls**2))
    return {
        "Im": D * lm * Fem,
        "Is": D * ls * Fes,
        "II": k1 * D * ls * Fes,
        "IIIm": k2 * D * lm * Fem / (1 + 2 * Re),
        "IIIs": k3 * D * ls * Fem / (2 + Re),
        "IV": D**2 * sqrt(2 * Fem * Fyb / (3 * (1 + Re))),
    }


def _rd(joint: DowelJoint, mode: Mode) -> float:
    return reduction_term(
        mode, diameter_in=joint.diameter_in, grain_angle_deg=joint.grain_angle_deg
    )


def _check_diameter(diameter_in: float) -> None:
    above_zero("diameter", diameter_in, unit="in")
    in_range("diameter", diameter_in, high=nds.DIAMETER_MAX_IN, unit="in")
