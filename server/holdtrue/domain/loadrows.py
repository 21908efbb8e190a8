"""What every fastener of a plan carries, as rows a page or a table shows.

One place for all of them, so that plan page, command and phone say the same figures: load and pull
as computed, what is checked (an estimated mass counts more), what is allowed and on what basis, the
published formula's shares, and the one-fastener check.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import inf

from holdtrue.core.hang_loads import left_alone
from holdtrue.core.loads import (
    formula_check,
    load_basis,
    load_share,
    seat_allowed_N,
    seat_force_N,
)
from holdtrue.core.model import Panel, Plan, PlannedSeat


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadRow:
    """One seat. ``share`` None: not known, which never reads as fine. ``alone_N``: on this fastener
    when every other one of its panel lets go, at rest."""

    seat: str
    load_N: float
    pull_N: float
    side_N: float
    force_N: float
    allowed_N: float | None
    share: float | None
    basis: str
    alone_N: float
    alone_share: float | None
    formula: tuple[float, float] | None
    """Shares of the published formula used sideways and in withdrawal."""


def load_rows(plan: Plan) -> tuple[LoadRow, ...]:
    """Every seat's row, in order."""
    return tuple(load_row(seat, plan.job.panels[seat.panel]) for seat in plan.seats)


def worst_alone(plan: Plan) -> tuple[tuple[str, LoadRow], ...]:
    """Each panel of two or more seats with the seat that could least hold it alone.

    A share that is not known counts as the worst.
    """
    rows = load_rows(plan)
    found = []
    for index, panel in enumerate(plan.job.panels):
        own = [row for row, seat in zip(rows, plan.seats, strict=True) if seat.panel == index]
        if len(own) > 1:
            worst = max(own, key=lambda row: inf if row.alone_share is None else row.alone_share)
            found.append((panel.name, worst))
    return tuple(found)


def load_row(seat: PlannedSeat, panel: Panel) -> LoadRow:
    """One seat's row."""
    alone = _alone(seat, panel)
    check = formula_check(seat)
    return LoadRow(
        seat=seat.seat,
        load_N=seat.load_N,
        pull_N=seat.pull_N,
        side_N=seat.side_N,
        force_N=seat_force_N(seat),
        allowed_N=seat_allowed_N(seat),
        share=load_share(seat),
        basis=load_basis(seat),
        alone_N=seat_force_N(alone),
        alone_share=load_share(alone),
        formula=(check.shares.lateral, check.shares.withdrawal) if check else None,
    )


def _alone(seat: PlannedSeat, panel: Panel) -> PlannedSeat:
    """The seat as it would be loaded if it were the last one."""
    left = left_alone(panel, seat.hanger, seat.fastener)
    return replace(seat, load_N=left.down_N, pull_N=left.pull_N, side_N=0.0)


def share_text(share: float | None) -> str:
    """A share in whole percent, or that it is not known."""
    return "not known" if share is None else f"{100 * share:.0f} %"
