"""Small explanatory figures: not to scale, the same for every job, no words a drawing can spare.

Each is drawn once on a ground of 358 by some height, the width of a phone's page.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Literal, get_args

from holdtrue.drawing import parts
from holdtrue.drawing.svg import Element, circle, el, line, path, picture, rect, text

FigureKind = Literal[
    "venue-mark",
    "reference-line",
    "floor-three-places",
    "level-end-for-end",
    "pilot",
    "fastener",
    "corner-tape",
    "lift",
]
_WIDTH = 358.0
_T = 14.0
Drawn = tuple[str, str, float, list[Element]]
"""Title, description, height, elements."""


def reference_figure(kind: FigureKind, *, id_: str | None = None, printed: bool = False) -> str:
    """One of the explanatory figures as SVG markup."""
    if kind not in _FIGURES:
        raise ValueError(f"no figure {kind!r}: give one of {', '.join(FIGURE_KINDS)}")
    title, desc, height, elements = _FIGURES[kind]()
    ground = rect(0, 0, _WIDTH, height, "d-wall")
    return picture(
        [ground, *elements],
        width=_WIDTH,
        height=height,
        title=title,
        desc=desc,
        id_=id_,
        printed=printed,
    )


def _say(x: float, y: float, words: str, anchor: str = "middle", hand: bool = False) -> Element:
    return text(x, y, words, _T, "d-text-hand" if hand else "d-text", anchor)


def _floor(y: float) -> list[Element]:
    slashes = "".join(f"M{x} {y + 7}l6 -6" for x in range(4, 350, 12))
    return [line(0, y, _WIDTH, y, "d-floor"), el("path", class_="d-thin", d=slashes)]


def _venue_mark() -> Drawn:
    """Does the venue's mark mean the work's centre, its edge or a height?"""
    drawn: list[Element] = _floor(110)
    for x, words in ((70, "centre"), (180, "left edge"), (290, "height")):
        drawn.append(rect(x - 40, 28, 80, 44, "d-panel"))
        drawn.append(_say(x, 18, words))
    drawn += [
        line(70, 24, 70, 110, "d-reference"),
        line(140, 24, 140, 110, "d-reference"),
        line(236, 50, 348, 50, "d-level"),
        parts.seat_in_hand(70, 92, "mark", 12),
        parts.seat_in_hand(140, 92, "mark", 12),
        parts.seat_in_hand(290, 50, "mark", 12),
    ]
    return (
        "What the venue's mark means",
        "One mark on the wall can mean the work's centre, its edge or a height. Ask which.",
        122.0,
        drawn,
    )


def _reference_line() -> Drawn:
    """Plumb the line through the mark; never trust a door frame or a corner."""
    drawn = [
        *_floor(178),
        rect(18, 60, 62, 118, "d-panel-plan"),
        line(14, 56, 84, 182, "d-thick"),
        line(84, 56, 14, 182, "d-thick"),
        _say(49, 46, "door frame"),
        line(180, 16, 180, 152, "d-reference"),
        path("d-solid", (180, 172), (173, 152), (187, 152), close=True),
        parts.seat_in_hand(180, 60, "mark", 12),
        _say(200, 65, "venue's mark", "start", hand=True),
        _say(200, 120, "reference line,", "start"),
        _say(200, 138, "plumb", "start"),
    ]
    return (
        "The reference line",
        (
            "Plumb the reference line through the venue's mark. Door frames, ceilings, cornices "
            "and skirtings are never references."
        ),
        196.0,
        drawn,
    )


def _floor_three_places() -> Drawn:
    """Heights count from the floor at the reference; read it at both ends too."""
    drawn: list[Element] = [
        line(0, 134, _WIDTH, 114, "d-floor"),
        line(0, 28, _WIDTH, 28, "d-level"),
        _say(8, 20, "level line", "start"),
        line(179, 6, 179, 124, "d-reference"),
    ]
    for x, words, hand in (
        (40, "left end", False),
        (179, "reference", True),
        (318, "right end", False),
    ):
        foot = 134 - 20 * x / _WIDTH
        class_ = "d-dim-hand" if hand else "d-dim"
        drawn.append(line(x, 28, x, foot, class_))
        drawn += [line(x - 4, y + 4, x + 4, y - 4, class_) for y in (28.0, foot)]
        drawn.append(_say(x, 82, words, hand=hand))
    return (
        "The floor in three places",
        (
            "Measure from the level line down to the floor at the reference and at both ends. "
            "Heights count from the floor at the reference."
        ),
        146.0,
        drawn,
    )


def _spirit_level(y: float, taped_left: bool) -> list[Element]:
    """The level with one end taped, so that "left" is known whichever way it lies."""
    tape_x = 76.0 if taped_left else 252.0
    return [
        rect(70, y, 218, 20, "d-hardware"),
        rect(164, y + 4, 30, 12, "d-panel"),
        circle(179, y + 10, 4, "d-line"),
        rect(tape_x, y, 30, 20, "d-solid"),
    ]


def _level_end_for_end() -> Drawn:
    drawn = [
        *_spirit_level(14, taped_left=True),
        _say(62, 30, "1", "end"),
        *_spirit_level(52, taped_left=False),
        _say(62, 68, "2", "end"),
        line(70, 112, 272, 98, "d-line"),
        line(70, 112, 272, 126, "d-line"),
        line(70, 112, 272, 112, "d-dim-hand"),
        _say(280, 100, "1", "start"),
        _say(280, 136, "2", "start"),
        _say(280, 118, "true", "start", hand=True),
    ]
    return (
        "The spirit level turned end for end",
        (
            "Draw along the level, turn it end for end and draw again. Midway between the two "
            "lines is true; half their distance is the level's own error."
        ),
        142.0,
        drawn,
    )


def _bit(x: float, y: float, reach: float) -> list[Element]:
    """A thin drill bit coming from the right, its tip at (x, y)."""
    return [
        path(
            "d-line",
            (x, y),
            (x + 7, y - 3),
            (x + reach, y - 3),
            (x + reach, y + 3),
            (x + 7, y + 3),
            close=True,
        ),
        path(
            "d-thin",
            *[(x + 10 + k * 6, y + (3 if k % 2 else -3)) for k in range(int((reach - 10) // 6))],
        ),
    ]


def _pilot() -> Drawn:
    """Sections seen from above: what the thinnest bit meets behind the board."""
    drawn: list[Element] = []
    for k, (words, draw) in enumerate(
        (("nothing", _hollow), ("wood", _wood), ("steel", _steel), ("masonry", _masonry))
    ):
        y = 24.0 + 50.0 * k
        drawn += draw(y)
        drawn.append(rect(150, y - 18, 14, 42, "d-masonry" if k == 3 else "d-board"))
        drawn += _bit(112 if k != 2 else 146, y + 3, 120 if k != 2 else 86)
        drawn.append(_say(246, y + 8, words, "start"))
    return (
        "What the pilot meets",
        (
            "Drill with the thinnest bit. Behind the board it meets nothing, wood, a thin steel "
            "edge or masonry all the way."
        ),
        206.0,
        drawn,
    )


def _hollow(y: float) -> list[Element]:
    return [line(40, y - 18, 40, y + 24, "d-board"), line(40, y - 18, 54, y - 18, "d-thin")]


def _wood(y: float) -> list[Element]:
    rings = [
        path("d-thin", (64, y - 10 + k * 8), (108, y - 14 + k * 8), (150, y - 10 + k * 8))
        for k in range(4)
    ]
    return [rect(60, y - 18, 90, 42, "d-wood"), *rings]


def _steel(y: float) -> list[Element]:
    return [
        path("d-thick", (66, y - 10), (66, y - 16), (148, y - 16)),
        line(148, y - 17, 148, y + 24, "d-thick"),
        path("d-thick", (148, y + 22), (66, y + 22), (66, y + 16)),
    ]


def _masonry(y: float) -> list[Element]:
    joints = [
        line(40, y + 3, 150, y + 3, "d-thin"),
        line(80, y - 18, 80, y + 3, "d-thin"),
        line(116, y + 3, 116, y + 24, "d-thin"),
    ]
    return [rect(40, y - 18, 110, 42, "d-masonry"), *joints]


def _fastener() -> Drawn:
    """Section through the wall: hole, fastener, drop, seat, and the ring that bears on it."""
    drawn = [
        rect(96, 10, 16, 190, "d-board"),
        _say(70, 194, "wall"),
        rect(60, 66, 70, 8, "d-hardware"),
        path("d-thick", (128, 60), (128, 112), (136, 122), (148, 122), (156, 112), (156, 100)),
        circle(142, 108, 9, "d-line"),
        rect(160, 92, 30, 108, "d-panel"),
        _say(175, 152, "A", hand=False),
        line(112, 70, 300, 70, "d-extension"),
        line(150, 118, 300, 118, "d-extension"),
        line(290, 70, 290, 118, "d-dim-hand"),
        line(286, 74, 294, 66, "d-dim-hand"),
        line(286, 122, 294, 114, "d-dim-hand"),
        _say(200, 64, "hole", "start"),
        _say(200, 134, "seat", "start"),
        _say(300, 100, "drop", "start", hand=True),
    ]
    return (
        "Hole, drop and seat",
        (
            "The fastener enters the wall at the hole. The panel's hanger bears lower, at the "
            "seat. The drop is the height from the hole down to the seat."
        ),
        206.0,
        drawn,
    )


def _corner_tape() -> Drawn:
    """Corners of every panel taped on the wall before any hole; then stand back and look."""
    drawn: list[Element] = _floor(188)
    for x, w, h in ((36, 84, 96), (132, 62, 96), (206, 110, 72)):
        drawn.append(rect(x, 24, w, h, "d-panel-plan"))
        for cx, cy, dx, dy in (
            (x, 24, 1, 1),
            (x + w, 24, -1, 1),
            (x, 24 + h, 1, -1),
            (x + w, 24 + h, -1, -1),
        ):
            drawn.append(path("d-thick", (cx + 16 * dx, cy), (cx, cy), (cx, cy + 16 * dy)))
    drawn.append(_say(179, 150, "tape the corners, stand back,"))
    drawn.append(_say(179, 170, "agree before the first hole"))
    return (
        "Stand back",
        (
            "Tape every panel's corners on the wall, stand back and agree on height, spacing and "
            "order before the first hole."
        ),
        206.0,
        drawn,
    )


def _person(x: float, y: float, reach: float) -> list[Element]:
    """A figure with its arms out towards ``reach``."""
    return [
        circle(x, y - 62, 9, "d-line"),
        path("d-line", (x, y - 53), (x, y - 24), (x - 9, y), (x, y - 24), (x + 9, y)),
        line(x, y - 46, reach, y - 34, "d-line"),
        line(x, y - 42, reach, y - 20, "d-line"),
    ]


def _lift() -> Drawn:
    """One at each side, on platforms, never from a ladder."""
    drawn = [
        *_floor(188),
        rect(118, 60, 122, 96, "d-panel"),
        line(179, 48, 179, 168, "d-reference"),
        *_person(82, 152, 118),
        *_person(276, 152, 240),
        rect(46, 152, 62, 8, "d-hardware"),
        rect(250, 152, 62, 8, "d-hardware"),
        *[line(x, 160, x, 188, "d-line") for x in (52, 102, 256, 306)],
        _say(179, 24, "hold by both sides, never by the top rail"),
    ]
    return (
        "Lifting a panel",
        (
            "One person at each side, standing on platforms, never on ladders. Hold the panel by "
            "both sides, never by its top rail."
        ),
        206.0,
        drawn,
    )


_FIGURES: dict[str, Callable[[], Drawn]] = {
    "venue-mark": _venue_mark,
    "reference-line": _reference_line,
    "floor-three-places": _floor_three_places,
    "level-end-for-end": _level_end_for_end,
    "pilot": _pilot,
    "fastener": _fastener,
    "corner-tape": _corner_tape,
    "lift": _lift,
}
FIGURE_KINDS: tuple[FigureKind, ...] = get_args(FigureKind)
