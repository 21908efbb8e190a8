"""The order of driving: computed, or put by hand when the plan is released."""

from __future__ import annotations

from collections.abc import Sequence

from holdtrue.core.model import Plan
from holdtrue.core.order import ORDER_REASON, driving_order
from holdtrue.domain.errors import InputError
from holdtrue.domain.state import JobState
from holdtrue.domain.subjects import panel_of_seat

BY_HAND = "as the lead put it when releasing the plan"


def order_for(plan: Plan, by_hand: tuple[str, ...]) -> tuple[str, ...]:
    """The order by hand while it names the plan's seats, else the computed one."""
    if sorted(by_hand) == sorted(plan.arrangement.seat_names):
        return by_hand
    return driving_order(plan)


def panels_in_order(state: JobState) -> tuple[str, ...]:
    """Panels as their seats are driven, and as they are hung."""
    return tuple(dict.fromkeys(panel_of_seat(seat) for seat in state.order))


def order_reason(state: JobState) -> str:
    """Why the seats are driven in this order."""
    return BY_HAND if state.by_hand == state.order else ORDER_REASON


def read_order(text: str, plan: Plan) -> tuple[str, ...]:
    """An order as typed: every seat once, or panels, whose seats then keep their own order.

    An empty text, or the computed order, is (): nothing put by hand. InputError names what is
    wrong.
    """
    computed = driving_order(plan)
    named = [word.strip() for word in text.replace(";", ",").split(",") if word.strip()]
    order: list[str] = []
    for name in named:
        seats = [seat for seat in computed if name in (seat, panel_of_seat(seat))]
        if not seats:
            raise InputError("order", name, "is no seat and no panel of this plan")
        order += seats
    _check_turns(order, computed)
    return () if tuple(order) in ((), computed) else tuple(order)


def _check_turns(order: Sequence[str], computed: Sequence[str]) -> None:
    """Each seat has one turn, and the seats of a panel follow each other."""
    for at, seat in enumerate(order):
        if seat in order[:at]:
            raise InputError("order", seat, "has two turns; name it once")
        panel = panel_of_seat(seat)
        if at and panel_of_seat(order[at - 1]) != panel and _has_turn(panel, order[:at]):
            raise InputError(
                "order", seat, f"must follow the other seats of panel {panel} directly"
            )
    missing = [seat for seat in computed if seat not in order]
    if order and missing:
        raise InputError("order", ", ".join(missing), "has no turn yet; give every seat one")


def _has_turn(panel: str, order: Sequence[str]) -> bool:
    return any(panel_of_seat(seat) == panel for seat in order)
