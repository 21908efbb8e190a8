"""``holdtrue simulate``: tables, JSON, a picture; what is refused."""

from __future__ import annotations

import re
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any
from xml.etree import ElementTree as ET

import pytest

from tests.commands.conftest import REFERENCE, Run

Saved = Callable[[object], Path]
TIDEWRACK = REFERENCE / "tidewrack.job.json"
FEW = ("--installs", "60")
FEWER = ("--installs", "20")
"""Enough where no share is asked for."""


def test_it_works(run: Run) -> None:
    answer = run("simulate", TIDEWRACK, *FEW)
    assert (answer.status, answer.err) == (0, "")
    assert "Tidewrack, four panels" in answer.out
    assert "paper plan" in answer.out
    assert "most often outside" in answer.out
    said = " ".join(answer.out.split())
    assert "Asked for, by all of it at the placing played: inside with at most 4 trims" in said
    assert said.endswith("Met.")
    assert "Not met." not in said
    assert max(len(line) for line in answer.out.splitlines()) <= 80


def test_what_keeps_it_from_its_target_is_named(run: Run) -> None:
    said = " ".join(run("simulate", TIDEWRACK, *FEWER, "--placing", "2.5").out.split())
    assert re.search(r"all of it \([0-9.]+ %\) without few points", said)
    assert re.search(r"Not met\. Most often outside: .* Limited most by ", said)


def test_json_holds_what_the_tables_say(run: Run) -> None:
    found = run("simulate", TIDEWRACK, *FEW, "--json").json
    assert (found["installs"], found["seed"]) == (60, 1)
    assert found["errors"]["placing_mm"] == 1.0
    assert len(found["ways"]) == 12
    assert set(found["at_placing_mm"]) == {"0.8", "1.5"}
    paper = found["ways"][0]
    assert paper["way"] == "paper plan"
    assert paper["share_inside"] < 0.05
    assert paper["worst_at_95_mm"]["taper"] > 3.0
    assert paper["limiting"][0]["criterion"].startswith("taper")
    assert found["target_met"] in (True, False)


def test_the_same_seed_prints_the_same(run: Run) -> None:
    first, again, other = (
        run("simulate", TIDEWRACK, *FEWER, "--seed", seed).out for seed in (5, 5, 6)
    )
    assert first == again != other


def test_error_sizes_are_those_of_the_job_unless_given(
    run: Run, job: dict[str, Any], saved: Saved
) -> None:
    job["uncertainty"] = {"placing": 0.7, "tape": 0.4}
    errors = run("simulate", saved(job), *FEW, "--json", "--tape", "0.9").json["errors"]
    assert (errors["placing_mm"], errors["tape_mm"]) == (0.7, 0.9)


def test_without_errors_everything_ends_inside(run: Run, job: dict[str, Any], saved: Saved) -> None:
    none = [f"--{name}=0" for name in ("placing", "drop", "floor", "stick", "surprise")]
    exact = [f"--{name}=0.001" for name in ("tape", "level", "level-per-m", "rule")]
    found = run("simulate", saved(job), *FEW, "--json", *none, *exact).json
    assert [way["share_inside"] for way in found["ways"]] == [1.0] * 12


def test_a_picture_is_drawn(run: Run, tmp_path: Path) -> None:
    file = tmp_path / "ends.svg"
    assert run("simulate", TIDEWRACK, *FEWER, "--picture", file).status == 0
    root = ET.fromstring(file.read_text(encoding="utf-8"))  # noqa: S314  our own file
    texts = ["".join(one.itertext()) for one in root.iter("{http://www.w3.org/2000/svg}text")]
    assert "Tidewrack, four panels: how installs end" in texts
    assert {"paper plan", "recompute", "+ shims before the lift", "tolerance"} <= set(texts)
    bars = list(root.iter("{http://www.w3.org/2000/svg}rect"))
    assert len(bars) > 12


def test_a_folder_that_is_not_there_is_said(run: Run, tmp_path: Path) -> None:
    answer = run("simulate", TIDEWRACK, *FEWER, "--picture", tmp_path / "none" / "ends.svg")
    assert (answer.status, answer.out) == (1, "")
    assert "check the folder" in answer.err


@pytest.mark.parametrize(
    "wrong",
    [
        ("--installs", "0"),
        ("--installs", "1e3"),
        ("--installs", "100001"),
        ("--installs", "9" * 5000),
        ("--seed", "-1"),
        ("--seed", "x"),
        ("--placing", "-1"),
        ("--placing", "nan"),
        ("--placing", "inf"),
        ("--placing", "2000"),
        ("--tape", "0"),
        ("--surprise", "1.5"),
        ("--drop-common", "-0.1"),
        ("--drop", "half"),
    ],
)
def test_sizes_that_make_no_sense_are_refused(run: Run, wrong: tuple[str, str]) -> None:
    answer = run("simulate", TIDEWRACK, f"{wrong[0]}={wrong[1]}")
    assert (answer.status, answer.out) == (2, "")
    assert wrong[0] in answer.err


def test_a_job_that_is_none_is_refused(run: Run) -> None:
    answer = run("simulate", "-", stdin=b'{"format": "holdtrue.job/1"}')
    assert (answer.status, answer.out) == (1, "")
    assert answer.err.startswith("holdtrue: ")


def test_a_person_sees_how_far_it_is(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True)
    answer = run("simulate", TIDEWRACK, *FEWER)
    assert "[###" in answer.err
    assert "paper plan" in answer.err
    # and nothing of it is left over
    assert answer.err.endswith("\r")
