"""More explanatory figures for the wall and the hung panel; not to scale."""

from __future__ import annotations

from collections.abc import Callable
from typing import Literal, get_args

from holdtrue.drawing.svg import Element, circle, line, path, picture, rect, text

SiteFigureKind = Literal["bow", "try"]
_WIDTH = 358.0
_T = 14.0
_Drawn = tuple[str, str, float, list[Element]]


def site_figure(kind: SiteFigureKind, *, id_: str | None = None, printed: bool = False) -> str:
    """One of the figures as SVG markup."""
    if kind not in _FIGURES:
        raise ValueError(f"no figure {kind!r}: give one of {', '.join(SITE_FIGURE_KINDS)}")
    title, desc, height, elements = _FIGURES[kind]()
    return picture(
        [rect(0, 0, _WIDTH, height, "d-wall"), *elements],
        width=_WIDTH,
        height=height,
        title=title,
        desc=desc,
        id_=id_,
        printed=printed,
    )


def _say(x: float, y: float, words: str, anchor: str = "middle", hand: bool = False) -> Element:
    return text(x, y, words, _T, "d-text-hand" if hand else "d-text", anchor)


def _bow() -> _Drawn:
    """Left: the wall from above with a straightedge. Right: the wall from the side with a plumb."""
    hollow = [(12.0 + 8 * k, 74.0 - 14.0 * (1 - ((k - 11) / 11) ** 2)) for k in range(23)]
    drawn = [
        _say(100, 18, "seen from above"),
        path("d-thick", *hollow),
        rect(10, 76, 180, 8, "d-hardware"),
        line(100, 62, 100, 76, "d-dim-hand"),
        line(96, 66, 104, 58, "d-dim-hand"),
        line(96, 80, 104, 72, "d-dim-hand"),
        _say(100, 48, "bow", hand=True),
        _say(100, 104, "straightedge"),
        _say(286, 18, "from the side"),
        line(262, 30, 250, 140, "d-thick"),
        line(266, 30, 266, 132, "d-reference"),
        path("d-solid", (266, 144), (261, 130), (271, 130), close=True),
        line(251, 128, 266, 128, "d-dim-hand"),
        _say(282, 124, "lean", "start", hand=True),
        _say(278, 66, "plumb line", "start"),
    ]
    return (
        "Bow and lean of the wall",
        (
            "Bow is the largest gap under a straightedge laid across the wall. Lean is how far "
            "the wall leaves a plumb line over the height of the work."
        ),
        152.0,
        drawn,
    )


def _arrow(x0: float, y0: float, x1: float, y1: float) -> list[Element]:
    """An arrow along one of the axes."""
    along_x, along_y = (x1 > x0) - (x1 < x0), (y1 > y0) - (y1 < y0)
    back_x, back_y = x1 - 9 * along_x, y1 - 9 * along_y
    head = path(
        "d-solid",
        (x1, y1),
        (back_x + 6 * along_y, back_y + 6 * along_x),
        (back_x - 6 * along_y, back_y - 6 * along_x),
        close=True,
    )
    return [line(x0, y0, back_x, back_y, "d-thick"), head]


def _try() -> _Drawn:
    """Lift it, pull it, push it sideways: nothing may come off."""
    drawn = [
        rect(124, 46, 110, 84, "d-panel"),
        *_arrow(179, 40, 179, 10),
        _say(190, 24, "lift", "start"),
        *_arrow(240, 88, 276, 88),
        *_arrow(118, 88, 82, 88),
        _say(282, 93, "sideways", "start"),
        circle(179, 88, 13, "d-line"),
        circle(179, 88, 3.5, "d-solid"),
        _say(179, 122, "pull"),
    ]
    return (
        "Try the panel",
        "Lift the panel, pull it towards you and push it sideways: it must stay on the wall.",
        142.0,
        drawn,
    )


_FIGURES: dict[str, Callable[[], _Drawn]] = {"bow": _bow, "try": _try}
SITE_FIGURE_KINDS: tuple[SiteFigureKind, ...] = get_args(SiteFigureKind)
