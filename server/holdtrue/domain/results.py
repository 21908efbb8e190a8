"""What ``plan`` and ``recompute`` answer: the recomputed job, and both answers as plain values.

Lengths to 0.001 mm and forces to 0.01 N: finer than anything on a wall, and the same text from
every machine.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from holdtrue.core.marks import give_marks
from holdtrue.core.model import Finding, Job, Plan, PlannedSeat
from holdtrue.core.order import driving_order
from holdtrue.core.plan import make_plan
from holdtrue.core.quality import finish_mm, quadratic_form
from holdtrue.core.recompute import best_deviation_mm, fixed_from_set, places_mm
from holdtrue.domain.logfile import parse_log, replay

Point = tuple[float, float]

_WEIGHTS = ("bar", "reason", "note")


@dataclass(frozen=True, slots=True, kw_only=True)
class Recomputed:
    """A job as its log leaves it."""

    plan: Plan
    """Set seats as measured, the others at the optimum, each with what carries it there."""
    planned: Plan
    set_mm: Mapping[str, Point]
    finish_mm: Mapping[str, float]
    stopped: frozenset[str]


def recompute_job(job: Job, log_document: object) -> Recomputed:
    """Replay a log and recompute; InputError names the place in the log that is wrong."""
    planned = make_plan(job)
    form = quadratic_form(job, planned.arrangement)
    after = replay(form, parse_log(log_document, form.seats))
    deviation = best_deviation_mm(form, fixed_from_set(form, after.set_mm))
    return Recomputed(
        plan=make_plan(job, places_mm=places_mm(form, deviation), blocked=after.found),
        planned=planned,
        set_mm=after.set_mm,
        finish_mm=finish_mm(form, deviation),
        stopped=after.stopped,
    )


def marks_mm(plan: Plan, set_mm: Mapping[str, Point]) -> dict[str, Point]:
    """Where the unset seats go when their marks are put on the graduation, as on the phone."""
    return give_marks(
        quadratic_form(plan.job, plan.arrangement),
        set_mm=set_mm,
        order=driving_order(plan),
        drop_mm={s.seat: s.hole_y_mm - s.y_mm for s in plan.seats},
        graduation_mm=plan.job.graduation_mm,
        given_mm={},
    )


def plan_values(plan: Plan) -> list[dict[str, Any]]:
    """One object per seat, in order."""
    return [
        _place_values(seat)
        | {
            "fastener": seat.fastener.name if seat.fastener else None,
            "into": seat.into,
            "load_N": _rounded(seat.load_N, 2),
            "pull_N": _rounded(seat.pull_N, 2),
        }
        for seat in plan.seats
    ]


def recompute_values(result: Recomputed) -> dict[str, Any]:
    """Every seat, and the worst of each kind of residual."""
    return {
        "seats": [
            {"seat": seat.seat, "set": seat.seat in result.set_mm}
            | _place_values(seat)
            | {"fastener": seat.fastener.name if seat.fastener else None}
            for seat in result.plan.seats
        ],
        "finish": {kind: _rounded(value, 3) for kind, value in result.finish_mm.items()},
    }


def weightiest_first(findings: tuple[Finding, ...]) -> list[Finding]:
    """What bars release, then what needs a reason, then notes; seats in order within each."""
    return sorted(findings, key=lambda finding: _WEIGHTS.index(finding.weight))


def stop_findings(result: Recomputed) -> tuple[Finding, ...]:
    """Stops that stand at the end of the log."""
    return tuple(
        Finding(
            kind="stop",
            seat=seat.seat,
            weight="bar",
            text=f"{seat.seat}: a stop stands here; only the lead clears it",
        )
        for seat in result.plan.seats
        if seat.seat in result.stopped
    )


def _place_values(seat: PlannedSeat) -> dict[str, Any]:
    return {
        "seat": seat.seat,
        "x_mm": _rounded(seat.x_mm, 3),
        "y_mm": _rounded(seat.y_mm, 3),
        "hole_y_mm": _rounded(seat.hole_y_mm, 3),
    }


def _rounded(value: float, digits: int) -> float:
    """Rounded, and never -0.0."""
    return round(value, digits) + 0.0
