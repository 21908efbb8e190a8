"""The whole wall to scale: panels, studs, lines, seats, and dimensions to what is in hand."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass
from itertools import pairwise

from holdtrue.core.model import Plan, PlannedSeat
from holdtrue.core.slope import corners_mm, panel_stands
from holdtrue.drawing import parts
from holdtrue.drawing.svg import Element, line, picture, text, text_width
from holdtrue.drawing.view import Box, View, around, fit

Place = tuple[float, float]
_ROW = 22.0  # height of one row of dimensions
_PITCH = 17.0  # least distance of two labels above each other
_EDGE = 6.0


@dataclass(frozen=True, slots=True, kw_only=True)
class _Dimensioned:
    """A seat in hand whose mark gets dimension lines."""

    name: str
    mark_mm: Place


def elevation(
    plan: Plan,
    *,
    fmt: Callable[[float], str],
    set_mm: Mapping[str, Place] | None = None,
    marks_mm: Mapping[str, Place] | None = None,
    in_hand: Collection[str] = (),
    stopped: Collection[str] = (),
    locked: Collection[str] = (),
    level_line_y_mm: float | None = None,
    dims: bool = True,
    floor: bool = True,
    seat_names: bool = False,
    magnify: float = 1.0,
    width_px: float = 358.0,
    max_height_px: float | None = None,
    id_: str | None = None,
    printed: bool = False,
) -> str:
    """The elevation as SVG markup, ``width_px`` units wide.

    ``set_mm``: measured seats of what is driven; ``marks_mm``: holes to make now; ``in_hand``:
    seats or panel names. A set seat is drawn ``magnify`` times its deviation from plan away from
    its planned place, which then shows as a ghost.
    """
    set_mm, marks_mm = set_mm or {}, marks_mm or {}
    hand = [
        _Dimensioned(name=s.seat, mark_mm=marks_mm.get(s.seat, (s.x_mm, s.hole_y_mm)))
        for s in plan.seats
        if s.seat in in_hand
    ]
    shown = hand if dims else []
    view = _view(plan, shown, level_line_y_mm, floor, width_px, max_height_px, fmt)
    foot = view.bottom + (24 if floor else 18)
    magnified = magnify != 1.0 and bool(set_mm)
    height = foot + 6 + (_PITCH if magnified else 0)
    drawn: list[Element | None] = [
        *parts.wall(plan.job.wall, view),
        *(parts.floor(view) if floor else ()),
        *_panels(plan, view, in_hand),
        *parts.services(plan.job.wall, view),
        *(parts.keep_clear(area, view) for area in plan.job.wall.keep_clear),
        *parts.reference_line(view, view.top, foot - 13),
        *_level(view, level_line_y_mm, foot, width_px),
    ]
    cross = _cross_size(hand, view)
    for seat in plan.seats:
        mark = marks_mm.get(seat.seat, (seat.x_mm, seat.hole_y_mm))
        state = _state(seat.seat, in_hand, set_mm, stopped, locked)
        drawn += _seat(seat, state, mark, set_mm.get(seat.seat), view, magnify, cross)
        if seat_names:
            drawn.append(text(view.x(seat.x_mm), view.y(seat.y_mm) + 18, seat.seat, parts.SMALL))
    if shown:
        drawn += _across(shown, view, fmt, width_px)
        drawn += _up(shown, view, fmt, level_line_y_mm)
    if magnified:
        said = f"deviations drawn {magnify:g} times larger"
        drawn.append(text(4, height - 6, said, parts.SMALL, anchor="start"))
    return picture(
        drawn,
        width=width_px,
        height=height,
        title=f"The wall: {len(plan.job.panels)} panels",
        desc=_describe(plan, hand, set_mm, stopped, fmt),
        id_=id_,
        printed=printed,
        data=dict(view.data),
    )


def _describe(
    plan: Plan,
    hand: list[_Dimensioned],
    set_mm: Mapping[str, Place],
    stopped: Collection[str],
    fmt: Callable[[float], str],
) -> str:
    marks = "; ".join(
        f"{d.name} {fmt(abs(d.mark_mm[0]))} {side(d.mark_mm[0])}, "
        f"{fmt(d.mark_mm[1])} above the floor"
        for d in hand
    )
    said = [
        f"Panels {parts.names(p.name for p in plan.job.panels)}.",
        f"Driven: {parts.names(s.seat for s in plan.seats if s.seat in set_mm)}.",
        f"In hand: {marks}." if marks else "",
        f"Stopped: {parts.names(sorted(stopped))}." if stopped else "",
    ]
    return " ".join(s for s in said if s)


def side(x_mm: float) -> str:
    """Which side of the reference line."""
    if abs(x_mm) < 0.05:
        return "on the reference line"
    return "left of the reference line" if x_mm < 0 else "right of the reference line"


def group_box(plan: Plan) -> Box:
    """The box around all planned panels."""
    stands = panel_stands(plan.job, plan.arrangement)
    return around(
        corner
        for panel, stand in zip(plan.job.panels, stands, strict=True)
        for corner in corners_mm(panel, stand)
    )


def _view(
    plan: Plan,
    shown: list[_Dimensioned],
    level_y_mm: float | None,
    floor: bool,
    width_px: float,
    max_height_px: float | None,
    fmt: Callable[[float], str],
) -> View:
    panels = group_box(plan)
    margin = 0.04 * max(panels.width_mm, panels.height_mm)
    box = panels.grown(margin)
    low = [box.y0_mm, *([level_y_mm - margin] if level_y_mm is not None else [])]
    box = Box(
        x0_mm=min(box.x0_mm, -margin),
        x1_mm=max(box.x1_mm, margin),
        y0_mm=0.0 if floor else min(low),
        y1_mm=box.y1_mm,
    )
    left = right = _EDGE
    for d, label in _heights(shown, level_y_mm, fmt) if shown else ():
        need = text_width(label, parts.SMALL) + 14 + _EDGE
        if _on_left(d, box):
            left = max(left, need)
        else:
            right = max(right, need)
    return fit(
        box,
        width=width_px,
        max_height=max_height_px or width_px * 1.1,
        left=left,
        right=right,
        top=_EDGE + _ROW * len(shown) + (12 if shown else 0),
    )


def _panels(plan: Plan, view: View, in_hand: Collection[str]) -> list[Element]:
    drawn = []
    stands = panel_stands(plan.job, plan.arrangement)
    for panel, stand in zip(plan.job.panels, stands, strict=True):
        drawn += parts.panel(panel, stand, view, in_hand=panel.name in in_hand)
    return drawn


def _level(view: View, level_y_mm: float | None, foot: float, width: float) -> list[Element]:
    return [] if level_y_mm is None else parts.level_line(view, level_y_mm, foot, width)


def _cross_size(hand: list[_Dimensioned], view: View) -> float:
    """Cross-hairs as large as their neighbours in hand leave room for."""
    xs = sorted(view.x(d.mark_mm[0]) for d in hand)
    nearest = min((b - a for a, b in pairwise(xs)), default=40.0)
    return min(16.0, max(9.0, nearest * 0.42))


def _state(
    seat: str,
    in_hand: Collection[str],
    set_mm: Mapping[str, Place],
    stopped: Collection[str],
    locked: Collection[str],
) -> str:
    """A stop outranks everything: nobody may take a stopped seat in hand."""
    for state, members in (
        ("stopped", stopped),
        ("hand", in_hand),
        ("set", set_mm),
        ("locked", locked),
    ):
        if seat in members:
            return state
    return "open"


def _seat(
    seat: PlannedSeat,
    state: str,
    mark_mm: Place,
    measured_mm: Place | None,
    view: View,
    magnify: float,
    cross: float,
) -> list[Element]:
    if measured_mm is None:
        x, y = view.at(mark_mm if state == "hand" else (seat.x_mm, seat.y_mm))
        ghosts: list[Element] = []
    else:
        off_x, off_y = measured_mm[0] - seat.x_mm, measured_mm[1] - seat.y_mm
        x, y = view.at((seat.x_mm + magnify * off_x, seat.y_mm + magnify * off_y))
        ghosts = _ghost(view.at((seat.x_mm, seat.y_mm)), (x, y))
    if state == "hand":
        return [*ghosts, parts.seat_in_hand(x, y, seat.seat, cross)]
    draw = {
        "stopped": parts.seat_stopped,
        "locked": parts.seat_locked,
        "set": parts.seat_set,
        "open": parts.seat_open,
    }[state]
    return [*ghosts, draw(x, y, seat.seat)]


def _ghost(planned: Place, measured: Place) -> list[Element]:
    """The planned place, where it can be told from the measured one."""
    if max(abs(planned[0] - measured[0]), abs(planned[1] - measured[1])) < 0.75:
        return []
    return [parts.ghost(*planned), line(*planned, *measured, "d-move")]


def _across(
    shown: list[_Dimensioned], view: View, fmt: Callable[[float], str], width_px: float
) -> list[Element]:
    """Running dimensions from the reference line, one row each, farthest on top."""
    drawn = []
    ordered = sorted(shown, key=lambda d: -abs(d.mark_mm[0]))
    for row, d in enumerate(ordered):
        y = _EDGE + _ROW * (row + 0.5)
        x, mark_y = view.at(d.mark_mm)
        drawn += [
            line(x, y + 4, x, mark_y - 17, "d-extension"),
            parts.dimension_across(
                view.x(0.0),
                x,
                y,
                _labelled(d, shown, fmt(abs(d.mark_mm[0]))),
                size=parts.SMALL,
                room=(2.0, width_px - 2.0),
                hand=True,
            ),
        ]
    reference_x = view.x(0.0)
    drawn.append(line(reference_x, _EDGE + 4, reference_x, view.top, "d-reference"))
    return drawn


def _labelled(d: _Dimensioned, shown: list[_Dimensioned], label: str) -> str:
    return label if len(shown) == 1 else f"{d.name}: {label}"


def _heights(
    shown: list[_Dimensioned], level_y_mm: float | None, fmt: Callable[[float], str]
) -> list[tuple[_Dimensioned, str]]:
    """Each height with its label; marks that read the same share one line and need no name."""
    read = [(d, fmt(d.mark_mm[1] - (level_y_mm or 0.0))) for d in shown]
    if len({label for _, label in read}) == 1:
        return [(min(shown, key=lambda d: d.mark_mm[0]), read[0][1])]
    return [(d, f"{d.name}: {label}") for d, label in read]


def _on_left(d: _Dimensioned, box: Box) -> bool:
    return d.mark_mm[0] < (box.x0_mm + box.x1_mm) / 2


def _up(
    shown: list[_Dimensioned],
    view: View,
    fmt: Callable[[float], str],
    level_y_mm: float | None,
) -> list[Element]:
    """Heights over the level line (or the floor), in the margin next to each mark."""
    drawn: list[Element] = []
    base = view.y(level_y_mm or 0.0)
    for on_left in (True, False):
        mine = [
            (d, label)
            for d, label in _heights(shown, level_y_mm, fmt)
            if _on_left(d, view.box) == on_left
        ]
        middles = [(view.y(d.mark_mm[1]) + base) / 2 + 4 for d, _ in mine]
        label_ys = parts.spread(middles, _PITCH, parts.SMALL, view.bottom)
        edge = view.left if on_left else view.right
        out = -1.0 if on_left else 1.0
        column = edge + out * 5
        for (d, label), label_y in zip(mine, label_ys, strict=True):
            x, y = view.at(d.mark_mm)
            drawn.append(line(x + out * 17, y, column + out * 3, y, "d-extension"))
            drawn.append(
                parts.dimension_up(
                    column,
                    base,
                    y,
                    label,
                    size=parts.SMALL,
                    text_x=column + out * 6,
                    text_y=label_y,
                    anchor="end" if on_left else "start",
                    hand=True,
                )
            )
    return drawn
