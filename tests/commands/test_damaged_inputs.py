"""Files with one wrong value anywhere: planned, or refused in one line that a person can act on."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from tests.commands.conftest import Answer, Run
from tests.damage import Damage, damages, says_what_is_wrong
from tests.domain.papers import full, reference
from tests.domain.test_jobfile_additions import everything

JOBS = {
    "tidewrack": reference("tidewrack.job.json"),
    "staithe": reference("staithe.job.json"),
    "full": full(),
    "everything": everything(),
}


def ends_well(answer: Answer, file: Path, damage: Damage) -> None:
    if answer.status == 0:
        assert isinstance(json.loads(answer.out), list | dict)
        return
    assert (answer.status, answer.out) == (1, ""), damage
    (line,) = answer.err.splitlines()
    begins = f"holdtrue: {file}: "
    assert line.startswith(begins), line
    says_what_is_wrong(line.removeprefix(begins), damage)


@pytest.mark.parametrize("name", JOBS)
def test_a_job_file_with_one_wrong_value_is_planned_or_refused_in_words(
    run: Run, tmp_path: Path, name: str
) -> None:
    file = tmp_path / "job.json"
    for damage in damages(JOBS[name], seed=1, count=300):
        file.write_bytes(damage.text())
        ends_well(run("plan", file, "--json"), file, damage)


@pytest.mark.parametrize("name", ["tidewrack", "staithe"])
def test_a_log_file_with_one_wrong_value_is_recomputed_or_refused_in_words(
    run: Run, tmp_path: Path, name: str
) -> None:
    job, file = tmp_path / "job.json", tmp_path / "log.json"
    job.write_text(json.dumps(JOBS[name]))
    log: dict[str, Any] = reference(f"{name}.log.json")
    log["entries"][0] |= {"who": "R.", "note": "by hand", "revision": 1}
    for damage in damages(log, seed=2, count=200):
        file.write_bytes(damage.text())
        ends_well(run("recompute", job, file, "--json"), file, damage)
