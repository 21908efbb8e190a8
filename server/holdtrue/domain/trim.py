"""What the readings on hung panels say against the tolerances, and which panels ask for a trim."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from holdtrue.domain.hanging import AHEAD, LEVELS, is_reading_of, level_off_mm, value_mm
from holdtrue.domain.state import JobState, Record
from holdtrue.domain.subjects import FACING, facing_panels

__all__ = ["Verdict", "is_reading_of", "verdicts"]

NEXT_DAY = "close.next_day"


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
    return 0.0 if record.outcome == "as_planned" else level_off_mm(state, panel, record.values)


def _facing(state: JobState, subject: str, record: Record) -> list[Verdict]:
    tolerance, values, planned = state.job.tolerance, record.values, record.planned
    first, second = (value_mm(values, e) - value_mm(planned, e) for e in ("first", "second"))
    # turned left, the first panel opens the top of a gap beside it, the right of one below it
    taper = second - first if state.is_stacked(subject) else first - second
    rows = (
        ("gap", (first + second) / 2, tolerance.gap),
        ("taper", taper, tolerance.taper),
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


def _lines(state: JobState) -> list[Verdict]:
    """How the outer edges of a whole row or column lie to each other, once all of it is read.

    Nobody reads it in one go: it is the sum of the steps and of every panel's own fall on the way.
    """
    names = [panel.name for panel in state.job.panels]
    layout = state.job.layout
    chains = layout.rows if layout.kind == "grid" else (tuple(range(len(names))),)
    if layout.kind == "free":
        return []
    found = []
    for chain in chains:
        on_the_way = _records_along(state, [names[k] for k in chain])
        if len(chain) > 2 and None not in on_the_way:
            found.append(_line(state, chain, [one for one in on_the_way if one is not None]))
    return found


def _records_along(state: JobState, names: Sequence[str]) -> list[Record | None]:
    """The level of every panel, then the reading between each and the next."""
    levels = [_level_record(state, name) for name in names]
    facing = [f"panels.facing:{p}{FACING}{q}" for p, q in pairwise(names)]
    return levels + [state.records.get(task) for task in facing]


def _line(state: JobState, chain: Sequence[int], records: Sequence[Record]) -> Verdict:
    panels = [state.job.panels[k] for k in chain]
    fall = 0.0
    for panel, level in zip(panels, records[: len(panels)], strict=True):
        share = panel.height_mm / panel.width_mm if state.job.layout.kind == "column" else 1.0
        fall -= share * _level_off_mm(state, panel.name, level)
    for facing in records[len(panels) :]:
        fall += AHEAD[facing.values["ahead"]] * value_mm(facing.values, "by")
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
