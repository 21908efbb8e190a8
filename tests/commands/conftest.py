"""Running a command in this process, with files, standard input and what it prints."""

from __future__ import annotations

import io
import json
import sys
from collections.abc import Callable
from copy import deepcopy
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import pytest

from holdtrue.cli import main
from holdtrue.store.tinydb import TinyStore
from tests import walking

REFERENCE = Path(__file__).parents[1] / "reference"


@dataclass(frozen=True)
class Answer:
    status: int
    out: str
    err: str

    @property
    def json(self) -> Any:
        return json.loads(self.out)


Run = Callable[..., Answer]


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    """``run("plan", path, stdin=b"...")``."""

    def command(*args: object, stdin: bytes = b"") -> Answer:
        monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(stdin)))
        try:
            status = main([str(arg) for arg in args])
        except SystemExit as stopped:
            status = int(stopped.code or 0)
        printed = capsys.readouterr()
        return Answer(status, printed.out, printed.err)

    return command


@pytest.fixture
def job() -> dict[str, Any]:
    """A small job to change: two panels in a row."""
    panel = {
        "width": 500,
        "height": 700,
        "mass": "10 kg",
        "hangers": [{"in": 100, "down": 100}, {"in": 400, "down": 100}],
    }
    return {
        "format": "holdtrue.job/1",
        "title": "Two panels",
        "panels": [{"name": name, **deepcopy(panel)} for name in "AB"],
        "layout": {"kind": "row", "gap": 50, "height": {"at": 1500}},
        "fasteners": [
            {"name": "toggle", "into": "hollow", "drop": 4, "capacity": "20 kg", "basis": "working"}
        ],
    }


@pytest.fixture
def saved(tmp_path: Path) -> Callable[[object], Path]:
    """A document as a file; bytes as they are."""

    def save(document: object) -> Path:
        path = tmp_path / f"{len(list(tmp_path.iterdir()))}.json"
        path.write_bytes(document if isinstance(document, bytes) else json.dumps(document).encode())
        return path

    return save


@pytest.fixture
def data(tmp_path: Path) -> Path:
    """A data folder; ``job_id`` fills it."""
    return tmp_path / "data"


@pytest.fixture
def job_id(data: Path) -> str:
    """A finished job in the data folder, as a server would have left it."""
    store = TinyStore(data)
    services = replace(walking.minutes_apart(), store=store)
    job_id = walking.handed_over(services, "off")
    store.close()
    (data / "secret.key").write_bytes(bytes(range(32)))
    (data / "secret.key").chmod(0o600)
    return job_id
