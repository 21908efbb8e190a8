"""A panel's back, drawn as it is seen there: mirrored against the front view, and said so.

A hanger's u is front view, right of the panel's centre; seen from the back it lies as far to the
left. A panel measured on its front is drawn from the front, unmirrored, and that is said too.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from itertools import pairwise
from math import hypot
from typing import Literal

from holdtrue.core.model import Panel
from holdtrue.drawing import parts
from holdtrue.drawing.svg import Element, circle, group, line, path, picture, rect, text, text_width
from holdtrue.drawing.view import Box, View, fit

What = Literal["from_edge", "spacing", "diagonals", "down", "all"]
Side = Literal["left", "right"]
_TEXT = 16.0
_HEAD = 26.0


@dataclass(frozen=True, slots=True, kw_only=True)
class FaceHanger:
    """A hanger on the face looked at: x from that face's left edge, y up from the bottom."""

    index: int
    """Its place in the panel's hangers (front order)."""
    name: str
    x_mm: float
    y_mm: float


def face_hangers(panel: Panel) -> tuple[FaceHanger, ...]:
    """The hangers as met from left to right on the face they are measured on."""
    sign = -1.0 if panel.measured_on == "back" else 1.0
    found = [
        FaceHanger(
            index=i,
            name=f"{panel.name}{i + 1}",
            x_mm=panel.width_mm / 2 + sign * h.u_mm,
            y_mm=panel.height_mm / 2 + h.v_mm,
        )
        for i, h in enumerate(panel.hangers)
    ]
    return tuple(sorted(found, key=lambda h: h.x_mm))


def panel_back(
    panel: Panel,
    *,
    fmt: Callable[[float], str],
    which: What = "from_edge",
    in_hand: int | None = None,
    from_side: Side = "left",
    values: Mapping[str, float] | None = None,
    blank: bool = False,
    width_px: float = 358.0,
    max_height_px: float = 320.0,
    id_: str | None = None,
    printed: bool = False,
    is_live: bool = False,
) -> str:
    """A panel's back (or the front it was measured on) with the dimensions to be measured.

    ``in_hand``: index of a hanger in ``panel.hangers``. ``which``: what is dimensioned; "all" gives
    edge and down. ``from_side``: the edge the tape starts at, as seen on this face. ``values``
    replace what is written: keys "in:0", "down:0" (hanger index), "spacing:0" (between neighbours,
    from the left on this face), "diagonal:0" (from the top left corner), "diagonal:1". ``blank``
    writes "?" where there is no value yet. ``is_live`` names the spacings (spacing:A1-A2) for a
    script that works them out anew.
    """
    hangers = face_hangers(panel)
    label = _labels(values or {}, fmt, blank)
    chosen = [h for h in hangers if in_hand is None or h.index == in_hand]
    up = chosen if which in ("down", "all") else []
    rows = _row_count(which, chosen, hangers)
    view = fit(
        Box(x0_mm=0.0, y0_mm=0.0, x1_mm=panel.width_mm, y1_mm=panel.height_mm),
        width=width_px,
        max_height=max_height_px,
        left=_margin(panel, up, label, left=True),
        right=_margin(panel, up, label, left=False),
        top=_HEAD + rows * 24.0 + 8,
    )
    face = "back" if panel.measured_on == "back" else "front"
    drawn: list[Element | None] = [
        text(width_px / 2, 18, f"{panel.name} seen from the {face}", _TEXT, "d-name"),
        rect(view.left, view.top, view.right - view.left, view.bottom - view.top, "d-panel"),
        *([] if face == "front" else _stretcher(view)),
        text((view.left + view.right) / 2, view.top + 16, "top", parts.SMALL, "d-text-soft"),
        *_dimensions(panel, which, chosen, hangers, from_side, label, view, width_px, is_live),
        *(e for h in hangers for e in _hanger(h, view, h.index == in_hand)),
    ]
    return picture(
        drawn,
        width=width_px,
        height=view.bottom + 10,
        title=f"Panel {panel.name} seen from the {face}",
        desc=_describe(panel, hangers, fmt),
        id_=id_,
        printed=printed,
        data=dict(view.data),
    )


