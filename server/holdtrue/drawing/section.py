"""Small sections and sketches of one fastener: where its hole is, where its seat is, what to do.

Not to scale: the drop's direction and number are this fastener's own, its length is not.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Literal

from holdtrue.core.model import Fastener
from holdtrue.drawing import parts
from holdtrue.drawing.svg import Element, circle, path, picture, rect, text

_WIDTH, _HEIGHT = 210.0, 112.0
_FACE = 46.0  # x of the wall's face
_NO_DROP_MM = 0.05


def fastener_section(
    fastener: Fastener,
    *,
    fmt: Callable[[float], str],
    in_hand: Literal["hole", "seat"],
    id_: str | None = None,
    printed: bool = False,
) -> str:
    """A fastener in section, its hole or its seat in hand, with its drop between them."""
    drop = fastener.drop_mm
    is_hook = drop > _NO_DROP_MM
    hole_y, seat_y = (28.0, 84.0) if is_hook else (56.0, 52.0)
    hole_name_y, seat_name_y = (28.0, 84.0) if is_hook else (84.0, 28.0)
    if abs(drop) <= _NO_DROP_MM:
        hole_name_y = 56.0
    drawn: list[Element | None] = [
        rect(_FACE - 16, 4, 16, _HEIGHT - 8, "d-board"),
        *(_hook(hole_y, seat_y) if is_hook else _screw(hole_y)),
        # the hanger's ring bears on the seat with its inner top
        circle(_FACE + 27, seat_y - 8 if is_hook else seat_y + 10, 8 if is_hook else 10, "d-line"),
        *_level("hole", hole_y, hole_name_y, in_hand == "hole"),
        *(
            _level("seat", seat_y, seat_name_y, in_hand == "seat")
            if abs(drop) > _NO_DROP_MM
            else ()
        ),
        *_drop(hole_name_y, seat_name_y, fmt(abs(drop)), drop),
    ]
    return picture(
        drawn,
        width=_WIDTH,
        height=_HEIGHT,
        title=f"{fastener.name} in the wall",
        desc=_said(fmt, drop),
        id_=id_,
        printed=printed,
    )


def _said(fmt: Callable[[float], str], drop_mm: float) -> str:
    if abs(drop_mm) <= _NO_DROP_MM:
        return "The hanger bears at the height of the hole."
    way = "below" if drop_mm > 0 else "above"
    return f"The hanger bears {fmt(abs(drop_mm))} {way} the hole."


def _hook(hole_y: float, seat_y: float) -> list[Element]:
    """A hook: in at the hole, down, and up again around the seat."""
    x = _FACE
    down = path(
        "d-thick",
        (x + 12, hole_y - 8),
        (x + 12, seat_y - 4),
        (x + 20, seat_y + 4),
        (x + 34, seat_y + 4),
        (x + 42, seat_y - 4),
        (x + 42, seat_y - 12),
    )
    return [rect(x - 36, hole_y - 4, 50, 8, "d-hardware"), down]


def _screw(hole_y: float) -> list[Element]:
    """A screw: the ring rides on it or hangs level with it."""
    x = _FACE
    return [
        rect(x - 36, hole_y - 4, 80, 8, "d-hardware"),
        rect(x + 44, hole_y - 12, 5, 24, "d-solid"),
    ]


def _level(word: str, y: float, name_y: float, in_hand: bool) -> list[Element]:
    """The height of hole or seat, led out to its name (aside, where two lie close together)."""
    x = _FACE + 54
    return [
        path("d-dim-hand" if in_hand else "d-extension", (x, y), (x + 9, name_y), (x + 44, name_y)),
        text(x + 50, name_y + 5, word, 15.0, "d-text-hand" if in_hand else "d-text", "start"),
    ]


def _drop(hole_y: float, seat_y: float, label: str, drop_mm: float) -> list[Element]:
    x = _FACE + 74
    if abs(drop_mm) <= _NO_DROP_MM:
        return []
    return [
        parts.dimension_up(
            x,
            hole_y,
            seat_y,
            label,
            size=15.0,
            text_x=x + 10,
            text_y=(hole_y + seat_y) / 2 + 5,
            anchor="start",
            hand=False,
        )
    ]
