"""Entries a phone sent and the job refused: what was typed, as people read it."""

from __future__ import annotations

from collections.abc import Mapping

from holdtrue.domain.state import Parked
from holdtrue.domain.task_kinds import TaskKind
from holdtrue.domain.tasks import TASK_KINDS

OUTCOMES = {
    "as_planned": "as planned",
    "measured": "measured",
    "done": "done",
    "failed": "does not hold",
}


def typed_words(parked: Parked) -> tuple[tuple[str, str], ...]:
    """Label and text of everything a person typed or chose; what the page added is left out."""
    kind = TASK_KINDS.get(parked.task.partition(":")[0])
    said = [("Tapped", OUTCOMES[outcome])] if (outcome := _outcome(parked)) else []
    return (*said, *_field_words(kind, parked.fields))


def _outcome(parked: Parked) -> str:
    outcome = parked.fields.get("outcome", "")
    return outcome if outcome in OUTCOMES else ""


def _field_words(kind: TaskKind | None, fields: Mapping[str, str]) -> list[tuple[str, str]]:
    """In the order of the task's fields; of what is no task, only its own words."""
    if kind is None:
        named = {"what": "What", "why": "Why", "note": "Note", "of": "Entry"}
        return [(named[name], text) for name, text in fields.items() if name in named and text]
    words = []
    for field in kind.fields:
        for name, text in fields.items():
            is_its_own = name == field.name or name.startswith(f"{field.name}[")
            if is_its_own and text and not name.endswith(".side"):
                side = fields.get(f"{name}.side", "")
                words.append((field.label, f"{text} {side}".rstrip()))
    return words
