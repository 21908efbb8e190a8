"""What a panel's hanging method, its mass and its mixed fasteners ask for before release.

Source: the project's own rules; figures by ``hang_loads``, ``rope``, ``cleat`` and ``hanging``.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Literal

from holdtrue.core.cleat import line_load
from holdtrue.core.errors import CoreError
from holdtrue.core.hang_loads import posts_of, safe_factor, wire_hang
from holdtrue.core.hanging import Twist, twist
from holdtrue.core.masses import mass_text
from holdtrue.core.model import Fastener, Finding, Panel, PlannedSeat, WireSpec
from holdtrue.core.sources_hanging import ANGLE_MIN_DEG
from holdtrue.core.sources_wall import LEAN_MM, TWIST_MM
from holdtrue.core.statics import weight_N
from holdtrue.core.units import KG_PER

Say = Callable[[float], str]
Seats = Sequence[PlannedSeat]
Weight = Literal["note", "reason", "bar"]

NMM_PER_NM = 1000.0
"""[N mm / N m]"""
LEVEL_MM = 1.0
"""[mm] A wire's rings, or its centre of gravity beside their middle, nearer than this are even.
Our choice: a tape's reading."""


def method_findings(
    panel: Panel, seats: Seats, say: Say, *, mass_unit: str = "kg"
) -> list[Finding]:
    """Findings of one panel: its mass, how it hangs, mixed standoffs, lean.

    Parameters: panel [mm, kg]; its seats as planned [mm, N]; say, a length [mm] as this job's
    people read it; mass_unit, theirs for masses: kg or lb.
    Returns: findings; most name the panel's first seat.
    Raises: CoreError, as ``hang_loads``.
    Source: module head.
    """
    return [
        *_mass(panel, seats, mass_unit),
        *_of_method(panel, seats, say),
        *_twist(panel, seats, say),
        *_lean(panel, seats, say),
    ]


def _of_method(panel: Panel, seats: Seats, say: Say) -> list[Finding]:
    match panel.hang.method:
        case "wire":
            return _wire(panel, seats, say)
        case "cleat":
            return _cleat(panel, seats, say)
        case "standoff":
            return _standoff(panel, seats)
        case _:
            return []


def panel_lean_mm(panel: Panel, seats: Seats) -> float | None:
    """How much further from the wall a panel's top is than its lower edge: < 0 leans in.

    Method: the back is held at the standoff of its fasteners at seat height h, and at the bumper's
    thickness at the lower edge: lean = (standoff - bumper) * H / h.

    Parameters: panel, its bumper and height [mm]; its seats, standoffs [mm].
    Returns: lean over the whole height [mm]; None where no bumper is given, or the four corners
    hold it.
    Raises: nothing.
    Source: similar triangles.
    """
    up_mm = sum(h.v_mm for h in panel.hangers) / len(panel.hangers) + panel.height_mm / 2
    if panel.bumper_mm is None or panel.hang.method == "standoff" or up_mm <= 0:
        return None
    out_mm = sum(_standoffs(seats)) / len(seats)
    return (out_mm - panel.bumper_mm) * panel.height_mm / up_mm


def standoff_twist(panel: Panel, seats: Seats) -> Twist | None:
    """How fasteners of different standoffs turn a panel; None where they do not differ.

    Parameters: panel, its hangers and width [mm]; its seats, standoffs [mm].
    Returns: Twist [mm].
    Raises: nothing.
    Source: ``hanging.twist``; posts above each other count as one by their mean.
    """
    standoffs = _standoffs(seats)
    if max(standoffs) - min(standoffs) <= TWIST_MM:
        return None
    if panel.hang.method != "standoff":
        return twist(
            u_mm=[h.u_mm for h in panel.hangers],
            standoffs_mm=standoffs,
            width_mm=panel.width_mm,
        )
    # two posts above each other count as one: their means give the turn about the upright
    half = len(standoffs) // 2
    turned = twist(
        u_mm=[
            sum(h.u_mm for h in side) / half
            for side in (panel.hangers[:half], panel.hangers[half:])
        ],
        standoffs_mm=[sum(standoffs[:half]) / half, sum(standoffs[half:]) / half],
        width_mm=panel.width_mm,
    )
    return replace(turned, shims_mm=tuple(max(standoffs) - s for s in standoffs))


