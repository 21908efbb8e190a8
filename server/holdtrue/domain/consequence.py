"""What an entry changed: which marks move, by how much, why, and where it finishes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from holdtrue.core.quality import Form, Vector, finish_mm, residuals_mm, worst_share
from holdtrue.core.recompute import fixed_from_set
from holdtrue.domain.state import JobState, Point

SMALLEST_MM = 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class Move:
    """One mark that moves: from the hole given before to the one given now."""

    seat: str
    right_mm: float
    up_mm: float
    hole_mm: Point
    is_marked: bool
    """It stands on the wall already and must be rubbed out."""
    fastener_before: str | None
    fastener_after: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Residual:
    kind: str
    where: str
    value_mm: float
    tolerance_mm: float

    @property
    def share(self) -> float:
        return abs(self.value_mm) / self.tolerance_mm

    @property
    def is_inside(self) -> bool:
        return self.share <= 1.0 + 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class Consequence:
    """``kept``: the worst residual if nothing moved; ``finish``: the worst of each kind now."""

    seat: str | None
    off_mm: Point | None
    """How far the seat is from the mark given: right, up."""
    moves: tuple[Move, ...]
    kept: Residual | None
    finish: Mapping[str, Residual]
    is_inside: bool

    @property
    def worst(self) -> Residual:
        return max(self.finish.values(), key=lambda r: r.share)


def deviation_mm(state: JobState, marks_mm: Mapping[str, Point]) -> Vector:
    """Deviations with set seats as their panels bear and the others on the given marks."""
    return deviation_of(state, {**marks_mm, **state.bearing_mm})


def deviation_of(state: JobState, places: Mapping[str, Point]) -> Vector:
    """Deviations of the seats at these places; 0 where none is given."""
    form = state.form
    deviation = np.zeros(form.planned_mm.size)
    for at, value in fixed_from_set(
        form, {k: places[k] for k in form.seats if k in places}
    ).items():
        deviation[at] = value
    return deviation


def worst_of_each(form: Form, deviation: Vector) -> dict[str, Residual]:
    """The residual of each kind that lies nearest to, or farthest outside, its tolerance."""
    values = residuals_mm(form, deviation)
    worst: dict[str, Residual] = {}
    for kind, where, value, allowed in zip(
        form.kinds, form.labels, values, form.tolerance_mm, strict=True
    ):
        residual = Residual(
            kind=kind, where=where, value_mm=float(value), tolerance_mm=float(allowed)
        )
        if kind not in worst or residual.share > worst[kind].share:
            worst[kind] = residual
    return {kind: worst[kind] for kind in finish_mm(form, deviation)}


def consequence(before: JobState, after: JobState, seat: str | None) -> Consequence:
    """Compare the states on both sides of an entry about ``seat``."""
    finish = worst_of_each(after.form, deviation_mm(after, after.marks_mm))
    moves = _moves(before, after)
    kept = None
    if before.form.seats == after.form.seats:
        old = {
            **after.marks_mm,
            **{k: v for k, v in before.marks_mm.items() if k in after.marks_mm},
        }
        kept = max(
            worst_of_each(after.form, deviation_mm(after, old)).values(), key=lambda r: r.share
        )
    off = None
    if seat is not None and seat in after.set_seats:
        place = after.set_seats[seat]
        off = (place.x_mm - place.given_mm[0], place.y_mm - place.given_mm[1])
    return Consequence(
        seat=seat,
        off_mm=off,
        moves=moves,
        kept=kept,
        finish=finish,
        is_inside=all(r.is_inside for r in finish.values()),
    )


def _moves(before: JobState, after: JobState) -> tuple[Move, ...]:
    moves = []
    old = {s.seat: s for s in before.current.seats}
    for now in after.current.seats:
        was = old.get(now.seat)
        if was is None or now.seat in after.set_seats:
            continue
        right, up = now.x_mm - was.x_mm, now.hole_y_mm - was.hole_y_mm
        names = [s.fastener.name if s.fastener else None for s in (was, now)]
        is_moved = abs(right) > SMALLEST_MM or abs(up) > SMALLEST_MM
        if is_moved or names[0] != names[1]:
            moves.append(
                Move(
                    seat=now.seat,
                    right_mm=right,
                    up_mm=up,
                    hole_mm=(now.x_mm, now.hole_y_mm),
                    is_marked=is_moved and now.seat in before.marked,
                    fastener_before=names[0],
                    fastener_after=names[1],
                )
            )
    return tuple(moves)


def is_finish_inside(state: JobState) -> bool:
    """Whether everything ends inside tolerance if the rest lands on its marks."""
    return worst_share(state.form, deviation_mm(state, state.marks_mm)) <= 1.0 + 1e-9
