"""Which tasks a job has, which may be done now, and what may happen to each.

Rules of this file: every transition lives in ``TRANSITIONS``; the page a person looks at decides
nothing, so going back to look loses nothing; a task that must wait says for what.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import pairwise
from math import dist
from types import MappingProxyType
from typing import Literal

from holdtrue.core.order import panel_order
from holdtrue.core.sources import STOP_REACH_MM
from holdtrue.domain.errors import ConflictError, NotFoundError
from holdtrue.domain.state import JobState, Stop
from holdtrue.domain.tasks import STAGES, TASK_KINDS, TaskKind
from holdtrue.domain.trim import panels_to_trim

Status = Literal["waiting", "ready", "done", "stopped"]
Action = Literal["record", "undo", "block", "free"]

TRANSITIONS: Mapping[tuple[Status, Action], Status] = MappingProxyType(
    {
        ("ready", "record"): "done",
        ("done", "record"): "done",
        ("done", "undo"): "ready",
        ("ready", "block"): "ready",
        ("done", "block"): "ready",
        ("done", "free"): "ready",
    }
)
"""What may happen to a task; every pair that is not here is refused and changes nothing."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Task:
    id: str
    kind: TaskKind
    subject: str
    panel: str | None
    status: Status
    why: str = ""
    """What a waiting or stopped task waits for."""

    @property
    def title(self) -> str:
        return self.kind.title.format(subject=shown_subject(self.subject))

    @property
    def ask(self) -> str:
        return self.kind.ask.format(subject=shown_subject(self.subject))


def shown_subject(subject: str) -> str:
    """A subject as people read it.

    >>> shown_subject("A1-A2"), shown_subject("A|B")
    ('A1 to A2', 'A and B')
    """
    return subject.replace("|", " and ").replace("-", " to ") if subject else ""


def checklist(state: JobState) -> tuple[Task, ...]:
    """Every task of the job, in the order they are best done."""
    return tuple(_with_status(state, slot) for slot in _slots(state))


def find_task(state: JobState, task_id: str) -> Task:
    """One task; NotFoundError when this job has none of that id."""
    for task in checklist(state):
        if task.id == task_id:
            return task
    raise NotFoundError(f"This job has no task {task_id[:60]!r}; the plan may have changed.")


def next_task(tasks: Iterable[Task], after: str | None = None) -> Task | None:
    """The next one that is ready: behind ``after`` if there is one, else the first of all."""
    listed = list(tasks)
    start = next((i for i, task in enumerate(listed) if task.id == after), -1) + 1
    ready = [task for task in listed[start:] + listed[:start] if task.status == "ready"]
    return ready[0] if ready else None


def allow(task: Task, action: Action) -> Status:
    """The status after an action; ConflictError, saying why, when it may not happen now."""
    after = TRANSITIONS.get((task.status, action))
    if after is not None:
        return after
    if task.status in ("waiting", "stopped"):
        raise ConflictError(f"{task.title} must wait: {task.why}")
    raise ConflictError(f"{task.title} is not done yet, so there is nothing to {action}.")


# -- which tasks there are -----------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Slot:
    kind: TaskKind
    subject: str = ""
    panel: str | None = None

    @property
    def id(self) -> str:
        return f"{self.kind.name}:{self.subject}" if self.subject else self.kind.name


def _slots(state: JobState) -> list[_Slot]:
    slots: list[_Slot] = []
    for stage in STAGES:
        if stage.name == "fasteners":
            slots += _driving_and_hanging(state)
        elif stage.name == "panels":
            continue
        else:
            kinds = [kind for kind in TASK_KINDS.values() if kind.stage == stage.name]
            by_panel = stage.name in ("work", "secure")
            slots += _by_panel(state, kinds) if by_panel else _by_kind(state, kinds)
    return slots


