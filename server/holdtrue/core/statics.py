"""What each hanger carries: vertical load and pull off the wall.

Method: moments about the centre of gravity for two hangers. Three or more: a rigid panel may rest
on any two of them (the other strings slack), so each hanger carries the worst over all pairs that
bracket the centre of gravity. A panel hung away from the wall is held at the top by its fasteners
and leans on the wall at its bottom edge: pull = vertical load * e / h.

Sources: moments, OpenStax University Physics vol. 1, ch. 12 (static equilibrium); two of four legs
of a rigid load may carry all of it, NAVEDTRA 14081 p. 13-28.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

from holdtrue.core.errors import CoreError
from holdtrue.core.model import Fastener, Panel
from holdtrue.core.sources import STANDARD_GRAVITY


def weight_N(mass_kg: float) -> float:
    """Weight of a mass: P = m g.

    Parameters: mass_kg [kg], >= 0.
    Returns: weight [N].
    Raises: nothing.
    Source: standard gravity, see ``sources.STANDARD_GRAVITY``.
    """
    return mass_kg * STANDARD_GRAVITY


def reactions_N(u_mm: Sequence[float], cg_u_mm: float, weight: float) -> tuple[float, ...]:
    """Vertical load of each hanger, worst case.

    Equation, for a pair i, j with u_i <= cg <= u_j: R_i = P (u_j - cg)/(u_j - u_i),
    R_j = P (cg - u_i)/(u_j - u_i). Each hanger: the largest over all such pairs; alone: P.

    Parameters: u_mm [mm], shape (n,), n >= 1, increasing; cg_u_mm [mm], between the outermost
    (any value for n = 1); weight [N], >= 0.
    Returns: loads [N], shape (n,); for n = 2 they add up to the weight, for n >= 3 to more.
    Raises: CoreError when the centre of gravity is outside the outermost hangers.
    Source: module head.

    >>> reactions_N((-1.3, 1.2), 0.0, 100.0)
    (48.0, 52.0)
    """
    if len(u_mm) == 1:
        return (weight,)
    if not u_mm[0] - 1e-9 <= cg_u_mm <= u_mm[-1] + 1e-9:
        raise CoreError(
            "centre of gravity",
            cg_u_mm,
            f"must lie between the outermost hangers, {u_mm[0]:g} to {u_mm[-1]:g} mm "
            "from the panel's centre",
        )
    worst = [0.0] * len(u_mm)
    for i, j in combinations(range(len(u_mm)), 2):
        if u_mm[i] <= cg_u_mm + 1e-9 and cg_u_mm - 1e-9 <= u_mm[j] and u_mm[i] < u_mm[j]:
            span = u_mm[j] - u_mm[i]
            worst[i] = max(worst[i], weight * (u_mm[j] - cg_u_mm) / span)
            worst[j] = max(worst[j], weight * (cg_u_mm - u_mm[i]) / span)
    return tuple(worst)


def hanger_loads_N(
    panel: Panel, fasteners: Sequence[Fastener | None]
) -> tuple[tuple[float, float], ...]:
    """Vertical load and pull of each hanger of a panel.

    Equation: pull = load * e / h; e = D/2 + standoff (or the entered depth of the centre of
    gravity + standoff); h = mean height of the seats above the panel's bottom edge.

    Parameters: panel; fasteners, one per hanger (None where none is chosen: standoff 0).
    Returns: (load, pull) [N] per hanger, shape (n, 2).
    Raises: CoreError when the centre of gravity is outside the hangers, or when the seats are not
    above the bottom edge.
    Source: module head.
    """
    loads = reactions_N([h.u_mm for h in panel.hangers], panel.cg_u_mm, weight_N(panel.mass_kg))
    h_mm = sum(h.v_mm for h in panel.hangers) / len(panel.hangers) + panel.height_mm / 2
    if h_mm <= 0:
        raise CoreError(
            "hangers", h_mm, f"the hangers of panel {panel.name} must bear above its bottom edge"
        )
    depth_mm = panel.depth_mm / 2 if panel.centre_depth_mm is None else panel.centre_depth_mm
    return tuple(
        (load, load * (depth_mm + (f.standoff_mm if f else 0.0)) / h_mm)
        for load, f in zip(loads, fasteners, strict=True)
    )
