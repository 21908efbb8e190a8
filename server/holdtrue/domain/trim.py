"""What the readings on hung panels say, and what to trim.

For one panel: level from its level edge; for two neighbours: gap, taper, step and flush from the
readings between them. The advice raises the low side's seat, in whole graduations, by as much as
levels the panel: low * (seat spacing / panel width).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from holdtrue.domain.state import JobState
from holdtrue.domain.subjects import facing_panels


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """One reading on the hung work against its tolerance."""

    kind: str
    where: str
    panel: str
    value_mm: float
    tolerance_mm: float

    @property
    def is_inside(self) -> bool:
        return abs(self.value_mm) <= self.tolerance_mm + 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class Advice:
    """Raise one seat of a panel."""

    panel: str
    seat: str
    raise_mm: float
    why: str


def _mm(values: Mapping[str, Any], name: str) -> float:
    value = values.get(name)
    return float(value["mm"]) if value else 0.0


def is_reading_of(task: str, panel: str) -> bool:
    """Whether a task reads this hung panel, by itself or against a neighbour."""
    kind, _, subject = task.partition(":")
    return kind in ("panels.level", "panels.facing") and panel in facing_panels(subject)


def verdicts(state: JobState) -> tuple[Verdict, ...]:
    """Every reading on hung panels that stands now."""
    found: list[Verdict] = []
    for task, record in state.records.items():
        kind, _, subject = task.partition(":")
        if kind == "panels.level":
            sign = {"level": 0.0, "left": 1.0, "right": -1.0}[record.values["low"]]
            found.append(
                Verdict(
                    kind="level",
                    where=subject,
                    panel=subject,
                    value_mm=sign * _mm(record.values, "by"),
                    tolerance_mm=state.job.tolerance.level,
                )
            )
        elif kind == "panels.facing":
            found += _facing(state, subject, record.values, record.planned)
    return tuple(found)


def _facing(
    state: JobState, subject: str, values: Mapping[str, Any], planned: Mapping[str, Any]
) -> list[Verdict]:
    tolerance = state.job.tolerance
    first, second = _mm(values, "first"), _mm(values, "second")
    wanted = _mm(planned, "first")
    sign = {"as_planned": 0.0, "p": 1.0, "q": -1.0}[values["ahead"]]
    panel = facing_panels(subject)[1]
    rows = (
        ("gap", (first + second) / 2 - wanted, tolerance.gap),
        ("taper", first - second, tolerance.taper),
        ("step", sign * _mm(values, "by"), tolerance.step),
        ("flush", _mm(values, "flush"), tolerance.flush),
    )
    return [
        Verdict(kind=kind, where=subject, panel=panel, value_mm=value, tolerance_mm=allowed)
        for kind, value, allowed in rows
    ]


def panels_to_trim(state: JobState) -> frozenset[str]:
    """Panels with a reading outside its tolerance."""
    return frozenset(v.panel for v in verdicts(state) if not v.is_inside)


def advice(state: JobState, panel: str) -> Advice | None:
    """The one raise that levels a panel, in whole graduations; None when none helps."""
    level = next((v for v in verdicts(state) if v.kind == "level" and v.panel == panel), None)
    index = next(k for k, p in enumerate(state.job.panels) if p.name == panel)
    hangers = state.job.panels[index].hangers
    if level is None or level.is_inside or len(hangers) < 2:
        return None
    spacing = hangers[-1].u_mm - hangers[0].u_mm
    lift = abs(level.value_mm) * spacing / state.job.panels[index].width_mm
    graduation = state.job.graduation_mm
    steps = max(1, round(lift / graduation))
    number = 1 if level.value_mm > 0 else len(hangers)
    side = "left" if level.value_mm > 0 else "right"
    return Advice(
        panel=panel,
        seat=f"{panel}{number}",
        raise_mm=steps * graduation,
        why=f"the {side} side is low",
    )