def _by_kind(state: JobState, kinds: Iterable[TaskKind]) -> list[_Slot]:
    slots: list[_Slot] = []
    for kind in kinds:
        if kind.scope == "line":
            slots += [_Slot(kind, line.name) for line in state.lines]
        elif kind.scope == "panel":
            if state.release is not None and state.release.next_day:
                slots += [_Slot(kind, panel.name, panel.name) for panel in state.job.panels]
        elif not kind.name.startswith("hold.") or _has_hold(state, kind.name):
            slots.append(_Slot(kind))
    return slots


def _by_panel(state: JobState, kinds: Iterable[TaskKind]) -> list[_Slot]:
    listed = list(kinds)
    slots = []
    for panel in state.job.panels:
        for kind in listed:
            slots += _of_panel(state, kind, panel.name)
    return slots + [_Slot(kind) for kind in listed if kind.scope == "job"]


def _of_panel(state: JobState, kind: TaskKind, panel: str) -> list[_Slot]:
    seats = seats_of(state, panel)
    if kind.scope == "panel":
        return [_Slot(kind, panel, panel)]
    if kind.scope == "hanger":
        return [_Slot(kind, seat, panel) for seat in seats]
    if kind.scope == "pair":
        return [_Slot(kind, f"{a}-{b}", panel) for a, b in pairwise(seats)]
    return []


def seats_of(state: JobState, panel: str) -> list[str]:
    """A panel's seats, from the left."""
    index = next(k for k, p in enumerate(state.job.panels) if p.name == panel)
    arrangement = state.plan.arrangement
    return [
        name
        for name, k in zip(arrangement.seat_names, arrangement.seat_panel, strict=True)
        if k == index
    ]


def _driving_and_hanging(state: JobState) -> list[_Slot]:
    """Stages 8 and 9, fasteners first or panel by panel, panels in driving order."""
    panels = [state.job.panels[k].name for k in panel_order(state.plan)]
    first_lift = (
        [_Slot(TASK_KINDS["hold.first_lift"])] if _has_hold(state, "hold.first_lift") else []
    )
    way = state.release.way if state.release else "fasteners_first"
    if way == "fasteners_first":
        driving = [slot for panel in panels for slot in _driving(state, panel)]
        return driving + first_lift + [s for panel in panels for s in _hanging(state, panel)]
    mixed: list[_Slot] = []
    for at, panel in enumerate(panels):
        mixed += _driving(state, panel) + (first_lift if at == 0 else []) + _hanging(state, panel)
    return mixed


def _driving(state: JobState, panel: str) -> list[_Slot]:
    seats = [name for name in state.order if name in seats_of(state, panel)]
    marks = [_Slot(TASK_KINDS["fasteners.mark"], seat, panel) for seat in seats]
    pairs = _of_panel(state, TASK_KINDS["fasteners.pair"], panel)
    drives = [
        _Slot(TASK_KINDS[f"fasteners.{name}"], seat, panel)
        for seat in seats
        for name in ("pilot", "anchor", "press", "measure")
    ]
    return marks + pairs + drives


def _hanging(state: JobState, panel: str) -> list[_Slot]:
    slots = [
        _Slot(TASK_KINDS[f"panels.{name}"], panel, panel) for name in ("lift", "engaged", "level")
    ]
    hung = _hung_before(state, panel)
    for pair in state.plan.arrangement.neighbours:
        p, q = state.job.panels[pair.p].name, state.job.panels[pair.q].name
        if panel in (p, q) and (q if panel == p else p) in hung:
            slots.append(_Slot(TASK_KINDS["panels.facing"], f"{p}|{q}", panel))
    if panel in panels_to_trim(state):
        slots.append(_Slot(TASK_KINDS["panels.trim"], panel, panel))
    return slots


def _hung_before(state: JobState, panel: str) -> list[str]:
    order = [state.job.panels[k].name for k in panel_order(state.plan)]
    return order[: order.index(panel)]


def _has_hold(state: JobState, kind: str) -> bool:
    return state.release is not None and kind.partition(".")[2] in state.release.holds


# -- whether each may be done --------------------------------------------------------------------

_SURVEY = ("before", "work", "reference", "level", "behind")


