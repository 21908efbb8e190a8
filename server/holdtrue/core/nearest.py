"""How near steps of any size, not only whole ones, come to their limits, and what bars them.

Method: criteria r = now + effect x are to end within +-limit, with every x between its ends. The
sum of squares of what lies beyond is convex and quadratic in pieces; projected Newton steps bring
it down: those criteria that are beyond, those steps that are not held at an end. Where it does not
come to 0, what is left beyond is the normal of a plane that parts all that can be done from the
limits: the criteria weighted by it and added make one criterion that is outside by itself.

Whatever its weights, such a sum must stay within its weights' sum of limits wherever its criteria
do. So what is proven by it does not rest on the steps that found it.

Source: D. P. Bertsekas, SIAM J. Control Optim. 20 (1982) 221-246; nearest point of a convex set and
separating plane, S. Boyd, L. Vandenberghe, Convex Optimization (2004), 2.5.1 (both from memory).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from holdtrue.core.quality import Vector

_INSIDE = 1e-20
"""[-] Sum of squares beyond the limits that is none."""
_FLAT = 1e-12
_MOST_STEPS = 60
_HALVINGS = 12
_FALLS = 1e-10
"""[-] Least share by which a step must bring the sum down."""


def nearest_steps(
    now: Vector,
    effect: Vector,
    *,
    limit: float,
    lowest: Vector,
    highest: Vector,
    start: Vector | None = None,
) -> tuple[Vector, Vector | None]:
    """Steps between their ends that leave the least beyond the limits.

    Parameters: now, criteria [-], shape (m,); effect of one step [-], shape (m, M); limit of all
    criteria [-], > 0; lowest, highest steps [-], shape (M,); start, steps to begin from [-].
    Returns: steps [-], shape (M,); None where all criteria are within limits, else what is beyond
    as weights of the criteria [-], shape (m,), their absolute values adding up to 1.
    Raises: nothing.
    Source: module head.
    """
    x = np.clip(np.zeros(len(lowest)) if start is None else start, lowest, highest)
    beyond, loss = _beyond(now + effect @ x, limit)
    for _ in range(_MOST_STEPS):
        if loss <= _INSIDE:
            return x, None
        slope = effect.T @ beyond
        free = ~(((x <= lowest) & (slope > 0)) | ((x >= highest) & (slope < 0)))
        if not np.any(np.abs(slope[free]) > _FLAT):
            break
        for way in (_newton(effect, beyond, free), -slope / max(_FLAT, float(np.sum(effect**2)))):
            found = _fallen(now, effect, limit, x, way, lowest, highest, loss)
            if found is not None:
                break
        if found is None:
            break
        x, beyond, loss = found
    return (x, None) if loss <= _INSIDE else (x, beyond / np.sum(np.abs(beyond)))


def _beyond(values: Vector, limit: float) -> tuple[Vector, float]:
    """What lies beyond the limits, with its sign, and its sum of squares."""
    beyond = np.sign(values) * np.maximum(np.abs(values) - limit, 0.0)
    return beyond, float(beyond @ beyond)


def _newton(effect: Vector, beyond: Vector, free: NDArray[np.bool_]) -> Vector:
    """The step that brings all that is beyond to its limit, as near as the free steps can."""
    step = np.zeros(effect.shape[1])
    out = beyond != 0
    step[free] = -np.linalg.lstsq(effect[np.ix_(out, free)], beyond[out], rcond=None)[0]
    return step


def _fallen(
    now: Vector,
    effect: Vector,
    limit: float,
    x: Vector,
    way: Vector,
    lowest: Vector,
    highest: Vector,
    loss: float,
) -> tuple[Vector, Vector, float] | None:
    """The first of ever shorter steps that brings the sum down."""
    for _ in range(_HALVINGS):
        moved = np.clip(x + way, lowest, highest)
        beyond, after = _beyond(now + effect @ moved, limit)
        if after < loss * (1.0 - _FALLS):
            return moved, beyond, after
        way = way / 2.0
    return None
