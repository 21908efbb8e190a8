"""The words of a job as values: lengths in mm, forces in N, masses in kg.

Front view: x right of the reference line, y up from the floor, u right and v up from a panel's
centre. Everything here is checked when a job file is read (``domain.jobfile``); the core trusts it.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

Behind = Literal["hollow", "backed", "solid"]
Into = Literal["hollow", "stud", "steel", "backed", "solid"]
Met = Literal["hollow", "stud", "edge", "steel", "backed", "solid"]
Material = Literal["wood", "steel", "unknown"]
Basis = Literal["working", "ultimate"]
Method = Literal["hangers", "wire", "cleat", "standoff"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Hanger:
    """Hardware on the panel; (u, v) is its bearing point from the panel's centre, front view."""

    u_mm: float
    v_mm: float
    capacity_N: float | None = None
    source_index: int = 0
    """Its place in the job file's ``hangers`` list (front order may differ)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WireSpec:
    """A wire from ring to ring on the back, over one or two hooks in the wall.

    The panel's ``hangers`` are then the hooks, where they stand under load. ``length_mm`` ring to
    ring, unloaded; ``rise_mm`` how far the hooks stood above the rings with the panel's weight on
    the wire, when that was measured instead.
    """

    rings_mm: tuple[tuple[float, float], tuple[float, float]]
    """(u, v) of both rings from the panel's centre, the left one first."""
    hooks_mm: float = 0.0
    """Between the two hooks; 0 for one hook."""
    length_mm: float | None = None
    rise_mm: float | None = None
    stiffness_N: float | None = None
    """Force per unit of strain, when known; a wire whose stretch is not known counts as stiff."""
    capacity_N: float | None = None
    basis: Basis = "ultimate"
    basis_stated: bool = False
    design_factor: float = 1.0
    ring_capacity_N: float | None = None
    """What the weaker ring may carry, when stated."""

    @property
    def allowed_N(self) -> float | None:
        return None if self.capacity_N is None else self.capacity_N / self.design_factor


@dataclass(frozen=True, slots=True, kw_only=True)
class CleatSpec:
    """A rail in the wall that carries a rail on the panel; the ``hangers`` are its screws.

    ``screws_up_mm``: above the rail's lower edge, about which it would tip; ``out_mm``: from the
    wall to where the panel's rail bears (None: the fastener's standoff); ``rail_mm``: how much of
    both rails lies on each other, its middle at the middle of the screws.
    """

    screws_up_mm: float
    out_mm: float | None = None
    rail_mm: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Hang:
    """How a panel hangs: hangers on fasteners each, a wire, a cleat, four stand-offs."""

    method: Method = "hangers"
    wire: WireSpec | None = None
    cleat: CleatSpec | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Panel:
    """One panel; hangers sorted by u (of two at one u, the upper first)."""

    name: str
    width_mm: float
    height_mm: float
    depth_mm: float
    mass_kg: float
    hangers: tuple[Hanger, ...]
    cg_u_mm: float = 0.0
    cg_v_mm: float = 0.0
    centre_depth_mm: float | None = None
    """Centre of gravity's distance from the back face, when entered; else half the depth."""
    measured_on: Literal["back", "front"] = "back"
    bumper_mm: float | None = None
    mass_u_kg: float = 0.0
    """Standard uncertainty of a mass estimated from layers; 0 when weighed."""
    hang: Hang = field(default_factory=Hang)
    shims_mm: float = 0.0
    """Planned under each ring: seats and holes lie that much lower, so that shims laid by what was
    measured can lower the panel as well as raise it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ScrewSpec:
    """What a wood screw's published formula asks for; lengths under the head.

    ``lining_mm``: board between hardware and stud; ``side``: hardware or wood that touches the stud
    and bears on the screw, instead of a lining.
    """

    length_mm: float
    gauge: int | None = None
    diameter_mm: float | None = None
    root_mm: float | None = None
    thread_mm: float | None = None
    lining_mm: float = 0.0
    side: Literal["none", "steel", "wood"] = "none"
    side_mm: float = 0.0
    side_gravity: float | None = None
    gravity: float | None = None
    """Specific gravity of the stud's wood; None: the lightest species group."""
    service: Literal["dry", "wet"] = "dry"
    heat: Literal["usual", "warm", "hot"] = "usual"


@dataclass(frozen=True, slots=True, kw_only=True)
class Fastener:
    """Hardware in the wall.

    Drop = hole height - seat height (negative for a ring riding on a screw).
    """

    name: str
    into: Into
    drop_mm: float = 0.0
    standoff_mm: float = 0.0
    capacity_N: float | None = None
    basis: Basis = "working"
    basis_stated: bool = False
    design_factor: float = 1.0
    placing_u_mm: float | None = None
    """Standard uncertainty of placing one of its kind; None: the job's default."""
    screw: ScrewSpec | None = None
    """For a wood screw: what its published formula needs."""
    turn_mm: float | None = None
    """How far one turn raises its seat once a panel hangs; None: it cannot be turned."""

    @property
    def allowed_N(self) -> float | None:
        """Capacity divided by the design factor; None while the capacity is not known."""
        return None if self.capacity_N is None else self.capacity_N / self.design_factor


@dataclass(frozen=True, slots=True, kw_only=True)
class Stud:
    x_mm: float
    width_mm: float
    material: Material = "unknown"


