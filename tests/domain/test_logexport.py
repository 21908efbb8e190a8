"""A job's stream written as a log file says the same as the stream."""

from __future__ import annotations

from typing import Any

import pytest

from holdtrue.demo import demo_document
from holdtrue.domain import events
from holdtrue.domain.fold import fold
from holdtrue.domain.logexport import log_document
from holdtrue.domain.logfile import parse_log, replay
from holdtrue.store.port import Entry

Happened = tuple[str, dict[str, Any]]


def stream(*happened: Happened) -> tuple[Entry, ...]:
    """A job's entries: created, then what happened."""
    all_of_it: list[Happened] = [(events.JOB_CREATED, {"document": demo_document()}), *happened]
    return tuple(
        Entry(
            stream="job-AAAAAAAA",
            seq=seq,
            key=f"key-{seq:012}",
            type=event,
            body=body,
            who="IVO00000",
            received=f"2026-03-02T08:{seq:02}:00.000Z",
            tapped="2026-03-02T07:59:00Z" if seq == 2 else None,
        )
        for seq, (event, body) in enumerate(all_of_it, start=1)
    )


def recorded(task: str, outcome: str, **body: Any) -> Happened:
    common = {"planned": {}, "values": {}, "revision": 1, "instrument": "tape"}
    return events.TASK_RECORDED, {**common, "task": task, "outcome": outcome, **body}


def measured(seat: str, x_mm: float, y_mm: float, outcome: str = "measured") -> Happened:
    return recorded(
        f"fasteners.measure:{seat}",
        outcome,
        values={"x": {"mm": x_mm}, "above": {"mm": 100.0}},
        place={"x_mm": x_mm, "y_mm": y_mm},
        given={"x_mm": x_mm - 1.5, "y_mm": y_mm}
        if outcome == "measured"
        else {"x_mm": x_mm, "y_mm": y_mm},
    )


def piloted(seat: str, met: str) -> Happened:
    return recorded(f"fasteners.pilot:{seat}", "done", values={"met": met})


def blocked(seat: str, found: str, material: str | None = None) -> Happened:
    body = {"seat": seat, "found": found, "material": material, "fastener": None, "note": ""}
    return events.SEAT_BLOCKED, body


def exported(entries: tuple[Entry, ...]) -> dict[str, Any]:
    return log_document(entries, fold(entries), {"IVO00000": "Ivo"})


BUSY = stream(
    measured("B1", -564.0, 1802.9),
    measured("B2", -273.0, 1803.4, "as_planned"),
    blocked("C2", "stud", "wood"),
    blocked("C1", "same"),
    piloted("A2", "nothing"),
    piloted("A1", "unclear"),
    measured("A2", -824.0, 1805.0),
    (events.SEAT_FREED, {"seat": "A2", "why": "spent", "note": "crumbling"}),
    (events.STOP_CALLED, {"seat": "D1", "what": "cable", "note": ""}),
    (events.STOP_CALLED, {"seat": "D3", "what": "pipe", "note": ""}),
    (events.STOP_CLEARED, {"stop": 10, "note": "seen"}),
    measured("D2", 1020.0, 1850.0),
    (events.ENTRY_UNDONE, {"of": 13, "why": ""}),
)


def test_it_replays_to_the_same_state() -> None:
    state = fold(BUSY)

    after = replay(state.form, parse_log(exported(BUSY), state.form.seats))

    assert set(after.set_mm) == set(state.set_mm) == {"B1", "B2"}
    for seat, place in state.set_mm.items():
        assert after.set_mm[seat] == pytest.approx(place, abs=1e-9)
    assert after.found == state.found
    assert after.stopped == {stop.seat for stop in state.open_stops} == {"D3"}


def test_every_entry_says_who_and_when() -> None:
    first, second, *_ = exported(BUSY)["entries"]

    assert first["who"] == "Ivo"
    assert first["when"] == "2026-03-02T07:59:00Z"
    assert second["when"] == "2026-03-02T08:03:00.000Z"
    assert first["instrument"] == "tape"


def test_as_planned_is_null_beside_what_was_given() -> None:
    as_planned = exported(BUSY)["entries"][1]

    assert as_planned["set"] == {"x": None, "y": None}
    assert as_planned["given"] == {"x": -273.0, "y": 1803.4}


def test_what_was_undone_is_left_out() -> None:
    assert all(entry["seat"] != "D2" for entry in exported(BUSY)["entries"])


def test_a_seat_the_plan_no_longer_has_is_left_out() -> None:
    document = demo_document()
    document["panels"] = document["panels"][:3]
    document["layout"]["gap"] = [2.5, 2.5]
    revised: Happened = (events.PLAN_REVISED, {"document": document, "note": ""})
    entries = stream(blocked("D1", "solid"), blocked("A1", "solid"), revised)

    assert [entry["seat"] for entry in exported(entries)["entries"]] == ["A1"]


def test_wood_met_behind_a_board_changes_nothing() -> None:
    entries = stream(blocked("A1", "backed"), piloted("A1", "wood"))

    state = fold(entries)
    after = replay(state.form, parse_log(exported(entries), state.form.seats))
    assert after.found == state.found
