"""Drawings of the wall, the panels and the work as SVG text; pure functions, no web."""

from __future__ import annotations

from holdtrue.drawing.asbuilt import as_built
from holdtrue.drawing.back import panel_back
from holdtrue.drawing.closeup import mark_close_up
from holdtrue.drawing.elevation import elevation
from holdtrue.drawing.figures import FIGURE_KINDS, FigureKind, reference_figure

__all__ = [
    "FIGURE_KINDS",
    "FigureKind",
    "as_built",
    "elevation",
    "mark_close_up",
    "panel_back",
    "reference_figure",
]
