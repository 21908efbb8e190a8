"""A level's own error from two lines: along it, and along it turned end for end.

Midway between the two lines is true, so half of what they differ by, over the length drawn, is the
error. Its sign belongs to the level as it lay first, with its taped end on the left.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

_SIGNS = {"same": 0.0, "high": 1.0, "low": -1.0}


def level_error_mm_per_m(values: Mapping[str, Any]) -> float:
    """How far the right end of a "level" line rises (+) or falls (-) in a metre.

    ``values`` are those recorded for ``level.check``: over, miss and which right end was higher.

    >>> round(level_error_mm_per_m(
    ...     {"over": {"mm": 1000.0}, "miss": {"mm": 1.0}, "higher": "high"}), 3)
    0.5
    """
    miss_mm, over_mm = float(values["miss"]["mm"]), float(values["over"]["mm"])
    return _SIGNS[str(values["higher"])] * (miss_mm / 2) / (over_mm / 1000.0)