def _mass(panel: Panel, seats: Seats, unit: str) -> list[Finding]:
    if panel.mass_u_kg == 0:
        return []
    counted = panel.mass_kg * safe_factor(panel) / float(KG_PER[unit])
    text = (
        f"{panel.name}: its mass is estimated from layers, "
        f"{mass_text(panel.mass_kg, panel.mass_u_kg, unit)} (standard uncertainty); loads are "
        f"checked with {counted:.1f} {unit}, two of those more; weigh it to know"
    )
    return [_note("mass", seats, text)]


def _wire(panel: Panel, seats: Seats, say: Say) -> list[Finding]:
    spec = panel.hang.wire
    if spec is None:
        return []
    hang, safe = wire_hang(panel, spec), safe_factor(panel)
    tension_N = hang.tension_N * safe
    name = panel.name
    found = _wire_strength(spec, seats, name, tension_N)
    if spec.ring_capacity_N is not None and tension_N > spec.ring_capacity_N:
        text = (
            f"{name}: the wire pulls {tension_N:.1f} N on a ring, more than its "
            f"{spec.ring_capacity_N:.1f} N"
        )
        found.append(_finding("hanger overload", seats, "bar", text))
    if hang.is_too_flat:
        text = (
            f"{name}: the wire is only {hang.angle_deg:.0f} degrees from level; below "
            f"{ANGLE_MIN_DEG:.0f} is not recommended: a longer wire pulls less"
        )
        found.append(_note("flat wire", seats, text))
    text = (
        f"{name}: its wire pulls {tension_N:.1f} N and draws the rings inward by "
        f"{hang.ring_inward_N * safe:.1f} N each; the hooks stand {say(hang.rise_mm)} above the "
        "rings"
    )
    found.append(_note("wire", seats, text))
    text = f"{name}: a wire gives no precision: it slides, stretches and settles after hanging"
    found.append(_note("wire", seats, text))
    if spec.rise_mm is None and spec.stiffness_N is None:
        text = (
            f"{name}: how far its wire stretches is not known, so its hooks' height is not: hang "
            "it once and give the rise under load"
        )
        found.append(_note("not known", seats, text))
    (left_u, _), (right_u, _) = spec.rings_mm
    if abs((left_u + right_u) / 2 - panel.cg_u_mm) > LEVEL_MM:
        text = f"{name}: its centre of gravity is not below its wire's middle: it will hang crooked"
        found.append(_note("crooked", seats, text))
    return found


def _wire_strength(spec: WireSpec, seats: Seats, name: str, tension_N: float) -> list[Finding]:
    if spec.capacity_N is None or spec.allowed_N is None:
        text = f"{name}: what its wire may carry is not known; enter the maker's figure"
        return [_finding("not known", seats, "bar", text)]
    found = []
    if not spec.basis_stated:
        text = f"{name}: the basis of its wire's figure is not stated; say working load or ultimate"
        found.append(_finding("not known", seats, "bar", text))
    if tension_N > spec.capacity_N:
        text = (
            f"{name}: its wire pulls {tension_N:.1f} N, more than its {spec.capacity_N:.1f} N; no "
            "reason releases this"
        )
        found.append(_finding("overload", seats, "bar", text))
    elif tension_N > spec.allowed_N:
        text = (
            f"{name}: its wire pulls {tension_N:.1f} N, allowed {spec.allowed_N:.1f} N "
            f"(figure / {spec.design_factor:g})"
        )
        found.append(_finding("overload", seats, "reason", text))
    return found