def _describe(panel: Panel, hangers: tuple[FaceHanger, ...], fmt: Callable[[float], str]) -> str:
    said = (
        f"{h.name}: {fmt(h.x_mm)} from the left edge, {fmt(panel.height_mm - h.y_mm)} down"
        for h in hangers
    )
    return f"Hangers from the left on this face. {'; '.join(said)}."


def _labels(
    values: Mapping[str, float], fmt: Callable[[float], str], blank: bool
) -> Callable[[str, float], str]:
    def label(key: str, planned_mm: float) -> str:
        if key in values:
            return fmt(values[key])
        return "?" if blank else fmt(planned_mm)

    return label


def _row_count(which: What, chosen: list[FaceHanger], hangers: tuple[FaceHanger, ...]) -> int:
    if which in ("from_edge", "all"):
        return len(chosen)
    return 1 if which == "spacing" and len(hangers) > 1 else 0


def _is_left(h: FaceHanger, panel: Panel) -> bool:
    return h.x_mm < panel.width_mm / 2


def _margin(
    panel: Panel, up: list[FaceHanger], label: Callable[[str, float], str], *, left: bool
) -> float:
    """Room beside the panel for the "down" labels on that side."""
    texts = [
        label(f"down:{h.index}", panel.height_mm - h.y_mm) for h in up if _is_left(h, panel) == left
    ]
    return 10.0 + max((text_width(t, _TEXT) + 18 for t in texts), default=0.0)


def _stretcher(view: View) -> list[Element]:
    """The inner frame: what makes a back look like a back."""
    inset = min(14.0, (view.right - view.left) * 0.08, (view.bottom - view.top) * 0.08)
    x0, x1, y0, y1 = view.left, view.right, view.top, view.bottom
    inner = rect(x0 + inset, y0 + inset, x1 - x0 - 2 * inset, y1 - y0 - 2 * inset, "d-thin")
    corners = [
        line(x, y, x + dx * inset, y + dy * inset, "d-thin")
        for x, y, dx, dy in ((x0, y0, 1, 1), (x1, y0, -1, 1), (x0, y1, 1, -1), (x1, y1, -1, -1))
    ]
    return [inner, *corners]


def _hanger(h: FaceHanger, view: View, in_hand: bool) -> list[Element]:
    """A hanging ring; the bearing point is where it takes the load, at its top."""
    x, y = view.at((h.x_mm, h.y_mm))
    ring = [circle(x, y + 6, 6, "d-hardware"), path("d-line", (x - 5, y + 12), (x + 5, y + 12))]
    if in_hand:
        ring.append(parts.seat_in_hand(x, y, h.name, 14.0))
    else:
        ring.append(group([circle(x, y, 2, "d-solid")], data_seat=h.name, data_state="hanger"))
    ring.append(text(x, y + 30, h.name, parts.SMALL, "d-text-hand" if in_hand else "d-text"))
    return ring


def _dimensions(
    panel: Panel,
    which: What,
    chosen: list[FaceHanger],
    hangers: tuple[FaceHanger, ...],
    from_side: Side,
    label: Callable[[str, float], str],
    view: View,
    width_px: float,
    is_live: bool,
) -> list[Element]:
    room = (2.0, width_px - 2.0)
    drawn: list[Element] = []
    if which in ("from_edge", "all"):
        drawn += _from_edge(panel, chosen, from_side, label, view, room)
    if which in ("down", "all"):
        drawn += _down(panel, chosen, label, view)
    if which == "spacing":
        drawn += _spacing(hangers, label, view, room, is_live)
    if which == "diagonals":
        drawn += _diagonals(panel, label, view)
    return drawn


def _row_y(row: int) -> float:
    return _HEAD + 24.0 * row + 14.0


