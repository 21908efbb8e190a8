"""What readings on hung panels say of the criteria, and when a tolerance is too near to tell.

Method: what is judged on hung panels is a sum of what was read there: a gap is the mean of its two
ends, the line of a row the sum of the steps and of every panel's own fall on the way. The same sum
of the rows (``core.hung``) gives, from all that is known of where the panels hang, the criterion's
likely value and standard uncertainty u. It is clear of its tolerance T by a guard band,

    |likely| <= T - g u, but never less than T / 2,

and it is too near to tell where T lies within a few u of it: then one more reading says more than a
touch.

Source: guarded acceptance, JCGM 106:2012, 8.3 (section from memory), with a guard band of g u.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from holdtrue.core.criteria import line_chains
from holdtrue.core.hung import Hang, RowKey
from holdtrue.core.model import Arrangement, Job
from holdtrue.core.quality import Vector
from holdtrue.core.sources_trim import GUARD_U, NEAR_U

Reads = float | Vector
"""What was read, once or in many installs; or the row of it."""
RowName = tuple[str, str]
"""Kind and label of a criterion."""


def criteria_read(
    job: Job, arrangement: Arrangement, read: Mapping[RowKey, Reads]
) -> dict[RowName, Reads]:
    """What was read on hung panels, as the criteria it is judged by.

    Parameters: job; arrangement of that job; read, off plan [mm] or as rows [mm/mm], the two ends
    of a gap and its step together.
    Returns: level, gap, taper, step of what was read, and line where all on its way was [mm].
    Raises: KeyError for one end of a gap without the other.
    Source: module head.
    """
    names = [panel.name for panel in job.panels]
    stacked = {f"{names[a.p]}|{names[a.q]}" for a in arrangement.neighbours if a.how == "above"}
    found: dict[RowName, Reads] = {}
    for (kind, where), value in read.items():
        if kind in ("level", "step"):
            found[kind, where] = value
        elif kind == "gap first":
            second = read["gap second", where]
            # turned left, the first panel opens the top of a gap beside it, the right of one below
            taper = second - value if where in stacked else value - second
            found["gap", where], found["taper", where] = (value + second) / 2, taper
    for chain in line_chains(job):
        fall = _fall_mm(job, chain, read)
        if fall is not None:
            found["line", line_label([names[k] for k in chain])] = fall
    return found


def line_label(names: Sequence[str]) -> str:
    """What a row or column of panels is called as a criterion.

    Parameters: names of its panels, in their order [-].
    Returns: label [-].
    Raises: IndexError without panels.
    Source: as ``core.criteria`` calls it.
    """
    return f"{names[0]}..{names[-1]}"


def _fall_mm(job: Job, chain: Sequence[int], read: Mapping[RowKey, Reads]) -> Reads | None:
    """What the levels of a chain's panels and the steps between them add up to."""
    panels = [job.panels[k] for k in chain]
    steps: list[RowKey] = [("step", f"{p.name}|{q.name}") for p, q in pairwise(panels)]
    # a panel on one hanger has no level of its own
    due: list[RowKey] = [("level", one.name) for one in panels if len(one.hangers) > 1]
    if not all(key in read for key in steps + due):
        return None
    fall: Reads = 0.0
    for panel in panels:
        share = panel.height_mm / panel.width_mm if job.layout.kind == "column" else 1.0
        fall = fall - share * read.get(("level", panel.name), 0.0)
    for step in steps:
        fall = fall + read[step]
    return fall


def likely_mm(hang: Hang, row: Vector) -> tuple[Vector, Vector]:
    """A criterion by all that is known of where the panels hang, and its standard uncertainty.

    Parameters: hang, deviation [mm], shape (..., 2n), covariance [mm2], shape (..., 2n, 2n); row
    [mm/mm], shape (2n,).
    Returns: value and u [mm], each of shape (...).
    Raises: nothing.
    Source: law of propagation, GUM 5.2.2.
    """
    variance = np.maximum((hang.covariance_mm2 @ row) @ row, 0.0)
    return np.asarray(hang.deviation_mm @ row), np.asarray(np.sqrt(variance))


def guarded_mm(tolerance_mm: float, u_mm: Reads) -> Vector:
    """Within what a criterion is clear of its tolerance.

    Parameters: tolerance_mm [mm], > 0; u_mm, standard uncertainty of the criterion [mm], >= 0.
    Returns: limit [mm], from half the tolerance to all of it.
    Raises: nothing.
    Source: module head; half is our choice, so that poor knowledge asks for no endless trims.
    """
    return np.asarray(np.maximum(tolerance_mm - GUARD_U * u_mm, tolerance_mm / 2))


def is_near(value_mm: Reads, u_mm: Reads, tolerance_mm: float) -> NDArray[np.bool_]:
    """Whether the tolerance lies so near that a reading more can tell on which side of it this is.

    Parameters: value_mm, likely [mm]; u_mm, its standard uncertainty [mm]; tolerance_mm [mm].
    Returns: truth.
    Raises: nothing.
    Source: ``sources_trim.NEAR_U``.
    """
    return np.asarray(np.abs(np.abs(value_mm) - tolerance_mm) < NEAR_U * u_mm)
