"""A job as its lead reviews it: planned against as built, what is outside, what bars accepting.

What decides on a residual: a reading on the hung work; where there is none, the measured seats. But
"as planned" tapped while the measured seats put the residual outside, with the trims and without
them, decides nothing: it is read again, or conceded by name.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal

import numpy as np

from holdtrue.core.criteria import all_criteria
from holdtrue.core.hung import panel_columns
from holdtrue.core.model import Met
from holdtrue.core.plan import load_share, seat_allowed_N, seat_force_N
from holdtrue.core.quality import Vector, pose_rows, residuals_mm
from holdtrue.domain import events
from holdtrue.domain.checklist import checklist
from holdtrue.domain.consequence import deviation_of
from holdtrue.domain.fold import undone_seqs
from holdtrue.domain.rings import raised_mm
from holdtrue.domain.state import JobState, Point, Recorded, Trim
from holdtrue.domain.subjects import facing_panels, shown_subject
from holdtrue.domain.tasks import TASK_KINDS
from holdtrue.domain.timeline import parked_title
from holdtrue.domain.trim import NEXT_DAY, Verdict, verdicts

Pose = tuple[float, float, float]
"""dx [mm], dy [mm], theta [rad] of a panel against its plan, front view."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SeatRow:
    """One seat: planned, given, as built."""

    seat: str
    panel: str
    planned_mm: Point
    given_mm: Point | None
    built_mm: Point | None
    is_measured: bool
    """False: accepted on its mark, as planned."""
    fastener: str | None
    into: Met
    met: str | None
    """What the thinnest bit met, as recorded."""
    force_N: float
    allowed_N: float | None
    share: float | None
    who: str | None
    when: str | None
    instrument: str

    @property
    def off_plan_mm(self) -> Point | None:
        return _off(self.built_mm, self.planned_mm)

    @property
    def off_given_mm(self) -> Point | None:
        return _off(self.built_mm, self.given_mm)


def _off(built: Point | None, wanted: Point | None) -> Point | None:
    if built is None or wanted is None:
        return None
    return built[0] - wanted[0], built[1] - wanted[1]


@dataclass(frozen=True, slots=True, kw_only=True)
class ResidualRow:
    """One residual: as the seats put it, as read on the hung work, and which of them decides."""

    kind: str
    where: str
    tolerance_mm: float
    seats_mm: float | None
    reading_mm: float | None
    is_tapped: bool
    """The reading was recorded as planned with one tap."""
    decided_by: Literal["reading", "seats"]
    is_open: bool = False
    """Not read on the hung work yet, or not all of its seats are set: nothing says it is inside."""
    likely_mm: float | None = None
    """What was read, by all that is known of where its panels hang."""
    is_stacked: bool = False
    """Between two panels: the first is above the second, not beside it."""

    @property
    def name(self) -> str:
        """What a concession calls it."""
        return f"{self.kind} {self.where}"

    @property
    def value_mm(self) -> float:
        read = self.reading_mm if self.likely_mm is None else self.likely_mm
        value = read if self.decided_by == "reading" else self.seats_mm
        return value if value is not None else 0.0

    @property
    def is_inside(self) -> bool:
        return abs(self.value_mm) <= self.tolerance_mm * (1.0 + 1e-9)

    @property
    def is_contradicted(self) -> bool:
        """Read as planned, yet outside by the measured seats."""
        return self.reading_mm is not None and self.decided_by == "seats" and not self.is_inside


@dataclass(frozen=True, slots=True, kw_only=True)
class Photo:
    digest: str
    kind: str
    """Its media type."""
    is_parked: bool
    """It came with an entry that was refused."""
    task: str
    seq: int
    who: str
    when: str


# -- seats ----------------------------------------------------------------------------------------


def seat_rows(state: JobState, entries: Sequence[Recorded]) -> tuple[SeatRow, ...]:
    """Every seat of the plan, in its order."""
    by_seq = {entry.seq: entry for entry in entries}
    return tuple(_seat_row(state, planned.seat, by_seq) for planned in state.plan.seats)


def _seat_row(state: JobState, name: str, by_seq: dict[int, Recorded]) -> SeatRow:
    planned = next(seat for seat in state.plan.seats if seat.seat == name)
    now = state.seat(name)
    built = state.set_seats.get(name)
    entry = by_seq.get(built.seq) if built else None
    pilot = state.records.get(f"fasteners.pilot:{name}")
    return SeatRow(
        seat=name,
        panel=state.job.panels[planned.panel].name,
        planned_mm=(planned.x_mm, planned.y_mm),
        given_mm=built.given_mm if built else None,
        built_mm=(built.x_mm, built.y_mm) if built else None,
        is_measured=built is not None and built.is_measured,
        fastener=now.fastener.name if now.fastener else None,
        into=now.into,
        met=str(pilot.values["met"]) if pilot else None,
        force_N=seat_force_N(now),
        allowed_N=seat_allowed_N(now),
        share=load_share(now),
        who=entry.who if entry else None,
        when=entry.received if entry else None,
        instrument=_instrument(state, name, entry) if entry else "",
    )


