"""What waits for the lead: whatever goes on only with their word, what stops work first.

One list for the pages on which a lead is called; each call says where it is answered.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from holdtrue.domain.checklist import checklist
from holdtrue.domain.state import JobState, Stop
from holdtrue.domain.task_kinds import FAILED

Answered = Literal["stop", "task", "release", "parked", "review"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Call:
    """``answered``: the kind of page; ``at``: the stop's number, or the task's id."""

    text: str
    answered: Answered
    at: str = ""


def calls(state: JobState) -> tuple[Call, ...]:
    """Everything that waits for the lead of a job; nothing once it is accepted."""
    if state.review.state in ("accepted", "conceded"):
        return ()
    return (*_stops(state), *_findings(state), *_tasks(state), *_papers(state))


def _stops(state: JobState) -> list[Call]:
    return [
        Call(text=_stop_words(stop), answered="stop", at=str(stop.seq)) for stop in state.open_stops
    ]


def _stop_words(stop: Stop) -> str:
    return f"Stop at {stop.seat}: {stop.what}{f', {stop.note}' if stop.note else ''}"


def _findings(state: JobState) -> list[Call]:
    """What is not released yet: once a release was given, work goes on to it and no further."""
    if state.release is None:
        # before somebody joined the plan waits for nobody
        waits = [f"Release: revision {state.revision} is not released"] if state.installers else []
    else:
        waits = [finding.crew_text for finding in state.open_findings]
    return [Call(text=f"{text[:1].upper()}{text[1:]}", answered="release") for text in waits]


def _tasks(state: JobState) -> list[Call]:
    """What did not hold, and hold points that all before them is done for."""
    called = [
        Call(
            text=f"Panel {record.task.partition(':')[2]} does not hold: {record.values['found']}",
            answered="task",
            at=record.task,
        )
        for record in state.records.values()
        if record.outcome == FAILED
    ]
    if state.release is None or not (state.release.holds or state.moves):
        return called
    ready = (t for t in checklist(state) if t.kind.lead_only and t.status == "ready")
    return called + [Call(text=task.title, answered="task", at=task.id) for task in ready]


def _papers(state: JobState) -> list[Call]:
    waits = []
    if state.open_parked:
        count = len(state.open_parked)
        words = "1 entry" if count == 1 else f"{count} entries"
        waits.append(Call(text=f"{words} from phones, refused", answered="parked"))
    if state.review.state == "handed_over":
        waits.append(Call(text="Handed over: review the work", answered="review"))
    return waits
