"""Two marks of a panel held against each other: how far apart, and which is higher."""

from __future__ import annotations

from collections.abc import Callable

from holdtrue.drawing import parts
from holdtrue.drawing.svg import Element, line, picture, text

_WIDTH, _HEIGHT = 358.0, 112.0
_LEFT, _RIGHT = 56.0, 302.0
_SAME_MM = 0.05


def pair_of_marks(
    left: str,
    right: str,
    *,
    apart_mm: float,
    right_higher_mm: float,
    fmt: Callable[[float], str],
    live: str = "",
    id_: str | None = None,
    printed: bool = False,
) -> str:
    """Both marks with the two dimensions that true them to each other; heights exaggerated.

    ``live``: "pair" names the numbers (pair-spacing:A1-A2) for a script that works them out anew;
    which mark is higher (pair-higher:A1-A2) stays as it is drawn.
    """
    low, rise = 72.0, 0.0 if abs(right_higher_mm) <= _SAME_MM else 30.0
    left_y = low - (rise if right_higher_mm < 0 else 0.0)
    right_y = low - (rise if right_higher_mm > 0 else 0.0)
    higher = "level" if not rise else "right" if right_higher_mm > 0 else "left"
    drawn: list[Element | None] = [
        line(10, low, _WIDTH - 10, low, "d-level"),
        parts.dimension_across(
            _LEFT,
            _RIGHT,
            18,
            fmt(apart_mm),
            size=18.0,
            room=(2.0, _WIDTH - 2.0),
            hand=True,
            live=f"{live}-spacing:{left}-{right}" if live else None,
        ),
        *(line(x, 22, x, y - 18, "d-extension") for x, y in ((_LEFT, left_y), (_RIGHT, right_y))),
        *_rise(low, rise, right_higher_mm, fmt, live, f"{left}-{right}"),
        parts.seat_in_hand(_LEFT, left_y, left, 16.0),
        parts.seat_in_hand(_RIGHT, right_y, right, 16.0),
        text(_LEFT, low + 30, left, 16.0, "d-name"),
        text(_RIGHT, low + 30, right, 16.0, "d-name"),
    ]
    return picture(
        drawn,
        width=_WIDTH,
        height=_HEIGHT,
        title=f"The marks {left} and {right}",
        desc=_said(left, right, apart_mm, right_higher_mm, fmt),
        id_=id_,
        printed=printed,
        live=f"{live}-said:{left}-{right}" if live else None,
        data={"data_live_higher": f"{live}-higher:{left}-{right}", "data_higher": higher}
        if live
        else None,
    )


def _said(
    left: str, right: str, apart_mm: float, rise_mm: float, fmt: Callable[[float], str]
) -> str:
    apart = f"{left} and {right} are {fmt(apart_mm)} apart"
    if abs(rise_mm) <= _SAME_MM:
        return f"{apart} and at the same height."
    return f"{apart}; {right if rise_mm > 0 else left} is higher by {fmt(abs(rise_mm))}."


def _rise(
    low: float,
    rise: float,
    right_higher_mm: float,
    fmt: Callable[[float], str],
    live: str,
    pair: str,
) -> list[Element]:
    if not rise:
        return [text(_WIDTH / 2, low - 8, "same height", 16.0, "d-text-hand")]
    # beside the higher mark, towards the middle, where there is room for the number
    x, anchor = (_RIGHT - 40, "end") if right_higher_mm > 0 else (_LEFT + 40, "start")
    out = -10 if anchor == "end" else 10
    label = fmt(abs(right_higher_mm))
    return [
        line(x - 10, low - rise, x + 10, low - rise, "d-extension"),
        parts.dimension_up(
            x,
            low,
            low - rise,
            label,
            size=18.0,
            text_x=x + out,
            text_y=low - rise / 2 + 6,
            anchor=anchor,
            hand=True,
            live=f"{live}-by:{pair}" if live else None,
        ),
    ]
