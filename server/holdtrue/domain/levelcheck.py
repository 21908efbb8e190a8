"""The level's own error: found by turning it, taken off whatever is read by it.

A spirit level is drawn along, turned end for end, drawn along again: midway is true, so half of
what the two lines differ by is its error. A laser is turned until the other end of its line meets
the same spot: the miss is the tilt of the line, all of it.

The sign belongs to the level as it lay first, with its taped end on the left, and so it is held for
every reading that does not say otherwise. A laser's line faces the wall one way only: it is never
turned. What was typed stays in the log as it was read; whoever needs the true rise asks here.

A level checked again may have been dropped, or be another one: each reading is corrected by the
check it was made under.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from holdtrue.core.instruments import corrected_rise_mm, shown_rise_mm
from holdtrue.domain.state import JobState, Record
from holdtrue.domain.subjects import CROSSED
from holdtrue.domain.task_kinds import TaskKind

READ_BY_LEVEL = ("fasteners.pair", *CROSSED, "panels.level", "close.next_day")
"""Tasks read with the level that was checked; all else is read by tape or rule."""
LEAST_READ_MM = 0.3
"""Nobody reads less than this off a level: it is called level. Our choice: the level's own
uncertainty, ``sources_measure``."""
_SIGNS = {"same": 0.0, "high": 1.0, "low": -1.0}
_SHARES = {"spirit": 0.5, "laser": 1.0}
_RISES = {"level": 0.0, "unread": 0.0}
"""Of the right end over the left, by the side that was chosen."""
_LOW = {**_RISES, "left": 1.0, "right": -1.0}
_HIGHER = {**_RISES, "left": -1.0, "right": 1.0}


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckedLevel:
    """``error_mm_per_m``: how far the right end of what it calls level rises (+) in a metre."""

    error_mm_per_m: float = 0.0
    is_laser: bool = False

    def true_rise_mm(self, read_mm: float, span_mm: float) -> float:
        """A rise read by it, with its own error taken off."""
        return corrected_rise_mm(read_mm, span_mm=span_mm, error_mm_per_m=self.error_mm_per_m)

    def shown_rise_mm(self, rise_mm: float, span_mm: float) -> float:
        """What it shows of a true rise."""
        return shown_rise_mm(rise_mm, span_mm=span_mm, error_mm_per_m=self.error_mm_per_m)


def level_checks(state: JobState) -> tuple[Record, ...]:
    """Every check of a level, the one that stands last."""
    check = state.records.get("level.check")
    return state.earlier_checks if check is None else (*state.earlier_checks, check)


def checked_level(state: JobState, read_at: int | None = None) -> CheckedLevel:
    """The level of this job, or the one in use at entry ``read_at``; unchecked it counts as true.

    What was read under a check that was taken back is corrected by the one before it, or the first.
    """
    checks = level_checks(state)
    before = [one for one in checks if read_at is None or one.seq < read_at]
    check = next(iter(before[-1:] or checks), None)
    return level_of(check.values) if check else CheckedLevel()


def level_of(values: Mapping[str, Any]) -> CheckedLevel:
    """By the values of ``level.check``."""
    return CheckedLevel(error_mm_per_m=level_error_mm_per_m(values), is_laser=is_laser(values))


def read_with(state: JobState, kind: TaskKind, values: Mapping[str, Any]) -> str:
    """What a task is read with, as the log names it: of a level, by the check it is read under.

    That tells one level from another where a job has several: each is checked before it is used.
    """
    if kind.name == "level.check":
        return level_name(values)
    check = state.records.get("level.check")
    if check is None:
        return kind.instrument
    return kind.instrument.replace("level", f"{level_name(check.values)} of entry {check.seq}")


def level_name(values: Mapping[str, Any]) -> str:
    """By the values of ``level.check``."""
    return "laser" if is_laser(values) else "spirit level"


def is_laser(values: Mapping[str, Any]) -> bool:
    """Whether a laser was checked, by the values of ``level.check``."""
    return values.get("instrument") == "laser"


def level_error_mm_per_m(values: Mapping[str, Any]) -> float:
    """How far the right end of a "level" line rises (+) or falls (-) in a metre.

    ``values`` are those recorded for ``level.check``: over, miss, which right end was higher, and
    the instrument (an entry that names none is of a spirit level).

    >>> read = {"over": {"mm": 1000.0}, "miss": {"mm": 1.0}, "higher": "high"}
    >>> level_error_mm_per_m(read), level_error_mm_per_m({**read, "instrument": "laser"})
    (0.5, 1.0)
    """
    miss_mm, over_mm = float(values["miss"]["mm"]), float(values["over"]["mm"])
    share = _SHARES[str(values.get("instrument", "spirit"))]
    return _SIGNS[str(values["higher"])] * miss_mm * share / (over_mm / 1000.0)


def read_rise_mm(values: Mapping[str, Any]) -> float:
    """The right end over the left as it was read: ``low`` or ``higher``, and ``by``.

    >>> read_rise_mm({"low": "left", "by": {"mm": 2.0}}), read_rise_mm({"higher": "level"})
    (2.0, 0.0)
    """
    by = values.get("by")
    size = float(by["mm"]) if by else 0.0
    sign = _LOW[str(values["low"])] if "low" in values else _HIGHER[str(values["higher"])]
    return sign * size