def _from_edge(
    panel: Panel,
    chosen: list[FaceHanger],
    from_side: Side,
    label: Callable[[str, float], str],
    view: View,
    room: tuple[float, float],
) -> list[Element]:
    """One row per hanger, all from the same edge: running dimensions, so errors do not add up."""
    edge_mm = 0.0 if from_side == "left" else panel.width_mm
    drawn: list[Element] = [
        line(view.x(edge_mm), _row_y(0) - 6, view.x(edge_mm), view.top, "d-extension")
    ]
    for row, h in enumerate(sorted(chosen, key=lambda h: -abs(h.x_mm - edge_mm))):
        x, y = view.at((h.x_mm, h.y_mm))
        drawn.append(line(x, _row_y(row) + 4, x, y - 16, "d-extension"))
        drawn.append(
            parts.dimension_across(
                view.x(edge_mm),
                x,
                _row_y(row),
                label(f"in:{h.index}", abs(h.x_mm - edge_mm)),
                size=_TEXT,
                room=room,
                hand=True,
            )
        )
    return drawn


def _spacing(
    hangers: tuple[FaceHanger, ...],
    label: Callable[[str, float], str],
    view: View,
    room: tuple[float, float],
    is_live: bool,
) -> list[Element]:
    drawn: list[Element] = []
    for k, (a, b) in enumerate(pairwise(hangers)):
        for h in (a, b):
            x, y = view.at((h.x_mm, h.y_mm))
            drawn.append(line(x, _row_y(0) + 4, x, y - 6, "d-extension"))
        drawn.append(
            parts.dimension_across(
                view.x(a.x_mm),
                view.x(b.x_mm),
                _row_y(0),
                label(f"spacing:{k}", b.x_mm - a.x_mm),
                size=_TEXT,
                room=room,
                hand=True,
                live=_pair(a, b) if is_live else None,
            )
        )
    return drawn


def _pair(a: FaceHanger, b: FaceHanger) -> str:
    """As the seats stand from the front, whatever face this is."""
    first, second = sorted((a, b), key=lambda hanger: hanger.index)
    return f"spacing:{first.name}-{second.name}"


def _diagonals(panel: Panel, label: Callable[[str, float], str], view: View) -> list[Element]:
    """Both corner to corner; equal means square.

    Labels sit in the lower halves, clear of the hangers, and one below the other: on a narrow
    panel two at one height would run into each other.
    """
    x0, x1, y0, y1 = view.left, view.right, view.top, view.bottom
    reach = hypot(panel.width_mm, panel.height_mm)
    drawn: list[Element] = []
    for k, (a, b) in enumerate((((x0, y0), (x1, y1)), ((x1, y0), (x0, y1)))):
        words = label(f"diagonal:{k}", reach)
        at = 0.64 if k == 0 else 0.84
        drawn.append(parts.dimension_along(a, b, words, size=_TEXT, hand=True, at=at))
    return drawn


def _down(
    panel: Panel, chosen: list[FaceHanger], label: Callable[[str, float], str], view: View
) -> list[Element]:
    """From the top edge to the bearing point, in the margin nearest to the hanger."""
    drawn: list[Element] = []
    for left in (True, False):
        mine = sorted((h for h in chosen if _is_left(h, panel) == left), key=lambda h: -h.y_mm)
        edge, out, anchor = (view.left, -1.0, "end") if left else (view.right, 1.0, "start")
        middles = [(view.top + view.y(h.y_mm)) / 2 + 6 for h in mine]
        label_ys = parts.spread(middles, 19.0, view.top, view.bottom)
        for k, (h, label_y) in enumerate(zip(mine, label_ys, strict=True)):
            x, y = view.at((h.x_mm, h.y_mm))
            column = edge + out * (6 + 3 * k)
            drawn.append(line(x + out * 15, y, column + out * 3, y, "d-extension"))
            drawn.append(line(edge, view.top, column + out * 3, view.top, "d-extension"))
            drawn.append(
                parts.dimension_up(
                    column,
                    view.top,
                    y,
                    label(f"down:{h.index}", panel.height_mm - h.y_mm),
                    size=_TEXT,
                    text_x=edge + out * (12 + 3 * (len(mine) - 1)),
                    text_y=label_y,
                    anchor=anchor,
                    hand=True,
                )
            )
    return drawn
