"""Which drawing a task shows: this job's own where there is one, else an explanatory figure."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from math import dist
from types import MappingProxyType
from typing import cast

from markupsafe import Markup

from holdtrue.core.model import Plan
from holdtrue.domain.checklist import Task
from holdtrue.domain.levelcheck import read_rise_mm
from holdtrue.domain.prefill import planned_values
from holdtrue.domain.state import JobState, Point
from holdtrue.domain.stops import locked_seats
from holdtrue.domain.subjects import facing_panels, pair_seats
from holdtrue.drawing import (
    FigureKind,
    elevation,
    mark_close_up,
    panel_back,
    reference_figure,
)
from holdtrue.drawing.back import Side
from holdtrue.drawing.closeup import nearest
from holdtrue.drawing.pair import pair_of_marks
from holdtrue.drawing.section import fastener_section
from holdtrue.drawing.site_figures import SiteFigureKind, site_figure
from holdtrue.web.phone_here import Here
from holdtrue.web.phone_words import SAME_MM

WIDTH = 358.0
WALL_HEIGHT = 250.0
CLOSE_HEIGHT = 190.0
SEAT_HEIGHT = 105.0
BACK_HEIGHT = 130.0
GHOSTS_APART = 10.0
"""Times a seat is drawn farther from where it was aimed than it is: a wall is hundreds of times
larger than a phone. Our choice; the drawing says it."""
_FIGURES: Mapping[str, FigureKind | SiteFigureKind] = MappingProxyType(
    {
        "floor": "floor-three-places",
        "plumb": "reference-line",
        "reversal": "level-end-for-end",
        "corners": "corner-tape",
        "pilot": "pilot",
        "lift": "lift",
        "bow": "bow",
        "secure.try": "try",
        "reference.mark": "venue-mark",
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Pane:
    """What a drawing is made for: a task of a job, and the edge its tape starts at."""

    here: Here
    task: Task
    edge: str


def svg(markup: str) -> Markup:
    """Our own markup: every text in it is escaped by the drawing's writer."""
    return Markup(markup)  # noqa: S704


def drawing(here: Here, task: Task, edge: str = "left") -> Markup | None:
    """The drawing of a task; None for one that is all words."""
    draw = _DRAWINGS.get(task.kind.name)
    if draw is not None:
        return svg(draw(Pane(here=here, task=task, edge=edge)))
    figure = _FIGURES.get(task.kind.figure) or _FIGURES.get(task.kind.name)
    if figure is not None:
        return svg(_figure(figure))
    return None


def _figure(kind: FigureKind | SiteFigureKind) -> str:
    if kind == "bow" or kind == "try":
        return site_figure(kind)
    return reference_figure(kind)


def holes_mm(state: JobState) -> dict[str, Point]:
    """Where the hole of every unset seat goes now."""
    return {
        seat.seat: (seat.x_mm, seat.hole_y_mm)
        for seat in state.current.seats
        if seat.seat not in state.set_seats
    }


def seat_place_mm(state: JobState, seat: str) -> Point:
    """Where a seat should be read: the mark given for it, also when it was measured before."""
    built = state.set_seats.get(seat)
    return built.given_mm if built else state.marks_mm[seat]


def stopped_seats(state: JobState) -> tuple[set[str], set[str]]:
    """Seats with an open stop, and those near enough to be locked by one."""
    # a stop may be at a seat that the plan has no more: its cable is still where it was
    stopped = {stop.seat for stop in state.open_stops if stop.seat in state.form.seats}
    locked = {name for stop in state.open_stops for name in locked_seats(state, stop)}
    return stopped, locked - stopped


def wall(here: Here, *, in_hand: tuple[str, ...] = (), level_mm: float | None = None) -> Markup:
    """The whole wall as it stands, without dimensions."""
    return svg(_wall(here, in_hand=in_hand, level_mm=level_mm))


