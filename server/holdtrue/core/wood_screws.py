"""What one wood screw in the side grain of a wood stud may carry, sideways and in withdrawal.

Method: withdrawal is a value per inch of thread in the wood times that thread; lateral is the least
yield mode (module ``dowel_yield``) at the ROOT diameter. Both are then multiplied by the factors of
load duration, wetness and heat. Our choices, all on the safe side: the tip (two diameters) counts
neither as thread nor as bearing length; a lining between hardware and stud (gypsum board) carries
nothing, the load then acts on a free head at lining + standoff from the wood; under both loads at
once the two shares are added (the source's own interaction was not at hand; a rule of the
Hankinson form gives at most that sum).

Only for a stud known to be wood. In sheet goods the withdrawal formula promises too much (tests on
plywood lay below it), from end grain screws are not loaded in withdrawal at all: both are refused.
Not covered: pulling the head through its hardware, breaking the screw, splitting near an edge or
end (drill the lead hole), steel studs.

Source: NDS 2018 (American Wood Council) 12.1.5.6, 12.2, 12.3, 11.3, 2.3.2; constants with what is
from memory in ``sources_wood``.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from holdtrue.core import sources_wood as nds
from holdtrue.core.dowel_yield import (
    DowelJoint,
    Mode,
    bending_yield_psi,
    dowel_bearing_psi,
    free_head_lb,
    governing,
    single_shear_lb,
)
from holdtrue.core.errors import CoreError
from holdtrue.core.model import Material
from holdtrue.core.ranges import above_zero, in_range
from holdtrue.core.sources_wood import GAUGES, Duration, ScrewGauge
from holdtrue.core.units import MM_PER, N_PER
from holdtrue.core.withdrawal import screw_withdrawal_lb_per_in

IN_MM = float(MM_PER["in"])
LB_N = float(N_PER["lbf"])

Piece = Literal["sawn", "sheet"]
Grain = Literal["side", "end"]
Service = Literal["dry", "wet"]
Heat = Literal["usual", "warm", "hot"]


@dataclass(frozen=True, slots=True, kw_only=True)
class SideMember:
    """Hardware or wood that touches the stud and passes the load to the screw by bearing."""

    thickness_mm: float
    bearing_psi: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Stud:
    """The wood a screw goes into. ``gravity``: see ``sources_wood.SPECIES_GRAVITY``."""

    gravity: float
    material: Material = "unknown"
    piece: Piece = "sawn"
    grain: Grain = "side"
    depth_mm: float = nds.STUD_DEPTH_MM
    service: Service = "dry"
    heat: Heat = "usual"


@dataclass(frozen=True, slots=True, kw_only=True)
class StudScrew:
    """A wood screw. ``gauge``: its number, or its diameters as measured. ``standoff_mm``: from the
    wall's face to where the load bears; the screw's length in front of the wood is lining +
    standoff. ``thread_mm``: two thirds where not given."""

    gauge: int | ScrewGauge
    length_mm: float
    lining_mm: float = 0.0
    standoff_mm: float = 0.0
    thread_mm: float | None = None
    side: SideMember | None = None
    duration: Duration = "permanent"


@dataclass(frozen=True, slots=True, kw_only=True)
class ScrewAllowed:
    """What one screw may carry, and how deep it sits. Penetration includes the tip."""

    lateral_N: float
    withdrawal_N: float
    mode: Mode
    penetration_mm: float
    thread_in_wood_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ScrewShares:
    """Load / allowed; ``together`` is the sum of both, 1 is just allowed."""

    lateral: float
    withdrawal: float

    @property
    def together(self) -> float:
        return self.lateral + self.withdrawal


def gauge_of(number: int | ScrewGauge) -> ScrewGauge:
    """Diameters of a wood screw's gauge.

    Parameters: number, gauge [-]: 6, 7, 8, 9, 10, 12 or 14; or the diameters themselves.
    Returns: ScrewGauge, nominal and root diameter [in].
    Raises: CoreError for another gauge.
    Source: NDS appendix L, see ``sources_wood.GAUGES`` for what is from memory.

    >>> gauge_of(10).root_in
    0.152
    """
    if isinstance(number, ScrewGauge):
        return number
    if number not in GAUGES:
        raise CoreError("screw gauge", number, f"give one of {', '.join(map(str, GAUGES))}")
    return GAUGES[number]


def least_penetration_mm(gauge: int | ScrewGauge) -> float:
    """Least penetration of a wood screw into the wood, tip included: 6 D.

    Parameters: gauge [-], see ``gauge_of``.
    Returns: penetration [mm].
    Raises: CoreError for an unknown gauge.
    Source: NDS 2018 12.1.5.6.

    >>> round(least_penetration_mm(10), 1)
    29.0
    """
    return nds.PENETRATION_MIN_DIAMETERS * gauge_of(gauge).nominal_in * IN_MM


def lead_hole_mm(gauge: int | ScrewGauge, *, gravity: float) -> float:
    """Diameter of the hole to drill before a wood screw loaded in withdrawal; 0: none is needed.

    90 % of the root diameter for G >= 0.6, 70 % from 0.5, none below.

    Parameters: gauge [-]; gravity, specific gravity [-], 0.35 to 0.73.
    Returns: diameter [mm].
    Raises: CoreError outside those ranges.
    Source: NDS as read in an engineering reference, see ``sources_wood.LEAD_HOLES``.

    >>> round(lead_hole_mm(10, gravity=0.5), 2), lead_hole_mm(10, gravity=0.42)
    (2.7, 0.0)
    """
    in_range("specific gravity", gravity, low=nds.GRAVITY_MIN, high=nds.GRAVITY_MAX)
    root_mm = gauge_of(gauge).root_in * IN_MM
    return next((share * root_mm for from_g, share in nds.LEAD_HOLES if gravity >= from_g), 0.0)


def adjustment(*, duration: Duration, service: Service = "dry", heat: Heat = "usual") -> float:
    """Factor on the published value of a screw: C_D C_M C_t.

    Parameters: duration: permanent (a hung work) or ten years; service: dry or wet; heat: usual
    (up to 38 C), warm (to 52 C), hot (to 66 C).
    Returns: factor [-], above 0 to 1.
    Raises: KeyError for another word.
    Source: NDS 2018 Tables 2.3.2 (from memory), 11.3.3, 11.3.4.

    >>> adjustment(duration="permanent")
    0.9
    """
    wet = nds.WET_SERVICE if service == "wet" else 1.0
    return nds.LOAD_DURATION[duration] * wet * nds.HEAT[heat, service]


def screw_in_stud(screw: StudScrew, stud: Stud) -> ScrewAllowed:
    """What one wood screw in a wood stud may carry.

    Lateral: least of the six yield modes with a side member that touches the stud; else a free head
    at lining + standoff. Withdrawal: W times the thread in the wood without its tip.

    Parameters: screw, lengths [mm], gauge as in ``gauge_of``; stud, gravity 0.35 to 0.73,
    depth [mm] > 0.
    Returns: ScrewAllowed, loads [N], lengths [mm]; factors of duration, wetness and heat included.
    Raises: CoreError for a stud not known to be wood, sheet goods, end grain, a side member with a
    lining behind it, a penetration below 6 D, values outside their range.
    Source: module head.

    >>> screw = StudScrew(gauge=10, length_mm=63.5, lining_mm=12.7, standoff_mm=3.0)
    >>> allowed = screw_in_stud(screw, Stud(gravity=0.42, material="wood"))
    >>> round(allowed.lateral_N), round(allowed.withdrawal_N), allowed.mode
    (124, 492, 'free hinge')
    """
    _check_stud(stud)
    _check_screw(screw)
    gauge = gauge_of(screw.gauge)
    tip_mm = nds.TIP_DIAMETERS * gauge.nominal_in * IN_MM
    penetration_mm = min(screw.length_mm - screw.lining_mm - screw.standoff_mm, stud.depth_mm)
    least_mm = least_penetration_mm(screw.gauge)
    if penetration_mm < least_mm:
        needed_mm = screw.length_mm - penetration_mm + least_mm
        raise CoreError(
            "penetration into the stud",
            round(penetration_mm, 1),
            f"a {gauge.name} wood screw needs {least_mm:.1f} mm of wood: "
            f"take one at least {needed_mm:.0f} mm long",
        )
    given_mm = screw.length_mm * nds.THREAD_SHARE if screw.thread_mm is None else screw.thread_mm
    thread_mm = max(0.0, min(given_mm, penetration_mm) - tip_mm)
    factor = adjustment(duration=screw.duration, service=stud.service, heat=stud.heat)
    mode, lateral_lb = governing(_lateral_lb(screw, stud, gauge, penetration_mm - tip_mm))
    per_in = screw_withdrawal_lb_per_in(stud.gravity, nominal_in=gauge.nominal_in)
    return ScrewAllowed(
        lateral_N=lateral_lb * LB_N * factor,
        withdrawal_N=per_in * thread_mm / IN_MM * LB_N * factor,
        mode=mode,
        penetration_mm=penetration_mm,
        thread_in_wood_mm=thread_mm,
    )


def screw_shares(allowed: ScrewAllowed, *, load_N: float, pull_N: float) -> ScrewShares:
    """How much of what a screw may carry is used, sideways, in withdrawal and together.

    together = load / lateral + pull / withdrawal.

    Parameters: allowed; load_N, across the screw, and pull_N, along it [N], >= 0.
    Returns: ScrewShares [-]; at most 1 is allowed.
    Raises: CoreError for a negative or not finite load.
    Source: the sum is our choice on the safe side, see the module head.

    >>> allowed = ScrewAllowed(lateral_N=100.0, withdrawal_N=200.0, mode="IV",
    ...     penetration_mm=40.0, thread_in_wood_mm=30.0)
    >>> screw_shares(allowed, load_N=50.0, pull_N=50.0).together
    0.75
    """
    in_range("load", load_N, unit="N")
    in_range("pull", pull_N, unit="N")
    return ScrewShares(
        lateral=load_N / above_zero("allowed load", allowed.lateral_N, unit="N"),
        withdrawal=pull_N / above_zero("allowed withdrawal", allowed.withdrawal_N, unit="N"),
    )


def _lateral_lb(
    screw: StudScrew, stud: Stud, gauge: ScrewGauge, bearing_mm: float
) -> dict[Mode, float]:
    bearing_psi = dowel_bearing_psi(stud.gravity, diameter_in=gauge.root_in)
    if screw.side is None:
        return free_head_lb(
            diameter_in=gauge.root_in,
            main_length_in=bearing_mm / IN_MM,
            arm_in=(screw.lining_mm + screw.standoff_mm) / IN_MM,
            main_bearing_psi=bearing_psi,
            bending_yield_psi=bending_yield_psi(gauge.nominal_in),
        )
    return single_shear_lb(
        DowelJoint(
            diameter_in=gauge.root_in,
            main_length_in=bearing_mm / IN_MM,
            side_length_in=screw.side.thickness_mm / IN_MM,
            main_bearing_psi=bearing_psi,
            side_bearing_psi=screw.side.bearing_psi,
            bending_yield_psi=bending_yield_psi(gauge.nominal_in),
        )
    )


def _check_stud(stud: Stud) -> None:
    if stud.material != "wood":
        raise CoreError(
            "stud material", stud.material, "these values hold for a stud confirmed as wood only"
        )
    if stud.piece != "sawn":
        raise CoreError(
            "wood", stud.piece, "the formula promises too much in sheet goods: use solid wood"
        )
    if stud.grain != "side":
        raise CoreError("grain", stud.grain, "wood screws are not loaded from end grain")
    above_zero("stud depth", stud.depth_mm, unit="mm")


def _check_screw(screw: StudScrew) -> None:
    above_zero("screw length", screw.length_mm, unit="mm")
    in_range("lining", screw.lining_mm, unit="mm")
    in_range("standoff", screw.standoff_mm, unit="mm")
    if screw.thread_mm is not None:
        in_range("thread", screw.thread_mm, high=screw.length_mm, unit="mm")
    if screw.side is not None:
        if screw.lining_mm > 0:
            raise CoreError(
                "side member", screw.lining_mm, "leave it out when a lining lies behind it"
            )
        above_zero("side member", screw.side.thickness_mm, unit="mm")
        if screw.side.thickness_mm > screw.standoff_mm:
            raise CoreError(
                "standoff",
                screw.standoff_mm,
                "the screw passes the whole side member: give at "
                f"least {screw.side.thickness_mm:g} mm",
            )
