"""From what was typed and chosen in a task's form to recorded values, strictly."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Any

from holdtrue.core.errors import CoreError
from holdtrue.core.lengths import format_length, parse_length, tape_slip
from holdtrue.core.sources_trim import SHIM_MOST_MM
from holdtrue.domain.errors import InputError
from holdtrue.domain.names import NAME_REMEDY, require_name
from holdtrue.domain.state import JobState
from holdtrue.domain.subjects import CROSSED
from holdtrue.domain.task_kinds import EVERYWHERE, FAILED, Field, TaskKind
from holdtrue.domain.touches import WAYS, WHOLE_PANEL

Values = dict[str, Any]
TEXT_LIMIT = 500
LEAST_PEOPLE, MOST_PEOPLE = 2, 30
"""Nobody lifts a panel alone; our rule."""
LADDERS_PEOPLE = 3
"""Two on two ladders, a third one steadying."""
MOST_STUDS = 40
SUM_MM = 2.0
"""Left + spacing + right must equal the width within this."""

SIDES = ("left", "right")
MATERIALS = ("wood", "steel", "unknown")


class DoubtError(InputError):
    """Readable but unlikely: asked once more, and recorded when sent again as sure."""


def read_values(kind: TaskKind, raw: Mapping[str, str], unit: str) -> Values:
    """All fields of one task; InputError names the field, what stood there and what to type."""
    values: Values = {}
    for field in kind.fields:
        value = _read(field, raw, unit)
        if value is not None:
            values[field.name] = value
    return values


def _read(field: Field, raw: Mapping[str, str], unit: str) -> Any:
    if field.kind == "studs":
        return _studs(field, raw, unit)
    if field.kind == "seats":
        return _near(field, raw)
    text = raw.get(field.name, "").strip()
    if not text:
        if field.required and field.kind != "photo":
            raise InputError(field.name, None, f"{field.label}: {_what_to_type(field, unit)}")
        return "" if field.kind == "text" else None
    if field.kind == "choice":
        return _choice(field.name, text, tuple(value for value, _ in field.choices))
    if field.kind == "count":
        return _count(field, text)
    if field.kind == "text":
        return _text(field, text)
    if field.kind == "name":
        return require_name(field.name, _text(field, text))
    if field.kind == "photo":
        raise InputError(field.name, text, "send the photo as a file")
    return _length(field, text, raw.get(f"{field.name}.side", ""), unit)


def _what_to_type(field: Field, unit: str) -> str:
    if field.is_length:
        return "type a length, e.g. " + ("20 3/4" if unit in ("in", "ft") else "527")
    if field.kind == "choice":
        return "choose one of " + ", ".join(label for _, label in field.choices)
    if field.kind == "name":
        return NAME_REMEDY
    return "type a whole number, e.g. 2" if field.kind == "count" else "type it here"


def _choice(path: str, text: str, allowed: tuple[str, ...]) -> str:
    if text not in allowed:
        raise InputError(path, text, "choose one of " + ", ".join(allowed))
    return text


def _count(field: Field, text: str) -> int:
    is_number = text.isascii() and text.isdigit() and len(text) <= 2
    if not is_number or int(text) > MOST_PEOPLE:
        raise InputError(
            field.name, text, f"type a whole number from {LEAST_PEOPLE} to {MOST_PEOPLE}"
        )
    if int(text) < LEAST_PEOPLE:
        raise InputError(
            field.name, text, f"nobody lifts a panel alone: type {LEAST_PEOPLE} or more"
        )
    return int(text)


def _near(field: Field, raw: Mapping[str, str]) -> list[str] | None:
    """The seats that were ticked, or everywhere alone; None when nothing was."""
    ticked = [raw[name].strip() for name in raw if name.startswith(f"{field.name}[")]
    named = [text for text in dict.fromkeys(ticked) if text]
    return ([EVERYWHERE] if EVERYWHERE in named else named) or None


def _text(field: Field, text: str) -> str:
    read = " ".join(text.split())
    if len(read) > TEXT_LIMIT or not read.isprintable():
        raise InputError(field.name, read, f"type at most {TEXT_LIMIT} plain characters")
    return read


def read_length(path: str, text: str, unit: str) -> Values:
    """One typed length as it is recorded: mm and the text as typed."""
    try:
        read = parse_length(text, unit)
    except CoreError as error:
        raise InputError(path, text, error.remedy) from error
    return {"mm": round(float(read.mm), 6), "typed": text}


def _length(field: Field, text: str, side: str, unit: str) -> Values:
    value = read_length(field.name, text, unit)
    if value["mm"] < 0:
        remedy = (
            "type it without a sign and choose left or right"
            if field.kind == "across"
            else "type it without a minus sign"
        )
        raise InputError(field.name, text, remedy)
    if field.kind == "across":
        chosen = _choice(f"{field.name}.side", side or "", SIDES) if value["mm"] else "right"
        if chosen == "left":
            value["mm"] = -value["mm"]
        value["side"] = chosen
    return value


def _studs(field: Field, raw: Mapping[str, str], unit: str) -> list[Values]:
    studs: list[Values] = []
    for i in range(MOST_STUDS):
        path = f"{field.name}[{i}]"
        text = raw.get(f"{path}.x", "").strip()
        if not text:
            continue
        across = Field(name=f"{path}.x", kind="across", label="stud")
        stud: Values = {
            "x": _length(across, text, raw.get(f"{path}.x.side", ""), unit),
            "material": _choice(
                f"{path}.material", raw.get(f"{path}.material", "unknown") or "unknown", MATERIALS
            ),
        }
        width = raw.get(f"{path}.width", "").strip()
        if width:
            stud["width"] = read_length(f"{path}.width", width, unit)
        if any(abs(stud["x"]["mm"] - other["x"]["mm"]) < 1.0 for other in studs):
            raise InputError(f"{path}.x", text, "this stud is listed twice; clear one of them")
        studs.append(stud)
    return studs


HOLE_FIELDS = (
    Field(name="hole.x", kind="across", label="From the reference line", required=False),
    Field(name="hole.above", kind="length", label="Above the level line", required=False),
)
"""Where a wrong hole was found."""


def read_hole(raw: Mapping[str, str], unit: str) -> Values | None:
    """A hole's x, and how far it is above its level line; None where neither was typed."""
    values = {field.name.removeprefix("hole."): _read(field, raw, unit) for field in HOLE_FIELDS}
    if not any(values.values()):
        return None
    for field, value in zip(HOLE_FIELDS, values.values(), strict=True):
        if value is None:
            raise InputError(field.name, None, f"{field.label}: {_what_to_type(field, unit)}")
    return values


