"""A wood screw of the plan against its published formula.

Method: the formula (``wood_screws``) counts only where the hole lies inside a stud known to be of
wood. There it stands beside the capacity its user gave, as a check, and stands in for it where
none was given. In a stud of unknown material, at a stud's edge, in steel, hollow or solid nothing
is known from it, and that is what is said.

Source: module ``wood_screws`` (NDS 2018) and ``screw_length`` (NEC 300.4(A)(1)).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import hypot

from holdtrue.core import sources_wood as nds
from holdtrue.core.dowel_yield import dowel_bearing_psi, steel_bearing_psi
from holdtrue.core.errors import CoreError
from holdtrue.core.model import Fastener, PlannedSeat, ScrewSpec
from holdtrue.core.screw_length import LengthWindow, cable_limit_mm, length_window
from holdtrue.core.sources_wood import ScrewGauge
from holdtrue.core.wood_screws import (
    IN_MM,
    ScrewAllowed,
    ScrewShares,
    SideMember,
    Stud,
    StudScrew,
    gauge_of,
    screw_in_stud,
    screw_shares,
)

FORMULA = "NDS 2018, permanent load"


@dataclass(frozen=True, slots=True, kw_only=True)
class ScrewCheck:
    """What the formula says of one seat's screw: allowed sideways and in withdrawal, the shares of
    both that its load and pull use, and ``allowed_N``, the resultant allowed in its direction."""

    allowed: ScrewAllowed
    shares: ScrewShares
    allowed_N: float


def gauge_for(spec: ScrewSpec) -> ScrewGauge:
    """Diameters of a described screw: its gauge's, or as measured.

    Parameters: spec; gauge [-] as in ``wood_screws.gauge_of``, or diameter_mm and root_mm [mm].
    Returns: ScrewGauge [in].
    Raises: CoreError for an unknown gauge, or when neither is complete.
    Source: none, a look-up.

    >>> gauge_for(ScrewSpec(length_mm=60.0, gauge=10)).root_in
    0.152
    """
    if spec.gauge is not None:
        return gauge_of(spec.gauge)
    if spec.diameter_mm is None or spec.root_mm is None:
        raise CoreError("screw", spec.gauge, "give its gauge, or diameter and root")
    return ScrewGauge(number=0, nominal_in=spec.diameter_mm / IN_MM, root_in=spec.root_mm / IN_MM)


def is_formula_ground(seat: PlannedSeat) -> bool:
    """Whether the wood formulas count at a seat: inside a stud known to be of wood.

    Parameters: seat.
    Returns: bool [-]; False at a stud's edge and for a stud of unknown material.
    Raises: nothing.
    Source: the project's own rule; NDS formulas hold for wood.
    """
    return seat.into == "stud" and seat.material == "wood"


def screw_check(seat: PlannedSeat) -> ScrewCheck | None:
    """The formula's answer for a seat; None where there is no wood screw or no ground for it.

    allowed_N = resultant / (load / lateral + pull / withdrawal).

    Parameters: seat; load, side and pull [N], each times its ``safe``.
    Returns: ScrewCheck [N].
    Raises: CoreError, as ``wood_screws.screw_in_stud``, when the formula gives no value: too short
    a screw, a diameter outside its table.
    Source: module head.
    """
    if seat.fastener is None or seat.fastener.screw is None or not is_formula_ground(seat):
        return None
    allowed = _allowed(seat.fastener.screw, seat.fastener.standoff_mm)
    across_N, pull_N = _across_N(seat), seat.pull_N * seat.safe
    shares = screw_shares(allowed, load_N=across_N, pull_N=pull_N)
    together = shares.together
    return ScrewCheck(
        allowed=allowed,
        shares=shares,
        allowed_N=hypot(across_N, pull_N) / together
        if together > 0
        else min(allowed.lateral_N, allowed.withdrawal_N),
    )


def screw_window(seat: PlannedSeat) -> LengthWindow | None:
    """Lengths of the seat's screw: what its load needs, what stays in front of cables.

    Parameters: seat; load, side and pull [N], each times its ``safe``.
    Returns: LengthWindow [mm]; None as for ``screw_check``.
    Raises: CoreError when no length in such a stud carries the load.
    Source: ``screw_length.length_window``.
    """
    if seat.fastener is None or seat.fastener.screw is None or not is_formula_ground(seat):
        return None
    screw = _screw(seat.fastener.screw, seat.fastener.standoff_mm)
    stud = _stud(seat.fastener.screw)
    return length_window(screw, stud, load_N=_across_N(seat), pull_N=seat.pull_N * seat.safe)


def past_cables_mm(fastener: Fastener) -> float:
    """How much deeper a screw goes into a stud than cables must keep away; 0: it stays in front.

    Parameters: fastener; lengths [mm].
    Returns: length [mm], >= 0; 0 for a fastener that is no described wood screw.
    Raises: nothing.
    Source: ``screw_length.cable_limit_mm``, NEC (NFPA 70) 300.4(A)(1).

    >>> past_cables_mm(Fastener(name="screw", into="stud",
    ...     screw=ScrewSpec(length_mm=50.0, gauge=10, lining_mm=12.7)))
    5.55
    """
    if fastener.screw is None:
        return 0.0
    limit_mm = cable_limit_mm(lining_mm=fastener.screw.lining_mm, standoff_mm=fastener.standoff_mm)
    past_mm = round(fastener.screw.length_mm - limit_mm, 9)
    return max(0.0, past_mm)


def _across_N(seat: PlannedSeat) -> float:
    return hypot(seat.load_N, seat.side_N) * seat.safe


@lru_cache(maxsize=256)
def _allowed(spec: ScrewSpec, standoff_mm: float) -> ScrewAllowed:
    """Asked for every seat each time a plan is made, so it is kept."""
    return screw_in_stud(_screw(spec, standoff_mm), _stud(spec))


def _screw(spec: ScrewSpec, standoff_mm: float) -> StudScrew:
    return StudScrew(
        gauge=gauge_for(spec),
        length_mm=spec.length_mm,
        thread_mm=spec.thread_mm,
        lining_mm=spec.lining_mm,
        standoff_mm=standoff_mm,
        side=_side(spec),
    )


def _stud(spec: ScrewSpec) -> Stud:
    return Stud(
        gravity=nds.GRAVITY_MIN if spec.gravity is None else spec.gravity,
        material="wood",
        service=spec.service,
        heat=spec.heat,
    )


def _side(spec: ScrewSpec) -> SideMember | None:
    if spec.side == "none":
        return None
    if spec.side == "wood":
        gravity = nds.GRAVITY_MIN if spec.side_gravity is None else spec.side_gravity
        bearing = dowel_bearing_psi(gravity, diameter_in=gauge_for(spec).root_in)
    else:
        is_sheet = spec.side_mm < nds.STEEL_PLATE_FROM_MM
        strength = nds.STEEL_SHEET_PSI if is_sheet else nds.STEEL_PLATE_PSI
        bearing = steel_bearing_psi(strength, is_cold_formed=is_sheet)
    return SideMember(thickness_mm=spec.side_mm, bearing_psi=bearing)
