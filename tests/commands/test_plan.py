"""``holdtrue plan``: a list or a table, warnings apart, one line for what is wrong."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.commands.conftest import REFERENCE, Answer, Run

Saved = Callable[[object], Path]
STAITHE = REFERENCE / "staithe.job.json"
TIDEWRACK = REFERENCE / "tidewrack.job.json"


def refused(answer: Answer, *says: str) -> None:
    """Status 1, one line that says so, nothing on standard output."""
    assert answer.status == 1
    assert answer.out == ""
    assert answer.err.startswith("holdtrue: ")
    assert answer.err.count("\n") == 1
    for text in says:
        assert text in answer.err


# ---- JSON


def test_it_works(run: Run, saved: Saved, job: dict[str, Any]) -> None:
    answer = run("plan", saved(job), "--json")
    assert answer.status == 0
    assert answer.err == ""
    assert answer.json[0] == {
        "seat": "A1",
        "x_mm": -425.0,
        "y_mm": 1750.0,
        "hole_y_mm": 1754.0,
        "fastener": "toggle",
        "into": "hollow",
        "load_N": 49.03,
        "pull_N": 0.0,
    }
    assert [seat["seat"] for seat in answer.json] == ["A1", "A2", "B1", "B2"]


def test_lengths_are_to_a_thousandth_and_forces_to_a_hundredth(
    run: Run, saved: Saved, job: Any
) -> None:
    job["unit"] = "in"
    job["panels"][0] |= {"width": "20 1/64", "depth": "1 1/64"}
    job["panels"][0]["hangers"] = [{"in": "5 1/64", "down": "4 3/64"}, {"in": 15, "down": 4}]
    job["panels"][1] |= {"width": 20, "height": 30, "hangers": [{"in": 10, "down": 4}]}
    job["panels"][0]["height"] = 30
    job["layout"] = {"kind": "row", "height": {"at": 60}}
    for seat in run("plan", saved(job), "--json").json:
        for key, value in seat.items():
            if key.endswith("_mm"):
                assert value == round(value, 3)
            if key.endswith("_N"):
                assert value == round(value, 2)


def test_zero_has_no_sign(run: Run, saved: Saved, job: dict[str, Any]) -> None:
    job["panels"] = [
        {**job["panels"][0], "width": 500, "hangers": [{"in": 250.0000001, "down": 100}]}
    ]
    job["layout"]["gap"] = 0
    assert '"x_mm": 0.0' in run("plan", saved(job), "--json").out


def test_without_a_fastener_there_is_null_and_no_drop(run: Run, saved: Saved, job: Any) -> None:
    job["fasteners"] = []
    answer = run("plan", saved(job), "--json")
    assert answer.status == 0
    assert answer.json[0]["fastener"] is None
    assert answer.json[0]["hole_y_mm"] == answer.json[0]["y_mm"]
    assert "A1: no fastener is listed for a hollow wall" in answer.err


def test_a_dash_reads_standard_input(run: Run) -> None:
    answer = run("plan", "-", "--json", stdin=STAITHE.read_bytes())
    assert answer.json == run("plan", STAITHE, "--json").json


def test_names_outside_ascii_are_read_and_written(run: Run, saved: Saved, job: Any) -> None:
    job["panels"][0]["name"] = "Grün"
    assert run("plan", saved(job), "--json").json[0]["seat"] == "Grün1"
    assert "Grün1" in run("plan", saved(job)).out


# ---- warnings


def test_warnings_do_not_change_the_status_and_the_weightiest_come_first(run: Run) -> None:
    answer = run("plan", STAITHE, "--json")
    assert answer.status == 0
    json.loads(answer.out)
    words = [line.split(": ")[2] for line in answer.err.splitlines()]
    assert words == ["no release"] * 10 + ["a written reason is needed"] * 2 + ["note"] * 2
    seats = [line.split(": ")[3] for line in answer.err.splitlines()][:10]
    assert seats == ["N1", "N2", "N3", "E1", "E2", "S1", "S2", "W1", "Z1", "Z2"]


def test_overload_conflict_and_edge_are_warnings(run: Run, saved: Saved, job: Any) -> None:
    job["fasteners"][0] |= {"capacity": "8 kg", "basis": "ultimate"}
    job["fasteners"] += [{"name": "screw", "into": "stud", "capacity": "40 kg", "basis": "working"}]
    job["wall"] = {
        "studs": [{"x": -448, "width": 38, "material": "wood"}],
        "keep_clear": [{"x0": 100, "y0": 1700, "x1": 200, "y1": 1800, "why": "a cable"}],
    }
    answer = run("plan", saved(job), "--json")
    assert answer.status == 0
    assert "no release: B1: the hole lies in a keep-clear area (a cable)" in answer.err
    assert "a written reason is needed: A2: 49.0 N on toggle, allowed 19.6 N" in answer.err
    assert "note: A1: at the edge of a stud" in answer.err


# ---- the table


@pytest.mark.parametrize("path", [STAITHE, TIDEWRACK])
def test_the_table_fits_a_terminal_and_names_every_seat(run: Run, path: Path) -> None:
    answer = run("plan", path)
    assert answer.status == 0
    assert max(map(len, answer.out.splitlines())) <= 80
    lines = answer.out.splitlines()
    for seat in run("plan", path, "--json").json:
        rows = [line for line in lines if line.split()[:1] == [seat["seat"]]]
        assert len(rows) in (3, 4)
        assert f"{seat['load_N']:.1f} N" in rows[1] or f"{seat['load_N'] + 0.05:.1f} N" in rows[1]


def test_the_table_is_in_the_jobs_unit_and_graduation(run: Run) -> None:
    out = run("plan", TIDEWRACK).out
    assert "to 1/16 in" in out
    row = next(line for line in out.splitlines() if line.startswith("B1"))
    # planned at x -22.258 in, hole 71 1/4 in, seat 71 in
    assert row.split() == [
        "B1",
        "-22",
        "1/4",
        "71",
        "1/4",
        "71",
        "hollow",
        "hook",
        "on",
        "a",
        "toggle",
    ]


def test_the_table_says_load_against_what_is_allowed(run: Run) -> None:
    lines = run("plan", TIDEWRACK).out.splitlines()
    d1, d2 = ([line for line in lines if line.startswith(seat)][1] for seat in ("D1", "D2"))
    # 40 lb / 2 is 88.96 N; D1 carries 87.25 N and pulls 4.59 N
    assert d1.split() == ["D1", "87.3", "N", "4.6", "N", "87.4", "/", "89.0", "N", "98", "%"]
    assert d2.endswith("not known")


def test_marks_of_the_table_are_those_an_installer_is_shown(
    run: Run, saved: Saved, job: Any
) -> None:
    job["fasteners"][0]["drop"] = 4.4
    row = next(line for line in run("plan", saved(job)).out.splitlines() if line.startswith("A1"))
    # seat 1750, hole 1754.4: the hole goes on the graduation and the seat follows
    assert row.split() == ["A1", "-425", "1754", "1749.6", "hollow", "toggle"]


@pytest.mark.parametrize("unit", ["mm", "cm", "m", "in", "ft"])
def test_long_names_and_every_unit_still_fit(run: Run, saved: Saved, job: Any, unit: str) -> None:
    job["unit"] = unit
    for panel in job["panels"]:
        panel |= {"name": panel["name"] * 150, "width": "500 mm", "height": "700 mm"}
        panel["hangers"] = [{"in": "100 mm", "down": "100 mm"}, {"in": "400 mm", "down": "99.3 mm"}]
    job["layout"] = {
        "kind": "row",
        "gap": "50 mm",
        "height": {"at": "98765.4 mm"},
        "offset": "-98 m",
    }
    job["fasteners"][0] |= {"name": "a long name " * 12, "drop": "4 mm"}
    job["title"] = "a long title " * 15
    answer = run("plan", saved(job))
    assert answer.status == 0
    assert max(map(len, answer.out.splitlines())) <= 80
    # the end of a seat's name is its number
    assert [line for line in answer.out.splitlines() if line.startswith("…AAA")] != []


def test_without_fasteners_the_table_says_so(run: Run, saved: Saved, job: Any) -> None:
    job["fasteners"] = []
    out = run("plan", saved(job)).out
    assert "none listed" in out
    assert "not known" in out


# ---- what is wrong


def test_an_error_names_file_path_value_and_remedy(run: Run, saved: Saved, job: Any) -> None:
    job["panels"][1]["hangers"][0]["in"] = 501
    path = saved(job)
    refused(
        run("plan", path, "--json"),
        f"holdtrue: {path}: panels[1].hangers[0].in: 501: lies outside the panel; give 0 to 500 mm",
    )


@pytest.mark.parametrize("options", [[], ["--json"]])
@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "is not JSON: line 1, column 1"),
        (b"{", "is not JSON: line 1"),
        (b'{"a": 1}\n]', "line 2, column 1"),
        (b"\xff\xfe{\x00}\x00", "is not UTF-8 text (byte 0)"),
        (b'{"title": "caf\xe9"}', "is not UTF-8 text (byte 14)"),
        (b"[1, 2]", "document: [...]: must be an object"),
        (b"null", "must be an object"),
        (b'{"slope": NaN}', "slope: NaN: is not a number"),
        (b'{"slope": -Infinity}', "-Infinity: is not a number"),
        (b'{"slope": 1e999}', "slope: 1e999: must be a number of ordinary size"),
        (b'{"slope": ' + b"9" * 5000 + b"}", "must be a number of ordinary size"),
        (b'{"unit": "mm", "unit": "in"}', "unit: in: stands twice"),
        (b'{"title": "\\ud800"}', "half a character"),
        (b'{"\\ud800": 1}', "half a character"),
        (b"[" * 100_000, "is nested more than 20 deep"),
        (b"[" * 60 + b"]" * 60, "is nested more than 20 deep"),
        (b'{"a":' * 30 + b"1" + b"}" * 30, "is nested more than 20 deep"),
        (b" " * (2 * 1024 * 1024 + 1), "is larger than 2 MB"),
        (b"[" + b"1," * 5_000_000 + b"1]", "is larger than 2 MB"),
    ],
    ids=lambda value: str(value)[:20],
)
def test_what_is_no_job_file_is_refused(
    run: Run, saved: Saved, content: bytes, says: str, options: list[str]
) -> None:
    refused(run("plan", saved(content), *options), says)
    refused(run("plan", "-", *options, stdin=content), "standard input", says)


def test_a_byte_order_mark_is_no_error(run: Run) -> None:
    content = b"\xef\xbb\xbf" + STAITHE.read_bytes()
    assert run("plan", "-", stdin=content).status == 0


def test_a_file_that_is_not_there_is_named(run: Run, tmp_path: Path) -> None:
    refused(run("plan", tmp_path / "none.json"), "none.json: cannot be read: No such file")
    refused(run("plan", tmp_path), "cannot be read: Is a directory")


def test_wrong_usage_is_status_two(run: Run) -> None:
    for args in (["plan"], ["plan", "a", "b"], ["plan", "a", "--yaml"], ["plans", "a"]):
        answer = run(*args)
        assert answer.status == 2
        assert answer.out == ""
        assert "usage: holdtrue" in answer.err


# ---- real processes


def process(*args: str, **options: Any) -> subprocess.CompletedProcess[bytes]:
    return subprocess.run(
        [sys.executable, "-m", "holdtrue.cli", *args], capture_output=True, timeout=60, **options
    )


def test_a_terminal_that_cannot_show_a_name_is_no_error(saved: Saved, job: Any) -> None:
    job["panels"][0]["name"] = "漆"
    env = {**os.environ, "PYTHONIOENCODING": "ascii", "PYTHONUTF8": "0"}
    done = process("plan", str(saved(job)), env=env)
    assert done.returncode == 0
    assert b"\\u6f061" in done.stdout


def test_a_reader_that_stops_early_is_no_error() -> None:
    reads, writes = os.pipe()
    os.close(reads)
    done = subprocess.run(
        [sys.executable, "-m", "holdtrue.cli", "plan", str(TIDEWRACK)],
        stdout=writes,
        stderr=subprocess.PIPE,
        timeout=60,
    )
    os.close(writes)
    assert done.returncode == 0
    assert b"Traceback" not in done.stderr
    assert b"BrokenPipe" not in done.stderr


def test_nesting_deep_enough_to_hurt_leaves_no_traceback(tmp_path: Path) -> None:
    path = tmp_path / "deep.json"
    path.write_bytes(b'{"title":' + b"[" * 900_000)
    done = process("plan", str(path))
    assert done.returncode == 1
    assert done.stdout == b""
    assert b"Traceback" not in done.stderr
