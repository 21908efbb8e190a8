"""What a wood screw's published formula asks for before release.

Rules: where the user gave a capacity, the formula is a check beside it, and giving less than
stated needs a reason; where none was given the formula's value is what is allowed, in a stud known
to be of wood, and nowhere else. A screw that goes deeper than cables must keep away is said so.

Source: the project's own rules; figures by ``screw_checks``.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import hypot

from holdtrue.core.errors import CoreError
from holdtrue.core.model import Finding, PlannedSeat
from holdtrue.core.screw_checks import (
    FORMULA,
    ScrewCheck,
    is_formula_ground,
    past_cables_mm,
    screw_check,
    screw_window,
)

Say = Callable[[float], str]


def screw_findings(seat: PlannedSeat, say: Say) -> list[Finding]:
    """Findings of one seat's wood screw.

    Bars: without a stated capacity, a load the formula does not allow, or no value at all. Needs a
    reason: the formula gives less than stated, or no value.

    Parameters: seat; loads [N]; say, a length [mm] as this job's people read it.
    Returns: findings naming the seat; empty for a fastener that is no described wood screw.
    Raises: nothing.
    Source: module head.
    """
    fastener = seat.fastener
    if fastener is None or fastener.screw is None:
        return []
    if not is_formula_ground(seat):
        return []
    is_stated = fastener.capacity_N is not None
    try:
        check = screw_check(seat)
    except CoreError as error:
        text = f"{seat.seat}: the published formula gives no value for {fastener.name}: "
        weight = "reason" if is_stated else "bar"
        return [
            Finding(
                kind="not known" if weight == "bar" else "formula",
                seat=seat.seat,
                weight="reason" if is_stated else "bar",
                text=f"{text}{error.remedy}",
            )
        ]
    if check is None:
        return []
    return _less_than_stated(seat, check, say) if is_stated else _over(seat, check, say)


def _less_than_stated(seat: PlannedSeat, check: ScrewCheck, say: Say) -> list[Finding]:
    stated_N = seat.fastener.allowed_N if seat.fastener else None
    if stated_N is None or check.allowed_N >= stated_N:
        return []
    return [
        Finding(
            kind="formula",
            seat=seat.seat,
            weight="reason",
            text=f"{seat.seat}: the published formula ({FORMULA}) allows {check.allowed_N:.1f} N "
            f"here, less than the {stated_N:.1f} N stated; {_both(seat, check)}"
            f"{_length(seat, check, say)}",
        )
    ]


def _over(seat: PlannedSeat, check: ScrewCheck, say: Say) -> list[Finding]:
    if check.shares.together <= 1.0:
        return []
    return [
        Finding(
            kind="overload",
            seat=seat.seat,
            weight="bar",
            text=f"{seat.seat}: more than the published formula ({FORMULA}) allows; "
            f"{_both(seat, check)}{_length(seat, check, say)}; no reason releases this",
        )
    ]


def _both(seat: PlannedSeat, check: ScrewCheck) -> str:
    across_N = hypot(seat.load_N, seat.side_N) * seat.safe
    return (
        f"load {across_N:.1f} of {check.allowed.lateral_N:.1f} N, "
        f"pull {seat.pull_N * seat.safe:.1f} of {check.allowed.withdrawal_N:.1f} N"
    )


def _length(seat: PlannedSeat, check: ScrewCheck, say: Say) -> str:
    """What length the load needs, when this one is too short."""
    if check.shares.together <= 1.0:
        return ""
    try:
        window = screw_window(seat)
    except CoreError as error:
        return f"; {error.remedy}"
    return f"; its load needs a screw of {say(window.needed_mm)}" if window else ""


def cable_notes(seats: Sequence[PlannedSeat], say: Say) -> list[Finding]:
    """Which screws go deeper into their studs than cables must keep away, a note for each kind.

    Parameters: seats of a plan; say, a length [mm] as this job's people read it.
    Returns: notes, each on the first seat of its screw and naming them all.
    Raises: nothing.
    Source: NEC (NFPA 70) 300.4(A)(1), see ``screw_checks.past_cables_mm``.
    """
    in_studs = [s for s in seats if s.fastener is not None and s.into in ("stud", "edge")]
    found = []
    for fastener in dict.fromkeys(s.fastener for s in in_studs):
        if fastener is None or fastener.screw is None or past_cables_mm(fastener) <= 0:
            continue
        past_mm = past_cables_mm(fastener)
        own = [s.seat for s in in_studs if s.fastener == fastener]
        text = (
            f"{', '.join(own)}: {fastener.name} goes {say(past_mm)} deeper into the stud than "
            "cables must keep away (1 1/4 in, NEC 300.4(A)(1)): at most "
            f"{say(fastener.screw.length_mm - past_mm)} long, or be sure no cable is there"
        )
        found.append(Finding(kind="cables", seat=own[0], weight="note", text=text))
    return found
