"""The label's small form: what is typed, what it means, what is wrong with it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TypeVar

from holdtrue.core.errors import CoreError
from holdtrue.core.lengths import parse_length
from holdtrue.core.masses import parse_mass
from holdtrue.domain.errors import InputError
from holdtrue.labels.layout import SIZES_MM, LabelSize

SIZES = {"a6": "A6, 105 × 148 mm", "4x6": "4 × 6 in"}
CRATE_SIDES = ("width", "height", "depth")
MOST_CRATES = 99

_Read = TypeVar("_Read")


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelForm:
    """As typed; blank texts stand for what was not given."""

    size: str = "a6"
    crate: str = "1"
    crates: str = "1"
    panels: tuple[str, ...] = ()
    """None named: all of them."""
    title: bool = False
    width: str = ""
    height: str = ""
    depth: str = ""
    mass: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelChoice:
    """What the form means."""

    size: LabelSize
    crate: int
    crates: int
    panels: tuple[str, ...] | None
    title: bool
    crate_size_mm: tuple[float, float, float] | None
    crate_mass_kg: float | None


def from_query(get: Callable[[str, str], str], panels: Sequence[str]) -> LabelForm:
    """The form as its address carries it."""
    blank = LabelForm()
    return LabelForm(
        size=get("size", blank.size),
        crate=get("crate", blank.crate),
        crates=get("crates", blank.crates),
        panels=tuple(panels),
        title=get("title", "") == "yes",
        width=get("width", ""),
        height=get("height", ""),
        depth=get("depth", ""),
        mass=get("mass", ""),
    )


def read_form(form: LabelForm, unit: str) -> LabelChoice:
    """What was typed, or an InputError whose path is the field's name."""
    size = next((known for known in SIZES_MM if known == form.size), None)
    if size is None:
        raise InputError("size", form.size, "choose one of " + ", ".join(SIZES.values()))
    crates = _count("crates", form.crates, MOST_CRATES)
    return LabelChoice(
        size=size,
        crate=_count("crate", form.crate, crates),
        crates=crates,
        panels=form.panels or None,
        title=form.title,
        crate_size_mm=_crate_size(form, unit),
        crate_mass_kg=_mass(form.mass, "lb" if unit in ("in", "ft") else "kg"),
    )


def _count(name: str, text: str, most: int) -> int:
    read = text.strip()
    if not (read.isascii() and read.isdigit() and len(read) <= 3 and 1 <= int(read) <= most):
        raise InputError(name, text, f"type a whole number from 1 to {most}")
    return int(read)


def _crate_size(form: LabelForm, unit: str) -> tuple[float, float, float] | None:
    typed = {side: getattr(form, side).strip() for side in CRATE_SIDES}
    if not any(typed.values()):
        return None
    sizes = []
    for side, text in typed.items():
        if not text:
            raise InputError(side, None, "give all three, or none")
        mm = float(_read(side, text, lambda text: parse_length(text, unit).mm))
        if mm <= 0:
            raise InputError(side, text, "must be more than 0")
        sizes.append(mm)
    return sizes[0], sizes[1], sizes[2]


def _mass(text: str, unit: str) -> float | None:
    if not text.strip():
        return None
    return float(_read("mass", text.strip(), lambda text: parse_mass(text, unit)))


def _read(name: str, text: str, read: Callable[[str], _Read]) -> _Read:
    try:
        return read(text)
    except CoreError as error:
        raise InputError(name, text, error.remedy) from error
