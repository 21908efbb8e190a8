"""The inputs of a task: prefilled with the plan, kept as typed, lengths echoed before saving."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from holdtrue.core.errors import CoreError
from holdtrue.core.lengths import echo
from holdtrue.domain.readings import HOLE_FIELDS
from holdtrue.domain.task_kinds import Field, TaskKind
from holdtrue.web.phone_words import NO_BREAK, across, bare, fmt

EMPTY_ROWS = 2
MOST_ROWS = 40
LONGEST_KEPT = 600
"""Characters of a typed text that are given back; no field takes more."""
_INSIDE = re.compile(r" (?=[\da-z])")
Raw = Mapping[str, str]
SIDES = (("left", "left"), ("right", "right"))
MATERIALS = (("wood", "wood"), ("steel", "steel"), ("unknown", "not known"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Input:
    """One input as it is shown: what stands in it, and what is said under it."""

    name: str
    kind: str
    label: str
    text: str = ""
    side: str = ""
    planned: str = ""
    """The plan in words, to be seen beside what was typed instead."""
    planned_mm: float | None = None
    """The plan itself, unrounded, left of the reference line negative."""
    live: str = ""
    """What a recompute on the phone calls this number, with its subject; see ``phone_live``."""
    echo: str = ""
    """What was understood; the text it belongs to is ``text``."""
    error: str = ""
    hint: str = ""
    options: tuple[tuple[str, str], ...] = ()
    required: bool = True
    rows: tuple[StudRow, ...] = ()
    chosen: tuple[str, ...] = ()
    """Of several that may be ticked."""

    @property
    def id(self) -> str:
        return f"f-{self.name}"

    @property
    def is_length(self) -> bool:
        return self.kind in ("length", "across")


@dataclass(frozen=True, slots=True, kw_only=True)
class StudRow:
    """One stud of the list."""

    name: str
    text: str
    side: str
    material: str
    width: str
    echo: str
    width_echo: str
    error: str

    @property
    def id(self) -> str:
        return "f-" + self.name.replace("[", "-").replace("]", "")


@dataclass(frozen=True, slots=True, kw_only=True)
class Filled:
    """What stands in a task's inputs, and what was wrong with it."""

    raw: Raw
    errors: Mapping[str, str] = field(default_factory=dict)
    more_rows: int = 0


def initial(kind: TaskKind, values: Mapping[str, Any], unit: str) -> dict[str, str]:
    """The inputs' texts for planned (or recorded) values."""
    raw: dict[str, str] = {}
    for one in kind.fields:
        value = values.get(one.name)
        if one.kind == "studs":
            raw |= _stud_texts(one.name, value or (), unit)
        elif one.kind == "seats":
            raw |= {f"{one.name}[{i}]": seat for i, seat in enumerate(value or ())}
        elif value is not None and one.is_length:
            raw |= _length_texts(one.name, value, unit)
        elif value is not None and one.kind != "photo":
            raw[one.name] = str(value)
    return raw


def _length_texts(name: str, value: Mapping[str, Any], unit: str) -> dict[str, str]:
    mm = float(value["mm"])
    texts = {name: bare(abs(mm), unit)}
    return texts | {f"{name}.side": value.get("side") or ("left" if mm < 0 else "right")}


def _stud_texts(name: str, studs: Any, unit: str) -> dict[str, str]:
    texts: dict[str, str] = {}
    for i, stud in enumerate(studs):
        row = f"{name}[{i}]"
        texts |= _length_texts(f"{row}.x", stud["x"], unit)
        texts[f"{row}.material"] = stud["material"]
        if stud.get("width"):
            texts[f"{row}.width"] = bare(float(stud["width"]["mm"]), unit)
    return texts