@dataclass(frozen=True, slots=True, kw_only=True)
class KeepClear:
    x0_mm: float
    y0_mm: float
    x1_mm: float
    y1_mm: float
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Outlet:
    """A socket, switch or other accessory on the wall, by its middle."""

    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Wall:
    behind: Behind = "hollow"
    studs: tuple[Stud, ...] = ()
    stud_clearance_mm: float = 6.0
    keep_clear: tuple[KeepClear, ...] = ()
    left_mm: float | None = None
    right_mm: float | None = None
    top_mm: float | None = None
    """Height of the wall's top."""
    outlets: tuple[Outlet, ...] = ()
    cable_zones: Literal["outlets", "prescribed"] = "outlets"
    """Where cables may run: from outlets only, or along the wall's top and ends too."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """How the panels stand to each other and where the group hangs.

    ``gaps_mm``: one per neighbouring pair for a row or column. ``rows``: panel indexes, top row
    first, for a grid. ``centres_mm``: one (x, y) per panel for a free layout.
    """

    kind: Literal["row", "column", "grid", "free"]
    gaps_mm: tuple[float, ...] = ()
    gap_x_mm: float = 0.0
    gap_y_mm: float = 0.0
    align: Literal["top", "centre", "bottom", "left", "right"] = "centre"
    height_of: Literal["centre", "top", "bottom"] = "centre"
    height_at_mm: float = 0.0
    offset_mm: float = 0.0
    rows: tuple[tuple[int, ...], ...] = ()
    centres_mm: tuple[tuple[float, float], ...] = ()
    slope_mm_per_m: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Tolerance:
    """Allowed absolute value of each residual, mm (defaults: our choice, editable)."""

    level: float = 1.5
    slack: float = 3.0
    bearing: float = 1.0
    gap: float = 1.5
    step: float = 1.5
    centre: float = 6.0
    height: float = 6.0
    taper: float = 1.5
    line: float = 3.0
    flush: float = 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Uncertainty:
    """Standard uncertainties, mm and mm/m, independent per reading (our choice, editable).

    ``stick``: of the marks on a story stick against each other.
    """

    tape: float = 0.5
    level: float = 0.3
    level_per_m: float = 0.5
    placing: float = 1.0
    stick: float = 0.3


@dataclass(frozen=True, slots=True, kw_only=True)
class Lift:
    """How the heaviest panel is lifted, where it is not taken from its size.

    ``out_mm``: hands out from the ankles; ``from_mm``, ``to_mm``: hands above the floor at the
    start and at the end; ``turn_deg``: of the body.
    """

    out_mm: float | None = None
    from_mm: float | None = None
    to_mm: float | None = None
    turn_deg: float = 0.0
    per_minute: float = 0.2
    duration: Literal["short", "moderate", "long"] = "short"
    coupling: Literal["good", "fair", "poor"] = "poor"


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    title: str
    unit: str
    """The document's unit: mm, cm, m, in or ft; what people of this job read by default."""
    panels: tuple[Panel, ...]
    layout: Layout
    wall: Wall = field(default_factory=Wall)
    fasteners: tuple[Fastener, ...] = ()
    tolerance: Tolerance = field(default_factory=Tolerance)
    uncertainty: Uncertainty = field(default_factory=Uncertainty)
    graduation_mm: float = 1.0
    """The tape's graduation."""
    lift: Lift = field(default_factory=Lift)


@dataclass(frozen=True, slots=True, kw_only=True)
class Neighbours:
    """Two panels whose edges face each other: p left of q (beside) or p above q (above)."""

    p: int
    q: int
    how: Literal["beside", "above"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Arrangement:
    """Where every panel and seat is planned; indexes run as in ``Job.panels``."""

    centres_mm: tuple[tuple[float, float], ...]
    neighbours: tuple[Neighbours, ...]
    groups: tuple[tuple[int, ...], ...]
    """Panels connected as neighbours."""
    seat_names: tuple[str, ...]
    seat_panel: tuple[int, ...]
    seat_hanger: tuple[int, ...]
    seats_mm: tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedSeat:
    """A row of the plan: the seat, its hole and what carries it."""

    seat: str
    panel: int
    hanger: int
    x_mm: float
    y_mm: float
    hole_y_mm: float
    fastener: Fastener | None
    into: Met
    material: Material
    """Of the stud behind it; "unknown" where there is no stud."""
    load_N: float
    pull_N: float
    side_N: float = 0.0
    """Sideways on the fastener: a wire over two hooks pulls them together."""
    safe: float = 1.0
    """Loads are checked times this: above 1 where the mass is estimated."""

    @property
    def drop_mm(self) -> float:
        """Hole down to seat; 0 where no fastener is listed for what is behind."""
        return self.fastener.drop_mm if self.fastener else 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """Something to know before release.

    ``weight``: "note" (worth knowing), "reason" (release needs a named lead's written reason) or
    "bar" (no reason releases it).
    """

    kind: str
    seat: str | None
    weight: Literal["note", "reason", "bar"]
    text: str
    crew: str = ""
    """The same for who works at the wall, where ``text`` says what the lead can do about it."""

    @property
    def crew_text(self) -> str:
        return self.crew or self.text


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    job: Job
    arrangement: Arrangement
    seats: tuple[PlannedSeat, ...]
    findings: tuple[Finding, ...] = ()
