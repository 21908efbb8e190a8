"""What happened between the moment a screen was shown and the moment its entry arrives.

An entry may wait on a phone for hours. Rules of this file:

- the same task recorded by somebody else meanwhile is never overwritten unseen: the entry is
  refused, with both values and who recorded what when;
- a mark made, a hole drilled, a seat measured are facts. Sent late they are recorded at the place
  the phone showed, whatever the numbers are by now; a mark that moved meanwhile is then to be made
  again by itself; shims laid as said lie in their ring as thick as the phone said;
- a place whose panel was put elsewhere meanwhile has another name by now: what was done at it is
  refused, and a stop locks the place it was called at;
- numbers that a person confirmed without measuring ("as planned") are refused when they changed.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from math import isfinite
from typing import Any

from holdtrue.core.sources_trim import SHIM_MOST_MM
from holdtrue.core.trim_kit import shim_mm
from holdtrue.domain import events
from holdtrue.domain.checklist import Task, allow, find_task
from holdtrue.domain.errors import ConflictError, InputError, NotFoundError
from holdtrue.domain.fold import undone_seqs
from holdtrue.domain.needs import needs
from holdtrue.domain.prefill import SHOWN_TO_MM, is_as_shown, length, pair_plan, planned_values
from holdtrue.domain.state import JobState, Record
from holdtrue.domain.subjects import CROSSED, pair_seats, shown_subject, swapped_task
from holdtrue.domain.tasks import TASK_KINDS
from holdtrue.domain.timeline import record_words, task_title
from holdtrue.service import members
from holdtrue.service.services import Actor, Services, entry_under
from holdtrue.store.port import Entry

FARTHEST_MM = 100_000.0
"""No place on a wall is farther off than this: 100 m."""
AT_A_SEAT = ("fasteners.mark", "fasteners.anchor", "fasteners.measure")
"""Tasks done at the very place the phone showed."""
MORE_READINGS = ("fasteners.again", *CROSSED)
"""Of seats that are set: they show no plan."""
MAY_HAVE_MOVED = ("fasteners.mark:", "fasteners.pair:", "panels.shim:")
BEGUN = ("fasteners.pilot", "fasteners.anchor", "fasteners.press", "fasteners.measure")
_THICK = re.compile(r"[0-9]\.[0-9]{2}", re.ASCII)
TRIM = "panels.trim"
MOVED = (
    "The numbers of this task changed while the page was open; nothing was recorded. Look at them "
    "again."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """A seat as the phone showed it when the button was tapped."""

    x_mm: float
    y_mm: float
    hole_y_mm: float
    fastener: str | None
    above_mm: float | None = None
    """The seat over its level line, as shown; None when the phone does not say."""

    @property
    def place(self) -> dict[str, Any]:
        """As a mark is kept in the log."""
        return {
            "x_mm": self.x_mm,
            "y_mm": self.y_mm,
            "hole_y_mm": self.hole_y_mm,
            "fastener": self.fastener,
        }


def read_shown(raw: Mapping[str, str]) -> Shown | None:
    """The ``shown.*`` fields of a form, None when it has none; InputError when it is no place."""
    if not raw.get("shown.x_mm"):
        return None
    x, y, hole_y = (_mm(raw, name) for name in ("x_mm", "y_mm", "hole_y_mm"))
    above = _mm(raw, "above_mm") if raw.get("shown.above_mm") else None
    name = raw.get("shown.fastener", "")[:200] or None
    return Shown(x_mm=x, y_mm=y, hole_y_mm=hole_y, fastener=name, above_mm=above)


def _mm(raw: Mapping[str, str], name: str) -> float:
    path = f"shown.{name}"
    text = raw.get(path, "")
    try:
        value = float(text) if len(text) <= 40 else float("nan")
    except ValueError:
        value = float("nan")
    if not isfinite(value) or abs(value) > FARTHEST_MM:
        raise InputError(path, text, "is not a place on the wall in mm; load the page again")
    return value + 0.0


# -- somebody else meanwhile -----------------------------------------------------------------------


def require_same_record(
    services: Services,
    state: JobState,
    entries: tuple[Entry, ...],
    task_id: str,
    *,
    stands: str | None,
    mine: Mapping[str, Any],
    unit: str,
) -> None:
    """ConflictError when the task was recorded again since the page was shown.

    ``stands``: the seq of the record that stood then ("0": none), or the key of the entry of the
    same phone that this one replaces; None when the page does not say. ``mine``: outcome and
    values of the entry that arrives.
    """
    record = state.records.get(task_id)
    if stands is None or record is None or record.seq <= _seq_of(entries, stands):
        return
    who = members.names(services, state).get(record.who, "somebody")
    typed = record_words(task_id, {**mine, "planned": {}}, unit)
    raise ConflictError(
        f"{task_title(task_id)} was recorded meanwhile by {who}, {_moment(record.when)}: "
        f"{_stored_words(record, unit)}. Yours: {typed}. Theirs stands; yours is not stored. "
        "Look at the wall and record it again if theirs is wrong."
    )


def _seq_of(entries: tuple[Entry, ...], stands: str) -> int:
    if stands.isascii() and stands.isdigit() and len(stands) < 10:
        return int(stands)
    known = entry_under(entries, stands)
    return known.seq if known is not None else 0


def _stored_words(record: Record, unit: str) -> str:
    body = {"outcome": record.outcome, "values": record.values, "planned": record.planned}
    return record_words(record.task, body, unit)


def _moment(when: str) -> str:
    return f"{when[:16].replace('T', ' ')} UTC"


def require_untouched(
    services: Services,
    state: JobState,
    entries: tuple[Entry, ...],
    seat: str,
    *,
    stands: str | None,
    actor: Actor,
) -> None:
    """ConflictError when somebody else worked at the seat since the page was shown.

    ``stands``: the seq of the job's last entry then.
    """
    if stands is None:
        return
    require_same_places(entries, seat, since=stands)
    since, undone = _seq_of(entries, stands), undone_seqs(entries)
    for entry in entries[since:]:
        if entry.who != actor.person and entry.seq not in undone and _is_at(entry, seat):
            who = members.names(services, state).get(entry.who, "somebody")
            raise ConflictError(
                f"{who} worked at {seat} meanwhile, {_moment(entry.received)}: "
                f"{_entry_words(entry)}. Yours is not stored. Look at the wall first."
            )


def require_same_places(entries: tuple[Entry, ...], subject: str, *, since: str | None) -> None:
    """ConflictError when a seat (or pair) is called otherwise than when the page was shown.

    ``since``: the seq of the job's last entry then; None when the page does not say.
    """
    now = named_now(entries, subject, since=since)
    if now != subject:
        was, called = shown_subject(subject), shown_subject(now)
        raise ConflictError(
            f"Panels changed places meanwhile: what was {was} is {called} now. Yours is not "
            f"stored. Look at the wall, and record it at {called}."
        )


def named_now(entries: tuple[Entry, ...], subject: str, *, since: str | None) -> str:
    """What a seat (or pair) of a page shown then is called now."""
    task = f"fasteners.:{subject}"
    for entry in entries[_seq_of(entries, since) :] if since is not None else ():
        if entry.type == events.PANELS_SWAPPED:
            task = swapped_task(task, *entry.body["panels"])
    return task.partition(":")[2]


def _is_at(entry: Entry, seat: str) -> bool:
    if entry.type in (events.SEAT_BLOCKED, events.SEAT_FREED):
        return bool(entry.body["seat"] == seat)
    kind, _, subject = str(entry.body.get("task", "")).partition(":")
    return kind.startswith("fasteners.") and subject == seat


def _entry_words(entry: Entry) -> str:
    if entry.type == events.TASK_RECORDED:
        return task_title(str(entry.body["task"]))
    return "given up" if entry.type == events.SEAT_FREED else "something in the way"


# -- late ------------------------------------------------------------------------------------------


def task_of(state: JobState, task_id: str, *, is_late: bool) -> Task:
    """The task of that id; NotFoundError when this job has none.

    A trim of a panel that hangs, sent late, is one whether it is advised or not: without network
    nobody knew which panel to touch.
    """
    try:
        return find_task(state, task_id)
    except NotFoundError:
        kind, _, panel = task_id.partition(":")
        if not is_late or kind != TRIM or f"panels.engaged:{panel}" not in state.records:
            raise
        trim = TASK_KINDS[TRIM]
        return Task(id=task_id, kind=trim, subject=panel, panel=panel, status="ready")


def allow_recording(state: JobState, task: Task, *, is_late: bool) -> None:
    """ConflictError when the task may not be recorded now.

    Sent late, a task need not wait for marks that only moved since they were made, nor a panel that
    was lifted for other shims than lie in its rings.
    """
    if is_late and task.status == "waiting" and _waits_for_what_moved(state, task):
        return
    allow(task, "record")


def _waits_for_what_moved(state: JobState, task: Task) -> bool:
    found = needs(state)
    one = found[task.id]
    if one.bar:
        return False
    return all(
        id_ in state.records and id_.startswith(MAY_HAVE_MOVED)
        for id_ in one.after
        if not found[id_].is_done
    )


def require_seen(
    state: JobState, task: Task, seen: str | None, *, is_late: bool, shown: Shown | None, how: str
) -> None:
    """Nobody records "marked" on a mark that moved while the page was open.

    ``how``: as_planned, measured or done. Late facts are taken where they were shown.
    """
    is_said = _said_mm(state, task, seen) is not None
    if is_late and (how == "measured" or is_said or _is_at_shown_place(task, shown)):
        _require_same_fastener(state, task, shown)
        return
    if seen is not None and not is_as_shown(state, task.id, seen):
        raise ConflictError(MOVED)


def _is_at_shown_place(task: Task, shown: Shown | None) -> bool:
    """Pilots, presses and pairs show no place of their own: what they are about is on the wall."""
    if task.kind.name in AT_A_SEAT:
        return shown is not None
    return task.kind.stage == "fasteners" and task.kind.name not in MORE_READINGS


def _require_same_fastener(state: JobState, task: Task, shown: Shown | None) -> None:
    """A hole made for one fastener is not said to be another's: that is the lead's to settle."""
    name = task.subject
    if shown is not None and shown.fastener is not None:
        listed = [fastener.name for fastener in state.job.fasteners]
        if shown.fastener not in listed:
            raise ConflictError(
                f"It was done with {shown.fastener}, which the plan does not list any more."
            )
    if task.kind.name not in BEGUN or name in state.set_seats or name not in state.marked:
        return
    marked, now = state.marked[name].fastener, state.seat(name).fastener
    if marked != (now.name if now else None):
        raise ConflictError(
            f"{name} was marked for {marked or 'no fastener'}; the plan has "
            f"{now.name if now else 'none listed'} there now. The lead decides."
        )


def _said_mm(state: JobState, task: Task, seen: str | None) -> float | None:
    """How thick the phone said the shims of a ring should be; None when it does not say.

    A page shows it to 0.01 mm; what is laid are whole shims.
    """
    if task.kind.name != "panels.shim" or seen is None or not _THICK.fullmatch(seen):
        return None
    said, step = float(seen), shim_mm(state.job.unit)
    whole = round(said / step) * step
    return whole if abs(whole - said) < SHOWN_TO_MM and whole <= SHIM_MOST_MM else None


def late_plan(
    state: JobState, task: Task, shown: Shown | None, seen: str | None
) -> dict[str, Any] | None:
    """What the phone showed as the plan of a seat's reading, a pair's check or a ring's shims.

    None: as it is now. A pair is checked against the marks on the wall, which may not be those
    given now.
    """
    said_mm = _said_mm(state, task, seen)
    if said_mm is not None:
        return {"thick": length(said_mm)}
    if task.kind.name == "fasteners.measure" and shown is not None:
        line = state.line_height_mm(state.line_of(task.subject))
        above = shown.y_mm - line if shown.above_mm is None else shown.above_mm
        return {"x": length(shown.x_mm), "above": length(above)}
    if task.kind.name != "fasteners.pair":
        return None
    marks = [state.marked.get(seat) for seat in pair_seats(task.subject)]
    is_set = any(seat in state.set_seats for seat in pair_seats(task.subject))
    if is_set or any(mark is None for mark in marks):
        return planned_values(state, task.id)
    left, right = (mark for mark in marks if mark is not None)
    apart, rise = right.seat_mm[0] - left.seat_mm[0], right.hole_y_mm - left.hole_y_mm
    return pair_plan(state, apart, rise)