def _instrument(state: JobState, seat: str, entry: Recorded) -> str:
    said = str(entry.body.get("instrument", ""))
    return f"{said}, read twice" if f"fasteners.again:{seat}" in state.records else said


# -- residuals ------------------------------------------------------------------------------------


def residual_rows(state: JobState) -> tuple[ResidualRow, ...]:
    """Every residual of the form and every reading on the hung work, each once."""
    form = state.form
    readings = {(v.kind, v.where): v for v in verdicts(state)}
    # the plan has moved hangers where they are now: begin with where they were
    before = _deviation(state) - _trims(state, (t for t in state.trims if t.is_planned))
    # the form's residuals by the rows a reading is of
    goal = all_criteria(state.job, state.plan.arrangement)
    untrimmed = residuals_mm(goal, before)
    trimmed = residuals_mm(goal, before + _shims(state) + _trims(state, state.trims))
    rows = []
    for i, (kind, where) in enumerate(zip(form.kinds, form.labels, strict=True)):
        by_seats = (float(untrimmed[i]), float(trimmed[i]))
        reading = readings.pop((kind, where), None)
        row = _row(state, kind, where, float(form.tolerance_mm[i]), by_seats, reading)
        is_due = reading is None and reading_task(state, kind, where) is not None
        rows.append(replace(row, is_open=is_due or not _is_set(state, form.matrix[i])))
    rows += [_row(state, v.kind, v.where, v.tolerance_mm, None, v) for v in readings.values()]
    return tuple(rows)


def _is_set(state: JobState, row: Vector) -> bool:
    """Every seat that a residual depends on is set."""
    names = state.form.seats
    return all(names[at % len(names)] in state.set_seats for at in np.flatnonzero(row))


def _deviation(state: JobState) -> Vector:
    """Set seats as measured, the others on the marks given for them."""
    return deviation_of(state, {**state.marks_mm, **state.set_mm})


def _shims(state: JobState) -> Vector:
    """What shims laid before the lift moved, as deviations of the seats."""
    moved = np.zeros(state.form.planned_mm.size)
    for seat, up in raised_mm(state).items():
        moved[len(state.form.seats) + state.form.seats.index(seat)] += up
    return moved


def _trims(state: JobState, trims: Iterable[Trim]) -> Vector:
    """What trims moved, as deviations of the seats."""
    moved = np.zeros(state.form.planned_mm.size)
    panels = {panel.name: k for k, panel in enumerate(state.job.panels)}
    for trim in trims:
        if trim.means == "slide" and trim.panel in panels:
            moved[slice(*panel_columns(state.job, panels[trim.panel]))] += trim.by_mm
        elif trim.seat in state.form.seats:
            moved[len(state.form.seats) + state.form.seats.index(trim.seat)] += trim.by_mm
    return moved


def _row(
    state: JobState,
    kind: str,
    where: str,
    tolerance_mm: float,
    by_seats: tuple[float, float] | None,
    reading: Verdict | None,
) -> ResidualRow:
    is_tapped = reading is not None and _is_tapped(state, reading)
    is_borne_out = by_seats is None or min(map(abs, by_seats)) <= tolerance_mm
    return ResidualRow(
        kind=kind,
        where=where,
        tolerance_mm=tolerance_mm,
        seats_mm=by_seats[0] if by_seats else None,
        reading_mm=reading.value_mm if reading else None,
        likely_mm=reading.likely_mm if reading else None,
        is_tapped=is_tapped,
        decided_by="reading" if reading and (is_borne_out or not is_tapped) else "seats",
        is_stacked=state.is_stacked(where),
    )


def reading_task(state: JobState, kind: str, where: str) -> str | None:
    """The task that reads this residual on the hung work; None when none does."""
    if kind == "level":
        next_day = f"{NEXT_DAY}:{where}"
        return next_day if next_day in state.records else f"panels.level:{where}"
    return f"panels.facing:{where}" if kind in ("gap", "step", "taper", "flush") else None


def _is_tapped(state: JobState, reading: Verdict) -> bool:
    task = reading_task(state, reading.kind, reading.where)
    return task is not None and state.records[task].outcome == "as_planned"


def outside(rows: Iterable[ResidualRow]) -> tuple[ResidualRow, ...]:
    """What a concession must name before the work can be accepted."""
    return tuple(row for row in rows if not row.is_inside)


def residual_words(kind: str, where: str) -> str:
    """A residual as people say it.

    >>> residual_words("gap", "B|C"), residual_words("level", "A")
    ('gap between B and C', 'level of A')
    """
    if kind in ("gap", "taper", "step", "flush"):
        return f"{kind} between {shown_subject(where)}"
    if kind == "slack":
        return f"seat spacing {shown_subject(where)}"
    if kind in ("centre", "height"):
        return f"{kind} of {where.replace('+', ', ')}"
    if kind == "line":
        return f"line from {where.replace('..', ' to ')}"
    return f"{kind} of {where}"