def _cleat(panel: Panel, seats: Seats, say: Say) -> list[Finding]:
    spec = panel.hang.cleat
    if spec is None:
        return []
    found = [
        _finding(
            "lifts",
            [seat],
            "note",
            f"{seat.seat}: the weight beside the screws lifts the rail here: move a screw outwards",
        )
        for seat, hanger in zip(seats, panel.hangers, strict=True)
        if _is_lifted(panel, hanger.u_mm)
    ]
    if spec.rail_mm is None:
        return found
    off_mm = panel.cg_u_mm - sum(h.u_mm for h in panel.hangers) / len(panel.hangers)
    try:
        load = line_load(weight_N(panel.mass_kg), off_middle_mm=off_mm, length_mm=spec.rail_mm)
    except CoreError:
        text = f"{panel.name}: its centre of gravity lies beside the rail: it will tip off"
        return [*found, _finding("crooked", seats, "bar", text)]
    if load.bearing_mm < spec.rail_mm:
        text = (
            f"{panel.name}: only {say(load.bearing_mm)} of the rail's {say(spec.rail_mm)} bear, "
            "the centre of gravity is too far from its middle"
        )
        found.append(_note("crooked", seats, text))
    return found


def _is_lifted(panel: Panel, u_mm: float) -> bool:
    """Whether a screw of the rail is lifted rather than loaded (``cleat.bolt_row_N`` below 0)."""
    at = [h.u_mm for h in panel.hangers]
    middle = sum(at) / len(at)
    spread = sum((u - middle) ** 2 for u in at)
    return 1 / len(at) + (panel.cg_u_mm - middle) * (u_mm - middle) / spread < -1e-9


def _standoff(panel: Panel, seats: Seats) -> list[Finding]:
    left, right = posts_of(panel, [seat.fastener for seat in seats])
    bending_Nm = max(left.bending_Nmm, right.bending_Nmm) * safe_factor(panel) / NMM_PER_NM
    text = (
        f"{panel.name}: two of its four stand-offs may carry it all; each post bends with up to "
        f"{bending_Nm:.1f} N m at the wall"
    )
    return [_note("posts", seats, text)]


def _twist(panel: Panel, seats: Seats, say: Say) -> list[Finding]:
    turned = standoff_twist(panel, seats)
    if turned is None:
        return []
    shims = ", ".join(
        f"{say(shim)} behind {seat.seat}"
        for seat, shim in zip(seats, turned.shims_mm, strict=True)
        if shim > TWIST_MM
    )
    edges = abs(turned.right_mm - turned.left_mm)
    how = f" ({say(edges)} from edge to edge)" if edges > TWIST_MM else ""
    text = f"{panel.name}: mixed standoffs twist the panel{how}: equalise at the wall, {shims}"
    return [_note("twist", seats, text)]


def _lean(panel: Panel, seats: Seats, say: Say) -> list[Finding]:
    lean_mm = panel_lean_mm(panel, seats)
    if lean_mm is None or abs(lean_mm) <= LEAN_MM:
        return []
    out_mm = sum(_standoffs(seats)) / len(seats)
    way = "out" if lean_mm > 0 else "in"
    text = (
        f"{panel.name}: its top stands {say(abs(lean_mm))} further {way} than its lower edge; "
        f"bumpers of {say(out_mm)} make it plumb"
    )
    return [_note("lean", seats, text)]


def _standoffs(seats: Seats) -> list[float]:
    return [_standoff_of(seat.fastener) for seat in seats]


def _standoff_of(fastener: Fastener | None) -> float:
    return fastener.standoff_mm if fastener else 0.0


def _finding(
    kind: str, seats: Seats, weight: Literal["note", "reason", "bar"], text: str
) -> Finding:
    return Finding(kind=kind, seat=seats[0].seat, weight=weight, text=text)


def _note(kind: str, seats: Seats, text: str) -> Finding:
    return _finding(kind, seats, "note", text)