def named_wall(here: Here) -> Markup:
    """The whole wall with the names of its seats, as for paper."""
    return svg(_wall(here, names=True, floor=True))


def _wall(
    here: Here,
    *,
    in_hand: tuple[str, ...] = (),
    level_mm: float | None = None,
    dims: bool = False,
    names: bool = False,
    floor: bool = False,
) -> str:
    stopped, locked = stopped_seats(here.state)
    plan = _as_aimed(here.state)
    return elevation(
        plan,
        fmt=here.fmt,
        set_mm=here.state.set_mm,
        magnify=GHOSTS_APART if _is_any_off(plan, here.state) else 1.0,
        marks_mm=holes_mm(here.state),
        in_hand=in_hand,
        stopped=stopped,
        locked=locked,
        level_line_y_mm=level_mm,
        dims=dims,
        floor=floor,
        seat_names=names,
        width_px=WIDTH,
        max_height_px=WALL_HEIGHT,
    )


def _as_aimed(state: JobState) -> Plan:
    """The plan as it stands, its set seats where they were aimed: beside that they show as read."""
    aimed = {name: seat.given_mm for name, seat in state.set_seats.items()}
    return replace(
        state.current,
        seats=tuple(
            replace(seat, x_mm=aimed[seat.seat][0], y_mm=aimed[seat.seat][1])
            if seat.seat in aimed
            else seat
            for seat in state.current.seats
        ),
    )


def _is_any_off(plan: Plan, state: JobState) -> bool:
    return any(
        dist((seat.x_mm, seat.y_mm), state.set_mm[seat.seat]) > SAME_MM
        for seat in plan.seats
        if seat.seat in state.set_mm
    )


def _plain_wall(pane: Pane) -> str:
    return _wall(pane.here)


def _seats_wall(pane: Pane) -> str:
    """With the seats by name: nothing is on the wall yet that shows where they are."""
    return _wall(pane.here, names=True, floor=True)


def _floor_wall(pane: Pane) -> str:
    return _wall(pane.here, floor=True)


def _line_wall(pane: Pane) -> str:
    line = next(line for line in pane.here.state.lines if line.name == pane.task.subject)
    is_measured = pane.task.kind.name != "level.line"
    height = pane.here.state.line_height_mm(line) if is_measured else line.y_mm
    return _wall(pane.here, in_hand=line.seats, level_mm=height)


def _panel_wall(pane: Pane) -> str:
    """The same for every task of a panel: drawn once."""
    drawn, panel = pane.here.panel_walls, pane.task.subject
    if panel not in drawn:
        drawn[panel] = _wall(pane.here, in_hand=(panel,))
    return drawn[panel]


def _facing_wall(pane: Pane) -> str:
    return _wall(pane.here, in_hand=facing_panels(pane.task.subject))


def _hanger(pane: Pane) -> str:
    arrangement = pane.here.state.plan.arrangement
    at = arrangement.seat_names.index(pane.task.subject)
    return panel_back(
        pane.here.state.job.panels[arrangement.seat_panel[at]],
        fmt=pane.here.fmt,
        which="all",
        in_hand=arrangement.seat_hanger[at],
        from_side=cast(Side, pane.edge),
        width_px=WIDTH,
        max_height_px=BACK_HEIGHT,
    )


def _ring(pane: Pane) -> str:
    """Which ring on the panel's back, by where it is."""
    return _hanger(replace(pane, edge="left"))


def _spacing(pane: Pane) -> str:
    panel = next(p for p in pane.here.state.job.panels if p.name == pane.task.panel)
    return panel_back(
        panel,
        fmt=pane.here.fmt,
        which="spacing",
        width_px=WIDTH,
        max_height_px=BACK_HEIGHT,
        is_live=True,
    )


def _diagonals(pane: Pane) -> str:
    panel = next(p for p in pane.here.state.job.panels if p.name == pane.task.subject)
    return panel_back(
        panel, fmt=pane.here.fmt, which="diagonals", width_px=WIDTH, max_height_px=BACK_HEIGHT
    )


