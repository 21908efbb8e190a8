"""Tension in hanging wires and lifting slings.

Method: a wire over one or two hooks runs freely, so its tension T is the same all along. The panel
hangs level when its centre of gravity is plumb below the middle of the hooks; each ring then
carries half the weight: T sin(a) = P/2, a the angle of the wire to horizontal. A stretching wire,
length L0 (1 + T/EA), gets steeper; the tension at which both agree is found by halving an interval,
in which there is exactly one (a longer wire hangs steeper and so under less tension).

Source: statics of two concurrent forces, OpenStax University Physics vol. 1 ch. 5 and 12; sling
factors 1/sin(angle from horizontal), rigging practice.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import asin, cos, degrees, inf, isinf, radians, sin, sqrt

from holdtrue.core.errors import CoreError
from holdtrue.core.ranges import above_zero, in_range
from holdtrue.core.sources_hanging import ANGLE_MIN_DEG, NEAR_VERTICAL_DEG, PLUMB_DEG, RIGID_LEGS

HALVINGS = 200
"""[-] Halves any interval of doubles down to two neighbours. Our choice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wire:
    """A wire from ring to ring over one or two hooks at one height.

    ``length_mm``: from ring to ring, unloaded. ``hooks_mm``: between the two hooks, 0 for one.
    ``stiffness_N``: force per unit of strain (EA) from a pull test or the maker; infinite: none.
    """

    rings_mm: float
    length_mm: float
    hooks_mm: float = 0.0
    stiffness_N: float = inf


@dataclass(frozen=True, slots=True, kw_only=True)
class WireHang:
    """A loaded wire: ``rise_mm`` is how high the hooks are above the rings, ``sag_mm`` how much of
    that the load's stretch added (the panel hangs lower by it), ``ring_inward_N`` the pull of each
    ring towards the middle, ``hook_*`` the load of each hook, sideways towards the other hook."""

    tension_N: float
    angle_deg: float
    ring_inward_N: float
    hook_down_N: float
    hook_inward_N: float
    rise_mm: float
    sag_mm: float

    @property
    def is_too_flat(self) -> bool:
        """Whether the wire is flatter than recommended."""
        # a hair below, so that exactly 30 degrees is not flatter by a rounding error
        return self.angle_deg < ANGLE_MIN_DEG - 1e-9


def two_wire_tensions_N(
    weight_N: float, *, left_deg: float, right_deg: float
) -> tuple[float, float]:
    """Tensions of two separate wires that meet at a weight.

    T1 = P cos(b) / sin(a + b), T2 = P cos(a) / sin(a + b).

    Parameters: weight_N [N], >= 0; left_deg, a, right_deg, b, from horizontal [deg], above 0 to 90,
    not both 90.
    Returns: left, right tension [N].
    Raises: CoreError outside those ranges.
    Source: module head.

    >>> [round(t) for t in two_wire_tensions_N(15.0 * 9.8, left_deg=30.0, right_deg=45.0)]
    [108, 132]
    """
    in_range("weight", weight_N, unit="N")
    a, b = (radians(_angle(angle)) for angle in (left_deg, right_deg))
    if left_deg + right_deg >= 2.0 * PLUMB_DEG:
        raise CoreError("angles", (left_deg, right_deg), "two plumb wires share by their distances")
    return weight_N * cos(b) / sin(a + b), weight_N * cos(a) / sin(a + b)


def hang_on_wire(wire: Wire, weight_N: float) -> WireHang:
    """How a panel hangs on its wire: tension, inward pull, angle, sag under load.

    With s = (rings - hooks)/2 and slope length l = (L0 (1 + T/EA) - hooks)/2:
    sin(a) = sqrt(l^2 - s^2)/l and T = P/(2 sin(a)); hook: P/2 down (P for one hook) and
    T (1 - cos(a)) inward (0 for one hook); rise = sqrt(l^2 - s^2).

    Parameters: wire, lengths [mm], rings > hooks >= 0, stiffness [N] > 0; weight_N [N], > 0.
    Returns: WireHang [N], [deg], [mm]; the centre of gravity plumb below the hooks' middle.
    Raises: CoreError outside those ranges; when a wire that does not stretch is not longer than the
    rings are apart.
    Source: module head; the stretch by Hooke's law.

    >>> hang = hang_on_wire(Wire(rings_mm=600.0, length_mm=1000.0), 160.0)
    >>> round(hang.tension_N), round(hang.ring_inward_N), round(hang.rise_mm), hang.is_too_flat
    (100, 60, 400, False)
    """
    above_zero("weight", weight_N, unit="N")
    _check_wire(wire)
    tension_N = _tension_N(wire, weight_N)
    run_mm, slope_mm, rise_mm = _triangle(wire, tension_N)
    cosine = run_mm / slope_mm
    angle_deg = degrees(asin(rise_mm / slope_mm))
    # of the two neighbours the search ends at; exactly what carries the weight at this angle
    tension_N, _ = two_wire_tensions_N(weight_N, left_deg=angle_deg, right_deg=angle_deg)
    is_one_hook = wire.hooks_mm == 0.0
    return WireHang(
        tension_N=tension_N,
        angle_deg=angle_deg,
        ring_inward_N=tension_N * cosine,
        hook_down_N=weight_N if is_one_hook else weight_N / 2.0,
        hook_inward_N=0.0 if is_one_hook else tension_N * (1.0 - cosine),
        rise_mm=rise_mm,
        sag_mm=rise_mm - _triangle(wire, 0.0)[2],
    )


