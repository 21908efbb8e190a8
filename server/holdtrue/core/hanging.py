"""What four stand-offs and fasteners of mixed kinds carry, and one fastener left alone.

Method: static equilibrium throughout. Four stand-offs hold a panel like a door on its hinges: the
upper pair is pulled by P e/a, the lower pair pressed; up and down, two of the four may carry all.
Wires are in module ``rope``, cleats in ``cleat``.

Source: OpenStax University Physics vol. 1 ch. 12 (equilibrium; the swinging door); two of four legs
of a rigid load, NAVEDTRA 14081 p. 13-28.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import atan2, degrees, hypot

from holdtrue.core.errors import CoreError
from holdtrue.core.ranges import above_zero, finite, in_range
from holdtrue.core.statics import reactions_N


@dataclass(frozen=True, slots=True, kw_only=True)
class Standoffs:
    """Four posts; centre of gravity from their left and lower pair.

    ``out_mm``: from the wall to the panel's centre of gravity; ``post_mm``: from the wall to where
    a post bears.
    """

    across_mm: float
    up_mm: float
    cg_from_left_mm: float
    out_mm: float
    post_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class StandoffLoads:
    """Worst loads of one post: ``top_pull_N`` acts at the upper posts, the same presses the lower
    ones on the wall; ``bending_Nmm`` is at the wall."""

    down_N: float
    top_pull_N: float
    bending_Nmm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Alone:
    """One fastener after all others let go.

    ``down_N`` and ``pull_N``: at rest. ``swing_Nmm``: moment that turns the panel round it at the
    moment the others go. ``swing_deg``: how far it turns until it hangs at rest.
    ``peak_N``: at most this much along the way.
    """

    down_N: float
    pull_N: float
    swing_Nmm: float
    swing_deg: float
    peak_N: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Twist:
    """A panel on fasteners of different standoffs: its left and right edge out from its middle
    [mm], its turn [mm/mm], and what to put behind each fastener at the wall to even them [mm]."""

    turn: float
    left_mm: float
    right_mm: float
    shims_mm: tuple[float, ...]


def door_pull_N(weight_N: float, *, out_mm: float, up_mm: float) -> float:
    """Pull at the upper of two fixings one above the other, press at the lower: H = P e / a.

    Parameters: weight_N [N], >= 0; out_mm, e, of the centre of gravity from the fixings' line [mm],
    >= 0; up_mm, a, between the fixings [mm], > 0.
    Returns: pull [N].
    Raises: CoreError outside those ranges.
    Source: OpenStax University Physics vol. 1 ch. 12, the swinging door.

    >>> door_pull_N(400.0, out_mm=500.0, up_mm=2000.0)
    100.0
    """
    in_range("weight", weight_N, unit="N")
    return weight_N * in_range("out", out_mm, unit="mm") / above_zero("height", up_mm, unit="mm")


def standoff_loads(weight_N: float, posts: Standoffs) -> tuple[StandoffLoads, StandoffLoads]:
    """Worst loads of a left and of a right post of four.

    Left: R = P (b - c)/b down, pull R e/a, bending R s at the wall; right: R = P c/b. b across, a
    up, c of the centre of gravity from the left pair. Upper and lower may each carry all of R.

    Parameters: weight_N [N], >= 0; posts [mm], across and up > 0, 0 <= cg <= across, out and
    post >= 0.
    Returns: left, right StandoffLoads [N], [N mm].
    Raises: CoreError outside those ranges.
    Source: module head.

    >>> posts = Standoffs(across_mm=1000.0, up_mm=500.0, cg_from_left_mm=500.0, out_mm=40.0,
    ...     post_mm=25.0)
    >>> standoff_loads(100.0, posts)[0]
    StandoffLoads(down_N=50.0, top_pull_N=4.0, bending_Nmm=1250.0)
    """
    in_range("weight", weight_N, unit="N")
    above_zero("across", posts.across_mm, unit="mm")
    in_range("post", posts.post_mm, unit="mm")
    shares = reactions_N((0.0, posts.across_mm), posts.cg_from_left_mm, weight_N)
    left, right = (
        StandoffLoads(
            down_N=share,
            top_pull_N=door_pull_N(share, out_mm=posts.out_mm, up_mm=posts.up_mm),
            bending_Nmm=share * posts.post_mm,
        )
        for share in shares
    )
    return left, right


def alone(
    weight_N: float, *, cg_right_mm: float, cg_below_mm: float, out_mm: float, h_mm: float
) -> Alone:
    """What a fastener carries when every other one of its panel lets go.

    down = P, pull = P e/h, swing = P |u|; angle f = atan2(|u|, v) until the centre of gravity, u to
    the side and v below, hangs under it; peak <= P (3 - 2 cos f): falling from rest, energy gives
    m w^2 r = 2 P (1 - cos f) m r^2/I, and I >= m r^2.

    Parameters: weight_N [N], >= 0; cg_right_mm, u, cg_below_mm, v, of the centre of gravity
    from the fastener's seat (v negative: above) [mm]; out_mm, e, from the wall [mm], >= 0; h_mm, of
    the seat above the panel's lower edge [mm], > 0.
    Returns: Alone [N], [N mm], [deg], without shock, friction and what it hits on its way.
    Raises: CoreError outside those ranges.
    Source: statics and energy of a physical pendulum, OpenStax University Physics vol. 1 ch. 10,
    12 and 15.

    >>> gone = alone(100.0, cg_right_mm=300.0, cg_below_mm=300.0, out_mm=20.0, h_mm=500.0)
    >>> gone.down_N, gone.pull_N, gone.swing_Nmm, round(gone.swing_deg), round(gone.peak_N, 1)
    (100.0, 4.0, 30000.0, 45, 158.6)
    """
    in_range("weight", weight_N, unit="N")
    finite("centre of gravity", cg_right_mm, unit="mm")
    finite("centre of gravity", cg_below_mm, unit="mm")
    radius_mm = hypot(cg_right_mm, cg_below_mm)
    cosine = cg_below_mm / radius_mm if radius_mm > 0 else 1.0
    return Alone(
        down_N=weight_N,
        pull_N=door_pull_N(weight_N, out_mm=out_mm, up_mm=h_mm),
        swing_Nmm=weight_N * abs(cg_right_mm),
        swing_deg=degrees(atan2(abs(cg_right_mm), cg_below_mm)) if radius_mm > 0 else 0.0,
        peak_N=weight_N * (3.0 - 2.0 * cosine),
    )


def twist(*, u_mm: Sequence[float], standoffs_mm: Sequence[float], width_mm: float) -> Twist:
    """How a panel turns on fasteners of different standoffs, and how to even them at the wall.

    turn = slope of the least-squares line through standoff against u (two: their difference over
    their distance); edges: -+ turn width/2; shim_i = largest standoff - standoff_i.

    Parameters: u_mm, of the hangers from the panel's middle [mm], shape (n,), n >= 1, all
    different; standoffs_mm, of their fasteners [mm], >= 0, shape (n,); width_mm, of the panel [mm],
    > 0.
    Returns: Twist [mm].
    Raises: CoreError outside those ranges or for unequal counts.
    Source: geometry; least-squares line, GUM (JCGM 100:2008) H.3.

    >>> twist(u_mm=(-250.0, 250.0), standoffs_mm=(5.0, 10.0), width_mm=800.0)
    Twist(turn=0.01, left_mm=-4.0, right_mm=4.0, shims_mm=(5.0, 0.0))
    """
    count = len(u_mm)
    if count == 0 or len(standoffs_mm) != count or len(set(u_mm)) < count:
        raise CoreError("hangers", tuple(u_mm), "give each a place of its own and one standoff")
    for u, standoff_mm in zip(u_mm, standoffs_mm, strict=True):
        finite("hanger", u, unit="mm")
        in_range("standoff", standoff_mm, unit="mm")
    above_zero("width", width_mm, unit="mm")
    middle_mm = sum(u_mm) / count
    spread_mm2 = sum((u - middle_mm) ** 2 for u in u_mm)
    moment_mm2 = sum((u - middle_mm) * s for u, s in zip(u_mm, standoffs_mm, strict=True))
    turn = moment_mm2 / spread_mm2 if count > 1 else 0.0
    return Twist(
        turn=turn,
        left_mm=-turn * width_mm / 2.0,
        right_mm=turn * width_mm / 2.0,
        shims_mm=tuple(max(standoffs_mm) - s for s in standoffs_mm),
    )