def _with_status(state: JobState, slot: _Slot) -> Task:
    stop = _stop_near(state, slot)
    status: Status
    if stop:
        status, why = (
            "stopped",
            (
                f"stop at {stop.seat} ({stop.what}): the lead clears it, signed "
                "in on a connected device"
            ),
        )
    elif slot.id in state.records and not _is_stale(state, slot):
        status, why = "done", ""
    else:
        why = _waits_for(state, slot)
        status = "waiting" if why else "ready"
    return Task(
        id=slot.id, kind=slot.kind, subject=slot.subject, panel=slot.panel, status=status, why=why
    )


def _stop_near(state: JobState, slot: _Slot) -> Stop | None:
    """The open stop that locks this task: its own seat, or one within reach."""
    if slot.kind.stage != "fasteners" or not state.open_stops:
        return None
    here = [state.seat(name) for name in slot.subject.split("-")]
    for stop in state.open_stops:
        there = state.seat(stop.seat)
        for seat in here:
            if dist((seat.x_mm, seat.hole_y_mm), (there.x_mm, there.hole_y_mm)) <= STOP_REACH_MM:
                return stop
    return None


def _is_stale(state: JobState, slot: _Slot) -> bool:
    """A mark on the wall that is no longer the mark given, and not begun; or a pair out of true."""
    if slot.kind.name == "fasteners.pair":
        return not pair_is_true(state, slot.id)
    if slot.kind.name != "fasteners.mark" or slot.subject in state.holes:
        return False
    mark, seat = state.marked.get(slot.subject), state.seat(slot.subject)
    if mark is None or slot.subject in state.set_seats:
        return False
    moved = dist(mark.seat_mm, (seat.x_mm, seat.y_mm)) > 1e-6
    return moved or mark.fastener != (seat.fastener.name if seat.fastener else None)


PAIR_MM = 1.0
"""Two marks further off than this against each other are marked again, free of charge. Our
choice: the placing uncertainty of one fastener."""


def pair_is_true(state: JobState, task_id: str) -> bool:
    """Whether the two marks' last check agrees with the plan within PAIR_MM."""
    record = state.records[task_id]
    if record.outcome == "as_planned":
        return True
    off_x = float(record.values["spacing"]["mm"]) - float(record.planned["spacing"]["mm"])
    off_y = signed_by(record.values) - signed_by(record.planned)
    return abs(off_x) <= PAIR_MM and abs(off_y) <= PAIR_MM


def signed_by(values: Mapping[str, object]) -> float:
    """``higher``/``by`` of a pair as one signed height difference: right minus left, mm."""
    by = values.get("by")
    size = float(by["mm"]) if isinstance(by, Mapping) else 0.0
    return {"level": 0.0, "left": -size, "right": size}[str(values["higher"])]


def _waits_for(state: JobState, slot: _Slot) -> str:
    """What the task waits for, or an empty text."""
    if state.release is None:
        return "the lead has not released the plan yet" if slot.kind.stage != "join" else ""
    stage = slot.kind.stage
    if slot.kind.shapes_plan and state.holes:
        return "there are holes already; the lead changes the plan now"
    if stage in ("join", "before"):
        return ""
    if stage in _SURVEY:
        return _open_of(state, ("before",), "first finish")
    if stage == "stand_back":
        return _stand_back_waits(state, slot)
    if stage == "fasteners":
        return _fastener_waits(state, slot)
    if stage == "panels":
        return _panel_waits(state, slot)
    return _late_waits(state, slot)


def _open_of(state: JobState, stages: Iterable[str], words: str) -> str:
    for stage in stages:
        for slot in _slots(state):
            if slot.kind.stage == stage and slot.id not in state.records:
                task = Task(
                    id=slot.id,
                    kind=slot.kind,
                    subject=slot.subject,
                    panel=slot.panel,
                    status="ready",
                )
                return f"{words}: {task.title}"
    return ""