def sling_factor(angle_deg: float) -> float:
    """Tension of a leg per share of load: 1 / sin(angle).

    Parameters: angle_deg, from horizontal [deg], above 0 to 90.
    Returns: factor [-], >= 1.
    Raises: CoreError outside that range.
    Source: rigging charts; printed ones hold 1.104 (65), 1.555 (40) and 1.742 (35 degrees), 0.001
    off the exact values.

    >>> round(sling_factor(60.0), 3)
    1.155
    """
    return 1.0 / sin(radians(_angle(angle_deg)))


def sling_leg_N(load_N: float, *, legs: int, angle_deg: float) -> float:
    """Tension of each leg that counts: load / counted legs / sin(angle).

    Of a rigid load at most two legs count, however many there are. Within 5 degrees of vertical the
    leg counts as vertical.

    Parameters: load_N [N], >= 0; legs [-], >= 1; angle_deg, from horizontal [deg], above 0 to 90.
    Returns: tension [N].
    Raises: CoreError outside those ranges.
    Source: rigging practice; NAVEDTRA 14081 p. 13-28 (two legs); OSHA 1910.184(b) (vertical).

    >>> round(sling_leg_N(10000.0, legs=4, angle_deg=30.0))
    10000
    """
    in_range("load", load_N, unit="N")
    if legs < 1:
        raise CoreError("legs", legs, "give at least 1")
    factor = 1.0 if _angle(angle_deg) >= NEAR_VERTICAL_DEG else sling_factor(angle_deg)
    return load_N / min(legs, RIGID_LEGS) * factor


def _angle(angle_deg: float) -> float:
    above_zero("angle from horizontal", angle_deg, unit="degrees")
    return in_range("angle from horizontal", angle_deg, high=PLUMB_DEG, unit="degrees")


def _check_wire(wire: Wire) -> None:
    above_zero("rings", wire.rings_mm, unit="mm")
    above_zero("wire length", wire.length_mm, unit="mm")
    in_range("hooks", wire.hooks_mm, unit="mm")
    if wire.hooks_mm >= min(wire.rings_mm, wire.length_mm):
        raise CoreError("hooks", wire.hooks_mm, "give less than the rings' distance and the wire")
    if not isinf(wire.stiffness_N):
        above_zero("wire stiffness", wire.stiffness_N, unit="N")
    # a wire hardly longer than that has no rise left in doubles, and no tension carries the panel
    elif wire.length_mm <= wire.rings_mm or _triangle(wire, 0.0)[2] == 0.0:
        raise CoreError(
            "wire length", wire.length_mm, f"give more than {wire.rings_mm:g} mm, ring to ring"
        )


def _triangle(wire: Wire, tension_N: float) -> tuple[float, float, float]:
    """Run, slope length and rise of one end of the wire under tension [mm]; rise 0 while slack is
    missing."""
    run_mm = (wire.rings_mm - wire.hooks_mm) / 2.0
    stretched_mm = wire.length_mm * (1.0 + tension_N / wire.stiffness_N)
    slope_mm = (stretched_mm - wire.hooks_mm) / 2.0
    return run_mm, slope_mm, sqrt(max(0.0, slope_mm**2 - run_mm**2))


def _tension_N(wire: Wire, weight_N: float) -> float:
    def is_enough(tension_N: float) -> bool:
        _, slope_mm, rise_mm = _triangle(wire, tension_N)
        return 2.0 * tension_N * rise_mm >= weight_N * slope_mm

    low_N, high_N = weight_N / 2.0, weight_N
    while not is_enough(high_N):
        high_N *= 2.0
    for _ in range(HALVINGS):
        middle_N = (low_N + high_N) / 2.0
        if not low_N < middle_N < high_N:
            break
        low_N, high_N = (low_N, middle_N) if is_enough(middle_N) else (middle_N, high_N)
    return high_N
