"""The mark in hand, close up: from the reference line, how high, how far from a set seat."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from itertools import pairwise
from math import hypot

from holdtrue.core.model import Plan, PlannedSeat
from holdtrue.core.slope import corners_mm, panel_stands
from holdtrue.drawing import parts
from holdtrue.drawing.elevation import side
from holdtrue.drawing.svg import (
    Element,
    el,
    group,
    line,
    number,
    path,
    picture,
    text,
    text_width,
)
from holdtrue.drawing.view import Box, View, around, fit

Place = tuple[float, float]
_BIG = 20.0
_CHECK = 15.0
_TOP = 34.0
_FOOT = 24.0


def mark_close_up(
    plan: Plan,
    seat: str,
    *,
    fmt: Callable[[float], str],
    mark_mm: Place | None = None,
    set_mm: Mapping[str, Place] | None = None,
    marks_mm: Mapping[str, Place] | None = None,
    level_line_y_mm: float | None = None,
    check: tuple[str, Place] | None = None,
    live: str = "",
    width_px: float = 358.0,
    max_height_px: float = 300.0,
    id_: str | None = None,
    printed: bool = False,
) -> str:
    """The surroundings of one mark as SVG markup, to scale.

    ``mark_mm`` is the hole to make (default: the planned one). ``marks_mm``: other pencilled marks
    to show open. ``check``: name and place of the set seat the tape runs to; default the nearest of
    ``set_mm``. Without a level line the height counts from the floor, drawn with a break.
    ``live``: "hole" or "seat" names the numbers (hole-x:A1) for a script that works them out anew.
    """
    row = next(s for s in plan.seats if s.seat == seat)
    mark = mark_mm or (row.x_mm, row.hole_y_mm)
    seats_set = {k: v for k, v in (set_mm or {}).items() if k != seat}
    target = check or nearest(mark, seats_set)
    height_label = fmt(mark[1] - (level_line_y_mm or 0.0))
    margin = text_width(height_label, _BIG, is_bold=True) + 22
    right_side = mark[0] >= 0
    view = fit(
        _region(plan, row, mark, level_line_y_mm, target),
        width=width_px,
        max_height=max_height_px,
        left=8.0 if right_side else margin,
        right=margin if right_side else 8.0,
        top=_TOP,
    )
    drawn: list[Element | None] = [
        *parts.wall(plan.job.wall, view),
        *_panels(plan, view, row.panel, 8.0 if level_line_y_mm is not None else 26.0),
        *parts.services(plan.job.wall, view),
        *(parts.keep_clear(area, view) for area in plan.job.wall.keep_clear),
        *_base(view, level_line_y_mm, width_px),
        *parts.reference_line(view, 8.0, view.bottom + 4),
        *_seats(plan, view, seat, seats_set, marks_mm or {}),
        *_check(view, mark, target, fmt, f"{live}-check:{seat}" if live else None),
        *_across(view, mark, fmt, width_px, f"{live}-x:{seat}" if live else None),
        *_height(
            view,
            mark,
            level_line_y_mm,
            height_label,
            right_side,
            f"{live}-above:{seat}" if live else None,
        ),
        parts.seat_in_hand(*view.at(mark), seat, 20.0),
    ]
    said = [
        f"{fmt(abs(mark[0]))} {side(mark[0])}",
        f"{height_label} above the {_datum(level_line_y_mm)}",
    ]
    if target:
        said.append(
            f"{fmt(hypot(mark[0] - target[1][0], mark[1] - target[1][1]))} from {target[0]}"
        )
    return picture(
        drawn,
        width=width_px,
        height=view.bottom + _FOOT,
        title=f"The mark for {seat}",
        desc=", ".join(said) + ".",
        id_=id_,
        printed=printed,
        live=f"{live}-said:{seat}" if live else None,
        data=dict(view.data),
    )


def nearest(place_mm: Place, set_mm: Mapping[str, Place]) -> tuple[str, Place] | None:
    """The set seat nearest to a place, and where it is."""
    if not set_mm:
        return None
    return min(
        set_mm.items(),
        key=lambda item: hypot(item[1][0] - place_mm[0], item[1][1] - place_mm[1]),
    )


def _datum(level_y_mm: float | None) -> str:
    return "floor" if level_y_mm is None else "level line"


def _region(
    plan: Plan,
    row: PlannedSeat,
    mark: Place,
    level_y_mm: float | None,
    target: tuple[str, Place] | None,
) -> Box:
    """From the reference line to the mark, with the panel's top and the level line in view."""
    panel = plan.job.panels[row.panel]
    top_mm = max(
        y for _, y in corners_mm(panel, panel_stands(plan.job, plan.arrangement)[row.panel])
    )
    xs = [0.0, mark[0], *([target[1][0]] if target else [])]
    has_level = level_y_mm is not None
    ys = [mark[1], *([target[1][1]] if target else [])]
    if level_y_mm is not None:
        ys.append(level_y_mm)
    room = max(panel.width_mm * 0.35, (max(xs) - min(xs)) * 0.06)
    low, high = min(xs) - room, max(xs) + room
    low_y = min(ys) - (high - low) * (0.07 if has_level else 0.2)
    low_y = min(low_y, mark[1] - (high - low) * 0.3)  # never a mere strip
    top = min(top_mm, mark[1] + (high - low) * 0.5)
    return Box(
        x0_mm=low,
        x1_mm=high,
        y0_mm=max(low_y, 0.0),
        y1_mm=max(top, *ys) + (high - low) * 0.05,
    )


