"""Whether a task is done, locked, or waits, and for what.

Rules of this file: a record counts while what it was made for still holds (``is_stale`` says when
not); no hole before the survey and the consent; a stop locks its own seat and every seat near the
place it was called at, and nothing else.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from itertools import takewhile
from math import dist
from typing import Any

from holdtrue.core.clear import SAME_MM
from holdtrue.core.trim_kit import shim_mm
from holdtrue.domain.hanging import is_reading_of
from holdtrue.domain.levelcheck import checked_level, read_rise_mm
from holdtrue.domain.ordering import panels_in_order
from holdtrue.domain.prefill import planned_values
from holdtrue.domain.readings import SUM_MM
from holdtrue.domain.slots import (
    Slot,
    cross_slots,
    has_hold,
    panels_hung_early,
    seats_by_panel,
    shim_slots,
    slots_of,
)
from holdtrue.domain.state import JobState, Point, Record, Stop
from holdtrue.domain.stops import stop_at
from holdtrue.domain.subjects import facing_panels, pair_seats
from holdtrue.domain.task_kinds import FAILED
from holdtrue.domain.tasks import TASK_KINDS

Place = Sequence[Any]
"""Panel name, then x, y, width and height in mm; on a slope the rise over the width."""
SURVEY = ("before", "work", "reference", "level", "behind")
NO_HOLE_BEFORE = (*SURVEY, "stand_back")
CLOSED = "there are holes already; the lead changes the plan now"

PAIR_MM = 1.0
"""Two marks further off than this against each other are marked again, free of charge. Our
choice: the placing uncertainty of one fastener."""

LINE_MOVED_MM = 30.0
"""A level line wanted further off than this from where it was asked for is another line. Our
choice: just over one step of the grid the lines are put on."""

PLACE_MOVED_MM = 1.0
"""Panels moved or resized by more are not what was said yes to. Our choice: a tape's reading."""


# -- does a record still hold ---------------------------------------------------------------------


def is_stale(state: JobState, slot: Slot) -> bool:
    """Whether what the task's record was made for has changed since, so that it is to do again."""
    record = state.records[slot.id]
    if record.outcome == FAILED:
        return True
    match slot.kind.name:
        case "fasteners.mark":
            return _is_mark_moved(state, slot.subject)
        case "fasteners.pair":
            return not pair_is_true(state, slot.id) or _is_remarked(state, slot.subject, record)
        case "work.spacing":
            now = planned_values(state, slot.id)["spacing"]["mm"]
            return bool(abs(float(record.values["spacing"]["mm"]) - now) > SUM_MM)
        case "level.line" | "level.tape":
            now = planned_values(state, slot.id)["height"]["mm"]
            return bool(abs(float(record.planned["height"]["mm"]) - now) > LINE_MOVED_MM)
        case "stand_back.corners" | "stand_back.yes":
            now = planned_values(state, slot.id)["places"]
            return not _is_same_place(record.planned["places"], now)
        case "secure.lock":
            return _is_loosened(state, slot.subject, record)
        case "secure.try":
            lock = state.records.get(f"secure.lock:{slot.subject}")
            return lock is None or lock.seq > record.seq or _is_loosened(state, slot.subject, lock)
        case "panels.shim":
            return _is_other_by_now(state, slot.id, record)
        case "panels.level" | "panels.facing":
            return slot.id in state.near and record.outcome == "measured"
        case "panels.trim":
            return _is_read_since(state, slot.subject, record)
        case _:
            return False


def old_mark_mm(state: JobState, name: str) -> Point | None:
    """Where the hole was pencilled that goes elsewhere by now, and is not begun; None of others."""
    mark, seat = state.marked.get(name), state.seat(name)
    if mark is None or state.is_drilled(name) or name in state.set_seats:
        return None
    there = (mark.seat_mm[0], mark.hole_y_mm)
    return there if dist(there, (seat.x_mm, seat.hole_y_mm)) > SAME_MM else None


def _is_mark_moved(state: JobState, name: str) -> bool:
    """A mark on the wall that is no longer the mark given, and not begun."""
    mark, seat = state.marked.get(name), state.seat(name)
    if mark is None or name in state.holes or name in state.set_seats:
        return False
    there, wanted = (mark.seat_mm[0], mark.hole_y_mm), (seat.x_mm, seat.hole_y_mm)
    is_moved = dist(there, wanted) > 1e-6 or dist(mark.seat_mm, (seat.x_mm, seat.y_mm)) > 1e-6
    return is_moved or mark.fastener != (seat.fastener.name if seat.fastener else None)


