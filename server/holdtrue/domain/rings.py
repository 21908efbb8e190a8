"""Shims in the panels' rings: how thick they are planned, and what was laid."""

from __future__ import annotations

from collections.abc import Mapping

from holdtrue.domain.state import JobState

SHIM = "panels.shim:"


def laid_mm(state: JobState) -> dict[str, float]:
    """Seats whose ring was shimmed before the lift, and how thick."""
    return {
        task.removeprefix(SHIM): float(record.values["thick"]["mm"])
        for task, record in state.records.items()
        if task.startswith(SHIM)
    }


def planned_mm(state: JobState) -> dict[str, float]:
    """Every seat and the shims its panel is planned with."""
    return {
        seat: state.job.panels[k].shims_mm
        for seat, k in zip(state.form.seats, state.form.seat_panel, strict=True)
    }


def raised_mm(state: JobState) -> dict[str, float]:
    """How much higher than planned each shimmed ring holds its panel on its seat."""
    planned = planned_mm(state)
    return {seat: mm - planned[seat] for seat, mm in laid_mm(state).items()}


def in_rings_mm(state: JobState) -> Mapping[str, float]:
    """What is in every ring now: planned or laid, and what trims changed since."""
    now = planned_mm(state) | laid_mm(state)
    for trim in state.trims:
        if trim.means == "shim":
            now[trim.seat] = max(0.0, now.get(trim.seat, 0.0) + trim.by_mm)
    return now
