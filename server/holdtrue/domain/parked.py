"""Entries a phone sent and the job refused: what was typed, as people read it."""

from __future__ import annotations

from collections.abc import Mapping

from holdtrue.core.readout import format_length
from holdtrue.domain.state import Parked
from holdtrue.domain.task_kinds import TaskKind
from holdtrue.domain.tasks import TASK_KINDS

FARTHEST_MM = 1e6
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


def shown_words(parked: Parked, unit: str) -> str:
    """The place the phone showed when it was tapped: where the mark or the hole is; "" for none."""
    x, hole, above = (_mm(parked.fields, name) for name in ("x_mm", "hole_y_mm", "above_mm"))
    if x is None:
        return ""
    said = [f"{_across(x, unit)} of the reference line"]
    if above is not None:
        said.append(_height("seat", above, "its level line", unit))
    if hole is not None:
        said.append(_height("hole", hole, "the floor", unit))
    return ", ".join([*said, *filter(None, [parked.fields.get("shown.fastener", "")])])


def planned_words(parked: Parked, unit: str) -> str:
    """What the plan read when it was tapped; "" when the phone does not say."""
    kind = TASK_KINDS.get(parked.task.partition(":")[0])
    said = []
    for field in kind.fields if kind else ():
        mm = _mm(parked.fields, field.name, "planned")
        if mm is not None:
            words = _across(mm, unit) if field.kind == "across" else format_length(mm, unit)
            said.append(f"{field.label[:1].lower()}{field.label[1:]} {words}")
    return ", ".join(said)


def _mm(fields: Mapping[str, str], name: str, of: str = "shown") -> float | None:
    """A number a phone sent along; None when it is none: these words are never refused."""
    try:
        value = float(fields.get(f"{of}.{name}", ""))
    except ValueError:
        return None
    return value if abs(value) < FARTHEST_MM else None


def _across(mm: float, unit: str) -> str:
    return f"{format_length(abs(mm), unit)} {'left' if mm < 0 else 'right'}"


def _height(what: str, mm: float, over: str, unit: str) -> str:
    return f"{what} {format_length(abs(mm), unit)} {'above' if mm >= 0 else 'below'} {over}"
