"""How long a screw into a stud must be for its load, and how long it may be for cables.

Method: a screw holds better the deeper it sits, so the least penetration for a load is found by
halving the interval between 6 D and the stud's depth. A cable's hole in a stud must keep 1 1/4 in
from the stud's edge or have a steel plate before it: a screw that goes no deeper into the wood than
that stays in front of cables laid by this rule. It is a rule for those who laid the cable, in one
country; it does not find a cable.

Source: NDS 2018 12.1.5.6 (least penetration) and the loads of module ``wood_screws``; NEC (NFPA 70)
300.4(A)(1) (cables in wood members).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from holdtrue.core.errors import CoreError
from holdtrue.core.ranges import in_range
from holdtrue.core.sources_wood import CABLE_EDGE_MM
from holdtrue.core.wood_screws import (
    Stud,
    StudScrew,
    gauge_of,
    least_penetration_mm,
    screw_in_stud,
    screw_shares,
)

HALVINGS = 50
"""[-] Halves a stud's depth to far below a micrometre. Our choice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LengthWindow:
    """Lengths of a screw under its head: long enough for the load, short enough for cables."""

    needed_mm: float
    limit_mm: float

    @property
    def fits(self) -> bool:
        """Whether any length is both."""
        return self.needed_mm <= self.limit_mm


def depth_in_stud_mm(*, length_mm: float, lining_mm: float, standoff_mm: float = 0.0) -> float:
    """How deep a screw goes into the wood: its length less what it passes first.

    depth = max(0, length - standoff - lining)

    Parameters: length_mm, under the head, lining_mm, thickness of the board on the stud, and
    standoff_mm, from the wall's face to under the head [mm], all >= 0.
    Returns: depth [mm], >= 0.
    Raises: CoreError for a negative or not finite length.
    Source: geometry.

    >>> depth_in_stud_mm(length_mm=50.0, lining_mm=12.7)
    37.3
    """
    for what, value in (("length", length_mm), ("lining", lining_mm), ("standoff", standoff_mm)):
        in_range(what, value, unit="mm")
    return max(0.0, length_mm - standoff_mm - lining_mm)


def cable_limit_mm(*, lining_mm: float, standoff_mm: float = 0.0) -> float:
    """Longest screw that stays in front of cables laid by the rule.

    limit = standoff + lining + 31.75 mm

    Parameters: lining_mm, standoff_mm [mm], >= 0, as in ``depth_in_stud_mm``.
    Returns: length under the head [mm].
    Raises: CoreError for a negative or not finite length.
    Source: NEC (NFPA 70) 300.4(A)(1), 1 1/4 in from the edge of a wood member.

    >>> round(cable_limit_mm(lining_mm=12.7), 2)
    44.45
    """
    return (
        in_range("standoff", standoff_mm, unit="mm")
        + in_range("lining", lining_mm, unit="mm")
        + CABLE_EDGE_MM
    )


def may_meet_cable(*, length_mm: float, lining_mm: float, standoff_mm: float = 0.0) -> bool:
    """Whether a screw goes deeper into the stud than cables must keep away.

    Parameters: length_mm, lining_mm, standoff_mm [mm], >= 0, as in ``depth_in_stud_mm``.
    Returns: True when depth > 31.75 mm. False is no proof that there is no cable.
    Raises: CoreError for a negative or not finite length.
    Source: NEC (NFPA 70) 300.4(A)(1).

    >>> may_meet_cable(length_mm=50.0, lining_mm=12.7), may_meet_cable(length_mm=40.0, lining_mm=16)
    (True, False)
    """
    # 1e-9 mm: a length entered in inches must not pass the limit by a rounding error
    limit_mm = cable_limit_mm(lining_mm=lining_mm, standoff_mm=standoff_mm)
    return in_range("length", length_mm, unit="mm") > limit_mm + 1e-9


def length_window(screw: StudScrew, stud: Stud, *, load_N: float, pull_N: float) -> LengthWindow:
    """Shortest screw for a load, and the longest that stays in front of cables.

    Least penetration p with load / lateral(p) + pull / withdrawal(p) <= 1 and p >= 6 D; needed =
    standoff + lining + p. The thread is two thirds of each length tried.

    Parameters: screw, its length and thread disregarded, other lengths [mm]; stud;
    load_N, pull_N [N], >= 0.
    Returns: LengthWindow [mm].
    Raises: CoreError when no length in this stud carries the load, and as ``screw_in_stud``.
    Source: module head.

    >>> window = length_window(StudScrew(gauge=8, length_mm=1.0, lining_mm=12.7),
    ...     Stud(gravity=0.42, material="wood"), load_N=40.0, pull_N=10.0)
    >>> round(window.needed_mm, 1), window.limit_mm, window.fits
    (37.7, 44.45, True)
    """
    outside_mm = screw.lining_mm + screw.standoff_mm

    def is_enough(penetration_mm: float) -> bool:
        tried = replace(screw, length_mm=outside_mm + penetration_mm, thread_mm=None)
        allowed = screw_in_stud(tried, stud)
        return screw_shares(allowed, load_N=load_N, pull_N=pull_N).together <= 1.0

    # a hair above 6 D, so that no rounding error puts the shortest try below it
    low_mm = least_penetration_mm(screw.gauge) * (1.0 + 1e-12)
    high_mm = stud.depth_mm
    if high_mm < low_mm or not is_enough(high_mm):
        raise CoreError(
            "load on one screw",
            round(load_N, 1),
            f"no length of a {gauge_of(screw.gauge).name} screw in this stud carries it: take a "
            "thicker one, more screws or hardware that bears on the wood",
        )
    if is_enough(low_mm):
        high_mm = low_mm
    for _ in range(HALVINGS):
        middle_mm = (low_mm + high_mm) / 2
        low_mm, high_mm = (low_mm, middle_mm) if is_enough(middle_mm) else (middle_mm, high_mm)
    return LengthWindow(
        needed_mm=outside_mm + high_mm,
        limit_mm=cable_limit_mm(lining_mm=screw.lining_mm, standoff_mm=screw.standoff_mm),
    )
