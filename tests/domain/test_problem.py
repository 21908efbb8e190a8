"""The document a phone carries: complete, exact where ties are broken, and small."""

from __future__ import annotations

import gzip
import json
from random import Random
from typing import Any

import numpy as np
import pytest

from holdtrue.domain.problem import FORMAT, VERSION, problem
from holdtrue.domain.state import JobState
from tests.domain.crew import at_fasteners, golden, panel, row
from tests.e2e.phone_math import story

SEATS = 12


def matrix_of(document: dict[str, Any]) -> np.ndarray[Any, np.dtype[np.float64]]:
    matrix = np.zeros((len(document["rows"]), 2 * len(document["seats"])))
    for i, (_, _, _, entries) in enumerate(document["rows"]):
        for at, by in entries:
            matrix[i, at] = by
    return matrix


@pytest.fixture(params=range(15))
def state(request: pytest.FixtureRequest) -> JobState:
    """A random job in the middle of its course."""
    return story(Random(request.param)).states[-1]


def test_the_rows_are_the_form_to_twelve_digits(state: JobState) -> None:
    document = problem(state)
    assert matrix_of(document) == pytest.approx(state.form.matrix, rel=1e-11, abs=1e-13)
    assert [r[0] for r in document["rows"]] == list(state.form.kinds)
    assert [r[1] for r in document["rows"]] == list(state.form.labels)
    assert [r[2] for r in document["rows"]] == list(state.form.tolerance_mm)


def test_it_survives_json_with_every_place_exactly_as_it_was(state: JobState) -> None:
    document = json.loads(json.dumps(problem(state), allow_nan=False))
    assert document == problem(state)
    n = len(state.form.seats)
    planned = state.form.planned_mm
    assert document["planned_mm"] == [[planned[i], planned[n + i]] for i in range(n)]
    assert {s: tuple(p) for s, p in document["marks_mm"].items()} == dict(state.marks_mm)
    assert {s: tuple(p) for s, p in document["estimate_mm"].items()} == state.set_mm
    assert (document["format"], document["version"]) == (FORMAT, VERSION)
    assert (document["seq"], document["revision"]) == (state.seq, state.revision)


def test_twelve_seats_take_a_few_kilobytes() -> None:
    crew = at_fasteners(row(*(panel(name) for name in "ABCDEF")))
    text = json.dumps(problem(crew.state), separators=(",", ":"))
    assert len(crew.state.form.seats) == SEATS
    assert len(text) < 8_000
    assert len(gzip.compress(text.encode())) < 2_000


def test_what_was_done_and_found_stands_in_it() -> None:
    crew = at_fasteners(row(panel("A"), panel("B"), panel("C")))
    before = problem(crew.state)
    assert (before["set"], before["pilots"], before["holes"]) == ({}, {}, {})
    assert {now["fastener"] for now in before["now"].values()} == {"hook"}
    crew.walk(until="fasteners.pilot:B1")
    crew.record("fasteners.pilot:B1", {"met": "wood"})
    crew.walk(until="fasteners.measure:B1")
    crew.measure("B1", -198.0, 1601.5)
    document = problem(crew.state)
    assert document["found"] == {"B1": {"into": "stud", "material": "wood"}}
    assert document["now"]["B1"]["fastener"] == "wood screw"
    assert document["now"]["B1"]["hole_y_mm"] == pytest.approx(1601.5 - 2)
    assert document["pilots"] == document["holes"] == {"B1": list(crew.state.holes["B1"])}
    assert document["set"]["B1"]["is_measured"]
    assert document["set"]["B1"]["place_mm"] == pytest.approx([-198.0, 1601.5])
    assert document["set"]["B1"]["given_mm"] == before["now"]["B1"]["place_mm"]
    assert "B1" not in document["marks_mm"]
    assert document["marked"]["B1"]["fastener"] == "wood screw"


def test_a_fastener_picked_at_the_wall_stands_in_it() -> None:
    crew = at_fasteners(row(panel("A")))
    crew.block("A1", "same", fastener="tired hook")
    document = problem(crew.state)
    assert document["chosen"] == {"A1": "tired hook"}
    assert document["now"]["A1"]["fastener"] == "tired hook"


def test_lines_stand_as_they_were_read_and_the_levels_error_with_them() -> None:
    crew = at_fasteners(row(panel("A")))
    read = {"instrument": "spirit", "over": "1200", "miss": "1", "higher": "high"}
    crew.record("level.check", read)
    (line,) = crew.state.lines
    [told] = problem(crew.state)["lines"]
    assert told == {
        "name": line.name,
        "y_mm": crew.state.line_height_mm(line),
        "planned_mm": line.y_mm,
        "is_read": True,
        "seats": list(line.seats),
    }
    # over 1.2 m the two lines missed by 1 mm, the first one's right end high
    assert problem(crew.state)["level_error_mm_per_m"] == pytest.approx(0.5 / 1.2)


def test_seats_measured_against_each_other_stand_in_it() -> None:
    crew = at_fasteners(row(panel("upper-left")))
    for seat in crew.state.order:
        crew.walk(until=f"fasteners.measure:{seat}")
        crew.measure(seat, *crew.state.marks_mm[seat])
    before = dict(crew.state.set_mm)
    raw = {"distance": "401", "higher": "left", "by": "1.5", "turned": "yes"}
    crew.record("fasteners.cross:upper-left1-upper-left2", raw)
    assert crew.state.set_mm != before  # a dash in the panel's name hides no reading
    assert problem(crew.state)["crossed"] == [
        {
            "a": "upper-left1",
            "b": "upper-left2",
            "distance_mm": 401.0,
            "rise_mm": -1.5,
            "is_turned": True,
            # held turned: what the level's right end rises by, its left end does
            "error_mm_per_m": pytest.approx(-problem(crew.state)["level_error_mm_per_m"]),
            "is_again": False,
        }
    ]


def test_studs_of_the_wall_and_all_fasteners_stand_in_it() -> None:
    crew = at_fasteners(golden("tidewrack"))
    document, job = problem(crew.state), crew.state.job
    assert document["wall"]["behind"] == job.wall.behind
    assert [s["x_mm"] for s in document["wall"]["studs"]] == [s.x_mm for s in job.wall.studs]
    assert [f["name"] for f in document["fasteners"]] == [f.name for f in job.fasteners]
    assert document["graduation_mm"] == job.graduation_mm
    assert document["order"] == list(crew.state.order)
