"""Shims of a ring as a screen shows them, also before they can be worked out.

A phone's page is made before the seats are read; what it shows then is the plan's own, and the
phone writes what follows from its readings into it.
"""

from __future__ import annotations

from holdtrue.domain.rings import planned_mm
from holdtrue.domain.shims import shims_for_mm
from holdtrue.domain.state import JobState


def planned_shims_mm(state: JobState, seat: str) -> float:
    """As worked out; as planned until all seats of its panel are set."""
    thick = shims_for_mm(state, seat)
    return planned_mm(state)[seat] if thick is None else thick