def _panels(plan: Plan, view: View, own: int, foot: float) -> list[Element]:
    """The parts of panels in view, cut at its edges; the own panel's name stands in its corner."""
    drawn = []
    stands = panel_stands(plan.job, plan.arrangement)
    for index, (panel, stand) in enumerate(zip(plan.job.panels, stands, strict=True)):
        part = view.box.cut(corners_mm(panel, stand))
        if not part:
            continue
        drawn.append(_cut_outline(part, view))
        cut = around(part)
        # low in the drawing: the numbers stand above
        name_x, name_y = view.x(cut.x0_mm) + 6, view.y(cut.y0_mm) - foot
        if view.x(cut.x1_mm) - name_x > text_width(panel.name, 18):
            class_ = "d-name" if index == own else "d-text-soft"
            drawn.append(text(name_x, name_y, panel.name, 18, class_, "start"))
    return drawn


def _cut_outline(part: Sequence[Place], view: View) -> Element:
    """Only true edges get a line; a cut side stays open."""
    edges = "".join(
        f"M{_at(view, a)}L{_at(view, b)}"
        for a, b in pairwise((*part, part[0]))
        if not view.box.is_along(a, b)
    )
    drawn = [el("path", class_="d-line", d=edges)] if edges else []
    return group([path("d-paper", *map(view.at, part), close=True), *drawn])


def _at(view: View, place: Place) -> str:
    return f"{number(view.x(place[0]))} {number(view.y(place[1]))}"


def _base(view: View, level_y_mm: float | None, width_px: float) -> list[Element]:
    """The level line, or the floor below a break when heights count from it."""
    if level_y_mm is not None:
        return parts.level_line(view, level_y_mm, view.bottom + 17, width_px)
    y = view.bottom
    drawn = [line(view.left, y, view.right, y, "d-floor")]
    if view.box.y0_mm > 0:  # the wall between here and the floor is left out
        count = int((view.right - view.left) // 10) + 1
        zigzag = [(view.left + k * 10, y - 12 + (4 if k % 2 else -4)) for k in range(count)]
        drawn.append(path("d-line", *zigzag))
    return drawn


def _seats(
    plan: Plan, view: View, seat: str, set_mm: Mapping[str, Place], marks_mm: Mapping[str, Place]
) -> list[Element]:
    drawn = []
    for other in plan.seats:
        if other.seat == seat:
            continue
        place = set_mm.get(other.seat) or marks_mm.get(other.seat) or (other.x_mm, other.y_mm)
        if not _inside(place, view.box):
            continue
        x, y = view.at(place)
        draw = parts.seat_set if other.seat in set_mm else parts.seat_open
        drawn += [draw(x, y, other.seat), text(x, y + 22, other.seat, parts.SMALL)]
    return drawn


def _inside(place: Place, box: Box) -> bool:
    return box.x0_mm <= place[0] <= box.x1_mm and box.y0_mm <= place[1] <= box.y1_mm


def _check(
    view: View,
    mark: Place,
    target: tuple[str, Place] | None,
    fmt: Callable[[float], str],
    live: str | None,
) -> list[Element]:
    """The tape's way to a set seat; too short for its number, the number goes above it."""
    if target is None:
        return []
    label = fmt(hypot(mark[0] - target[1][0], mark[1] - target[1][1]))
    a, b = view.at(target[1]), view.at(mark)
    if abs(a[0] - b[0]) > text_width(label, _CHECK) + 60:
        at = 0.5 - 8.0 / abs(a[0] - b[0])  # clear of the cross-hair at b
        return [parts.dimension_along(a, b, label, size=_CHECK, hand=False, at=at, live=live)]
    out, anchor = (-1.0, "end") if a[0] < b[0] else (1.0, "start")
    return [
        line(*a, *b, "d-dim"),
        text(b[0] + out * 24, min(a[1], b[1]) - 12, label, _CHECK, "d-text", anchor, live),
    ]


def _across(
    view: View, mark: Place, fmt: Callable[[float], str], width_px: float, live: str | None
) -> list[Element]:
    x, y = view.at(mark)
    row = _TOP / 2
    dimension = parts.dimension_across(
        view.x(0.0),
        x,
        row,
        fmt(abs(mark[0])),
        size=_BIG,
        room=(2.0, width_px - 2.0),
        hand=True,
        live=live,
    )
    return [line(x, row + 4, x, y - 21, "d-extension"), dimension]


def _height(
    view: View,
    mark: Place,
    level_y_mm: float | None,
    label: str,
    right_side: bool,
    live: str | None,
) -> list[Element]:
    """The height in the margin beside the mark, from the level line or the floor."""
    x, y = view.at(mark)
    edge, out, anchor = (view.right, 1.0, "start") if right_side else (view.left, -1.0, "end")
    column = edge + out * 6
    base = view.bottom if level_y_mm is None else view.y(level_y_mm)
    label_y = min(max((y + base) / 2 + 7, _TOP + _BIG), view.bottom + 4)
    dimension = parts.dimension_up(
        column,
        base,
        y,
        label,
        size=_BIG,
        text_x=column + out * 9,
        text_y=label_y,
        anchor=anchor,
        hand=True,
        live=live,
    )
    return [line(x + out * 21, y, column + out * 4, y, "d-extension"), dimension]
