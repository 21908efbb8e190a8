"""A plan as it is looked at: drawing, marks, findings, all in the job's own unit and graduation."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial

from markupsafe import Markup

from holdtrue.core.lengths import format_length
from holdtrue.core.model import Finding, Job, Plan, PlannedSeat
from holdtrue.core.plan import make_plan
from holdtrue.drawing.elevation import elevation

DRAWING_PX = 640.0
BEHIND = {
    "hollow": "hollow",
    "stud": "stud",
    "edge": "edge of a stud",
    "steel": "steel stud",
    "backed": "board behind",
    "solid": "solid",
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
    load: str
    allowed: str
    pull: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Preview:
    drawing: Markup
    marks: tuple[MarkRow, ...]
    findings: tuple[Finding, ...]

    @property
    def needs_reason(self) -> bool:
        return any(finding.weight == "reason" for finding in self.findings)

    @property
    def is_barred(self) -> bool:
        return any(finding.weight == "bar" for finding in self.findings)


def preview(job: Job) -> Preview:
    """The plan of a job, ready to be shown. Raises what the core raises."""
    return plan_preview(make_plan(job))


def plan_preview(plan: Plan) -> Preview:
    """A plan, ready to be shown."""
    job = plan.job
    fmt = partial(format_length, unit=job.unit, graduation_mm=job.graduation_mm)
    svg = elevation(plan, fmt=fmt, seat_names=True, width_px=DRAWING_PX, id_="plan-drawing")
    return Preview(
        # Our own markup: every text in it is escaped by the drawing's writer.
        drawing=Markup(svg),  # noqa: S704
        marks=tuple(_row(seat, job) for seat in plan.seats),
        findings=plan.findings,
    )


def _row(seat: PlannedSeat, job: Job) -> MarkRow:
    fmt = partial(format_length, unit=job.unit, graduation_mm=job.graduation_mm)
    allowed_N = seat.fastener.allowed_N if seat.fastener else None
    return MarkRow(
        seat=seat.seat,
        across=across(seat.x_mm, job),
        height=fmt(seat.y_mm),
        hole=fmt(seat.hole_y_mm),
        fastener=seat.fastener.name if seat.fastener else "none listed",
        behind=BEHIND[seat.into],
        load=f"{seat.load_N:.0f} N",
        allowed="not known" if allowed_N is None else f"{allowed_N:.0f} N",
        pull=f"{seat.pull_N:.0f} N",
    )


def across(x_mm: float, job: Job) -> str:
    """A distance from the reference line in words: which side, then how far."""
    size = format_length(abs(x_mm), job.unit, graduation_mm=job.graduation_mm)
    if abs(x_mm) < job.graduation_mm / 2:
        return "on the line"
    return f"{size} {'right' if x_mm > 0 else 'left'}"
