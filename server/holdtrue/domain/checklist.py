"""Which tasks may be done now, and what may happen to each.

Rules of this file: every transition lives in ``TRANSITIONS``; the page a person looks at decides
nothing, so going back to look loses nothing; a task that must wait says for what.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

from holdtrue.domain.errors import ConflictError, NotFoundError
from holdtrue.domain.slots import Slot, seats_by_panel
from holdtrue.domain.state import JobState, Stop
from holdtrue.domain.subjects import facing_panels, pair_seats, panel_of_seat, shown_subject
from holdtrue.domain.tasks import TASK_KINDS, TaskKind
from holdtrue.domain.waiting import Board, is_closed, pair_is_true, pair_off_mm

__all__ = [
    "TRANSITIONS",
    "Action",
    "Status",
    "Task",
    "allow",
    "checklist",
    "find_task",
    "halt",
    "is_changing_plan_closed",
    "next_task",
    "pair_is_true",
    "pair_off_mm",
    "panels_about",
    "require_reachable",
    "seats_of",
    "shown_subject",
]

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
    is_done: bool = False
    """It is recorded and the record still holds, also while a stop locks it."""
    stop: Stop | None = None
    """The open stop that locks it."""
    method: str = "hangers"
    """How its panel hangs."""

    @property
    def title(self) -> str:
        return self.kind.title.format(subject=shown_subject(self.subject))

    @property
    def ask(self) -> str:
        return self.kind.ask_for(self.method).format(subject=shown_subject(self.subject))


def checklist(state: JobState) -> tuple[Task, ...]:
    """Every task of the job, in the order they are best done."""
    board = Board(state)
    return tuple(_with_status(board, slot) for slot in board.slots)


def find_task(state: JobState, task_id: str) -> Task:
    """One task; NotFoundError when this job has none of that id."""
    board = Board(state)
    for slot in board.slots:
        if slot.id == task_id:
            return _with_status(board, slot)
    raise NotFoundError(f"This job has no task {task_id[:60]!r}; the plan may have changed.")


def next_task(tasks: Iterable[Task], after: str | None = None) -> Task | None:
    """The next one that is ready: behind ``after`` if there is one, else the first of all."""
    listed = list(tasks)
    start = next((i for i, task in enumerate(listed) if task.id == after), -1) + 1
    ready = [
        task
        for task in listed[start:] + listed[:start]
        if task.status == "ready" and not task.kind.is_optional
    ]
    return ready[0] if ready else None


def halt(tasks: Iterable[Task]) -> str:
    """Why nothing can be done, or an empty text: what the first open task waits for at last.

    A task that waits for another one says only which; the reason is that one's.
    """
    left = [task for task in tasks if not task.is_done and not task.kind.is_optional]
    if not left or any(task.status == "ready" for task in left):
        return ""
    reasons = [task.why for task in left]
    return next((why for why in reasons if not why.startswith(_AFTER_ANOTHER)), reasons[0])


_AFTER_ANOTHER = ("first", "no hole before")


def allow(task: Task, action: Action) -> Status:
    """The status after an action; ConflictError, saying why, when it may not happen now."""
    after = TRANSITIONS.get((task.status, action))
    if after is not None:
        return after
    if task.status in ("waiting", "stopped"):
        raise ConflictError(f"{task.title} must wait: {task.why}")
    raise ConflictError(f"{task.title} is not done yet, so there is nothing to {action}.")


def seats_of(state: JobState, panel: str) -> list[str]:
    """A panel's seats, from the left."""
    return seats_by_panel(state)[panel]


def is_changing_plan_closed(state: JobState, task: Task) -> bool:
    """Whether a changed reading of this task would change a plan that has holes already."""
    return is_closed(state, Slot(task.kind, task.subject, task.panel))


def require_reachable(state: JobState, seat: str) -> None:
    """ConflictError unless work at the seat may begin, or waits for the lead about its fastener."""
    task = find_task(state, f"fasteners.mark:{seat}")
    board = Board(state)
    waits_for_lead = state.is_released and not board.no_hole_yet() and bool(board.load_stop([seat]))
    if not (task.status == "waiting" and waits_for_lead):
        allow(task, "block")


def panels_about(task_id: str) -> frozenset[str]:
    """The panels a task is about, whether or not the task is on the list now."""
    kind, _, subject = task_id.partition(":")
    if TASK_KINDS[kind].scope in ("panel", "facing"):
        return frozenset(facing_panels(subject))
    if TASK_KINDS[kind].scope in ("hanger", "seat", "pair"):
        return frozenset({panel_of_seat(pair_seats(subject)[0])})
    return frozenset()


def _with_status(board: Board, slot: Slot) -> Task:
    stop, is_done = board.stop_near(slot), board.is_done(slot)
    status: Status
    if stop is not None:
        status = "stopped"
        where = f"stop at {stop.seat} ({stop.what})"
        why = f"{where}: the lead clears it, signed in on a connected device"
    elif is_done:
        status, why = "done", ""
    else:
        why = board.waits_for(slot)
        status = "waiting" if why else "ready"
    return Task(
        id=slot.id,
        kind=slot.kind,
        subject=slot.subject,
        panel=slot.panel,
        status=status,
        why=why,
        is_done=is_done,
        stop=stop,
        method=board.methods.get(slot.panel or "", "hangers"),
    )
