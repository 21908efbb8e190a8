"""Log files, ``holdtrue.log/1``, and their replay into set seats and what was found behind them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal, cast

from holdtrue.core.plan import found_behind
from holdtrue.core.quality import Form
from holdtrue.core.recompute import recompute_mm
from holdtrue.core.wall import Behind
from holdtrue.domain.errors import InputError
from holdtrue.domain.jobfile import UNITS, check_format
from holdtrue.domain.reader import Reader, read_length

FORMAT = "holdtrue.log/1"
Happening = Literal["set", "blocked", "unset", "stop", "cleared"]
HAPPENINGS: tuple[Happening, ...] = ("set", "blocked", "unset", "stop", "cleared")
FOUND = ("stud", "steel", "hollow", "backed", "solid")
GOES_WITH = {"given": "set", "material": "blocked"}
"""What bears on the result besides, and beside what it may stand."""
CARRIED = ("fastener", "who", "when", "instrument", "revision", "key", "note")
"""What entries written by the product carry besides; read back, none of it bears on the result."""

Point = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class LogEntry:
    seat: str
    what: Happening
    x_mm: float | None = None
    y_mm: float | None = None
    given_mm: Point | None = None
    found: Behind | None = None


def parse_log(document: object, seats: Sequence[str]) -> tuple[LogEntry, ...]:
    """The entries of a log file, oldest first; InputError names path, value and remedy."""
    top = Reader(document, "", "mm")
    check_format(top, FORMAT)
    top.known(("format", "unit", "entries"))
    top.unit = top.choice("unit", UNITS, "mm")
    entries = top.need("entries", "give a list of what happened, oldest first")
    if not isinstance(entries, list):
        raise InputError("entries", entries, "must be a list [...]")
    return tuple(
        _entry(Reader(item, f"entries[{i}]", top.unit), seats) for i, item in enumerate(entries)
    )


def _entry(reader: Reader, seats: Sequence[str]) -> LogEntry:
    reader.known(("seat", *HAPPENINGS, *GOES_WITH, *CARRIED))
    seat = reader.text("seat")
    if seat not in seats:
        raise InputError(
            reader.at("seat"), seat, "is not a seat of this job; seats: " + ", ".join(seats)
        )
    what = _happening(reader)
    _check_carried(reader, what)
    if what == "set":
        return _set(reader, seat)
    if what == "blocked":
        met = reader.choice("blocked", FOUND)
        material = reader.choice("material", ("wood", "steel", "unknown"), "unknown")
        return LogEntry(
            seat=seat, what=what, found=found_behind(cast(Any, met), cast(Any, material))
        )
    said_of_it = reader.value[what]
    if said_of_it is not True and (what == "unset" or not isinstance(said_of_it, str)):
        # not false or null: whether a stop stands must not hang on how that is read
        raise InputError(
            reader.at(what),
            said_of_it,
            "must be true" if what == "unset" else "must be true, or a text that says why",
        )
    return LogEntry(seat=seat, what=what)


def _happening(reader: Reader) -> Happening:
    said = [what for what in HAPPENINGS if what in reader.value]
    if len(said) != 1:
        raise InputError(
            reader.path, ", ".join(said) or None, "must say exactly one of " + ", ".join(HAPPENINGS)
        )
    return said[0]


def _check_carried(reader: Reader, what: Happening) -> None:
    for key, beside in GOES_WITH.items():
        if what != beside:
            reader.refuse(key, f"belongs beside {beside}; leave it out")
    for key in CARRIED:
        value = reader.value.get(key)
        if value is not None and (isinstance(value, bool) or not isinstance(value, str | int)):
            raise InputError(reader.at(key), value, "must be a text or a whole number")


def _set(reader: Reader, seat: str) -> LogEntry:
    x_mm, y_mm = _place(reader.child("set", "give the place, x and y"))
    given = _place(reader.child("given")) if reader.has("given") else None
    if given is not None and (given[0] is None or given[1] is None):
        raise InputError(reader.at("given"), reader.value["given"], "must have both x and y")
    return LogEntry(seat=seat, what="set", x_mm=x_mm, y_mm=y_mm, given_mm=cast(Point | None, given))


def _place(reader: Reader) -> tuple[float | None, float | None]:
    """(x, y) in mm; a null (or absent) coordinate is None: on its mark."""
    reader.known(("x", "y"))
    x, y = (
        None
        if reader.value.get(axis) is None
        else read_length(reader.value[axis], reader.at(axis), reader.unit)
        for axis in ("x", "y")
    )
    return x, y


@dataclass(frozen=True, slots=True, kw_only=True)
class Replay:
    """Where the log leaves the seats: set places [mm], what was found behind, stops standing."""

    set_mm: Mapping[str, Point]
    found: Mapping[str, Behind]
    stopped: frozenset[str]


def replay(form: Form, entries: Sequence[LogEntry]) -> Replay:
    """Fold a log. A null coordinate is the optimum from the other seats before it, once."""
    set_mm: dict[str, Point] = {}
    found: dict[str, Behind] = {}
    stopped: set[str] = set()
    for entry in entries:
        if entry.what == "set":
            set_mm[entry.seat] = _resolve(form, entry, set_mm)
        elif entry.what == "unset":
            set_mm.pop(entry.seat, None)
        elif entry.found is not None:
            found[entry.seat] = entry.found
        elif entry.what == "stop":
            stopped.add(entry.seat)
        else:
            stopped.discard(entry.seat)
    return Replay(set_mm=set_mm, found=found, stopped=frozenset(stopped))


def _resolve(form: Form, entry: LogEntry, set_mm: Mapping[str, Point]) -> Point:
    if entry.x_mm is not None and entry.y_mm is not None:
        return entry.x_mm, entry.y_mm
    mark = entry.given_mm
    if mark is None:
        others = {seat: place for seat, place in set_mm.items() if seat != entry.seat}
        mark = recompute_mm(form, others)[entry.seat]
    return (
        mark[0] if entry.x_mm is None else entry.x_mm,
        mark[1] if entry.y_mm is None else entry.y_mm,
    )
