"""Copies of the checkout and servers, as somebody who has just cloned it gets them."""

from __future__ import annotations

import os
import re
import shutil
import signal
import subprocess
import threading
import urllib.request
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import AbstractContextManager, contextmanager
from dataclasses import dataclass
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]

# the first start installs everything; on a slow line that takes its time
START_SECONDS = 300.0
STOP_SECONDS = 20.0
ADDRESS = re.compile(r"holdtrue is at (http://\S+?)/?$")

Tracked = Callable[..., list[str]]
Copy = Callable[[Path], Path]


@pytest.fixture(scope="session")
def tracked() -> Tracked:
    """Names of the files git keeps and that are in the checkout now."""

    def names(*folders: str) -> list[str]:
        command = ["git", "ls-files", "-z", "--", *folders]
        done = subprocess.run(command, cwd=ROOT, capture_output=True, check=True)
        found = done.stdout.decode().split("\0")
        return sorted(name for name in found if name and (ROOT / name).is_file())

    return names


@pytest.fixture(scope="session")
def copy_checkout(tracked: Tracked) -> Copy:
    """Copies what a clone would hold: nothing that is ignored, nothing that lies about."""

    def copy(target: Path) -> Path:
        for name in tracked():
            (target / name).parent.mkdir(parents=True, exist_ok=True)
            shutil.copy2(ROOT / name, target / name)
        return target

    return copy


def plain_environ() -> dict[str, str]:
    """The environment without settings made for this run of the tests."""
    made_here = ("HOLDTRUE_", "TESTS_", "COVERAGE_", "PYTEST_", "PYTHON", "VIRTUAL_ENV")
    return {name: value for name, value in os.environ.items() if not name.startswith(made_here)}


@pytest.fixture
def outside_environ() -> dict[str, str]:
    return plain_environ()


@pytest.fixture
def offline_environ() -> dict[str, str]:
    """The same on a machine without network: the package index does not answer."""
    environ = {
        name: value for name, value in plain_environ().items() if not name.startswith("PIP_")
    }
    return environ | {
        "PIP_CONFIG_FILE": os.devnull,
        "PIP_INDEX_URL": "http://127.0.0.1:9/simple",
        "PIP_NO_CACHE_DIR": "1",
        "PIP_RETRIES": "1",
    }


@dataclass(frozen=True, slots=True)
class Server:
    """A running server: where it is and what it printed before it answered."""

    address: str
    printed: str

    def get(self, path: str) -> tuple[str, bytes]:
        """Type and body of an answer with status 200; anything else raises."""
        with urllib.request.urlopen(self.address + path, timeout=10) as answer:
            return answer.headers.get_content_type(), answer.read()


Serve = Callable[..., AbstractContextManager[Server]]


@contextmanager
def run_server(
    command: Sequence[str | Path], *, cwd: Path, environ: Mapping[str, str] | None = None
) -> Iterator[Server]:
    """Run a command until the server it starts says where it is; Ctrl-C must end it cleanly."""
    with subprocess.Popen(
        command,
        cwd=cwd,
        env=plain_environ() if environ is None else environ,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    ) as process:
        watch = threading.Timer(START_SECONDS, process.kill)
        watch.start()
        try:
            yield wait_for_address(process)
            process.send_signal(signal.SIGINT)
            rest, _ = process.communicate(timeout=STOP_SECONDS)
        finally:
            watch.cancel()
            process.kill()
    assert process.returncode == 0, rest
    assert "Traceback" not in rest


def wait_for_address(process: subprocess.Popen[str]) -> Server:
    printed: list[str] = []
    assert process.stdout is not None
    for line in process.stdout:
        printed.append(line)
        if found := ADDRESS.search(line.strip()):
            return Server(found[1], "".join(printed))
    pytest.fail(f"the server ended before it said where it is:\n{''.join(printed)}")


@pytest.fixture(scope="session")
def serve() -> Serve:
    return run_server
