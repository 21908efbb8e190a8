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


@dataclass(frozen=True, slots=True, kw_only=True)
class Hanger:
    """Hardware on the panel; (u, v) is its bearing point from the panel's centre, front view."""

    u_mm: float
    v_mm: float
    capacity_N: float | None = None
    source_index: int = 0
    """Its place in the job file's ``hangers`` list (front order may differ)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Panel:
    """One panel; hangers sorted by u."""

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


@dataclass(frozen=True, slots=True, kw_only=True)
class Fastener:
    """Hardware in the wall. Drop = hole height - seat height (negative for a ring riding on a screw)."""

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
class Wall:
    behind: Behind = "hollow"
    studs: tuple[Stud, ...] = ()
    stud_clearance_mm: float = 6.0
    keep_clear: tuple[KeepClear, ...] = ()
    left_mm: float | None = None
    right_mm: float | None = None


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


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    job: Job
    arrangement: Arrangement
    seats: tuple[PlannedSeat, ...]
    findings: tuple[Finding, ...] = ()
