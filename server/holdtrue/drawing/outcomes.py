"""How played installs ended: for each way of working, how bad the worst criterion was.

One row per way: a histogram over the worst criterion in tolerances, solid where the install ended
inside, light where it did not; the line at 1 is the tolerance.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from itertools import pairwise

from holdtrue.drawing.svg import Element, group, line, picture, rect, shorten, text
from holdtrue.simulation.play import Outcome

_WIDTH, _ROW, _TOP, _BOTTOM = 890.0, 46.0, 92.0, 52.0
_LEFT, _RIGHT = 250.0, 650.0
_MOST, _BIN = 5.0, 0.1
"""[-] Tolerances shown, and per bar; what is worse stands in the last bar."""
_COLUMNS = (("inside", 735.0), ("trims", 805.0), ("holes", 870.0))


def outcomes_picture(title: str, outcomes: Sequence[Outcome]) -> str:
    """The whole drawing, to be saved as a file."""
    height = _TOP + _ROW * len(outcomes) + _BOTTOM
    floor = _TOP + _ROW * len(outcomes)
    parts: list[Element | None] = [
        rect(0, 0, _WIDTH, height, "d-paper"),
        text(16, 26, shorten(f"{title}: how installs end", 18, _WIDTH - 32), 18, "d-name", "start"),
        text(
            16,
            46,
            "share of the installs played of each way; solid: every criterion inside",
            12,
            "d-text-soft",
            "start",
        ),
        *(text(x, _TOP - 8, name, 12, "d-text-soft", "end") for name, x in _COLUMNS),
        *_axis(floor),
        *(_row(outcome, _TOP + _ROW * (i + 1)) for i, outcome in enumerate(outcomes)),
        line(_x(1.0), _TOP - 14, _x(1.0), floor + 6, "d-dim-hand"),
        text(_x(1.0), _TOP - 18, "tolerance", 12, "d-text-hand"),
    ]
    best = max(outcomes, key=lambda o: o.share_inside)
    return picture(
        parts,
        width=_WIDTH,
        height=height,
        title=f"How installs of {title} end",
        desc=f"Worst criterion in tolerances for {len(outcomes)} ways of working. Most end inside "
        f"with: {best.way}, {100 * best.share_inside:.1f} %.",
        printed=True,
    )


def _x(share: float) -> float:
    return _LEFT + (_RIGHT - _LEFT) * min(share, _MOST) / _MOST


def _axis(floor: float) -> list[Element]:
    ticks = [k / 2 for k in range(int(_MOST * 2) + 1)]
    marks = [line(_x(t), floor, _x(t), floor + 6, "d-thin") for t in ticks]
    names = [
        text(_x(t), floor + 22, f"{t:g}" + (" +" if t == _MOST else ""), 12, "d-text-soft")
        for t in ticks
    ]
    what = text((_LEFT + _RIGHT) / 2, floor + 42, "worst criterion, in tolerances", 12)
    return [*marks, *names, what]


def _row(outcome: Outcome, base: float) -> Element:
    counts = _bars(outcome)
    scale = (_ROW - 10) / max(counts)
    bars = [
        rect(
            _x(i * _BIN),
            base - count * scale,
            _x((i + 1) * _BIN) - _x(i * _BIN) - 0.5,
            count * scale,
            "d-solid" if (i + 1) * _BIN <= 1.0 + 1e-9 else "d-hardware",
        )
        for i, count in enumerate(counts)
        if count
    ]
    figures = (
        f"{100 * outcome.share_inside:.1f} %",
        f"{outcome.trims[0]:.1f}",
        f"{outcome.holes[0]:.1f}",
    )
    return group(
        [
            *bars,
            line(_LEFT, base, _RIGHT, base, "d-thin"),
            text(16, base - 6, shorten(outcome.way, 14, _LEFT - 24), 14, anchor="start"),
            *(
                text(x, base - 6, figure, 14, anchor="end")
                for (_, x), figure in zip(_COLUMNS, figures, strict=True)
            ),
        ]
    )


def _bars(outcome: Outcome) -> list[int]:
    """Installs per bar; the values are sorted."""
    values = outcome.worst_shares.tolist()
    count = round(_MOST / _BIN)
    edges = [bisect_right(values, i * _BIN + 1e-9) for i in range(count)]
    return [after - before for before, after in pairwise([0, *edges[1:], len(values)])]