# -- beyond one field -----------------------------------------------------------------------------


def check_values(
    state: JobState,
    kind: TaskKind,
    subject: str,
    values: Mapping[str, Any],
    planned: Mapping[str, Any],
    unit: str,
) -> None:
    """What the fields of one task must be to each other and to what was read before."""
    if kind.name == "before.people":
        _check_people(values)
    if kind.name == "before.services":
        _check_near(values, state.form.seats)
    if kind.name == "work.spacing":
        _check_sum(values, planned, unit)
    if kind.name == "work.rail":
        _check_rail(values, unit)
    if kind.name == "level.check":
        _check_level(values)
    elif kind.name in CROSSED:
        _check_cross(values)
    else:
        for choice, rest in (("low", "level"), ("higher", "level"), ("ahead", "as_planned")):
            if choice in values:
                _check_by(values, choice, rest)
    if kind.name == "panels.trim":
        _check_trim(values, _seats(state, subject))
    if kind.name == "panels.shim":
        _check_shims(values["thick"], unit)
    if kind.name == "level.line":
        _check_line(state, subject, values["height"], unit)


def _check_people(values: Mapping[str, Any]) -> None:
    if values["platform"] == "two_ladders" and values["people"] < LADDERS_PEOPLE:
        raise InputError(
            "people",
            values["people"],
            f"two ladders need a third person steadying: type {LADDERS_PEOPLE} or more, or choose "
            "what else they stand on",
        )


def check_tried(outcome: str, values: Mapping[str, Any]) -> None:
    """What did not hold says where it gave way; what holds gives way nowhere."""
    found = values.get("found", "")
    if outcome == FAILED and not found:
        raise InputError("found", None, "type what moved, or came off")
    if outcome != FAILED and found:
        raise InputError("found", found, "clear it if the panel holds, else tap It does not hold")


def _check_near(values: Mapping[str, Any], seats: Collection[str]) -> None:
    """What was found has a place, or is everywhere; a place has something that was found."""
    near = values.get("near") or ()
    if values.get("found") and not near:
        raise InputError("near", None, "choose the seats it is near, or everywhere")
    if near and not values.get("found"):
        raise InputError("found", None, "type what was found there, or clear the seats")
    unknown = next((one for one in near if one != EVERYWHERE and one not in seats), None)
    if unknown is not None:
        raise InputError("near", unknown[:40], "is no seat of this job; load the page again")


def _check_rail(values: Mapping[str, Any], unit: str) -> None:
    off = abs(values["right"]["mm"] - values["left"]["mm"])
    if off > SUM_MM:
        raise InputError(
            "right",
            values["right"]["typed"],
            f"the rail's ends differ by {format_length(off, unit)} against the top edge: read both "
            "again, or mend the rail",
        )


def _check_level(values: Mapping[str, Any]) -> None:
    if values["over"]["mm"] <= 0:
        raise InputError("over", values["over"]["typed"], "type the length between the two ends")
    if values["higher"] == "same" and values["miss"]["mm"] > 0:
        raise InputError(
            "higher", values["miss"]["typed"], "choose which it was, or type 0 for no difference"
        )


def _check_cross(values: Mapping[str, Any]) -> None:
    """Seat to seat by tape, by level, or both; an amount has a side."""
    if values["higher"] != "unread":
        _check_by(values, "higher", "level")
    elif values.get("by") and values["by"]["mm"] > 0:
        raise InputError("higher", values["by"]["typed"], "choose the side this belongs to")
    elif not values.get("distance"):
        raise InputError("distance", None, "type what was read: by tape, by level or both")


