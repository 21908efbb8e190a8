"""What each task needs, as plain ids: what a phone without network goes on by.

``waiting`` answers for one task in one state, in words. Here the same rules are written out as
lists: a task is ready when it is not done, nothing bars it, and all it needs is done. What bars a
task is what no task can lift: a plan not released, a stop, a load the lead must look at. A property
test holds the two together over random walks.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import takewhile

from holdtrue.domain.slots import Slot
from holdtrue.domain.state import JobState
from holdtrue.domain.subjects import facing_panels
from holdtrue.domain.waiting import CLOSED, NO_HOLE_BEFORE, SURVEY, Board, is_closed

HOLD_LIFT = "hold.first_lift"


@dataclass(frozen=True, slots=True, kw_only=True)
class Needs:
    """Of one task."""

    is_done: bool
    """It is recorded and the record still holds; true also while a stop locks it."""
    after: tuple[str, ...]
    """Ids of the tasks that must be done before it."""
    bar: str
    """Why it cannot be ready whatever is done; "" when nothing bars it."""
    is_awaited: bool
    """Later stages wait for it: not an optional one, nor what can no longer be recorded."""

    def is_ready(self, done: Iterable[str]) -> bool:
        return not self.is_done and not self.bar and set(self.after) <= set(done)


def needs(state: JobState) -> dict[str, Needs]:
    """Task id to what it needs, for every task of the job."""
    board = Board(state)
    rules = _Rules(board)
    return {
        slot.id: Needs(
            is_done=board.is_done(slot),
            after=rules.after(slot),
            bar=rules.bar(slot),
            is_awaited=rules.is_awaited(slot),
        )
        for slot in board.slots
    }


def by_stage(after: Iterable[str], awaited: Mapping[str, Collection[str]]) -> list[str]:
    """The same needs in short: a stage whose awaited tasks are all among them is named once."""
    listed = list(after)
    known = set(listed)
    whole = [name for name, ids in awaited.items() if ids and known.issuperset(ids)]
    covered = {id_ for name in whole for id_ in awaited[name]}
    return [f"stage:{name}" for name in whole] + [id_ for id_ in listed if id_ not in covered]


class _Rules:
    def __init__(self, board: Board) -> None:
        self.board = board
        self.state = board.state
        self._awaited = {
            stage: tuple(
                slot.id
                for slot in board.slots
                if slot.kind.stage == stage and self.is_awaited(slot)
            )
            for stage in sorted({slot.kind.stage for slot in board.slots})
        }

    def is_awaited(self, slot: Slot) -> bool:
        if slot.kind.is_optional:
            return False
        return slot.kind.has_plan or not is_closed(self.state, slot)

    # -- what bars -----------------------------------------------------------------------------

    def bar(self, slot: Slot) -> str:
        stop = self.board.stop_near(slot)
        if stop is not None:
            return f"stop at {stop.seat} ({stop.what}): the lead clears it"
        if slot.kind.stage == "join":
            return ""
        if self.state.release is None:
            return "the lead has not released the plan yet"
        if not slot.kind.has_plan and is_closed(self.state, slot):
            return CLOSED
        if slot.kind.stage == "fasteners":
            return self.board.load_stop(self.board.seats_about(slot))
        if slot.kind.name == "panels.move":
            return ""
        if slot.kind.stage == "panels" and slot.panel is not None:
            return self.board.load_stop(self.board.seats[slot.panel])
        if slot.kind.name == "close.hand_over" and self.state.open_stops:
            return f"the stop at {self.state.open_stops[0].seat} is not cleared"
        return ""

    # -- what comes before ---------------------------------------------------------------------

    def after(self, slot: Slot) -> tuple[str, ...]:
        stage = slot.kind.stage
        if stage in ("join", "before"):
            return ()
        if stage in SURVEY:
            return self._stages(("before",))
        if stage == "stand_back":
            return self._stages(SURVEY) + self._ahead_of(slot)
        if stage == "fasteners":
            earlier = self.board.earlier_in_panel(slot)
            return self._stages(NO_HOLE_BEFORE) + tuple(one.id for one in earlier)
        if slot.kind.name == "panels.move":
            return ()
        if stage == "panels":
            return self._seats_set(slot) + self._hanging(slot)
        if stage == "secure":
            return self._securing(slot)
        last = slot.kind.name in ("hold.leave", "close.hand_over")
        return self._stages(("fasteners", "panels", "secure")) + (
            self._ahead_of(slot) if last else ()
        )

    def _securing(self, slot: Slot) -> tuple[str, ...]:
        if slot.kind.name == "secure.lock":
            return tuple(one.id for one in self.board.level_hung(slot.subject))
        if slot.kind.name == "secure.try":
            return (f"secure.lock:{slot.subject}",)
        return self._stages(("panels",))

    def _stages(self, stages: Sequence[str]) -> tuple[str, ...]:
        return tuple(id_ for stage in stages for id_ in self._awaited.get(stage, ()))

    def _ahead_of(self, slot: Slot) -> tuple[str, ...]:
        awaited = set(self._awaited[slot.kind.stage])
        ahead = takewhile(lambda one: one.id != slot.id, self.board.slots)
        return tuple(one.id for one in ahead if one.id in awaited)

    def _seats_set(self, slot: Slot) -> tuple[str, ...]:
        """Every seat set that must be; one whose reading the lead sent back is set all the same."""
        measures = (
            (seat, f"fasteners.measure:{seat}")
            for panel in self.board.panels_to_set(slot)
            for seat in self.board.seats[panel]
        )
        set_seats, records = self.state.set_seats, self.state.records
        return tuple(id_ for seat, id_ in measures if seat not in set_seats or id_ in records)

    def _hanging(self, slot: Slot) -> tuple[str, ...]:
        if slot.panel is None:
            return ()
        hold = (HOLD_LIFT,) if self.board.is_held(slot) else ()
        done = tuple(before.id for before in self.board.done_before(slot))
        return (
            hold
            + done
            + tuple(
                f"panels.{before}:{panel}"
                for panel in facing_panels(slot.subject)
                for before in self.board.hung_by(slot)
            )
        )