def _is_remarked(state: JobState, subject: str, record: Record) -> bool:
    """One of the pair's marks was made again since, and is not drilled yet."""
    marks = (
        state.records.get(f"fasteners.mark:{seat}")
        for seat in pair_seats(subject)
        if not state.is_drilled(seat)
    )
    return any(mark is not None and mark.seq > record.seq for mark in marks)


def pair_is_true(state: JobState, task_id: str) -> bool:
    """Whether the two marks' last check agrees with the plan within PAIR_MM."""
    record = state.records[task_id]
    if record.outcome == "as_planned":
        return True
    off = pair_off_mm(state, record.values, record.planned, read_at=record.seq)
    return all(abs(one) <= PAIR_MM for one in off)


def pair_off_mm(
    state: JobState,
    values: Mapping[str, Any],
    planned: Mapping[str, Any],
    *,
    read_at: int | None = None,
) -> tuple[float, float]:
    """How far two marks are off plan against each other: too far apart, the right one too high.

    The level's own error is taken off. An entry made before plans were shown as the level reads
    them has no ``rise``: what it calls higher is the plan itself.
    """
    apart = float(planned["spacing"]["mm"])
    wanted = float(planned["rise"]["mm"]) if "rise" in planned else read_rise_mm(planned)
    rise = checked_level(state, read_at).true_rise_mm(read_rise_mm(values), apart)
    return float(values["spacing"]["mm"]) - apart, rise - wanted


def _is_same_place(then: Sequence[Place], now: Sequence[Place]) -> bool:
    """The same panels, none moved or resized."""
    if [(row[0], len(row)) for row in then] != [(row[0], len(row)) for row in now]:
        return False
    return all(
        abs(a - b) <= PLACE_MOVED_MM
        for was, row in zip(then, now, strict=True)
        for a, b in zip(was[1:], row[1:], strict=True)
    )


def _is_other_by_now(state: JobState, task: str, record: Record) -> bool:
    """Shims on the floor that would be laid otherwise by more than one shim."""
    then, now = record.planned["thick"]["mm"], planned_values(state, task)
    return "thick" in now and abs(now["thick"]["mm"] - then) > shim_mm(state.job.unit) + 1e-6


def _is_read_since(state: JobState, panel: str, record: Record) -> bool:
    return any(
        one.seq > record.seq for task, one in state.records.items() if is_reading_of(task, panel)
    )


def _is_loosened(state: JobState, panel: str, lock: Record) -> bool:
    """The panel was taken down, hung again or trimmed since it was secured."""
    lift = state.records.get(f"panels.lift:{panel}")
    is_hung_again = lift is None or lift.seq > lock.seq
    return is_hung_again or any(t.panel == panel and t.seq > lock.seq for t in state.trims)


# -- what a task waits for ------------------------------------------------------------------------


def is_closed(state: JobState, slot: Slot) -> bool:
    """Whether what would be measured here can no longer change the plan: there are holes.

    A panel's own hangers move no other panel, so they are open until that panel has a hole; then
    once more where they are asked for again.
    """
    if not slot.kind.shapes_plan or slot.id in state.reopened:
        return False
    if slot.panel is None:
        return any(state.is_drilled(seat) for seat in state.form.seats)
    return any(state.is_drilled(seat) for seat in seats_by_panel(state)[slot.panel])


