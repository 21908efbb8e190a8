"""A real server: a process of its own, a real port, data on disk; it can die and come back."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory

from holdtrue.bootstrap import services_for
from holdtrue.service.services import Services
from holdtrue.settings import Settings


class Server:
    """``holdtrue serve`` on one data folder; after a restart it has its old address again."""

    def __init__(self, folder: Path) -> None:
        self.data = folder / "data"
        self.said = ""
        self._errors = folder / "errors.txt"
        self._port = 0
        self._process: subprocess.Popen[str] | None = None

    def start(self, *options: str) -> None:
        command = [sys.executable, "-m", "holdtrue.cli", "serve", "--data", str(self.data)]
        kept = {k: v for k, v in os.environ.items() if not k.startswith("HOLDTRUE_")}
        with self._errors.open("a") as errors:
            self._process = subprocess.Popen(
                [*command, "--port", str(self._port), *options],
                stdout=subprocess.PIPE,
                stderr=errors,
                env={**kept, "PYTHONIOENCODING": "utf-8"},
                encoding="utf-8",
            )
        self.said = self._greeting()
        self._port = self._port or int(self.address.rpartition(":")[2])

    def _greeting(self) -> str:
        assert self._process is not None
        assert self._process.stdout is not None
        said = ""
        while "Stop with Ctrl-C" not in said:
            line = self._process.stdout.readline()
            assert line, f"the server ended: {said}{self.errors}"
            said += line
        return said

    @property
    def address(self) -> str:
        found = re.search(r"holdtrue is at (http://\S+)/", self.said)
        assert found
        return found[1]

    @property
    def lead_link(self) -> str:
        """The one-time link, as it was printed."""
        found = re.search(r"One-time lead link: (http://\S+)", self.said)
        assert found, self.said
        return found[1]

    @property
    def errors(self) -> str:
        """Everything it ever wrote to standard error."""
        return self._errors.read_text() if self._errors.exists() else ""

    def kill(self) -> None:
        """As if the machine lost its power: no chance to finish anything."""
        self._end(signal.SIGKILL)

    def stop(self) -> None:
        self._end(signal.SIGINT)

    def _end(self, how: signal.Signals) -> None:
        if self._process is None:
            return
        self._process.send_signal(how)
        self._process.wait(60)
        if self._process.stdout:
            self._process.stdout.close()
        self._process = None

    @contextmanager
    def opened(self) -> Iterator[Services]:
        """The data, opened directly while no server runs: to prepare a job, or to read its log."""
        assert self._process is None, "the server has its data open"
        services = services_for(Settings(data_dir=self.data))
        try:
            yield services
        finally:
            services.store.close()


@contextmanager
def new_server() -> Iterator[Server]:
    """Not started yet; when done, stopped, and nothing may have gone wrong inside."""
    with TemporaryDirectory(prefix="holdtrue-e2e-") as folder:
        server = Server(Path(folder))
        try:
            yield server
        finally:
            server.stop()
        assert "Traceback" not in server.errors, server.errors
