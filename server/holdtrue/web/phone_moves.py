"""What a change leads to, in lines: which marks move and by how much, and where it finishes."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup

from holdtrue.core.model import PlannedSeat
from holdtrue.domain.consequence import Consequence, Residual
from holdtrue.web import phone_drawings as drawings
from holdtrue.web.phone_here import Here
from holdtrue.web.phone_words import (
    KIND_WORDS,
    SAME_MM,
    across,
    fmt,
    move_words,
    residual_words,
    small,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class MoveLine:
    """One mark that moves."""

    seat: str
    by: str
    hole: str
    is_marked: bool
    change: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FinishLine:
    """The worst residual of a kind against its tolerance."""

    kind: str
    where: str
    value: str
    allowed: str
    is_inside: bool


def said(residual: Residual, here: Here) -> str:
    is_above = here.state.is_stacked(residual.where)
    words = residual_words(residual, here.unit, is_above=is_above)
    return f"{words}, {fmt(residual.tolerance_mm, here.unit)} allowed"


def move_lines(found: Consequence, here: Here) -> tuple[MoveLine, ...]:
    """What moves; marks that stand on the wall already come first.

    Where no fastener is listed nobody knows where the hole would go.
    """
    known = (move for move in found.moves if move.fastener_after is not None)
    nearest_first = sorted(known, key=lambda move: not move.is_marked)
    return tuple(
        MoveLine(
            seat=move.seat,
            by=move_words(move.right_mm, move.up_mm, here.unit),
            hole=hole_words(here, move.seat, move.hole_mm),
            is_marked=move.is_marked,
            change=f"now {move.fastener_after}"
            if move.fastener_after != move.fastener_before
            else "",
        )
        for move in nearest_first
    )


def hole_words(here: Here, seat: str, hole_mm: tuple[float, float]) -> str:
    line = here.state.line_of(seat)
    above = hole_mm[1] - here.state.line_height_mm(line)
    way = "above" if above >= 0 else "below"
    name = f"line {line.name}" if len(here.state.lines) > 1 else "the line"
    return f"{across(hole_mm[0], here.unit)}, {here.fmt(abs(above))} {way} {name}"


def seat_words(was: PlannedSeat, now: PlannedSeat, here: Here) -> str:
    """Whether a seat stays for its new hole.

    Less than half a graduation is what putting the hole on the tape's marks takes.
    """
    right, up = now.x_mm - was.x_mm, now.y_mm - was.y_mm
    if max(abs(right), abs(up)) <= max(SAME_MM, here.state.job.graduation_mm / 2 + 1e-6):
        return "The seat stays."
    return f"The seat comes {move_words(right, up, here.unit)}."


def finish_lines(found: Consequence, here: Here) -> tuple[FinishLine, ...]:
    return tuple(
        FinishLine(
            kind=KIND_WORDS[kind],
            where=residual_words(
                residual, here.unit, is_above=here.state.is_stacked(residual.where)
            ),
            value=small(residual.value_mm, here.unit),
            allowed=fmt(residual.tolerance_mm, here.unit),
            is_inside=residual.is_inside,
        )
        for kind, residual in found.finish.items()
    )


def moved_drawing(here: Here, found: Consequence) -> Markup | None:
    """The wall with the marks that move in hand; nothing to draw when none does."""
    if not found.moves:
        return None
    return drawings.wall(here, in_hand=tuple(move.seat for move in found.moves))
