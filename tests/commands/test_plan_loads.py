"""``holdtrue plan``: basis, the one-fastener check, pounds of force, and what clears a conflict."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from tests.commands.conftest import REFERENCE, Run

Saved = Callable[[object], Path]

TIDEWRACK = REFERENCE / "tidewrack.job.json"


def lines_of(out: str, seat: str) -> list[list[str]]:
    return [line.split() for line in out.splitlines() if line.startswith(f"{seat} ")]


def test_an_inch_job_says_pounds_of_force_too(run: Run) -> None:
    out = run("plan", TIDEWRACK).out
    # 87.25 N and 88.96 N by 4.4482216 N
    assert ["D1", "19.6", "lbf", "1.0", "lbf", "19.6", "/", "20.0", "lbf", "98", "%"] in lines_of(
        out, "D1"
    )


def test_a_metric_job_does_not(run: Run, saved: Saved, job: dict[str, Any]) -> None:
    assert "lbf" not in run("plan", saved(job)).out


def test_what_each_would_carry_alone_is_said(run: Run) -> None:
    # D weighs 34 lb, 151.2 N; its hooks may carry 89.0 N each
    alone = lines_of(run("plan", TIDEWRACK).out, "D1")[-1]
    assert alone == ["D1", "151.4", "N", "170", "%", "working", "/", "2"]


def test_a_stated_basis_that_is_missing_is_named(run: Run) -> None:
    alone = lines_of(run("plan", REFERENCE / "staithe.job.json").out, "N1")[-1]
    assert " ".join(alone).endswith("not known basis not stated")


def test_a_screw_by_formula_names_it(run: Run, saved: Saved, job: dict[str, Any]) -> None:
    job["wall"] = {"behind": "hollow", "studs": [{"x": -425, "material": "wood"}]}
    screw = {"gauge": 10, "length": 60, "lining": 12.5, "species": "Spruce-Pine-Fir"}
    job["fasteners"] = [*job["fasteners"], {"name": "screw", "into": "stud", "screw": screw}]
    answer = run("plan", saved(job))
    assert "A1: the capacity" not in answer.err
    assert " ".join(lines_of(answer.out, "A1")[-1]).endswith("NDS 2018, permanent load")


# ---- suggestions


def test_a_shift_that_clears_every_conflict_is_suggested(
    run: Run, saved: Saved, job: dict[str, Any]
) -> None:
    # the hole of A1 at x -425, y 1754; the area ends 5 mm right of it, 100 below
    job["wall"] = {"keep_clear": [{"x0": -600, "y0": 0, "x1": -420, "y1": 3000, "why": "a pipe"}]}
    answer = run("plan", saved(job), "--json")
    assert answer.status == 0
    said = [line for line in answer.err.splitlines() if "suggestion" in line]
    assert said == [
        "holdtrue: suggestion: moving the whole work 6 mm to the right clears every conflict"
    ]
    # nothing is applied
    assert answer.json[0]["x_mm"] == -425.0


def test_that_no_shift_helps_is_said(run: Run, saved: Saved, job: dict[str, Any]) -> None:
    wide = {"x0": -9000, "y0": 0, "x1": 9000, "y1": 9000, "why": "listed"}
    job["wall"] = {"keep_clear": [wide]}
    assert "no shift of the whole work within 600 mm" in run("plan", saved(job)).err


def test_another_fastener_is_suggested(run: Run, saved: Saved, job: dict[str, Any]) -> None:
    longer = {"name": "long hook", "into": "hollow", "drop": 40, "capacity": "40 kg"}
    job["fasteners"] = [*job["fasteners"], {**longer, "basis": "working"}]
    job["wall"] = {"keep_clear": [{"x0": -430, "y0": 1750, "x1": -420, "y1": 1760}]}
    said = run("plan", saved(job)).err
    assert "suggestion: A1: with long hook its hole lies 36.0 mm higher and is clear" in said


def test_nothing_is_suggested_without_a_conflict(run: Run) -> None:
    assert "suggestion" not in run("plan", TIDEWRACK).err
