"""The crate label: content, layout in mm, SVG. Pure."""

from __future__ import annotations

from holdtrue.labels.content import LabelContent, label_content
from holdtrue.labels.layout import SIZES_MM, LabelSize
from holdtrue.labels.qr import CodeDoesNotFitError
from holdtrue.labels.svg import label_svg

__all__ = [
    "SIZES_MM",
    "CodeDoesNotFitError",
    "LabelContent",
    "LabelSize",
    "label_content",
    "label_svg",
]
