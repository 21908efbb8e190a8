"""What each seat of a panel carries, by the way the panel hangs.

Method: hangers as in ``statics``; a wire's hooks by ``rope``, alike by symmetry; a cleat's screws
by ``cleat`` as one bolt row; four stand-offs by ``hanging``, the upper ones pulled, the lower ones
pressed. In every method a panel leans on the wall below its seats, so pull = load * e / h with e
from the wall to the centre of gravity; what differs is who shares it.

Source: those modules, each with its own.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import hypot, inf

from holdtrue.core.cleat import cleat_screws
from holdtrue.core.errors import CoreError
from holdtrue.core.hanging import Alone, StandoffLoads, Standoffs, alone, standoff_loads
from holdtrue.core.model import Fastener, Panel, WireSpec
from holdtrue.core.rope import Wire, WireHang, hang_on_wire
from holdtrue.core.statics import hanger_loads_N, weight_N

Fasteners = Sequence[Fastener | None]

POSTS = 4
"""[-] Stand-offs of one panel, one near each corner."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SeatLoads:
    """Down (negative: lifts), off the wall, and sideways on one fastener [N]."""

    down_N: float
    pull_N: float
    side_N: float = 0.0


def centre_out_mm(panel: Panel, standoff_mm: float) -> float:
    """How far from the wall a panel's centre of gravity is: e = depth to it + standoff.

    Parameters: panel, its depth or entered depth of the centre [mm]; standoff_mm [mm].
    Returns: e [mm].
    Raises: nothing.
    Source: geometry; half the depth where nothing else is given.

    >>> from holdtrue.core.model import Hanger
    >>> centre_out_mm(Panel(name="A", width_mm=500.0, height_mm=700.0, depth_mm=40.0, mass_kg=5.0,
    ...     hangers=(Hanger(u_mm=0.0, v_mm=300.0),)), 5.0)
    25.0
    """
    depth_mm = panel.depth_mm / 2 if panel.centre_depth_mm is None else panel.centre_depth_mm
    return depth_mm + standoff_mm


def safe_factor(panel: Panel) -> float:
    """How much more than the estimated weight is counted: (m + 2 u)/m.

    Parameters: panel; mass_kg [kg], > 0, mass_u_kg [kg], >= 0, 0 for a weighed panel.
    Returns: factor [-], >= 1.
    Raises: nothing.
    Source: two standard uncertainties, about 95 % (GUM G.1.3); counting the upper end for every
    check is our choice, on the safe side.

    >>> from holdtrue.core.model import Hanger
    >>> safe_factor(Panel(name="A", width_mm=500.0, height_mm=700.0, depth_mm=40.0, mass_kg=10.0,
    ...     mass_u_kg=0.5, hangers=(Hanger(u_mm=0.0, v_mm=300.0),)))
    1.1
    """
    return (panel.mass_kg + 2.0 * panel.mass_u_kg) / panel.mass_kg


def seat_loads(panel: Panel, fasteners: Fasteners) -> tuple[SeatLoads, ...]:
    """Loads of every seat of a panel, by its hanging method.

    Parameters: panel; fasteners, one per seat (None where none is chosen: standoff 0) [mm, N].
    Returns: SeatLoads [N], one per seat, from the estimated or weighed mass.
    Raises: CoreError when the method's own numbers cannot carry the panel.
    Source: module head.
    """
    method = panel.hang.method
    if method == "wire":
        return _wire_loads(panel, fasteners)
    if method == "cleat":
        return _cleat_loads(panel, fasteners)
    if method == "standoff":
        return _post_loads(panel, fasteners)
    return tuple(
        SeatLoads(down_N=down, pull_N=pull) for down, pull in hanger_loads_N(panel, fasteners)
    )


def wire_hang(panel: Panel, spec: WireSpec) -> WireHang:
    """How the panel hangs on its wire: tension, angle, inward pull, rise.

    A rise measured under load counts as it is, without further stretch.

    Parameters: panel, its mass [kg]; spec, lengths [mm], with a length or a rise.
    Returns: WireHang [N], [deg], [mm].
    Raises: CoreError, as ``rope.hang_on_wire``.
    Source: ``rope``.
    """
    return _hang_on(weight_N(panel.mass_kg), spec)


def wire_rise_mm(mass_kg: float, spec: WireSpec) -> float:
    """How far a wire's hooks stand above its rings under load.

    Parameters: mass_kg, of the panel [kg], > 0; spec, lengths [mm].
    Returns: rise [mm].
    Raises: CoreError, as ``rope.hang_on_wire``.
    Source: ``rope``; measured where it was measured.
    """
    return spec.rise_mm if spec.rise_mm is not None else _hang_on(weight_N(mass_kg), spec).rise_mm


def posts_of(panel: Panel, fasteners: Fasteners) -> tuple[StandoffLoads, StandoffLoads]:
    """Worst loads of a left and of a right stand-off.

    Parameters: panel on four stand-offs [mm]; fasteners, one per seat; the largest standoff of them
    counts [mm].
    Returns: left, right StandoffLoads [N], [N mm].
    Raises: CoreError when the centre of gravity lies outside the stand-offs.
    Source: ``hanging.standoff_loads``.
    """
    left, right, low, high = _corners(panel)
    out_mm = _largest_mm(fasteners)
    return standoff_loads(
        weight_N(panel.mass_kg),
        Standoffs(
            across_mm=right - left,
            up_mm=high - low,
            cg_from_left_mm=panel.cg_u_mm - left,
            out_mm=centre_out_mm(panel, out_mm),
            post_mm=out_mm,
        ),
    )