def _check_by(values: Mapping[str, Any], choice: str, rest: str) -> None:
    """A side and an amount, or neither: half of it would count as level."""
    said = "as planned" if rest == "as_planned" else "level"
    by = values.get("by")
    if values[choice] != rest and by is None:
        raise InputError("by", None, f"type by how much, or choose {said}")
    if values[choice] == rest and by is not None and by["mm"] > 0:
        raise InputError(
            choice, by["typed"], f"choose the side this belongs to, or clear it and keep {said}"
        )


def _check_trim(values: Mapping[str, Any], seats: list[str]) -> None:
    """One touch by hand: where, which way it can go, and by how much."""
    means = values["means"]
    if means == "none":
        return
    if means not in WHOLE_PANEL and values.get("seat") not in seats:
        raise InputError("seat", values.get("seat") or None, "choose one of " + ", ".join(seats))
    way = values.get("way") or WAYS[means][0]
    if way not in WAYS[means] or (means == "slide" and not values.get("way")):
        raise InputError("way", values.get("way"), "choose " + " or ".join(WAYS[means]))
    # a panel at the end of its play does not go at all
    is_moved = means == "slide" or (values.get("by") and values["by"]["mm"] > 0)
    if not values.get("by") or not is_moved:
        raise InputError("by", None, "type by how much it was moved")


def _check_shims(thick: Mapping[str, Any], unit: str) -> None:
    if thick["mm"] > SHIM_MOST_MM + 1e-9:
        most = format_length(SHIM_MOST_MM, unit)
        raise InputError("thick", thick["typed"], f"is more than a ring takes: at most {most}")


def _check_line(state: JobState, line: str, height: Mapping[str, Any], unit: str) -> None:
    served = next(one.seats for one in state.lines if one.name == line)
    lowest = min((state.seat(name) for name in served), key=lambda seat: seat.y_mm)
    if height["mm"] >= lowest.y_mm:
        raise InputError(
            "height",
            height["typed"],
            f"must lie below the seats it serves; {lowest.seat} is at "
            f"{format_length(lowest.y_mm, unit)}",
        )


def _seats(state: JobState, panel: str) -> list[str]:
    index = next(k for k, p in enumerate(state.job.panels) if p.name == panel)
    arrangement = state.plan.arrangement
    return [
        name
        for name, k in zip(arrangement.seat_names, arrangement.seat_panel, strict=True)
        if k == index
    ]


def _check_sum(values: Mapping[str, Any], planned: Mapping[str, Any], unit: str) -> None:
    off = abs(values["spacing"]["mm"] - planned["spacing"]["mm"])
    if off > SUM_MM:
        wanted = format_length(planned["spacing"]["mm"], unit)
        raise InputError(
            "spacing",
            values["spacing"]["typed"],
            f"left + spacing + right misses the width by {format_length(off, unit)}; with the "
            f"readings from the edges it should be {wanted}: measure all three again",
        )


def doubt(
    kind: TaskKind, values: Mapping[str, Any], planned: Mapping[str, Any], unit: str
) -> DoubtError | None:
    """The first reading that is far from the plan, or off by a tape started at 1; else None."""
    for field in kind.fields:
        read, wanted = values.get(field.name), planned.get(field.name)
        if not field.is_length or not read or not wanted or field.far_mm is None:
            continue
        off = read["mm"] - wanted["mm"]
        slip = tape_slip(read["mm"], wanted["mm"])
        plan = format_length(abs(wanted["mm"]), unit)
        if slip:
            return DoubtError(
                field.name,
                read["typed"],
                f"is off the plan ({plan}) by {slip}: was the tape started from "
                "the 1? If it is right, save it once more",
            )
        if field.kind == "across" and abs(read["mm"] + wanted["mm"]) < field.far_mm < abs(off):
            return DoubtError(
                field.name,
                read["typed"],
                f"is on the other side of the reference line than planned ({plan} "
                f"{'left' if wanted['mm'] < 0 else 'right'}). If it is right, save "
                "it once more",
            )
        if abs(off) > field.far_mm:
            return DoubtError(
                field.name,
                read["typed"],
                f"is {format_length(abs(off), unit)} off the plan ({plan}). If it is "
                "right, save it once more",
            )
    return _out_of_square(kind, values, unit)


def _out_of_square(kind: TaskKind, values: Mapping[str, Any], unit: str) -> DoubtError | None:
    """Two diagonals of a true panel are alike; of one that is not, one edge is read level."""
    if kind.name != "work.diagonals":
        return None
    off = abs(values["two"]["mm"] - values["one"]["mm"])
    if off <= SUM_MM:
        return None
    return DoubtError(
        "two",
        values["two"]["typed"],
        f"differs from the other diagonal by {format_length(off, unit)}: the panel is out of "
        "square, or one was misread. If both are right, save once more; its level is read on the "
        "edge you name",
    )
