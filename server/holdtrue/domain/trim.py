"""What the readings on hung panels say against the tolerances, and which panels ask for a trim."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from holdtrue.core.model import Job
from holdtrue.core.quality import Vector
from holdtrue.domain.hanging import AHEAD, LEVELS, is_reading_of, level_off_mm, value_mm
from holdtrue.domain.state import JobState, Record
from holdtrue.domain.subjects import FACING, facing_panels

__all__ = ["Verdict", "is_reading_of", "verdicts"]

NEXT_DAY = "close.next_day"
Reads = float | Vector
"""What was read, once or in many installs."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """One reading on the hung work against its tolerance."""

    kind: str
    where: str
    panel: str
    value_mm: float
    tolerance_mm: float
    is_read: bool = True
    """Measured; not recorded as planned with one tap."""

    @property
    def is_inside(self) -> bool:
        return abs(self.value_mm) <= self.tolerance_mm + 1e-9


def verdicts(state: JobState) -> tuple[Verdict, ...]:
    """Every reading on hung panels that stands now, and the line they make once all are read."""
    found: list[Verdict] = []
    for task, record in state.records.items():
        kind, _, subject = task.partition(":")
        if kind in LEVELS and record is _level_record(state, subject):
            found.append(_level(state, subject, record))
        elif kind == "panels.facing":
            found += _facing(state, subject, record)
    return (*found, *_lines(state))


def _level(state: JobState, panel: str, record: Record) -> Verdict:
    return Verdict(
        kind="level",
        where=panel,
        panel=panel,
        value_mm=_level_off_mm(state, panel, record),
        tolerance_mm=state.job.tolerance.level,
        is_read=record.outcome == "measured",
    )


def _level_off_mm(state: JobState, panel: str, record: Record) -> float:
    """What was tapped "as planned" says that it is, not by how much."""
    if record.outcome == "as_planned":
        return 0.0
    return level_off_mm(state, panel, record.values, read_at=record.seq)


def _facing(state: JobState, subject: str, record: Record) -> list[Verdict]:
    tolerance, values, planned = state.job.tolerance, record.values, record.planned
    first, second = (value_mm(values, e) - value_mm(planned, e) for e in ("first", "second"))
    gap, taper = gap_and_taper(first, second, is_stacked=state.is_stacked(subject))
    rows = (
        ("gap", float(gap), tolerance.gap),
        ("taper", float(taper), tolerance.taper),
        ("step", AHEAD[values["ahead"]] * value_mm(values, "by"), tolerance.step),
        ("flush", value_mm(values, "flush"), tolerance.flush),
    )
    panel = facing_panels(subject)[1]
    return [
        Verdict(
            kind=kind,
            where=subject,
            panel=panel,
            value_mm=value,
            tolerance_mm=allowed,
            is_read=record.outcome == "measured",
        )
        for kind, value, allowed in rows
    ]


def gap_and_taper(first: Reads, second: Reads, *, is_stacked: bool) -> tuple[Reads, Reads]:
    """What the two ends of a gap, as they are off plan, make of it.

    Turned left, the first panel opens the top of a gap beside it, the right of one below it.
    """
    return (first + second) / 2, second - first if is_stacked else first - second


def _lines(state: JobState) -> list[Verdict]:
    """How the outer edges of a whole row or column lie to each other, once all of it is read.

    Nobody reads it in one go: it is the sum of the steps and of every panel's own fall on the way.
    """
    names = [panel.name for panel in state.job.panels]
    found = []
    for chain in line_chains(state.job):
        on_the_way = _records_along(state, [names[k] for k in chain])
        if None not in on_the_way:
            found.append(_line(state, chain, [one for one in on_the_way if one is not None]))
    return found


def line_chains(job: Job) -> list[tuple[int, ...]]:
    """Panels, by their indexes, whose outer edges make a line: three or more in a row or column."""
    layout = job.layout
    whole = () if layout.kind == "free" else (tuple(range(len(job.panels))),)
    chains = layout.rows if layout.kind == "grid" else whole
    return [tuple(chain) for chain in chains if len(chain) > 2]


def line_fall_mm(
    job: Job, chain: Sequence[int], levels: Sequence[Reads], steps: Sequence[Reads]
) -> Reads:
    """What the levels of a chain's panels and the steps between them add up to."""
    fall: Reads = 0.0
    for k, level in zip(chain, levels, strict=True):
        panel = job.panels[k]
        share = panel.height_mm / panel.width_mm if job.layout.kind == "column" else 1.0
        fall = fall - share * level
    for step in steps:
        fall = fall + step
    return fall


def _records_along(state: JobState, names: Sequence[str]) -> list[Record | None]:
    """The level of every panel, then the reading between each and the next."""
    levels = [_level_record(state, name) for name in names]
    facing = [f"panels.facing:{p}{FACING}{q}" for p, q in pairwise(names)]
    return levels + [state.records.get(task) for task in facing]


def _line(state: JobState, chain: Sequence[int], records: Sequence[Record]) -> Verdict:
    panels = [state.job.panels[k] for k in chain]
    levels = [
        _level_off_mm(state, panel.name, level)
        for panel, level in zip(panels, records[: len(panels)], strict=True)
    ]
    steps = [
        AHEAD[one.values["ahead"]] * value_mm(one.values, "by") for one in records[len(panels) :]
    ]
    fall = float(line_fall_mm(state.job, chain, levels, steps))
    return Verdict(
        kind="line",
        where=f"{panels[0].name}..{panels[-1].name}",
        panel=panels[-1].name,
        value_mm=fall,
        tolerance_mm=state.job.tolerance.line,
        is_read=any(record.outcome == "measured" for record in records),
    )


def _level_record(state: JobState, panel: str) -> Record | None:
    """The level that counts: the next day's tells what the work has settled to."""
    records = state.records
    return records.get(f"{NEXT_DAY}:{panel}") or records.get(f"panels.level:{panel}")
