"""Whatever becomes of what a command says: a full disk, a closed stream, a reader that left."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from holdtrue.commands import plan
from tests.commands.conftest import REFERENCE, Run

TIDEWRACK = str(REFERENCE / "tidewrack.job.json")
LOG = str(REFERENCE / "tidewrack.log.json")
WRITERS = [
    ["plan", TIDEWRACK],
    ["plan", TIDEWRACK, "--json"],
    ["recompute", TIDEWRACK, LOG, "--json"],
    ["simulate", TIDEWRACK, "--installs", "1"],
    ["serve", "--port", "0"],
    ["--help"],
    ["plan", "--help"],
    ["--version"],
]
BUFFERED = pytest.mark.parametrize("unbuffered", ["", "1"], ids=["buffered", "unbuffered"])


def shell(
    redirection: str,
    args: list[str],
    cwd: Path,
    unbuffered: str = "",
    stdout: int = subprocess.PIPE,
) -> subprocess.CompletedProcess[str]:
    """The command as a shell starts it, with one of its streams sent elsewhere."""
    env = {k: v for k, v in os.environ.items() if not k.startswith("HOLDTRUE_")}
    return subprocess.run(
        ["sh", "-c", f'exec "$0" -m holdtrue.cli "$@" {redirection}', sys.executable, *args],
        stdout=stdout,
        stderr=subprocess.PIPE,
        text=True,
        timeout=60,
        cwd=cwd,
        env={**env, "PYTHONUNBUFFERED": unbuffered},
    )


def said_in_one_line(done: subprocess.CompletedProcess[str]) -> str:
    (line,) = [
        line
        for line in done.stderr.splitlines()
        if not line.startswith(("holdtrue: warning: ", "holdtrue: suggestion: "))
    ]
    return line


@BUFFERED
@pytest.mark.parametrize("args", WRITERS, ids=" ".join)
def test_a_full_standard_output_is_status_1_and_one_line(
    args: list[str], unbuffered: str, tmp_path: Path
) -> None:
    done = shell(">/dev/full", args, tmp_path, unbuffered)
    assert done.returncode == 1
    said = said_in_one_line(done)
    assert said.startswith("holdtrue: standard output: cannot be written: No space left")


@pytest.mark.parametrize("args", WRITERS, ids=" ".join)
def test_a_closed_standard_output_is_status_1_and_one_line(args: list[str], tmp_path: Path) -> None:
    done = shell(">&-", args, tmp_path)
    assert done.returncode == 1
    assert said_in_one_line(done).startswith("holdtrue: standard output: is closed")


@BUFFERED
@pytest.mark.parametrize("args", [args for args in WRITERS if args[0] != "serve"], ids=" ".join)
def test_a_reader_that_left_ends_it_quietly(
    args: list[str], unbuffered: str, tmp_path: Path
) -> None:
    reads, writes = os.pipe()
    os.close(reads)
    done = shell("", args, tmp_path, unbuffered, stdout=writes)
    os.close(writes)
    assert done.returncode == 0
    assert "Traceback" not in done.stderr
    assert "BrokenPipe" not in done.stderr


@pytest.mark.parametrize("redirection", ["2>&-", "2>/dev/full"])
def test_warnings_that_nobody_can_hear_do_not_get_into_the_result(
    redirection: str, tmp_path: Path
) -> None:
    args = ["plan", TIDEWRACK, "--json"]
    as_usual = shell("", args, tmp_path)
    unheard = shell(redirection, args, tmp_path)
    assert "warning" in as_usual.stderr
    assert (unheard.returncode, unheard.stdout) == (0, as_usual.stdout)


@pytest.mark.parametrize("redirection", ["2>&-", "2>/dev/full"])
@pytest.mark.parametrize(("args", "status"), [(["plan", "none.json"], 1), (["plan"], 2)])
def test_an_error_that_nobody_can_hear_keeps_its_status(
    redirection: str, args: list[str], status: int, tmp_path: Path
) -> None:
    done = shell(redirection, args, tmp_path)
    assert (done.returncode, done.stdout) == (status, "")


@pytest.mark.parametrize("command", ["plan", "import"])
def test_a_closed_standard_input_is_said(command: str, tmp_path: Path) -> None:
    done = shell("<&-", [command, "-"], tmp_path)
    assert (done.returncode, done.stdout) == (1, "")
    assert done.stderr.startswith("holdtrue: standard input: is closed")


def test_ctrl_c_ends_a_command_in_one_line(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupted(args: object) -> int:
        raise KeyboardInterrupt

    monkeypatch.setattr(plan, "run", interrupted)

    answer = run("plan", REFERENCE / "tidewrack.job.json")

    assert answer.status == 130
    assert answer.out == ""
    assert answer.err == "holdtrue: stopped before it was done\n"
