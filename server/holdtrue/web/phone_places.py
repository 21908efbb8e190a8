"""Where on the wall the whole work is, in words: what moves with the venue's mark.

``static/js/app/places.js`` says the same on a phone without network.
"""

from __future__ import annotations

from collections.abc import Sequence

from holdtrue.core.geometry import bounding_box_mm
from holdtrue.core.order import LevelLine
from holdtrue.core.slope import corners_mm, panel_stands
from holdtrue.domain.state import JobState
from holdtrue.web.phone_words import across, fmt

CORNER_MM = 1.0
"""Corners of tape on the wall are given no finer than this. Our choice."""


def span_words(state: JobState, unit: str) -> str:
    """From the lower to the upper end of the work."""
    plan = state.current
    _, bottom, _, top = bounding_box_mm(plan.job.panels, plan.arrangement.centres_mm)
    return f"{fmt(bottom, unit)} to {fmt(top, unit)}"


def reach_words(state: JobState, line: LevelLine, unit: str) -> str:
    """How far a tape on a level line must go."""
    xs = [state.seat(name).x_mm for name in line.seats]
    return f"{across(min(xs), unit)} to {across(max(xs), unit)}"


def corner_words(state: JobState, unit: str) -> dict[str, str]:
    """Where each panel's corners go, to the tape's graduation: tape corners need no finer."""
    plan, grain = state.current, max(state.job.graduation_mm, CORNER_MM)
    stands = panel_stands(plan.job, plan.arrangement)
    words = {}
    for panel, stand in zip(plan.job.panels, stands, strict=True):
        corners = [
            (across(grain * round(x / grain), unit), fmt(grain * round(y / grain), unit))
            for x, y in corners_mm(panel, stand)
        ]
        words[panel.name] = _corners(corners)
    return words


def _corners(corners: Sequence[tuple[str, str]]) -> str:
    """An upright panel by its sides; one that follows a sloping room corner by corner."""
    top_left, top_right, bottom_right, bottom_left = corners
    if top_left[1] == top_right[1] and top_left[0] == bottom_left[0]:
        return f"{top_left[0]} to {top_right[0]}; {bottom_left[1]} to {top_left[1]} up"
    named = zip(
        ("top left", "top right", "bottom left", "bottom right"),
        (top_left, top_right, bottom_left, bottom_right),
        strict=True,
    )
    return "; ".join(f"{name} {x}, {up} up" for name, (x, up) in named)
