"""``holdtrue recompute``: where every seat should go now, and how the work will finish."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.commands.conftest import REFERENCE, Run
from tests.commands.test_plan import refused

Saved = Callable[[object], Path]
STAITHE = (REFERENCE / "staithe.job.json", REFERENCE / "staithe.log.json")
TIDEWRACK = (REFERENCE / "tidewrack.job.json", REFERENCE / "tidewrack.log.json")


def log(*entries: dict[str, Any]) -> dict[str, Any]:
    return {"format": "holdtrue.log/1", "entries": list(entries)}


# ---- JSON


def test_it_works(run: Run, saved: Saved, job: dict[str, Any]) -> None:
    entries = log({"seat": "A1", "set": {"x": -424, "y": 1751}})
    answer = run("recompute", saved(job), saved(entries), "--json")
    assert answer.status == 0
    assert answer.err == ""
    assert answer.json.keys() == {"seats", "finish"}
    assert answer.json["seats"][0] == {
        "seat": "A1",
        "set": True,
        "x_mm": -424.0,
        "y_mm": 1751.0,
        "hole_y_mm": 1755.0,
        "fastener": "toggle",
    }
    assert [seat["set"] for seat in answer.json["seats"]] == [True, False, False, False]
    assert list(answer.json["finish"]) == ["level", "slack", "gap", "step", "centre", "height"]
    assert all(value == round(value, 3) for value in answer.json["finish"].values())


def test_an_empty_log_leaves_the_plan(run: Run, saved: Saved, job: dict[str, Any]) -> None:
    path = saved(job)
    got = run("recompute", path, saved(log()), "--json").json
    plan = run("plan", path, "--json").json
    assert [(s["x_mm"], s["y_mm"], s["hole_y_mm"]) for s in got["seats"]] == [
        (s["x_mm"], s["y_mm"], s["hole_y_mm"]) for s in plan
    ]
    assert set(got["finish"].values()) == {0.0}


def test_without_a_fastener_there_is_null(run: Run, saved: Saved, job: dict[str, Any]) -> None:
    entries = log({"seat": "A1", "blocked": "solid"})
    answer = run("recompute", saved(job), saved(entries), "--json")
    assert answer.status == 0
    assert answer.json["seats"][0]["fastener"] is None
    assert answer.json["seats"][0]["hole_y_mm"] == answer.json["seats"][0]["y_mm"]
    assert "no release: A1: no fastener is listed for a solid wall" in answer.err


@pytest.mark.parametrize("which", [0, 1])
def test_a_dash_reads_one_of_the_two_from_standard_input(run: Run, which: int) -> None:
    args: list[Any] = list(STAITHE)
    args[which] = "-"
    answer = run("recompute", *args, "--json", stdin=STAITHE[which].read_bytes())
    assert answer.status == 0
    assert answer.json == run("recompute", *STAITHE, "--json").json


def test_both_from_standard_input_is_wrong_usage(run: Run) -> None:
    answer = run("recompute", "-", "-")
    assert answer.status == 2
    assert answer.out == ""
    assert "only one of JOB and LOG can be standard input" in answer.err


# ---- warnings


def test_a_stop_that_stands_is_said_first_and_a_cleared_one_is_not(
    run: Run, saved: Saved, job: dict[str, Any]
) -> None:
    entries = log(
        {"seat": "B1", "stop": True},
        {"seat": "B2", "stop": "a cable"},
        {"seat": "B1", "cleared": True},
        {"seat": "A1", "blocked": "solid"},
    )
    answer = run("recompute", saved(job), saved(entries), "--json")
    assert answer.status == 0
    assert [line.split(": ")[2:4] for line in answer.err.splitlines()] == [
        ["no release", "B2"],
        ["no release", "A1"],
    ]


# ---- the table


@pytest.mark.parametrize("files", [STAITHE, TIDEWRACK])
def test_the_table_fits_a_terminal_and_names_every_seat(run: Run, files: tuple[Path, Path]) -> None:
    answer = run("recompute", *files)
    assert answer.status == 0
    lines = answer.out.splitlines()
    assert max(map(len, lines)) <= 80
    for seat in run("recompute", *files, "--json").json["seats"]:
        rows = [line for line in lines if line.split()[:1] == [seat["seat"]]]
        assert len(rows) == 2
        assert ("set" if seat["set"] else "to do") in rows[0]
        assert seat["fastener"] in rows[0]


def test_set_seats_are_shown_as_measured_marks_on_the_graduation(run: Run) -> None:
    lines = run("recompute", *STAITHE).out.splitlines()
    rows = {line.split()[0]: line.split() for line in lines if line[:2] in ("E1", "E2")}
    first = {line.split()[0]: line.split() for line in reversed(lines) if line[:2] in ("E1", "E2")}
    assert first["E2"][:5] == ["E2", "set", "733.6", "2077.0", "2075.5"]
    assert first["E1"][:6] == ["E1", "to", "do", "288", "2081", "2077.0"]
    # planned at 732.25, 2076.8125
    assert rows["E2"] == ["E2", "+1.4", "-1.3"]


def test_the_finish_stands_beside_its_tolerances(run: Run) -> None:
    lines = run("recompute", *TIDEWRACK).out.splitlines()
    # B hangs by measured seats that are 1.6 mm out of level
    level = next(line for line in lines if line.startswith("level"))
    gap = next(line for line in lines if line.startswith("gap"))
    assert level.split() == ["level", "2.48", "mm", "1.50", "mm", "OUTSIDE"]
    assert gap.split()[3:] == ["1.50", "mm", "inside"]


# ---- what is wrong


def test_an_error_says_in_which_of_the_two_files_it_lies(run: Run, saved: Saved, job: Any) -> None:
    good, bad = saved(job), saved(log({"seat": "Z9", "unset": True}))
    refused(
        run("recompute", good, bad),
        f"{bad}: entries[0].seat: Z9: is not a seat of this job; seats: A1, A2, B1, B2",
    )
    refused(run("recompute", bad, good), f'{bad}: format: holdtrue.log/1: must be "holdtrue.job/1"')


def test_a_job_given_as_its_own_log_is_refused(run: Run, saved: Saved, job: dict[str, Any]) -> None:
    path = saved(job)
    refused(run("recompute", path, path), f"{path}: ")


def test_a_log_that_is_not_there_is_named(run: Run, tmp_path: Path) -> None:
    refused(run("recompute", STAITHE[0], tmp_path / "none.json"), "none.json: cannot be read")


def test_wrong_usage_is_status_two(run: Run) -> None:
    answer = run("recompute", STAITHE[0])
    assert answer.status == 2
    assert "usage: holdtrue recompute" in answer.err