def length_texts(kind: TaskKind, raw: Raw) -> Iterator[tuple[str, str]]:
    """Name and text of every length that was typed or stands prefilled; empty ones left out."""
    for one in kind.fields:
        rows = [f"{one.name}[{i}]" for i in range(MOST_ROWS)] if one.kind == "studs" else []
        names = [f"{row}.{part}" for row in rows for part in ("x", "width")]
        for name in names or ([one.name] if one.is_length else []):
            text = raw.get(name, "").strip()
            if text:
                yield name, text


def not_echoed(kind: TaskKind, raw: Raw) -> bool:
    """Whether a length was typed whose echo nobody has seen yet."""
    return any(
        raw.get(f"echoed.{name}", "").strip() != text for name, text in length_texts(kind, raw)
    )


def signature(kind: TaskKind, raw: Raw) -> str:
    """What "yes, save it" says yes to: the very texts, so that later changes are asked again."""
    return "; ".join(
        f"{name} {text} {raw.get(name + '.side', '')}" for name, text in length_texts(kind, raw)
    )


def echo_words(text: str, unit: str) -> str:
    """What a typed length was understood as, parted only before "="; "" while it cannot be."""
    try:
        return _INSIDE.sub(NO_BREAK, echo(text, unit)) if text.strip() else ""
    except CoreError:
        return ""


def inputs(
    kind: TaskKind, filled: Filled, planned: Mapping[str, Any], unit: str
) -> tuple[Input, ...]:
    """Every input of a task."""
    return tuple(_input(one, filled, planned.get(one.name), unit) for one in kind.fields)


def hole_inputs(
    unit: str, raw: Raw | None = None, errors: Mapping[str, str] | None = None
) -> tuple[Input, ...]:
    """The inputs for where a wrong hole is."""
    filled = Filled(raw=raw or {}, errors=errors or {})
    return tuple(_input(one, filled, None, unit) for one in HOLE_FIELDS)


def _input(one: Field, filled: Filled, planned: Any, unit: str) -> Input:
    text = filled.raw.get(one.name, "")[:LONGEST_KEPT]
    return Input(
        name=one.name,
        kind=one.kind,
        label=one.label,
        text=text,
        side=filled.raw.get(f"{one.name}.side", ""),
        planned=_planned_words(one, planned, unit),
        planned_mm=float(planned["mm"]) if one.is_length and planned else None,
        echo=echo_words(text, unit) if one.is_length else "",
        error=filled.errors.get(one.name, "") or filled.errors.get(f"{one.name}.side", ""),
        hint=one.hint,
        options=one.choices,
        required=one.required,
        rows=_stud_rows(one.name, filled, unit) if one.kind == "studs" else (),
        chosen=tuple(
            text
            for name, text in filled.raw.items()
            if one.kind == "seats" and name.startswith(f"{one.name}[")
        ),
    )


def _planned_words(one: Field, planned: Any, unit: str) -> str:
    if not one.is_length or not planned:
        return ""
    mm = float(planned["mm"])
    return across(mm, unit) if one.kind == "across" else fmt(mm, unit)


def _stud_rows(name: str, filled: Filled, unit: str) -> tuple[StudRow, ...]:
    """The rows with something in them, then a few empty ones."""
    used = [i for i in range(MOST_ROWS) if filled.raw.get(f"{name}[{i}].x", "").strip()]
    count = (max(used) + 1 if used else 0) + EMPTY_ROWS + filled.more_rows
    return tuple(_stud_row(f"{name}[{i}]", filled, unit) for i in range(min(count, MOST_ROWS)))


def _stud_row(row: str, filled: Filled, unit: str) -> StudRow:
    raw = filled.raw
    text, width = (raw.get(f"{row}.{part}", "")[:LONGEST_KEPT] for part in ("x", "width"))
    said = [filled.errors.get(f"{row}.{part}") for part in ("x", "x.side", "material", "width")]
    return StudRow(
        name=row,
        text=text,
        side=raw.get(f"{row}.x.side", ""),
        material=raw.get(f"{row}.material", "unknown"),
        width=width,
        echo=echo_words(text, unit),
        width_echo=echo_words(width, unit),
        error=next((error for error in said if error), ""),
    )