def _hole(pane: Pane) -> str:
    """The hole in hand."""
    seat = pane.here.state.seat(pane.task.subject)
    place = (seat.x_mm, seat.hole_y_mm)
    return _close_up(pane.here, pane.task.subject, place, CLOSE_HEIGHT, "hole")


def _seat(pane: Pane) -> str:
    """The seat in hand: where the hanger will bear, not where the hole is."""
    place = seat_place_mm(pane.here.state, pane.task.subject)
    return _close_up(pane.here, pane.task.subject, place, SEAT_HEIGHT, "seat")


def _close_up(here: Here, seat: str, place: Point, height: float, live: str) -> str:
    state = here.state
    others = {name: at for name, at in holes_mm(state).items() if name in state.marked}
    return mark_close_up(
        state.current,
        seat,
        fmt=here.fmt,
        mark_mm=place,
        set_mm=state.set_mm,
        marks_mm=others,
        level_line_y_mm=state.line_height_mm(state.line_of(seat)),
        live=live,
        width_px=WIDTH,
        max_height_px=height,
    )


def check_words(here: Here, seat: str) -> str:
    """The tape from the nearest set seat to the hole, as a check; "" while none is set."""
    planned = here.state.seat(seat)
    hole = (planned.x_mm, planned.hole_y_mm)
    others = {name: at for name, at in here.state.set_mm.items() if name != seat}
    found = nearest(hole, others)
    return f"{here.fmt(dist(hole, found[1]))} from seat {found[0]}" if found else ""


def _pair(pane: Pane) -> str:
    return _two(pane, "fasteners.pair", "spacing", live="pair")


def _cross(pane: Pane) -> str:
    """Two set seats held against each other, the first time or once more."""
    return _two(pane, "fasteners.cross", "distance")


def _two(pane: Pane, kind: str, apart: str, live: str = "") -> str:
    """Two marks or seats as they should be read."""
    planned = planned_values(pane.here.state, f"{kind}:{pane.task.subject}")
    left, right = pair_seats(pane.task.subject)
    return pair_of_marks(
        left,
        right,
        apart_mm=planned[apart]["mm"],
        right_higher_mm=read_rise_mm(planned),
        fmt=pane.here.fmt,
        live=live,
    )


def section(here: Here, seat: str, in_hand: str) -> Markup | None:
    """The seat's fastener in section; None where none is listed."""
    fastener = here.state.seat(seat).fastener
    if fastener is None:
        return None
    return svg(
        fastener_section(fastener, fmt=here.fmt, in_hand="seat" if in_hand == "seat" else "hole")
    )


_DRAWINGS: Mapping[str, Callable[[Pane], str]] = MappingProxyType(
    {
        "before.services": _seats_wall,
        "work.hanger": _hanger,
        "work.spacing": _spacing,
        "work.diagonals": _diagonals,
        "reference.ends": _plain_wall,
        "level.line": _line_wall,
        "level.tape": _line_wall,
        "behind.wall": _plain_wall,
        "stand_back.corners": _floor_wall,
        "stand_back.yes": _floor_wall,
        "hold.first_hole": _plain_wall,
        "fasteners.mark": _hole,
        "fasteners.pair": _pair,
        "fasteners.again": _seat,
        "fasteners.cross": _cross,
        "fasteners.recross": _cross,
        "fasteners.anchor": _hole,
        "fasteners.measure": _seat,
        "hold.first_lift": _plain_wall,
        "panels.shim": _ring,
        "panels.engaged": _panel_wall,
        "panels.level": _panel_wall,
        "panels.edge": _panel_wall,
        "panels.facing": _facing_wall,
        "panels.trim": _panel_wall,
        "close.next_day": _panel_wall,
        "secure.lock": _panel_wall,
        "close.engaged": _plain_wall,
        "hold.leave": _plain_wall,
        "close.hand_over": _plain_wall,
    }
)
