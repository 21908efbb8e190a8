"""What the screws of a cleat carry, and the load along its rail.

Method: a cleat is a rigid rail on n screws in one row: each carries its share of the weight and,
for a centre of gravity beside the row's middle, a share of the moment in proportion to its distance
(an eccentrically loaded bolt group in one row). The load along the rail is linear and cannot pull.

Source: elastic bolt group and pressure without tension, mechanics textbooks (from memory); both
follow from equilibrium, OpenStax University Physics vol. 1 ch. 12, and a rigid rail.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import hypot

from holdtrue.core.errors import CoreError
from holdtrue.core.ranges import above_zero, finite, in_range
from holdtrue.core.sources_hanging import MIDDLE_SHARE, UNDER_LOAD_MM


@dataclass(frozen=True, slots=True, kw_only=True)
class ScrewLoads:
    """Down (negative: up) and off the wall, per screw in the order given [N]."""

    down_N: tuple[float, ...]
    pull_N: tuple[float, ...]

    @property
    def worst(self) -> int:
        """Index of the screw with the largest resultant."""
        both = [hypot(d, p) for d, p in zip(self.down_N, self.pull_N, strict=True)]
        return both.index(max(both))


@dataclass(frozen=True, slots=True, kw_only=True)
class LineLoad:
    """Load per length at a rail's left and right end, and the length that bears."""

    left_N_per_mm: float
    right_N_per_mm: float
    bearing_mm: float


def bolt_row_N(
    weight_N: float, *, load_x_mm: float, screws_x_mm: Sequence[float]
) -> tuple[float, ...]:
    """Vertical load of each screw of one row under a load beside its middle.

    R_i = P/n + P (x_load - mean x) (x_i - mean x) / sum((x - mean x)^2).

    Parameters: weight_N [N], >= 0; load_x_mm [mm], finite; screws_x_mm [mm], shape
    (n,), n >= 1, all different; one screw only under the load itself (within 0.001 mm).
    Returns: loads [N], shape (n,), downwards; negative lifts.
    Raises: CoreError outside those ranges.
    Source: elastic bolt group, module head; for n = 2 it is the lever rule.

    >>> bolt_row_N(100.0, load_x_mm=130.0, screws_x_mm=(0.0, 250.0))
    (48.0, 52.0)
    """
    in_range("weight", weight_N, unit="N")
    finite("load", load_x_mm, unit="mm")
    for x in screws_x_mm:
        finite("screw", x, unit="mm")
    count = len(screws_x_mm)
    if count == 0 or len(set(screws_x_mm)) < count:
        raise CoreError("screws", tuple(screws_x_mm), "give at least one, all at different places")
    middle_mm = sum(screws_x_mm) / count
    arm_mm = load_x_mm - middle_mm
    if count == 1:
        if abs(arm_mm) > UNDER_LOAD_MM:
            raise CoreError("load", load_x_mm, "one screw holds no load beside it: give two")
        return (weight_N,)
    spread_mm2 = sum((x - middle_mm) ** 2 for x in screws_x_mm)
    return tuple(
        weight_N / count + weight_N * arm_mm * (x - middle_mm) / spread_mm2 for x in screws_x_mm
    )


def cleat_screws(
    weight_N: float,
    *,
    load_x_mm: float,
    screws_x_mm: Sequence[float],
    lean_N: float,
    bearing_out_mm: float = 0.0,
    screws_up_mm: float = 0.0,
) -> ScrewLoads:
    """Loads of the screws of a cleat: its share of the weight, the lean, the cleat's own lever.

    down_i as ``bolt_row_N``; pull_i = |down_i|/P (H + P c/d): H the lean of the whole panel
    (P e/h), c how far from the wall the cleat bears, d the screws' height above its lower edge,
    about which it would tip.

    Parameters: weight_N [N], > 0; load_x_mm, screws_x_mm [mm] as in ``bolt_row_N``; lean_N, H [N],
    >= 0; bearing_out_mm, c, and screws_up_mm, d [mm], >= 0, d above 0 when c is.
    Returns: ScrewLoads [N], shape (n,) each.
    Raises: CoreError outside those ranges.
    Source: module head; the pull shared like the weight is our choice: the screw that carries most
    is also pulled most.

    >>> cleat_screws(100.0, load_x_mm=0.0, screws_x_mm=(-200.0, 0.0, 200.0), lean_N=6.0).pull_N
    (2.0, 2.0, 2.0)
    """
    above_zero("weight", weight_N, unit="N")
    in_range("lean", lean_N, unit="N")
    in_range("bearing", bearing_out_mm, unit="mm")
    in_range("screws", screws_up_mm, unit="mm")
    if bearing_out_mm > 0 and screws_up_mm == 0:
        raise CoreError("screws", screws_up_mm, "give their height above the cleat's lower edge")
    lever_N = weight_N * bearing_out_mm / screws_up_mm if bearing_out_mm > 0 else 0.0
    down = bolt_row_N(weight_N, load_x_mm=load_x_mm, screws_x_mm=screws_x_mm)
    return ScrewLoads(
        down_N=down, pull_N=tuple(abs(d) / weight_N * (lean_N + lever_N) for d in down)
    )


def line_load(weight_N: float, *, off_middle_mm: float, length_mm: float) -> LineLoad:
    """Load along a rail that presses and cannot pull.

    |e| <= l/6: q = P/l (1 -+ 6 e/l) at left and right. Beyond: a triangle over 3 (l/2 - |e|) from
    the nearer end, q = 2 P / that length.

    Parameters: weight_N [N], >= 0; off_middle_mm, e, of the load right of the rail's middle [mm];
    length_mm, l [mm], > 0; |e| < l/2.
    Returns: LineLoad [N/mm], [mm].
    Raises: CoreError outside those ranges: the load lies beside the rail.
    Source: linear pressure without tension, textbook statics (from memory).

    >>> line_load(120.0, off_middle_mm=10.0, length_mm=120.0)
    LineLoad(left_N_per_mm=0.5, right_N_per_mm=1.5, bearing_mm=120.0)
    """
    in_range("weight", weight_N, unit="N")
    above_zero("rail length", length_mm, unit="mm")
    half_mm = length_mm / 2.0
    in_range("load off the rail's middle", off_middle_mm, low=-half_mm, high=half_mm, unit="mm")
    to_end_mm = half_mm - abs(off_middle_mm)
    if to_end_mm == 0:
        raise CoreError(
            "load off the rail's middle", off_middle_mm, "the load must lie on the rail"
        )
    mean = weight_N / length_mm
    if abs(off_middle_mm) <= MIDDLE_SHARE * length_mm:
        tilt = mean * off_middle_mm / (MIDDLE_SHARE * length_mm)
        return LineLoad(left_N_per_mm=mean - tilt, right_N_per_mm=mean + tilt, bearing_mm=length_mm)
    bearing_mm = 3.0 * to_end_mm
    peak = 2.0 * weight_N / bearing_mm
    is_right = off_middle_mm > 0
    return LineLoad(
        left_N_per_mm=0.0 if is_right else peak,
        right_N_per_mm=peak if is_right else 0.0,
        bearing_mm=bearing_mm,
    )
