"""The signs every drawing shares: seats, panels, wall, lines and dimension lines.

Sizes here are units of the drawing (about one CSS px on a phone), never mm on the wall: a seat's
circle must be seen whatever the scale. No sign differs by colour alone.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from holdtrue.core.cables import Zone, cable_zones
from holdtrue.core.model import KeepClear, Outlet, Panel, Stud, Wall
from holdtrue.core.slope import Stand, corners_mm
from holdtrue.drawing.svg import (
    Element,
    circle,
    el,
    group,
    line,
    number,
    path,
    rect,
    shorten,
    text,
    text_width,
)
from holdtrue.drawing.view import Box, View

SMALL = 13.0
"""The least text size on a phone-wide drawing."""

_END = 4.0  # half the length of the slash that ends a dimension line


def seat_open(x: float, y: float, seat: str) -> Element:
    """Not driven yet: an open circle."""
    return el("g", circle(x, y, 4.5, "d-seat"), data_seat=seat, data_state="open")


def seat_set(x: float, y: float, seat: str) -> Element:
    """Driven: a filled circle with a tick cut out of it."""
    tick = path("d-seat-tick", (x - 3, y + 0.2), (x - 0.9, y + 2.6), (x + 3.2, y - 2.6))
    return el("g", circle(x, y, 6, "d-seat-set"), tick, data_seat=seat, data_state="set")


def seat_in_hand(x: float, y: float, seat: str, size: float = 16.0) -> Element:
    """The mark in hand: a cross-hair with a free middle and a dot."""
    arm, back = number(size - 4), number(size + 4)
    # from one absolute point on relative: the same arms weigh nothing the second time on a page
    arms = (
        f"M{number(x + 4)} {number(y)}h{arm}m-{back} 0h-{arm}"
        f"M{number(x)} {number(y + 4)}v{arm}m0-{back}v-{arm}"
    )
    ring, dot = circle(x, y, size * 0.6, "d-hand"), circle(x, y, 1.8, "d-hand-dot")
    cross = el("path", class_="d-hand", d=arms)
    return group([ring, cross, dot], data_seat=seat, data_state="hand")


def seat_stopped(x: float, y: float, seat: str) -> Element:
    """Stopped: a filled octagon with a bar, as on a road."""
    corners = [
        (x + 8 * math.cos(a), y + 8 * math.sin(a))
        for a in (math.pi / 8 + k * math.pi / 4 for k in range(8))
    ]
    bar = line(x - 4.5, y, x + 4.5, y, "d-stop-cross")
    return el("g", path("d-stop", *corners, close=True), bar, data_seat=seat, data_state="stopped")


def seat_locked(x: float, y: float, seat: str) -> Element:
    """Locked because a stopped seat is near: a broken square."""
    return el("g", rect(x - 5.5, y - 5.5, 11, 11, "d-lock"), data_seat=seat, data_state="locked")


def ghost(x: float, y: float) -> Element:
    """Where a set seat was planned."""
    return circle(x, y, 5, "d-ghost")


def stud_strip(stud: Stud, view: View) -> Element | None:
    """A stud as a hatched strip; the hatch says wood, steel or not known.

    The hatch is the dash pattern of one wide line: one element a stud keeps pages light.
    """
    strip = Box(
        x0_mm=stud.x_mm - stud.width_mm / 2,
        x1_mm=stud.x_mm + stud.width_mm / 2,
        y0_mm=view.box.y0_mm,
        y1_mm=view.box.y1_mm,
    ).cut_to(view.box)
    if strip is None:
        return None
    x0, x1 = view.x(strip.x0_mm), view.x(strip.x1_mm)
    middle, width = (x0 + x1) / 2, max(x1 - x0, 1.5)
    hatch = el(
        "line",
        class_=f"d-stud-{stud.material}",
        x1=middle,
        y1=view.top,
        x2=middle,
        y2=view.bottom,
        stroke_width=width,
    )
    edges = [line(x, view.top, x, view.bottom, "d-stud") for x in (x0, x1)]
    return group([hatch, *edges], data_stud=middle)


def keep_clear(area: KeepClear, view: View) -> Element | None:
    """A keep-clear area: crossed from corner to corner, with the reason when it fits."""
    shown = Box(
        x0_mm=min(area.x0_mm, area.x1_mm),
        x1_mm=max(area.x0_mm, area.x1_mm),
        y0_mm=min(area.y0_mm, area.y1_mm),
        y1_mm=max(area.y0_mm, area.y1_mm),
    ).cut_to(view.box)
    if shown is None:
        return None
    (x0, y0), (x1, y1) = view.at((shown.x0_mm, shown.y1_mm)), view.at((shown.x1_mm, shown.y0_mm))
    room = x1 - x0 - 4
    why = shorten(area.why, SMALL, room) if room > 40 and y1 - y0 > 16 else None
    return el(
        "g",
        el("title", f"keep clear: {area.why}"),
        rect(x0, y0, x1 - x0, y1 - y0, "d-keep"),
        path("d-keep", (x0, y0), (x1, y1)),
        path("d-keep", (x0, y1), (x1, y0)),
        text((x0 + x1) / 2, (y0 + y1) / 2 + 4, why, SMALL) if why else None,
    )


def services(a_wall: Wall, view: View) -> list[Element | None]:
    """Outlets, and the strips in which cables may run from them or along the wall."""
    zones = [_cable_zone(zone, view) for zone in cable_zones(a_wall)]
    return [*zones, *(_outlet(outlet, view) for outlet in a_wall.outlets)]


def _cable_zone(zone: Zone, view: View) -> Element | None:
    shown = Box(x0_mm=zone.x0_mm, x1_mm=zone.x1_mm, y0_mm=zone.y0_mm, y1_mm=zone.y1_mm).cut_to(
        view.box
    )
    if shown is None:
        return None
    (x0, y0), (x1, y1) = view.at((shown.x0_mm, shown.y1_mm)), view.at((shown.x1_mm, shown.y0_mm))
    return el(
        "g",
        el("title", f"cables may run: {zone.why}"),
        rect(x0, y0, x1 - x0, y1 - y0, "d-keep"),
    )


def _outlet(outlet: Outlet, view: View) -> Element | None:
    half_x, half_y = outlet.width_mm / 2, outlet.height_mm / 2
    shown = Box(
        x0_mm=outlet.x_mm - half_x,
        x1_mm=outlet.x_mm + half_x,
        y0_mm=outlet.y_mm - half_y,
        y1_mm=outlet.y_mm + half_y,
    ).cut_to(view.box)
    if shown is None:
        return None
    (x0, y0), (x1, y1) = view.at((shown.x0_mm, shown.y1_mm)), view.at((shown.x1_mm, shown.y0_mm))
    return el("g", el("title", "outlet"), rect(x0, y0, x1 - x0, y1 - y0, "d-wall-end"))


def wall(a_wall: Wall, view: View) -> list[Element | None]:
    """The wall itself: ground, studs, its ends where they are in view."""
    width, height = view.right - view.left, view.bottom - view.top
    ground = rect(view.left, view.top, width, height, "d-wall")
    studs = [] if a_wall.behind == "solid" else [stud_strip(s, view) for s in a_wall.studs]
    ends = [
        line(view.x(x_mm), view.top, view.x(x_mm), view.bottom, "d-wall-end")
        for x_mm in (a_wall.left_mm, a_wall.right_mm)
        if x_mm is not None and view.box.x0_mm <= x_mm <= view.box.x1_mm
    ]
    return [ground, *studs, *ends]


def floor(view: View) -> list[Element]:
    """The floor: a thick line with slashes under it."""
    y = view.y(0.0)
    slashes = []
    x = view.left
    while x < view.right:
        slashes.append(f"M{x:.1f} {y + 7:.1f}l6 -6")
        x += 12
    return [
        line(view.left, y, view.right, y, "d-floor"),
        el("path", class_="d-thin", d="".join(slashes)),
    ]


def reference_line(view: View, top: float, bottom: float) -> list[Element]:
    """The plumb line through the reference mark, dash-dot, named at its foot."""
    x, name = view.x(0.0), "reference line"
    half = text_width(name, SMALL) / 2
    name_x = max(view.left + half, min(x, view.right - half))
    return [
        line(x, top, x, bottom, "d-reference"),
        text(name_x, bottom + 13, name, SMALL, "d-text-soft"),
    ]


def level_line(view: View, y_mm: float, foot: float, width: float) -> list[Element]:
    """The level line, dashed; its name with a piece of it stands in the foot, clear of the panels.

    It crosses every panel, so a name written along it would cover something.
    """
    y = view.y(y_mm)
    drawn = [line(view.left, y, view.right, y, "d-level")]
    name_width = text_width("level line", SMALL)
    left = 4.0 if view.x(0.0) > width / 2 else width - name_width - 30
    drawn.append(line(left, foot - 4, left + 22, foot - 4, "d-level"))
    drawn.append(text(left + 26, foot, "level line", SMALL, "d-text-soft", "start"))
    return drawn


def panel(
    a_panel: Panel,
    stand: Stand,
    view: View,
    *,
    in_hand: bool = False,
    name_low: float = 0.14,
) -> list[Element]:
    """A panel's outline and its name, as large as fits.

    The name stands ``name_low`` of the height below the middle, clear of hangers near the top.
    """
    x, y = view.at((stand.x_mm, stand.y_mm))
    width, height = a_panel.width_mm * view.scale, a_panel.height_mm * view.scale
    class_ = "d-panel-hand" if in_hand else "d-panel"
    if stand.tilt:
        outline = path(class_, *map(view.at, corners_mm(a_panel, stand)), close=True)
    else:
        outline = rect(x - width / 2, y - height / 2, width, height, class_)
    room = width - 6
    size = min(22.0, room / max(text_width(a_panel.name, 1.0), 0.62), height * 0.7)
    if size < 9:
        size = 9.0
    name = shorten(a_panel.name, size, room)
    return [outline, text(x, y + height * name_low + size * 0.35, name, size, "d-name")]


def dimension_across(
    x0: float,
    x1: float,
    y: float,
    label: str,
    *,
    size: float,
    room: tuple[float, float],
    hand: bool,
    live: str | None = None,
) -> Element:
    """A horizontal dimension line; the label breaks it, or stands beside it when it is short.

    The line never runs behind the label: "25 5/8" struck through reads as "25-5/8".
    """
    low, high = min(x0, x1), max(x0, x1)
    class_ = "d-dim-hand" if hand else "d-dim"
    width = text_width(label, size, is_bold=hand)
    middle = (low + high) / 2
    if width + 20 > high - low:
        after = high + 7 + width / 2
        middle = after if after + width / 2 <= room[1] else low - 7 - width / 2
        middle = min(max(middle, room[0] + width / 2), room[1] - width / 2)
        pieces = [line(low, y, high, y, class_)]
    else:
        pieces = [
            line(low, y, middle - width / 2 - 2, y, class_),
            line(middle + width / 2 + 2, y, high, y, class_),
        ]
    class_text = "d-text-hand" if hand else "d-text"
    words = text(middle, y + size * 0.35, label, size, class_text, live=live)
    return group([*pieces, _slash(low, y, class_), _slash(high, y, class_), words])


def dimension_up(
    x: float,
    y0: float,
    y1: float,
    label: str,
    *,
    size: float,
    text_x: float,
    text_y: float,
    anchor: str,
    hand: bool,
    live: str | None = None,
) -> Element:
    """A vertical dimension line; its label is level, to be read without turning the head."""
    class_ = "d-dim-hand" if hand else "d-dim"
    class_text = "d-text-hand" if hand else "d-text"
    words = text(text_x, text_y, label, size, class_text, anchor, live)
    return group([line(x, y0, x, y1, class_), _slash(x, y0, class_), _slash(x, y1, class_), words])


def dimension_along(
    a: tuple[float, float],
    b: tuple[float, float],
    label: str,
    *,
    size: float,
    hand: bool,
    at: float = 0.5,
    live: str | None = None,
) -> Element:
    """A dimension line at any angle, broken by its level label a share ``at`` of the way along."""
    class_ = "d-dim-hand" if hand else "d-dim"
    along_x, along_y = b[0] - a[0], b[1] - a[1]
    x, y = a[0] + at * along_x, a[1] + at * along_y
    half_w, half_h = text_width(label, size) / 2 + 2, size * 0.6
    gap = min(
        half_w / abs(along_x) if along_x else math.inf,
        half_h / abs(along_y) if along_y else math.inf,
    )
    low, high = max(at - gap, 0.0), min(at + gap, 1.0)
    pieces = [
        line(a[0], a[1], a[0] + low * along_x, a[1] + low * along_y, class_),
        line(a[0] + high * along_x, a[1] + high * along_y, b[0], b[1], class_),
    ]
    class_text = "d-text-hand" if hand else "d-text"
    words = text(x, y + size * 0.35, label, size, class_text, live=live)
    return group([*pieces, _slash(*a, class_), _slash(*b, class_), words])


def _slash(x: float, y: float, class_: str) -> Element:
    long = number(2 * _END)
    place = f"M{number(x - _END)} {number(y + _END)}"
    return el("path", class_=class_, d=f"{place}l{long}-{long}")


def spread(places: Sequence[float], apart: float, low: float, high: float) -> list[float]:
    """The places moved as little as needed to stand at least ``apart`` from each other.

    Order is kept; the whole is pushed back between ``low`` and ``high`` as far as there is room.
    """
    order = sorted(range(len(places)), key=lambda i: places[i])
    moved = [0.0] * len(places)
    last = -math.inf
    for i in order:
        last = max(places[i], last + apart, low)
        moved[i] = last
    limit = high
    for i in reversed(order):
        moved[i] = min(moved[i], limit)
        limit = moved[i] - apart
    return moved


def names(items: Iterable[str], none: str = "none") -> str:
    """A list of names in words, for descriptions."""
    return ", ".join(items) or none
