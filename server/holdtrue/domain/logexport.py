"""A job's stream as a log file, ``holdtrue.log/1``: what bears on the seats, oldest first."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from typing import Any

from holdtrue.domain import events
from holdtrue.domain.effects import MET_FOUND
from holdtrue.domain.fold import undone_seqs
from holdtrue.domain.logfile import FORMAT
from holdtrue.domain.state import JobState, Recorded

_Happening = dict[str, Any]


def log_document(
    entries: Collection[Recorded], state: JobState, names: Mapping[str, str]
) -> dict[str, Any]:
    """The log of a job whose stream is ``entries``; ``names`` puts people's names for their ids.

    Entries that were undone, and those of seats the plan no longer has, are left out: read beside
    the exported job, the file must be free of faults.
    """
    undone = undone_seqs(entries)
    standing = [entry for entry in entries if entry.seq not in undone]
    said = [
        {**happening, **_carried(entry, names)}
        for entry in standing
        if (happening := _happening(entry, state, standing)) is not None
    ]
    return {
        "format": FORMAT,
        "unit": "mm",
        "entries": [one for one in said if one["seat"] in state.form.seats],
    }


def _happening(entry: Recorded, state: JobState, standing: Iterable[Recorded]) -> _Happening | None:
    body = entry.body
    match entry.type:
        case events.TASK_RECORDED:
            return _recorded(body, state)
        case events.SEAT_BLOCKED if body["found"] != "same":
            return _blocked(body["seat"], body["found"], body["material"], body["note"])
        case events.SEAT_FREED:
            return {"seat": body["seat"], "unset": True, "note": body["note"]}
        case events.STOP_CALLED:
            return {"seat": body["seat"], "stop": body["what"], "note": body["note"]}
        case events.STOP_CLEARED:
            stop = next(one for one in standing if one.seq == body["stop"])
            return {"seat": stop.body["seat"], "cleared": True, "note": body["note"]}
        case _:
            return None


def _recorded(body: Mapping[str, Any], state: JobState) -> _Happening | None:
    kind, _, seat = str(body["task"]).partition(":")
    if kind == "fasteners.measure":
        return _set(seat, body)
    # A bit that met wood where a board was planned changes nothing, and "cannot tell" says nothing.
    if kind == "fasteners.pilot" and seat in state.found and body["values"]["met"] in MET_FOUND:
        met = body["values"]["met"]
        return _blocked(seat, MET_FOUND[met], "wood" if met == "wood" else None, "pilot hole")
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


def _blocked(seat: str, found: str, material: str | None, note: str) -> _Happening:
    happening: _Happening = {"seat": seat, "blocked": found, "note": note}
    return {**happening, "material": material} if material else happening


def _carried(entry: Recorded, names: Mapping[str, str]) -> _Happening:
    carried: _Happening = {
        "who": names.get(entry.who, entry.who),
        "when": entry.tapped or entry.received,
        "key": entry.key,
    }
    instrument = entry.body.get("instrument")
    return {**carried, "instrument": instrument} if instrument else carried