def _stand_back_waits(state: JobState, slot: _Slot) -> str:
    waits = _open_of(state, _SURVEY, "first finish")
    if waits:
        return waits
    order = ("stand_back.corners", "stand_back.yes", "hold.first_hole")
    for name in order[: order.index(slot.kind.name)]:
        if name not in state.records:
            return f"first finish: {TASK_KINDS[name].title}"
    return ""


def _fastener_waits(state: JobState, slot: _Slot) -> str:
    waits = _open_of(state, ("stand_back",), "no hole before")
    if waits:
        return waits
    seats = slot.subject.split("-")
    for finding in state.open_findings:
        if finding.seat in seats:
            return f"stop, the lead must look: {finding.text}"
    if slot.panel is None:
        return ""
    for name in _before_in_panel(state, slot):
        if name not in state.records or _is_stale(state, _parse(name, slot.panel)):
            kind, _, subject = name.partition(":")
            title = TASK_KINDS[kind].title.format(subject=shown_subject(subject))
            return f"first finish: {title}"
    return ""


def _parse(task_id: str, panel: str) -> _Slot:
    kind, _, subject = task_id.partition(":")
    return _Slot(TASK_KINDS[kind], subject, panel)


def _before_in_panel(state: JobState, slot: _Slot) -> list[str]:
    """Tasks of the same panel that come before this one can be done."""
    panel = slot.panel or ""
    seats = seats_of(state, panel)
    name = slot.kind.name.partition(".")[2]
    if name == "mark":
        return []
    if name == "pair":
        return [f"fasteners.mark:{seat}" for seat in slot.subject.split("-")]
    pairs = [
        s.id
        for s in _of_panel(state, TASK_KINDS["fasteners.pair"], panel)
        if slot.subject in s.subject.split("-")
    ]
    if name == "pilot":
        # a lone hanger has no pair to check
        return pairs if len(seats) > 1 else [f"fasteners.mark:{slot.subject}"]
    chain = ("pilot", "anchor", "press", "measure")
    return [f"fasteners.{chain[chain.index(name) - 1]}:{slot.subject}"]


def _panel_waits(state: JobState, slot: _Slot) -> str:
    panels = [p.name for p in state.job.panels]
    first = state.release is not None and state.release.way == "fasteners_first"
    needed = panels if first or slot.panel is None else [slot.panel]
    if slot.kind.name == "hold.first_lift" and not first:
        needed = [state.job.panels[panel_order(state.plan)[0]].name]
    for panel in needed:
        for seat in seats_of(state, panel):
            if seat not in state.set_seats:
                return f"first set and measure seat {seat}"
    if slot.kind.name == "hold.first_lift":
        return ""
    if _has_hold(state, "hold.first_lift") and "hold.first_lift" not in state.records:
        return f"first: {TASK_KINDS['hold.first_lift'].title}"
    order = ("lift", "engaged", "level", "facing", "trim")
    name = slot.kind.name.partition(".")[2]
    for earlier in order[: min(order.index(name), 2)]:
        if f"panels.{earlier}:{slot.panel}" not in state.records:
            title = TASK_KINDS[f"panels.{earlier}"].title.format(subject=slot.panel)
            return f"first finish: {title}"
    return ""


def _late_waits(state: JobState, slot: _Slot) -> str:
    if slot.kind.stage == "secure":
        waits = _open_of(state, ("panels",), "first finish")
        if waits or slot.kind.name != "secure.try":
            return waits
        lock = f"secure.lock:{slot.subject}"
        return "" if lock in state.records else f"first secure panel {slot.subject}"
    waits = _open_of(state, ("fasteners", "panels", "secure"), "first finish")
    if waits:
        return waits
    close = [s for s in _slots(state) if s.kind.stage == "close"]
    if slot.kind.name in ("hold.leave", "close.hand_over"):
        for earlier in close[: [s.id for s in close].index(slot.id)]:
            if earlier.id not in state.records:
                return f"first finish: {earlier.kind.title}"
    if slot.kind.name == "close.hand_over" and state.open_stops:
        return f"the stop at {state.open_stops[0].seat} is not cleared"
    return ""
