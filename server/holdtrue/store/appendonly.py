"""A TinyDB storage that only ever adds lines to one file (see ``lines``).

TinyDB's own JSON storage rewrites the whole file in place, so a full disk or a stopped process can
take every entry with it. This one holds on to a single promise: ``write`` returns when the new
documents are on disk, or raises and the file is as it was.
"""

from __future__ import annotations

import errno
import os
import threading
from pathlib import Path
from typing import NoReturn

from tinydb.storages import Storage

from holdtrue.store.files import OPEN_FLAGS, lock, read_all, sync_directory
from holdtrue.store.lines import Tables, encode_line, tables_of, whole_length
from holdtrue.store.plain import FrozenDict, frozen
from holdtrue.store.port import AppendOnlyError, StoreBrokenError


class AppendOnlyStorage(Storage):
    """A TinyDB storage that adds documents and refuses everything else."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.is_uncertain = False
        """True when a failed write could not be taken back: do not trust the file's end."""
        self._tables: Tables = {}
        self._end = 0
        self._broken: str | None = None
        self._lock = threading.Lock()
        is_new = not path.exists()
        self._fd = os.open(path, os.O_RDWR | os.O_CREAT | os.O_APPEND | OPEN_FLAGS, 0o600)
        try:
            lock(self._fd, path, lambda: f"{path}: already open elsewhere; close that first")
            if is_new:
                sync_directory(path.parent)
            self._load()
        except BaseException:
            os.close(self._fd)
            raise

    def read(self) -> Tables | None:
        """Copies of the tables; the documents in them refuse every change."""
        with self._lock:
            # TinyDB changes documents in place before it writes; read-only ones stop it there.
            return {name: dict(table) for name, table in self._tables.items()} or None

    def write(self, data: Tables) -> None:
        with self._lock:
            if self._broken is not None:
                raise StoreBrokenError(self._broken)
            self._refuse_changes(data)
            fresh = self._unseen(data)
            if fresh:
                self._append(b"".join(encode_line(*document) for document in fresh))
            for name, doc_id, document in fresh:
                self._tables.setdefault(name, {})[str(doc_id)] = document

    def close(self) -> None:
        with self._lock:
            if self._fd >= 0:
                os.close(self._fd)
            self._fd = -1
            self._broken = f"{self.path}: closed"

    def _load(self) -> None:
        data = read_all(self._fd)
        self._end = whole_length(data)
        self._tables = tables_of(self.path, data)
        if self._end < len(data):
            os.ftruncate(self._fd, self._end)
        # A process killed between write and flush leaves a whole line that is not on disk yet.
        # From here on it counts as stored, so it must be.
        os.fsync(self._fd)

    def _refuse_changes(self, data: Tables) -> None:
        for name, table in self._tables.items():
            given = data.get(name, {})
            if any(given.get(doc_id) is not document for doc_id, document in table.items()):
                raise AppendOnlyError(f"{self.path}: what is stored is never changed or removed")

    def _unseen(self, data: Tables) -> list[tuple[str, int, FrozenDict]]:
        return [
            (name, int(doc_id), frozen(document))
            for name, table in data.items()
            for doc_id, document in table.items()
            if doc_id not in self._tables.get(name, {})
        ]

    def _append(self, lines: bytes) -> None:
        self._check_untouched()
        try:
            # One write, so that at most the last line can be torn. A full disk gives a short
            # count here before it gives an error.
            written = os.write(self._fd, lines)
            if written != len(lines):
                raise OSError(errno.ENOSPC, f"only {written} of {len(lines)} bytes fitted")
            os.fsync(self._fd)
        except OSError as error:
            self._take_back(error)
        self._end += len(lines)

    def _check_untouched(self) -> None:
        status = os.fstat(self._fd)
        if status.st_size != self._end or status.st_nlink == 0:
            self._broken = (
                f"{self.path}: not saved, another program changed or replaced the file; "
                "stop that program, run `holdtrue check`, then send it again"
            )
            raise StoreBrokenError(self._broken)

    def _take_back(self, error: OSError) -> NoReturn:
        """Undo a write that cannot be trusted, and write no more through this handle."""
        self._broken = (
            f"{self.path}: not saved ({error.strerror}); what was saved before is unharmed. "
            "Look after the disk (is it full?), then send it again"
        )
        try:
            os.ftruncate(self._fd, self._end)
        except OSError as second:
            self.is_uncertain = True
            self._broken += f". Taking it back failed too ({second.strerror}): restart the server"
        raise StoreBrokenError(self._broken) from error
