"""What one fastener carries against what it may carry.

Method: load, sideways pull and pull off the wall add up as a resultant; it is compared with what
is allowed: the user's capacity over its design factor, or, for a wood screw without one in a stud
known to be of wood, its published formula. An estimated mass counts with two standard uncertainties
more. What is not known is said to be so, and never reads as fine.

Source: the project's own rules; capacities come from the user, the formula from ``screw_checks``.
"""

from __future__ import annotations

from math import hypot

from holdtrue.core.errors import CoreError
from holdtrue.core.model import Fastener, Finding, Met, PlannedSeat
from holdtrue.core.screw_checks import FORMULA, ScrewCheck, is_formula_ground, screw_check


def seat_force_N(seat: PlannedSeat) -> float:
    """Resultant on one fastener: sqrt(load^2 + pull^2 + side^2), times what is counted for safety.

    Parameters: seat; load_N, pull_N, side_N [N]; safe [-].
    Returns: force [N], never less than the vertical load (the safe side when one figure is given).
    Raises: nothing.
    Source: vector sum, OpenStax University Physics vol. 1, ch. 12.
    """
    return hypot(seat.load_N, seat.pull_N, seat.side_N) * seat.safe


def formula_check(seat: PlannedSeat) -> ScrewCheck | None:
    """The published formula's answer for a seat's wood screw, or None where it gives none.

    Parameters: seat.
    Returns: ScrewCheck [N]; None also when the formula refuses the screw (said by a finding).
    Raises: nothing.
    Source: ``screw_checks.screw_check``.
    """
    try:
        return screw_check(seat)
    except CoreError:
        # why it refuses is the text of a finding (``screw_findings``), so nothing is hidden here
        return None


def seat_allowed_N(seat: PlannedSeat) -> float | None:
    """What one seat's fastener may carry, in the direction of its load.

    Parameters: seat.
    Returns: force [N]: the stated capacity over its factor, else the formula's; None: not known.
    Raises: nothing.
    Source: module head.
    """
    if seat.fastener is None:
        return None
    if seat.fastener.allowed_N is not None:
        return seat.fastener.allowed_N
    check = formula_check(seat)
    return check.allowed_N if check else None


def load_basis(seat: PlannedSeat) -> str:
    """Where the allowed figure comes from, in a word or two.

    Parameters: seat.
    Returns: words; "not known" where nothing is. No units but the factor [-].
    Raises: nothing.
    Source: module head.
    """
    fastener = seat.fastener
    if fastener is None:
        return "not known"
    if fastener.capacity_N is not None:
        if not fastener.basis_stated:
            return "basis not stated"
        return f"{fastener.basis} / {fastener.design_factor:g}"
    return FORMULA if formula_check(seat) else "not known"


def load_share(seat: PlannedSeat) -> float | None:
    """Load / allowed of one seat's fastener.

    Parameters: seat.
    Returns: a share [-] above 0, 1 is all that is allowed; None where it is not known: no fastener,
    no capacity, its basis not stated, or a stud of unknown material.
    Raises: nothing.
    Source: module head.
    """
    fastener, allowed_N = seat.fastener, seat_allowed_N(seat)
    if fastener is None or allowed_N is None:
        return None
    if fastener.capacity_N is not None and not fastener.basis_stated:
        return None
    if seat.into in ("stud", "edge") and seat.material == "unknown":
        return None
    return seat_force_N(seat) / allowed_N


def seat_load_findings(seat: PlannedSeat) -> list[Finding]:
    """What one seat's fastener and load ask for before release.

    Bars: no fastener listed, capacity or basis not known, more than the capacity at factor 1.
    Needs a reason: more than allowed; a stud of unknown material. Worth knowing: a stud's edge.

    Parameters: seat, its load and pull [N].
    Returns: findings naming the seat.
    Raises: nothing.
    Source: module head.
    """
    name, fastener = seat.seat, seat.fastener
    if fastener is None:
        return [
            Finding(
                kind="no fastener",
                seat=name,
                weight="bar",
                text=f"{name}: no fastener is listed for {_where(seat.into)}",
            )
        ]
    found = _capacity_findings(seat, fastener)
    if seat.into in ("stud", "edge") and seat.material == "unknown":
        found.append(
            Finding(
                kind="not known",
                seat=name,
                weight="reason",
                text=f"{name}: the stud's material is not known, so its load check is not known; "
                "the pilot hole must show wood or steel before the fastener goes in",
            )
        )
    if seat.into == "edge":
        found.append(
            Finding(
                kind="edge",
                seat=name,
                weight="note",
                text=f"{name}: at the edge of a stud, too close for a hollow-wall fastener; "
                f"{fastener.name} is used: mind its distance from the stud's edge",
            )
        )
    return found


def _capacity_findings(seat: PlannedSeat, fastener: Fastener) -> list[Finding]:
    name, force = seat.seat, seat_force_N(seat)
    if fastener.capacity_N is None or fastener.allowed_N is None:
        return _without_capacity(seat, fastener)
    found = []
    if not fastener.basis_stated:
        found.append(
            Finding(
                kind="not known",
                seat=name,
                weight="bar",
                text=f"{name}: the basis of {fastener.name}'s capacity is not stated; "
                "say working load or ultimate",
            )
        )
    if force > fastener.capacity_N:
        found.append(
            Finding(
                kind="overload",
                seat=name,
                weight="bar",
                text=f"{name}: {force:.1f} N on {fastener.name}, more than its capacity "
                f"{fastener.capacity_N:.1f} N; no reason releases this",
            )
        )
    elif force > fastener.allowed_N:
        found.append(
            Finding(
                kind="overload",
                seat=name,
                weight="reason",
                text=f"{name}: {force:.1f} N on {fastener.name}, allowed "
                f"{fastener.allowed_N:.1f} N (capacity / {fastener.design_factor:g})",
            )
        )
    return found


def _without_capacity(seat: PlannedSeat, fastener: Fastener) -> list[Finding]:
    """Nothing is allowed, unless a wood screw's formula has ground to stand on."""
    if fastener.screw is not None and is_formula_ground(seat):
        # its own findings say what the formula allows, or why it gives no value
        return []
    also = (
        "; its published formula counts only inside a stud confirmed as wood"
        if fastener.screw is not None
        else ""
    )
    text = (
        f"{seat.seat}: the capacity of {fastener.name} is not known; enter the maker's figure{also}"
    )
    return [Finding(kind="not known", seat=seat.seat, weight="bar", text=text)]


def _where(into: Met) -> str:
    return {
        "hollow": "a hollow wall",
        "stud": "a stud",
        "edge": "a stud's edge",
        "steel": "a steel stud",
        "backed": "a backed wall",
        "solid": "a solid wall",
    }[into]
