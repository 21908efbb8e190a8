"""What the readings on hung panels say against the tolerances, and which panels ask for a trim.

A criterion is judged by all that is known of where the panels hang, not by its last reading alone:
inside when its likely value is, clear of its tolerance when that holds with a guard band
(``core.judging``). Nothing is trimmed that is clear, and nothing is called done that is not. A
panel that its readings leave too near to tell is read once more.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from holdtrue.core.criteria import line_chains
from holdtrue.core.hung import Hang, RowKey, hung_rows
from holdtrue.core.judging import (
    RowName,
    criteria_read,
    guarded_mm,
    is_near,
    likely_mm,
    line_label,
)
from holdtrue.core.quality import Vector
from holdtrue.core.sources_trim import MOST_READINGS
from holdtrue.domain.hanging import (
    LEVELS,
    facing_off_mm,
    hung_panels,
    is_reading_of,
    level_off_mm,
    readings_of,
    value_mm,
)
from holdtrue.domain.state import JobState, Record
from holdtrue.domain.subjects import FACING, facing_panels

__all__ = ["Verdict", "is_reading_of", "near_tasks", "verdicts"]

NEXT_DAY = "close.next_day"
LEVEL, BETWEEN = "panels.level", "panels.facing"


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """One criterion as it was read on the hung work, against its tolerance."""

    kind: str
    where: str
    panel: str
    value_mm: float
    """As read; the mean where it was read more than once."""
    tolerance_mm: float
    likely_mm: float
    """By all that is known of where its panels hang."""
    u_mm: float = 0.0
    is_read: bool = True
    """Measured; not recorded as planned with one tap."""

    @property
    def is_inside(self) -> bool:
        return abs(self.likely_mm) <= self.tolerance_mm + 1e-9

    @property
    def limit_mm(self) -> float:
        return float(guarded_mm(self.tolerance_mm, self.u_mm))

    @property
    def is_clear(self) -> bool:
        """Nothing is to be trimmed for it."""
        return abs(self.likely_mm) <= self.limit_mm + 1e-9


def verdicts(state: JobState) -> tuple[Verdict, ...]:
    """Every criterion read on hung panels that stands now, and the line they make once all are."""
    records = _records(state)
    read: dict[RowKey, float] = {}
    for record in records:
        read |= _read_mm(state, record)
    measured = {one.task.partition(":")[2] for one in records if readings_of(state, one.task)}
    likely = _likely(state, [key for key in read if key[1] in measured])
    measured |= _lines_read(state, measured)
    found: list[Verdict] = []
    for (kind, where), value in criteria_read(state.job, state.plan.arrangement, read).items():
        is_read = where in measured
        mm, u = likely.get((kind, where), (float(value), 0.0))
        found.append(
            _verdict(state, kind, where, float(value), likely_mm=mm, u_mm=u, is_read=is_read)
        )
        if kind == "step":
            found.append(_flush(state, where))
    return tuple(found)


def _lines_read(state: JobState, measured: AbstractSet[str]) -> set[str]:
    """Lines on whose way anything was measured."""
    chains = ([state.job.panels[k].name for k in chain] for chain in line_chains(state.job))
    return {
        line_label(names)
        for names in chains
        if measured & {*names, *(f"{p}{FACING}{q}" for p, q in pairwise(names))}
    }


def _verdict(
    state: JobState,
    kind: str,
    where: str,
    value: float,
    *,
    likely_mm: float,
    u_mm: float,
    is_read: bool,
) -> Verdict:
    return Verdict(
        kind=kind,
        where=where,
        panel=where.rpartition("..")[2] if kind == "line" else facing_panels(where)[-1],
        value_mm=value,
        tolerance_mm=getattr(state.job.tolerance, kind),
        likely_mm=likely_mm,
        u_mm=u_mm,
        is_read=is_read,
    )


def _flush(state: JobState, where: str) -> Verdict:
    """Faces in or out do not follow from where seats are: read is read."""
    record = state.records[f"{BETWEEN}:{where}"]
    value = value_mm(record.values, "flush")
    is_read = record.outcome == "measured"
    return _verdict(state, "flush", where, value, likely_mm=value, u_mm=0.0, is_read=is_read)


def _records(state: JobState) -> list[Record]:
    """Records of readings that stand: of two levels of a panel the next day's, to what it has
    settled."""
    records = state.records
    return [
        record
        for task, record in records.items()
        if task.startswith((f"{BETWEEN}:", f"{NEXT_DAY}:"))
        or (task.startswith(f"{LEVEL}:") and task.replace(LEVEL, NEXT_DAY, 1) not in records)
    ]


def _read_mm(state: JobState, record: Record) -> dict[RowKey, float]:
    """What a record and the readings beside it say, off plan; as planned says that it is."""
    kind, _, subject = record.task.partition(":")
    reads = readings_of(state, record.task)
    if kind in LEVELS:
        offs = [level_off_mm(state, subject, r.values, read_at=r.seq) for r in reads]
        return {("level", subject): _mean(offs)}
    facing = [facing_off_mm(read) for read in reads]
    return {key: _mean([off[key[0]] for off in facing]) for key in _keys_of(record.task)}


def _mean(values: Sequence[float]) -> float:
    return sum(values) / len(values) if values else 0.0


def _likely(state: JobState, keys: Iterable[RowKey]) -> dict[RowName, tuple[float, float]]:
    """Of every criterion read: its likely value and standard uncertainty."""
    if state.hang is None:
        return {}
    rows = hung_rows(state.job, state.plan.arrangement)
    hung = {state.job.panels[k].name for k in hung_panels(state)}
    known = {
        (kind, where): rows[kind, where]
        for kind, where in keys
        if (kind, where) in rows and hung.issuperset(facing_panels(where))
    }
    criteria = criteria_read(state.job, state.plan.arrangement, known)
    return {name: _floats(state.hang, np.asarray(row)) for name, row in criteria.items()}


def _floats(hang: Hang, row: Vector) -> tuple[float, float]:
    value, u = likely_mm(hang, row)
    return float(value), float(u)


def near_tasks(state: JobState) -> frozenset[str]:
    """Tasks whose readings leave their panels too near a tolerance to tell."""
    read_few = {
        read.task: _keys_of(read.task)
        for read in state.hung_read
        if read.task.startswith((f"{LEVEL}:", f"{BETWEEN}:"))
        and len(readings_of(state, read.task)) < MOST_READINGS
    }
    if not read_few:
        return frozenset()
    near = {
        where
        for (kind, where), (mm, u) in _likely(state, sum(read_few.values(), ())).items()
        if kind != "line" and is_near(mm, u, getattr(state.job.tolerance, kind))
    }
    return frozenset(task for task in read_few if task.partition(":")[2] in near)


def _keys_of(task: str) -> tuple[RowKey, ...]:
    """What a task reads."""
    kind, _, where = task.partition(":")
    if kind in LEVELS:
        return (("level", where),)
    return (("gap first", where), ("gap second", where), ("step", where))
