"""What can be done after a seat came out off its mark, and where each choice leads."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from holdtrue.core.choices import (
    Choice,
    Standing,
    carry_on,
    correct_fastener,
    move_hanger,
    trim_later,
    true_first,
)
from holdtrue.core.clear import OldHole
from holdtrue.core.model import Fastener
from holdtrue.core.sources_trim import APART_FULL_MM
from holdtrue.core.wall import Behind, into_wanted
from holdtrue.domain.estimating import placing_u_mm
from holdtrue.domain.holes import ground_at, made_at, to_keep_off
from holdtrue.domain.planning import with_backing
from holdtrue.domain.standing import standing
from holdtrue.domain.state import JobState, Point
from holdtrue.domain.subjects import panel_of_seat
from holdtrue.domain.touches import Touched, advised

NAMES: Mapping[str, str] = MappingProxyType(
    {
        "true this panel first": "true_first",
        "carry on": "carry_on",
        "trim later": "trim_later",
        "move the hanger": "move_hanger",
        "correct this fastener": "correct",
    }
)
"""The core's names as they stand in the log, in the order they are offered."""
CHOICES = tuple(NAMES.values())


@dataclass(frozen=True, slots=True, kw_only=True)
class Offer:
    """One choice. ``aim``: where the seat goes when it is made again, its hole on the
    graduation; ``move_mm``: of the hanger on its panel."""

    name: str
    choice: Choice
    aim: Point | None = None
    fastener: str | None = None
    hole_by_mm: Point | None = None
    """From the old hole to the new one, right and up."""
    move_mm: Point | None = None
    touches: tuple[tuple[str, Touched], ...] = ()
    """Panel and touch: what is to be trimmed, by what is known now."""

    @property
    def chance(self) -> float:
        return self.choice.chance


def offers(state: JobState, seat: str) -> tuple[Offer, ...]:
    """Every choice there is about a set seat, in a fixed order."""
    stands = standing(state)
    panel = state.form.seat_panel[state.form.seats.index(seat)]
    found = [_offer(state, true_first(stands, panel))] if not _hangs(state, seat) else []
    found += [_offer(state, carry_on(stands)), _offer(state, trim_later(stands))]
    if not _hangs(state, seat):
        found += [_moved(state, stands, seat), _corrected(state, stands, seat)]
    return tuple(offer for offer in found if offer is not None)


def _hangs(state: JobState, seat: str) -> bool:
    return f"panels.lift:{panel_of_seat(seat)}" in state.records


def _offer(state: JobState, choice: Choice | None) -> Offer | None:
    if choice is None:
        return None
    panels = state.job.panels
    touches = tuple(
        (panels[touch.panel].name, one)
        for touch, one in zip(choice.touches, advised(choice.touches), strict=True)
    )
    return Offer(name=NAMES[choice.name], choice=choice, touches=touches)


def _moved(state: JobState, stands: Standing, seat: str) -> Offer | None:
    """A hanger is moved by whole graduations; less than one is not worth a maker's yes."""
    if next(p for p in state.job.panels if p.name == panel_of_seat(seat)).hang.method != "hangers":
        return None
    choice = move_hanger(stands, seat)
    grain = state.job.graduation_mm
    right, up = (round(mm / grain) * grain for mm in choice.hanger_move_mm or (0.0, 0.0))
    if right == 0.0 and up == 0.0:
        return None
    return Offer(name="move_hanger", choice=choice, move_mm=(right + 0.0, up + 0.0))


def _corrected(state: JobState, stands: Standing, seat: str) -> Offer | None:
    hole = made_at(state, seat)
    if hole is None or seat not in state.holes:
        return None
    listed = fitting(state, seat)
    choice = correct_fastener(
        stands,
        seat,
        holes=(*to_keep_off(state, seat), OldHole(at_mm=hole, apart_mm=APART_FULL_MM)),
        fasteners=listed,
        placing_u_mm={f.name: placing_u_mm(state.job, f) for f in listed},
        fits=ground_at(state, seat),
    )
    if choice is None or choice.hole_mm is None:
        return None
    aim, new = choice.marks_mm[seat], choice.hole_mm
    by = (new[0] - hole[0], new[1] - hole[1])
    return Offer(name="correct", choice=choice, aim=aim, fastener=choice.fastener, hole_by_mm=by)


def other_fasteners(state: JobState, seat: str) -> tuple[tuple[Fastener, JobState], ...]:
    """The other fasteners for a seat that keeps off an old hole, and the job with each of them."""
    is_in_pilot = seat in state.pilots and seat not in state.holes
    if seat in state.set_seats or not (seat in state.aims or is_in_pilot):
        return ()
    now = state.seat(seat).fastener
    return tuple(
        (one, with_backing(state, seat, state.found, {**state.chosen, seat: one.name}))
        for one in fitting(state, seat)
        if one != now
    )


def fitting(state: JobState, seat: str) -> tuple[Fastener, ...]:
    """Fasteners listed for what is behind a seat that are not known to carry too little."""
    row = state.seat(seat)
    wanted = into_wanted(Behind(into=row.into, material=row.material))
    return tuple(
        f
        for f in state.job.fasteners
        if f.into == wanted and (f == row.fastener or (f.allowed_N or 0.0) >= row.load_N * row.safe)
    )