def left_alone(panel: Panel, seat: int, fastener: Fastener | None) -> Alone:
    """The one-fastener check: what a seat's fastener carries when all others of its panel let go.

    Parameters: panel; seat, index of its hanger; fastener there, its standoff [mm].
    Returns: Alone [N], [deg]; on a wire, a slack one no longer counts and the hook holds it all.
    Raises: CoreError when no seat of the panel is above its lower edge.
    Source: ``hanging.alone``.
    """
    hanger = panel.hangers[seat]
    up_mm = hanger.v_mm + panel.height_mm / 2
    return alone(
        weight_N(panel.mass_kg),
        cg_right_mm=panel.cg_u_mm - hanger.u_mm,
        cg_below_mm=hanger.v_mm - panel.cg_v_mm,
        out_mm=centre_out_mm(panel, fastener.standoff_mm if fastener else 0.0),
        # a seat at the very lower edge has no arm of its own: the mean height, as for all together
        h_mm=up_mm if up_mm > 0 else _seats_up_mm(panel),
    )


def _hang_on(weight: float, spec: WireSpec) -> WireHang:
    (u0, _), (u1, _) = spec.rings_mm
    rings_mm = u1 - u0
    if spec.rise_mm is not None:
        slope_mm = hypot((rings_mm - spec.hooks_mm) / 2.0, spec.rise_mm)
        length_mm, stiffness_N = spec.hooks_mm + 2.0 * slope_mm, inf
    elif spec.length_mm is not None:
        length_mm, stiffness_N = spec.length_mm, spec.stiffness_N or inf
    else:
        raise CoreError("wire", None, "give its length, or its rise under load")
    wire = Wire(
        rings_mm=rings_mm, length_mm=length_mm, hooks_mm=spec.hooks_mm, stiffness_N=stiffness_N
    )
    return hang_on_wire(wire, weight)


def _wire_loads(panel: Panel, fasteners: Fasteners) -> tuple[SeatLoads, ...]:
    if panel.hang.wire is None:
        raise CoreError("wire", panel.name, "give its length, or its rise under load")
    hang = wire_hang(panel, panel.hang.wire)
    # the wire holds the panel at its rings, so they are what the lean is measured up to
    h_mm = sum(v for _, v in panel.hang.wire.rings_mm) / 2 + panel.height_mm / 2
    if h_mm <= 0:
        raise CoreError("rings", h_mm, f"must stand above the bottom edge of panel {panel.name}")
    return tuple(
        SeatLoads(
            down_N=hang.hook_down_N,
            pull_N=hang.hook_down_N * centre_out_mm(panel, f.standoff_mm if f else 0.0) / h_mm,
            side_N=hang.hook_inward_N,
        )
        for f in fasteners
    )


def _cleat_loads(panel: Panel, fasteners: Fasteners) -> tuple[SeatLoads, ...]:
    spec = panel.hang.cleat
    if spec is None:
        raise CoreError("cleat", panel.name, "give its screws' height above its lower edge")
    standoff_mm = _largest_mm(fasteners)
    weight = weight_N(panel.mass_kg)
    loads = cleat_screws(
        weight,
        load_x_mm=panel.cg_u_mm,
        screws_x_mm=[h.u_mm for h in panel.hangers],
        lean_N=weight * centre_out_mm(panel, standoff_mm) / _seats_up_mm(panel),
        bearing_out_mm=standoff_mm if spec.out_mm is None else spec.out_mm,
        screws_up_mm=spec.screws_up_mm,
    )
    return tuple(
        SeatLoads(down_N=down, pull_N=pull)
        for down, pull in zip(loads.down_N, loads.pull_N, strict=True)
    )


def _post_loads(panel: Panel, fasteners: Fasteners) -> tuple[SeatLoads, ...]:
    left, right = posts_of(panel, fasteners)
    middle_u = sum(h.u_mm for h in panel.hangers) / POSTS
    middle_v = sum(h.v_mm for h in panel.hangers) / POSTS
    loads = []
    for hanger in panel.hangers:
        side = left if hanger.u_mm < middle_u else right
        # the lower ones are pressed on the wall, not pulled off it
        pull_N = side.top_pull_N if hanger.v_mm > middle_v else 0.0
        loads.append(SeatLoads(down_N=side.down_N, pull_N=pull_N))
    return tuple(loads)


def _corners(panel: Panel) -> tuple[float, float, float, float]:
    """Left, right, low and high of four stand-offs, each the mean of its two."""
    if len(panel.hangers) != POSTS:
        raise CoreError("stand-offs", len(panel.hangers), "give four, one near each corner")
    across = sorted(h.u_mm for h in panel.hangers)
    up = sorted(h.v_mm for h in panel.hangers)
    return (
        (across[0] + across[1]) / 2,
        (across[2] + across[3]) / 2,
        (up[0] + up[1]) / 2,
        (up[2] + up[3]) / 2,
    )


def _largest_mm(fasteners: Fasteners) -> float:
    return max((f.standoff_mm for f in fasteners if f is not None), default=0.0)


def _seats_up_mm(panel: Panel) -> float:
    """Mean height of the seats above the panel's lower edge."""
    h_mm = sum(h.v_mm for h in panel.hangers) / len(panel.hangers) + panel.height_mm / 2
    if h_mm <= 0:
        raise CoreError(
            "hangers", h_mm, f"the seats of panel {panel.name} must bear above its bottom edge"
        )
    return h_mm
