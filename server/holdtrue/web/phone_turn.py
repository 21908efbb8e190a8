"""An entry with the job on both sides of it, and the screen that is made of it."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup

from holdtrue.domain.state import JobState
from holdtrue.service import jobs
from holdtrue.store.port import Entry
from holdtrue.web.context import services
from holdtrue.web.phone_moves import FinishLine, MoveLine


@dataclass(frozen=True, slots=True, kw_only=True)
class Result:
    """One result screen. ``mood``: good, warn, stop or plain."""

    title: str
    off: tuple[tuple[Markup, str], ...] = ()
    mood: str = "plain"
    verdict: str = ""
    lines: tuple[str, ...] = ()
    moves: tuple[MoveLine, ...] = ()
    finish: tuple[FinishLine, ...] = ()
    drawing: Markup | None = None
    seat: str | None = None
    task: str | None = None
    is_more: bool = False
    """What was read is to be read once more."""
    """The task this is about: to record it again."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Turn:
    """An entry with the job on both sides of it."""

    entry: Entry
    before: JobState
    after: JobState

    @property
    def kind(self) -> str:
        return self.task.partition(":")[0]

    @property
    def task(self) -> str:
        return str(self.entry.body.get("task", ""))

    @property
    def subject(self) -> str:
        return self.task.partition(":")[2] or str(self.entry.body.get("seat", ""))


def turn(job_id: str, entry: Entry) -> Turn:
    """The entry between the state before it and the state after it."""
    return Turn(
        entry=entry,
        before=jobs.state_before(services(), job_id, entry.seq),
        after=jobs.state_before(services(), job_id, entry.seq + 1),
    )
