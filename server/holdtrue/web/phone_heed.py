"""What must be read before a task, in words: before the task itself, and on the list of all."""

from __future__ import annotations

from dataclasses import dataclass

from holdtrue.domain.heeds import HAND_OVER, Heed, heeds
from holdtrue.domain.state import JobState
from holdtrue.domain.timeline import task_title
from holdtrue.service import members
from holdtrue.web.context import services


@dataclass(frozen=True, slots=True, kw_only=True)
class HeedLine:
    """``listed``: as it stands on the list of all tasks; "" once nothing is left of it."""

    text: str
    listed: str
    tasks: tuple[str, ...]


def heed_lines(state: JobState) -> tuple[HeedLine, ...]:
    """Everything that must be read on this job, with the names of who said it."""
    found = heeds(state)
    names = members.names(services(), state) if found else {}
    return tuple(_line(heed, names.get(heed.who, "The lead")) for heed in found)


def _line(heed: Heed, lead: str) -> HeedLine:
    text, listed = _words(heed, lead)
    return HeedLine(text=text, listed=listed if heed.is_open else "", tasks=heed.tasks)


def _words(heed: Heed, lead: str) -> tuple[str, str]:
    if heed.kind == "found":
        said = f"{lead}: {heed.words}" if heed.who else "The lead has not looked yet"
        text = f"Found before drilling{heed.about}. {_ended(said)}"
        return text, text
    if heed.kind == "cleared":
        text = _ended(f"{lead} cleared the stop at {heed.about}: {heed.words}")
        return text, text
    if heed.kind == "failed":
        panel = heed.tasks[0].partition(":")[2]
        text = _ended(f"{panel} did not hold when {lead} tried it: {heed.about}")
        return text, text
    titles = [task_title(task) for task in heed.left if task != HAND_OVER]
    which = ", ".join(titles) or "the work"
    return (
        _ended(f"{lead} sent this back: {heed.words}"),
        _ended(f"{lead} sent back {which}: {heed.words}"),
    )


def _ended(text: str) -> str:
    return text if text.endswith((".", "!", "?")) else f"{text}."
