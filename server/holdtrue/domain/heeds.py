"""What must be read before a task: what was found at the wall, and what the lead said of it.

The lead's words are in the log; here they are put to the tasks they are about, so that whoever goes
on at the wall reads them there. Each stays until its tasks are done.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from holdtrue.domain.state import Hidden, JobState, Stop
from holdtrue.domain.stops import is_near_hidden, locked_seats
from holdtrue.domain.subjects import panel_of_seat
from holdtrue.domain.task_kinds import FAILED

DRILLED_INTO = ("mark", "pilot", "anchor")
"""Tasks at which the bit may meet what is hidden."""
AT_A_SEAT = ("mark", "pilot", "anchor", "press", "measure")
ON_A_PANEL = ("panels.lift", "secure.lock", "secure.try")
HAND_OVER = "close.hand_over"


@dataclass(frozen=True, slots=True, kw_only=True)
class Heed:
    """``about``: what was found and where, or the stop's seat; of what was sent back nothing."""

    kind: Literal["found", "failed", "cleared", "sent_back"]
    about: str
    who: str
    """Who of the leads said it, "" while none has; of what failed, who tried it."""
    words: str
    tasks: tuple[str, ...]
    is_open: bool
    """Something of it is still to be done."""
    left: tuple[str, ...] = ()
    """Of what was sent back: the tasks still to be done again."""


def heeds(state: JobState) -> tuple[Heed, ...]:
    """Everything that must be read, in the order it was said."""
    found = [_found(state, state.hidden)] if state.hidden is not None else []
    cleared = [_cleared(state, stop) for stop in state.stops if not stop.is_open]
    return (*found, *cleared, *_failed(state), *_sent_back(state))


def _failed(state: JobState) -> tuple[Heed, ...]:
    """What was tried and did not hold, until it is tried again and does."""
    return tuple(
        Heed(
            kind="failed",
            about=record.values["found"],
            who=record.who,
            words="",
            tasks=(record.task,),
            is_open=True,
        )
        for record in state.records.values()
        if record.outcome == FAILED
    )


def _found(state: JobState, hidden: Hidden) -> Heed:
    seats = [seat for seat in state.form.seats if is_near_hidden(state, seat)]
    is_released = state.release is not None and state.is_hidden_released
    return Heed(
        kind="found",
        about=f"{hidden.where}: {hidden.found}",
        who=state.release.who if state.release and is_released else "",
        words=(state.release.reason or "") if state.release and is_released else "",
        tasks=tuple(f"fasteners.{name}:{seat}" for seat in seats for name in DRILLED_INTO),
        # before that the whole work waits, and says for what
        is_open=is_released and any(seat not in state.set_seats for seat in seats),
    )


def _cleared(state: JobState, stop: Stop) -> Heed:
    """Of a seat that was set before the stop, it is about what hangs there."""
    before = state.set_seats.get(stop.seat)
    if before is not None and before.seq < stop.seq:
        panel = panel_of_seat(stop.seat)
        tasks = tuple(f"{name}:{panel}" for name in ON_A_PANEL)
        is_open = any(task not in state.records for task in tasks)
    else:
        seats = locked_seats(state, stop)
        tasks = tuple(f"fasteners.{name}:{seat}" for seat in seats for name in AT_A_SEAT)
        is_open = any(seat not in state.set_seats for seat in seats)
    return Heed(
        kind="cleared",
        about=stop.seat,
        who=stop.cleared_by or "",
        words=stop.cleared_note,
        tasks=tasks,
        is_open=is_open,
    )


def _sent_back(state: JobState) -> tuple[Heed, ...]:
    review = state.review
    if review.state != "sent_back":
        return ()
    again = review.again or (HAND_OVER,)
    return (
        Heed(
            kind="sent_back",
            about="",
            who=review.who or "",
            words=review.why,
            tasks=again,
            is_open=True,
            left=tuple(task for task in again if task not in state.records),
        ),
    )