class Board:
    """The tasks of one state; what is asked for every task is worked out once."""

    def __init__(self, state: JobState) -> None:
        self.state = state
        self.seats = seats_by_panel(state)
        self.slots = slots_of(state, self.seats)
        self.methods = {panel.name: panel.hang.method for panel in state.job.panels}
        self.sticks, self.open_stops = state.sticks, state.open_stops
        self._first_open: dict[str, Slot | None] = {}
        self._done: dict[str, bool] = {}

    def is_done(self, slot: Slot) -> bool:
        task = slot.id
        if task not in self._done:
            self._done[task] = task in self.state.records and not is_stale(self.state, slot)
        return self._done[task]

    def stop_near(self, slot: Slot) -> Stop | None:
        """The open stop that locks this task: at its own seat, or within reach of its hole.

        A panel is not lifted onto a stopped seat either.
        """
        if slot.kind.name == "panels.lift" and slot.panel is not None:
            seats = self.seats[slot.panel]
            return next((stop for stop in self.open_stops if stop.seat in seats), None)
        if slot.kind.stage != "fasteners" or not self.open_stops:
            return None
        return stop_at(self.state, self.seats_about(slot))

    def seats_about(self, slot: Slot) -> tuple[str, ...]:
        """The seats a fastener task is about; one about a whole panel is pencil work, at none."""
        return () if slot.kind.scope == "panel" else pair_seats(slot.subject)

    def waits_for(self, slot: Slot) -> str:
        """What the task waits for, or an empty text."""
        stage = slot.kind.stage
        if stage == "join":
            return ""
        if self.state.release is None:
            return "the lead has not released the plan yet"
        if not slot.kind.has_plan and is_closed(self.state, slot):
            return CLOSED
        if stage in SURVEY:
            return "" if stage == "before" else self._open_in(("before",), "first finish")
        if stage == "stand_back":
            return self._open_in(SURVEY, "first finish") or self._open_ahead_of(slot)
        if stage == "fasteners":
            return self._fastener_waits(slot)
        if stage == "panels":
            return self._panel_waits(slot)
        return self._late_waits(slot)

    def _open_in(self, stages: Iterable[str], words: str) -> str:
        for stage in stages:
            if stage not in self._first_open:
                self._first_open[stage] = next(
                    (s for s in self.slots if s.kind.stage == stage and self._is_open(s)), None
                )
            found = self._first_open[stage]
            if found is not None:
                return f"{words}: {found.title}"
        return ""

    def _is_open(self, slot: Slot) -> bool:
        """Not done; but nobody waits for what can no longer be recorded."""
        if slot.kind.is_optional or self.is_done(slot):
            return False
        return slot.kind.has_plan or not is_closed(self.state, slot)

    def _open_ahead_of(self, slot: Slot) -> str:
        """The first task of the same stage that comes before this one and is not done."""
        for other in takewhile(lambda one: one.id != slot.id, self.slots):
            if other.kind.stage == slot.kind.stage and self._is_open(other):
                return f"first finish: {other.title}"
        return ""

    def load_stop(self, seats: Iterable[str]) -> str:
        """What the lead must look at before work at these seats goes on."""
        named = list(seats)
        for finding in self.state.open_findings:
            if finding.seat is None or finding.seat in named:
                return f"the lead must look first: {finding.crew_text}"
        return ""

    def no_hole_yet(self) -> str:
        """What is missing before any hole, or an empty text."""
        return self._open_in(NO_HOLE_BEFORE, "no hole before")

    def _fastener_waits(self, slot: Slot) -> str:
        waits = self.no_hole_yet() or self.load_stop(self.seats_about(slot))
        if waits:
            return waits
        for earlier in self.earlier_in_panel(slot):
            if not self.is_done(earlier):
                return f"first finish: {earlier.title}"
        return ""

    def earlier_in_panel(self, slot: Slot) -> list[Slot]:
        """Tasks of the same panel that must be done before this one."""
        name = slot.kind.name.partition(".")[2]
        first = self.stick_from(slot.panel)
        if name == "stick" or (name == "mark" and first in (None, slot.subject)):
            return []
        if name == "mark":
            return [self._task("measure", str(first), slot)]
        if name == "recross":
            return [Slot(TASK_KINDS["fasteners.cross"], slot.subject, slot.panel)]
        if name in ("cross", "again"):
            return [self._task("measure", seat, slot) for seat in pair_seats(slot.subject)]
        if name == "pair":
            return [self._task("mark", seat, slot) for seat in pair_seats(slot.subject)]
        if name == "pilot":
            pairs = [
                other
                for other in self.slots
                if other.kind.name == "fasteners.pair"
                and other.panel == slot.panel
                and slot.subject in pair_seats(other.subject)
            ]
            # a lone hanger has no pair to check, and the others of a story stick come after it
            if slot.subject == first:
                pairs = []
            return pairs or [self._task("mark", slot.subject, slot)]
        chain = ("pilot", "anchor", "press", "measure")
        return [self._task(chain[chain.index(name) - 1], slot.subject, slot)]

    def stick_from(self, panel: str | None) -> str | None:
        """The seat from which a story stick carries the panel's others; None without a stick."""
        if panel not in self.sticks:
            return None
        return next(seat for seat in self.state.order if seat in self.seats[str(panel)])

    @staticmethod
    def _task(name: str, seat: str, slot: Slot) -> Slot:
        return Slot(TASK_KINDS[f"fasteners.{name}"], seat, slot.panel)

    def _panel_waits(self, slot: Slot) -> str:
        if slot.kind.name == "panels.move":
            return ""
        for panel in self.panels_to_set(slot):
            for seat in self.seats[panel]:
                if seat not in self.state.set_seats:
                    return f"first set and measure seat {seat}"
        if slot.panel is None:
            return ""
        waits = self.load_stop(self.seats[slot.panel])
        if waits:
            return waits
        hold = "hold.first_lift"
        if self.is_held(slot) and hold not in self.state.records:
            return f"first: {TASK_KINDS[hold].title}"
        return self._hanging_waits(slot)

    def panels_to_set(self, slot: Slot) -> list[str]:
        """The panels whose seats must all be set before this task of stage 9."""
        early = panels_hung_early(self.state)
        if slot.panel is not None:
            return [slot.panel] if slot.panel in early else list(self.seats)
        return [p for p in panels_in_order(self.state) if p in early][:1] or list(self.seats)

    def is_held(self, slot: Slot) -> bool:
        """Whether the lead looks before it; shims are laid on the floor."""
        return slot.kind.name != "panels.shim" and has_hold(self.state, "hold.first_lift")

    def done_before(self, slot: Slot) -> list[Slot]:
        """What comes before a panel's shims, lift or trim.

        Hangers are moved where the maker says so; shims are laid by seats read against each other;
        nothing is trimmed before all that hangs is read.
        """
        if slot.kind.name == "panels.trim":
            return [other for other in self.slots if self._reads_hung(other)]
        if slot.panel is None or slot.kind.name not in ("panels.shim", "panels.lift"):
            return []
        move, seats = TASK_KINDS["panels.move"], self.seats[slot.panel]
        moved = [Slot(move, seat, slot.panel) for seat in seats if seat in self.state.moves]
        if slot.kind.name == "panels.lift":
            return moved + shim_slots(self.state, slot.panel, seats)
        return moved + cross_slots(self.state, slot.panel, seats)

    def _reads_hung(self, slot: Slot) -> bool:
        if slot.kind.name not in ("panels.level", "panels.facing", "panels.edge"):
            return False
        engaged = (f"panels.engaged:{panel}" for panel in facing_panels(slot.subject))
        return all(task in self.state.records for task in engaged)

    @staticmethod
    def hung_by(slot: Slot) -> tuple[str, ...]:
        """What must be done to its panels for them to hang as this task needs it."""
        before = {"panels.shim": (), "panels.lift": (), "panels.engaged": ("lift",)}
        return before.get(slot.kind.name, ("lift", "engaged"))

    def _hanging_waits(self, slot: Slot) -> str:
        """Lift, then engage, then read; between two panels, both must hang."""
        for before in self.done_before(slot):
            if not self.is_done(before):
                return f"first finish: {before.title}"
        earlier = self.hung_by(slot)
        for panel in facing_panels(slot.subject):
            for done in earlier:
                kind = TASK_KINDS[f"panels.{done}"]
                if f"{kind.name}:{panel}" not in self.state.records:
                    return f"first finish: {kind.title.format(subject=panel)}"
        return ""

    def level_hung(self, panel: str) -> tuple[Slot, ...]:
        """What hangs a panel and makes it level: it is secured then, whatever the others do."""
        names = ("panels.lift", "panels.engaged", "panels.level", "panels.trim")
        return tuple(s for s in self.slots if s.subject == panel and s.kind.name in names)

    def _late_waits(self, slot: Slot) -> str:
        if slot.kind.name == "secure.lock":
            left = (one for one in self.level_hung(slot.subject) if not self.is_done(one))
            return next((f"first finish: {one.title}" for one in left), "")
        if slot.kind.name == "secure.try":
            lock = Slot(TASK_KINDS["secure.lock"], slot.subject, slot.panel)
            return "" if self.is_done(lock) else f"first secure panel {slot.subject}"
        if slot.kind.stage == "secure":
            return self._open_in(("panels",), "first finish")
        waits = self._open_in(("fasteners", "panels", "secure"), "first finish")
        if waits:
            return waits
        if slot.kind.name in ("hold.leave", "close.hand_over"):
            waits = self._open_ahead_of(slot)
        if not waits and slot.kind.name == "close.hand_over" and self.open_stops:
            return f"the stop at {self.open_stops[0].seat} is not cleared"
        return waits
