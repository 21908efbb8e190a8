"""The embedded store: TinyDB over our own storage, one append-only file per stream.

One process has one data directory, and one lock in it covers "is the key known, is the stream
where it is expected, write, remember".
"""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from tinydb import TinyDB
from tinydb.table import Document

from holdtrue.store.appendonly import AppendOnlyStorage
from holdtrue.store.blobs import BlobFolder
from holdtrue.store.files import DirectoryLock, make_directory
from holdtrue.store.layout import BLOBS, STREAMS, stream_files, stream_path
from holdtrue.store.ledger import Ledger, document_of, is_stream_name
from holdtrue.store.lines import TABLE, ledger_of
from holdtrue.store.port import Entry, NewEntry, StoreBrokenError

MAX_OPEN_STREAMS = 32
"""Each open stream holds a file, a lock and its entries; the least used one is closed."""


class _OpenStream:
    """A stream's file with its ledger; the ledger never runs ahead of the file."""

    def __init__(self, path: Path, stream: str) -> None:
        self._db = TinyDB(path, storage=AppendOnlyStorage)
        try:
            self.ledger = ledger_of(path, stream, self._db.storage.read() or {})
        except BaseException:
            self._db.close()
            raise

    def store(self, entry: Entry) -> None:
        self._db.table(TABLE).insert(Document(document_of(entry), doc_id=entry.seq))
        self.ledger.add(entry)

    @property
    def is_uncertain(self) -> bool:
        storage = self._db.storage
        return isinstance(storage, AppendOnlyStorage) and storage.is_uncertain

    def close(self) -> None:
        self._db.close()


class TinyStore:
    """An EventStore in one directory: ``streams/<name>.log``, ``blobs/ab/<sha256>``, ``lock``."""

    def __init__(self, directory: Path, *, max_open: int = MAX_OPEN_STREAMS) -> None:
        self._directory = directory
        self._max_open = max_open
        self._lock = threading.Lock()
        self._open: OrderedDict[str, _OpenStream] = OrderedDict()
        self._lengths: dict[str, int] = {}
        """Streams and how many entries they are known to have stored."""
        self._lost: dict[str, str] = {}
        """Streams whose last write could not be taken back, with what to tell people."""
        self._is_closed = False
        with _naming(directory):
            make_directory(directory / STREAMS)
            self._directory_lock = DirectoryLock(directory)
            try:
                self._blobs = BlobFolder(directory / BLOBS)
                self._lengths = {stream: 1 for stream, _ in stream_files(directory)}
            except BaseException:
                self._directory_lock.close()
                raise

    def streams(self) -> tuple[str, ...]:
        with self._lock:
            self._check_open()
            return tuple(sorted(self._lengths))

    def read(self, stream: str) -> tuple[Entry, ...]:
        with self._lock:
            self._check_open()
            return self._opened(stream).ledger.entries() if self._has_file(stream) else ()

    def append(self, stream: str, entry: NewEntry, *, expected: int) -> Entry:
        with self._lock:
            self._check_open()
            # A stream begins with its first stored entry: a refused one must not leave a file.
            ledger = self._opened(stream).ledger if self._has_file(stream) else Ledger(stream)
            stored, is_new = ledger.admit(entry, expected=expected)
            if is_new:
                self._store(stored)
            return stored

    def put_blob(self, data: bytes) -> str:
        self._check_open()
        return self._blobs.put(data)

    def get_blob(self, digest: str) -> bytes | None:
        self._check_open()
        return self._blobs.get(digest)

    def close(self) -> None:
        with self._lock:
            if self._is_closed:
                return
            self._is_closed = True
            while self._open:
                self._open.popitem()[1].close()
            self._directory_lock.close()

    def _check_open(self) -> None:
        if self._is_closed:
            raise StoreBrokenError("the store is closed")

    def _has_file(self, stream: str) -> bool:
        if stream in self._lengths:
            return True
        return is_stream_name(stream) and stream_path(self._directory, stream).exists()

    def _opened(self, stream: str) -> _OpenStream:
        """The stream, opened when it was not, as the most recently used one."""
        if stream in self._lost:
            raise StoreBrokenError(self._lost[stream])
        found = self._open.get(stream)
        if found is None:
            found = self._open[stream] = self._open_file(stream)
            while len(self._open) > self._max_open:
                self._open.popitem(last=False)[1].close()
        self._open.move_to_end(stream)
        return found

    def _open_file(self, stream: str) -> _OpenStream:
        path = stream_path(self._directory, stream)
        stored = self._lengths.get(stream, 0)
        if stored and not path.exists():
            # Opening would begin an empty one and hide the loss.
            raise StoreBrokenError(f"{path}: gone; bring it back from a backup")
        if path.exists() and not path.is_file():
            raise StoreBrokenError(
                f"{path}: is no file; move it away and bring the log back from a backup"
            )
        with _naming(path):
            found = _OpenStream(path, stream)
        if len(found.ledger) < stored:
            found.close()
            raise StoreBrokenError(
                f"{path}: has {len(found.ledger)} entries, but {stored} were saved; "
                "bring it back from a backup"
            )
        if len(found.ledger) > 0:
            self._lengths[stream] = len(found.ledger)
        return found

    def _store(self, entry: Entry) -> None:
        try:
            with _naming(self._directory):
                self._opened(entry.stream).store(entry)
        except StoreBrokenError as error:
            self._give_up(entry.stream, str(error))
            raise
        self._lengths[entry.stream] = entry.seq

    def _give_up(self, stream: str, message: str) -> None:
        """Forget what memory says of a stream; the next use reads it from disk again."""
        found = self._open.pop(stream, None)
        if found is None:
            return
        if found.is_uncertain:
            self._lost[stream] = message
        found.close()


@contextmanager
def _naming(path: Path) -> Iterator[None]:
    """Turn an error of the operating system into one that says where and what to do."""
    try:
        yield
    except OSError as error:
        raise StoreBrokenError(
            f"{error.filename or path}: {error.strerror}; "
            "look after the disk and who may write to it"
        ) from error
