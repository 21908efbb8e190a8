"""What each class of a drawing looks like on paper; on screen the stylesheet says it.

Only presentation attributes, never ``style``: a strict content policy drops inline styles, and
printed files must look the same without our stylesheet. Lengths are units of the drawing.
"""

from __future__ import annotations

from collections.abc import Mapping

_NONE = {"fill": "none"}


def _stroke(colour: str, width: str, **more: str) -> dict[str, str]:
    return _NONE | {"stroke": colour, "stroke-width": width} | more


def _fill(colour: str) -> dict[str, str]:
    return {"fill": colour, "stroke": "none"}


def _text(colour: str, weight: str = "400") -> dict[str, str]:
    halo = {"stroke": "#fff", "stroke-width": "3", "stroke-linejoin": "round"}
    return {"fill": colour, "font-weight": weight, "paint-order": "stroke"} | halo


_INK = "#000"
_SOFT = "#555"

PAPER: Mapping[str, Mapping[str, str]] = {
    "d-panel": {"fill": "#fff", "stroke": _INK, "stroke-width": "1.5"},
    "d-panel-hand": {"fill": "#fff", "stroke": _INK, "stroke-width": "3"},
    "d-panel-plan": _stroke(_SOFT, "1", **{"stroke-dasharray": "4 3"}),
    "d-panel-built": _stroke(_INK, "2"),
    "d-wall": {"fill": "#f3f3f3", "stroke": "none"},
    "d-wall-end": _stroke(_INK, "2.5"),
    "d-stud": _stroke("#999", "1"),
    "d-stud-wood": _stroke("#999", "1", **{"stroke-dasharray": "1 3"}),
    "d-stud-steel": _stroke("#777", "1", **{"stroke-dasharray": "4 1.5"}),
    "d-stud-unknown": _stroke("#bbb", "1", **{"stroke-dasharray": "1 7"}),
    "d-keep": _stroke(_INK, "1.5", **{"stroke-dasharray": "6 2"}),
    "d-reference": _stroke(_INK, "1.25", **{"stroke-dasharray": "12 3 2 3"}),
    "d-level": _stroke(_INK, "1.25", **{"stroke-dasharray": "8 4"}),
    "d-floor": _stroke(_INK, "2"),
    "d-thin": _stroke(_SOFT, "0.75"),
    "d-line": _stroke(_INK, "1.5"),
    "d-thick": _stroke(_INK, "3"),
    "d-seat": {"fill": "#fff", "stroke": _INK, "stroke-width": "1.5"},
    "d-seat-set": {"fill": _INK, "stroke": _INK, "stroke-width": "1.5"},
    "d-seat-tick": _stroke("#fff", "2"),
    "d-hand": _stroke(_INK, "2.5"),
    "d-hand-dot": _fill(_INK),
    "d-ghost": _stroke(_SOFT, "1", **{"stroke-dasharray": "2 2"}),
    "d-move": _stroke(_INK, "1.25"),
    "d-stop": {"fill": _INK, "stroke": _INK, "stroke-width": "1.5"},
    "d-stop-cross": _stroke("#fff", "2.5"),
    "d-lock": {"fill": "#fff", "stroke": _INK, "stroke-width": "1.5", "stroke-dasharray": "2 2"},
    "d-dim": _stroke(_INK, "1"),
    "d-dim-hand": _stroke(_INK, "1.75"),
    "d-extension": _stroke(_SOFT, "0.75"),
    "d-text": _text(_INK),
    "d-text-soft": _text("#333"),
    "d-text-hand": _text(_INK, "700"),
    "d-name": _text(_INK, "700"),
    "d-name-inverse": {"fill": "#fff", "font-weight": "700"},
    "d-hardware": {"fill": "#ddd", "stroke": _INK, "stroke-width": "1.25"},
    "d-solid": _fill(_INK),
    "d-board": {"fill": "#eee", "stroke": _INK, "stroke-width": "1.25"},
    "d-wood": {"fill": "#ddd", "stroke": _INK, "stroke-width": "1.25"},
    "d-masonry": {"fill": "#eee", "stroke": _INK, "stroke-width": "1.25"},
    "d-paper": {"fill": "#fff", "stroke": "none"},
}
