"""The two reference jobs, through the command as a person runs it.

``tests/reference/README.md`` says what the files are.
"""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

REFERENCE = Path(__file__).parent / "reference"
JOBS = ("tidewrack", "staithe")
WITHIN = 0.05
"""[mm, N] What two programs may differ by."""


def answer(tmp_path: Path, *args: str) -> Any:
    """What the command prints, run in a folder of its own."""
    done = subprocess.run(
        [sys.executable, "-m", "holdtrue.cli", *args],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        timeout=60,
    )
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def reference(name: str) -> Any:
    return json.loads((REFERENCE / name).read_text(encoding="utf-8"))


def agrees(got: Any, wanted: Any, where: str = "") -> None:
    """Same shape and texts; numbers within what is allowed."""
    if isinstance(wanted, dict):
        assert got.keys() == wanted.keys(), where
        for key in wanted:
            agrees(got[key], wanted[key], f"{where}.{key}")
    elif isinstance(wanted, list):
        assert len(got) == len(wanted), where
        for index, item in enumerate(wanted):
            agrees(got[index], item, f"{where}[{index}]")
    elif isinstance(wanted, float):
        assert got == pytest.approx(wanted, abs=WITHIN), where
    else:
        assert got == wanted, where


@pytest.mark.parametrize("name", JOBS)
def test_plan(tmp_path: Path, name: str) -> None:
    got = answer(tmp_path, "plan", str(REFERENCE / f"{name}.job.json"), "--json")
    agrees(got, reference(f"{name}.plan.json"))


@pytest.mark.parametrize("name", JOBS)
def test_recompute(tmp_path: Path, name: str) -> None:
    files = [str(REFERENCE / f"{name}.{kind}.json") for kind in ("job", "log")]
    got = answer(tmp_path, "recompute", *files, "--json")
    agrees(got, reference(f"{name}.recompute.json"))


@pytest.mark.parametrize("change", [0.06, -0.06])
def test_a_difference_that_matters_is_seen(change: float) -> None:
    wanted = reference("tidewrack.plan.json")
    got = json.loads(json.dumps(wanted))
    got[3]["y_mm"] += change
    with pytest.raises(AssertionError, match=r"\[3\]\.y_mm"):
        agrees(got, wanted)