_WAYS = {
    "level": ("left low by", "right low by"),
    "slack": ("further apart by", "closer by"),
    "gap": ("wider by", "narrower by"),
    "centre": ("right by", "left by"),
    "height": ("high by", "low by"),
    "bearing": ("high by", "low by"),
    "flush": ("in or out by", "in or out by"),
    "line": ("first end higher by", "last end higher by"),
}
_TAPERS = {
    False: ("wider above by", "wider below by"),
    True: ("wider on the right by", "wider on the left by"),
}
SMALLEST_MM = 0.05
"""Less than this is nothing on a wall."""


def way_words(row: ResidualRow, value_mm: float) -> str:
    """Which way a residual lies; empty when it is nothing."""
    if abs(value_mm) < SMALLEST_MM:
        return ""
    is_less = value_mm < 0
    if row.kind == "step":
        first = facing_panels(row.where)[is_less]
        return f"{first} further right by" if row.is_stacked else f"{first} higher by"
    if row.kind == "taper":
        return _TAPERS[row.is_stacked][is_less]
    return _WAYS[row.kind][is_less]


def poses(state: JobState) -> dict[str, Pose]:
    """How far each panel with all its seats set is from its plan."""
    deviation = _deviation(state)
    count = len(state.form.seats)
    found: dict[str, Pose] = {}
    first = 0
    for panel in state.job.panels:
        names = state.form.seats[first : first + len(panel.hangers)]
        if all(name in state.set_seats for name in names):
            rows = pose_rows(panel, first, count)
            found[panel.name] = (
                float(rows.a @ deviation),
                float(rows.b @ deviation),
                float(rows.t @ deviation),
            )
        first += len(panel.hangers)
    return found


# -- accepting ------------------------------------------------------------------------------------


def bars_to_accepting(state: JobState) -> tuple[str, ...]:
    """Why the work cannot be accepted yet, in words; empty when it can."""
    if state.review.state in ("accepted", "conceded"):
        return ("It is accepted already.",)
    bars = []
    if state.release is None:
        bars.append("The plan was changed and not released again.")
    bars += [f"The stop at {stop.seat} ({stop.what}) is not cleared." for stop in state.open_stops]
    bars += [f"{finding.text}." for finding in state.open_findings]
    bars += [
        f"{parked_title(one.task)}, sent by a phone and refused, is not settled."
        for one in state.open_parked
    ]
    left = [
        task for task in checklist(state) if task.status != "done" and not task.kind.is_optional
    ]
    if left:
        more = f" and {len(left) - 1} more" if len(left) > 1 else ""
        bars.append(f"Not done: {left[0].title}{more}.")
    if state.review.state != "handed_over" and not bars:
        bars.append("It has not been handed over.")
    return tuple(bars)


def photos(entries: Sequence[Recorded]) -> tuple[Photo, ...]:
    """Every photo ever kept for this job, oldest first: those taken back and refused ones too."""
    found = []
    for entry in entries:
        photo = photo_of(entry)
        if photo:
            found.append(
                Photo(
                    digest=photo["sha256"],
                    kind=photo["type"],
                    is_parked=not _is_task(entry),
                    task=entry.body["task"],
                    seq=entry.seq,
                    who=entry.who,
                    when=entry.received,
                )
            )
    return tuple(found)


def photo_of(entry: Recorded) -> Any:
    """The photo an entry names (sha256 and type), or None."""
    if _is_task(entry):
        return entry.body.get("values", {}).get("photo")
    return entry.body.get("photo") if entry.type == events.ENTRY_PARKED else None


def _is_task(entry: Recorded) -> bool:
    return entry.type == events.TASK_RECORDED


def has_done_work(entries: Sequence[Recorded], person: str) -> bool:
    """Whether this person recorded any of the work, so that accepting it is self-accepting.

    Choosing a unit and letting a hold point go are no work on the wall.
    """
    undone = undone_seqs(entries)
    return any(
        entry.who == person
        and entry.seq not in undone
        and (entry.type in _AT_THE_WALL or _is_work(entry))
        for entry in entries
    )


_AT_THE_WALL = (events.SEAT_BLOCKED, events.SEAT_FREED, events.CHOICE_MADE)


def _is_work(entry: Recorded) -> bool:
    if not _is_task(entry):
        return False
    kind = TASK_KINDS[str(entry.body["task"]).partition(":")[0]]
    return kind.stage != "join" and not kind.lead_only


_SINCE = (
    events.PLAN_REVISED,
    events.PLAN_RELEASED,
    events.TASK_RECORDED,
    events.SEAT_BLOCKED,
    events.SEAT_FREED,
    events.CHOICE_MADE,
    events.DROP_LEARNED,
    events.PANELS_SWAPPED,
    events.STOP_CALLED,
    events.STOP_CLEARED,
    events.ENTRY_UNDONE,
    events.ENTRY_PARKED,
)


def work_since(entries: Sequence[Recorded], seq: int) -> bool:
    """Whether anything about the work was written after entry ``seq``."""
    return any(entry.seq > seq and entry.type in _SINCE for entry in entries)
