"""A plan as it is looked at: drawing, marks, findings, all in the job's own unit and graduation."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial

from markupsafe import Markup

from holdtrue.core.lengths import format_length
from holdtrue.core.masses import force_text, mass_text
from holdtrue.core.method_findings import panel_lean_mm
from holdtrue.core.model import Finding, Job, Plan, PlannedSeat
from holdtrue.core.order import ORDER_REASON, driving_order
from holdtrue.core.plan import make_plan
from holdtrue.core.suggest import Shift, suggest
from holdtrue.core.units import is_inch_like
from holdtrue.domain.liftlines import LiftLines, lift_lines
from holdtrue.domain.loadrows import LoadRow, load_rows, share_text
from holdtrue.domain.outlook import plan_outlook
from holdtrue.domain.suggestions import suggestion_texts
from holdtrue.drawing.elevation import elevation
from holdtrue.web.chances import chance_lines
from holdtrue.web.phone_words import mass_words

DRAWING_PX = 640.0
BEHIND = {
    "hollow": "hollow",
    "stud": "stud",
    "edge": "edge of a stud",
    "steel": "steel stud",
    "backed": "board behind",
    "solid": "solid",
}


METHODS = {
    "hangers": "on hangers",
    "wire": "on a wire",
    "cleat": "on a cleat",
    "standoff": "on four stand-offs",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class MarkRow:
    """One line of the marks table, as shown."""

    seat: str
    across: str
    height: str
    hole: str
    fastener: str
    behind: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Force:
    """A force as shown: newtons, and pounds of force for people who read inches."""

    newton: str
    pound: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadView:
    """One line of the loads table, as shown; ``alone`` when all others of its panel let go."""

    seat: str
    load: Force
    side: Force | None
    pull: Force
    both: Force
    allowed: Force
    used: str
    basis: str
    alone: Force
    alone_used: str
    is_over: bool
    is_over_alone: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class PanelView:
    name: str
    how: str
    mass: str
    lean: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Preview:
    plan: Plan
    drawing: Markup
    marks: tuple[MarkRow, ...]
    loads: tuple[LoadView, ...]
    panels: tuple[PanelView, ...]
    lift: LiftLines
    findings: tuple[Finding, ...]
    suggestions: tuple[str, ...]
    shift: Shift | None
    """The least move of the whole work that clears every conflict, where there is one."""
    chances: tuple[str, ...] = ()
    """The forecast, before anything is driven."""
    order: str = ""
    """Seats as they are driven, and why."""

    @property
    def needs_reason(self) -> bool:
        return any(finding.weight == "reason" for finding in self.findings)

    @property
    def is_barred(self) -> bool:
        return any(finding.weight == "bar" for finding in self.findings)


def preview(job: Job) -> Preview:
    """The plan of a job, ready to be shown. Raises what the core raises."""
    plan = make_plan(job)
    order = ", ".join(driving_order(plan))
    return replace(
        plan_preview(plan),
        chances=chance_lines(plan_outlook(plan)),
        order=f"{order}: {ORDER_REASON}",
    )


def plan_preview(plan: Plan) -> Preview:
    """A plan, ready to be shown."""
    job = plan.job
    fmt = partial(format_length, unit=job.unit, graduation_mm=job.graduation_mm)
    svg = elevation(plan, fmt=fmt, seat_names=True, width_px=DRAWING_PX, id_="plan-drawing")
    found = suggest(plan)
    return Preview(
        plan=plan,
        # Our own markup: every text in it is escaped by the drawing's writer.
        drawing=Markup(svg),  # noqa: S704
        marks=tuple(_row(seat, job) for seat in plan.seats),
        loads=tuple(_load(row, job.unit) for row in load_rows(plan)),
        panels=tuple(_panel(plan, k) for k in range(len(job.panels))),
        lift=lift_lines(job, plan.arrangement, partial(mass_words, unit=job.unit)),
        findings=plan.findings,
        suggestions=suggestion_texts(found, job),
        shift=found.shift if found else None,
    )


def _row(seat: PlannedSeat, job: Job) -> MarkRow:
    fmt = partial(format_length, unit=job.unit, graduation_mm=job.graduation_mm)
    return MarkRow(
        seat=seat.seat,
        across=across(seat.x_mm, job),
        height=fmt(seat.y_mm),
        hole=fmt(seat.hole_y_mm),
        fastener=seat.fastener.name if seat.fastener else "none listed",
        behind=BEHIND[seat.into],
    )


def _load(row: LoadRow, unit: str) -> LoadView:
    return LoadView(
        seat=row.seat,
        load=_force(row.load_N, unit),
        side=_force(row.side_N, unit) if row.side_N else None,
        pull=_force(row.pull_N, unit),
        both=_force(row.force_N, unit),
        allowed=_force(row.allowed_N, unit),
        used=share_text(row.share),
        basis=_basis(row),
        alone=_force(row.alone_N, unit),
        alone_used=share_text(row.alone_share),
        is_over=row.share is not None and row.share > 1,
        is_over_alone=row.alone_share is not None and row.alone_share > 1,
    )


def _force(newton: float | None, unit: str) -> Force:
    if newton is None:
        return Force(newton="not known")
    pound = force_text(newton) if is_inch_like(unit) else ""
    return Force(newton=f"{newton:.1f} N", pound=pound)


def _basis(row: LoadRow) -> str:
    """Where the allowed figure is from, with the formula's two shares where it has a say."""
    if row.formula is None:
        return row.basis
    lateral, withdrawal = row.formula
    return f"{row.basis}; by formula load {lateral:.0%}, pull {withdrawal:.0%}"


def _panel(plan: Plan, index: int) -> PanelView:
    job, panel = plan.job, plan.job.panels[index]
    mass = mass_words(panel.mass_kg, job.unit)
    if panel.mass_u_kg > 0:
        unit = "lb" if is_inch_like(job.unit) else "kg"
        mass = f"{mass_text(panel.mass_kg, panel.mass_u_kg, unit)}, from layers"
    lean_mm = panel_lean_mm(panel, [seat for seat in plan.seats if seat.panel == index])
    lean = ""
    if lean_mm is not None:
        way = "outward" if lean_mm > 0 else "inward"
        lean = f"{format_length(abs(lean_mm), job.unit)} {way} at the top"
    return PanelView(name=panel.name, how=METHODS[panel.hang.method], mass=mass, lean=lean)


def across(x_mm: float, job: Job) -> str:
    """A distance from the reference line in words: which side, then how far."""
    size = format_length(abs(x_mm), job.unit, graduation_mm=job.graduation_mm)
    if abs(x_mm) < job.graduation_mm / 2:
        return "on the line"
    return f"{size} {'right' if x_mm > 0 else 'left'}"
