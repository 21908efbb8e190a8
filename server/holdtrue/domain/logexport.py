"""A job's stream as a log file, ``holdtrue.log/1``: what bears on the seats, oldest first."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Any

from holdtrue.domain import events
from holdtrue.domain.effects import MET_FOUND
from holdtrue.domain.fold import created, evolve, undone_seqs
from holdtrue.domain.logfile import FORMAT
from holdtrue.domain.state import JobState, Recorded
from holdtrue.domain.subjects import swapped_seat

_Happening = dict[str, Any]


def log_document(
    entries: Collection[Recorded], state: JobState, names: Mapping[str, str]
) -> dict[str, Any]:
    """The log of a job whose stream is ``entries``; ``names`` puts people's names for their ids.

    Entries that were undone, and those of seats the plan no longer has, are left out: read beside
    the exported job, the file must be free of faults.
    """
    undone = undone_seqs(entries)
    first, *rest = [entry for entry in entries if entry.seq not in undone]
    then = created(first)
    said: list[_Happening] = []
    for entry in rest:
        then = evolve(then, entry)
        if entry.type == events.PANELS_SWAPPED:
            # the exported job has each in the other's place: what was said of a place follows
            said = [
                one | {"seat": swapped_seat(one["seat"], *entry.body["panels"])} for one in said
            ]
        happening = _happening(entry, then)
        if happening is not None:
            said.append({**happening, **_carried(entry, names)})
    known = [one for one in said if one["seat"] in state.form.seats]
    return {"format": FORMAT, "unit": "mm", "entries": known}


def _happening(entry: Recorded, then: JobState) -> _Happening | None:
    """What an entry says of a seat; ``then`` is the state right after it."""
    body = entry.body
    match entry.type:
        case events.TASK_RECORDED:
            return _recorded(body, then)
        case events.SEAT_BLOCKED if body["found"] != "same":
            return _blocked(body["seat"], then, body["note"])
        case events.SEAT_FREED:
            return {"seat": body["seat"], "unset": True, "note": body["note"]}
        case events.CHOICE_MADE if body["choice"] == "correct":
            return {"seat": body["seat"], "unset": True, "note": body["note"]}
        case events.STOP_CALLED:
            return {"seat": body["seat"], "stop": body["what"], "note": body["note"]}
        case events.STOP_CLEARED:
            stop = next(one for one in then.stops if one.seq == body["stop"])
            return {"seat": stop.seat, "cleared": True, "note": body["note"]}
        case _:
            return None


def _recorded(body: Mapping[str, Any], then: JobState) -> _Happening | None:
    kind, _, seat = str(body["task"]).partition(":")
    if kind == "fasteners.measure":
        return _set(seat, body)
    # A bit that met what was planned, or "cannot tell", may leave nothing found to speak of.
    if kind == "fasteners.pilot" and seat in then.found and body["values"]["met"] in MET_FOUND:
        return _blocked(seat, then, "pilot hole")
    return None


def _set(seat: str, body: Mapping[str, Any]) -> _Happening:
    is_measured = body["outcome"] == "measured"
    place, given = body["place"], body["given"]
    return {
        "seat": seat,
        "set": {axis: place[f"{axis}_mm"] if is_measured else None for axis in ("x", "y")},
        "given": {axis: given[f"{axis}_mm"] for axis in ("x", "y")},
        "revision": body["revision"],
    }


def _blocked(seat: str, then: JobState, note: str) -> _Happening:
    """What counts as behind the seat from here on: a pilot hole may confirm rather than change."""
    found = then.found[seat]
    happening: _Happening = {"seat": seat, "blocked": found.into, "note": note}
    return {**happening, "material": found.material} if found.into == "stud" else happening


def _carried(entry: Recorded, names: Mapping[str, str]) -> _Happening:
    carried: _Happening = {
        "who": names.get(entry.who, entry.who),
        "when": entry.tapped or entry.received,
        "key": entry.key,
    }
    instrument = entry.body.get("instrument")
    return {**carried, "instrument": instrument} if instrument else carried
