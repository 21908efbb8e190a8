"""The store for tests and for looking around: all in memory, gone when the process ends."""

from __future__ import annotations

import hashlib
import threading

from holdtrue.store.ledger import Ledger
from holdtrue.store.port import Entry, NewEntry


class MemoryStore:
    """An EventStore that keeps every promise of the port but durability."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._ledgers: dict[str, Ledger] = {}
        self._blobs: dict[str, bytes] = {}

    def streams(self) -> tuple[str, ...]:
        with self._lock:
            return tuple(sorted(self._ledgers))

    def read(self, stream: str) -> tuple[Entry, ...]:
        with self._lock:
            ledger = self._ledgers.get(stream)
            return ledger.entries() if ledger is not None else ()

    def append(self, stream: str, entry: NewEntry, *, expected: int) -> Entry:
        with self._lock:
            ledger = self._ledgers.get(stream) or Ledger(stream)
            stored, is_new = ledger.admit(entry, expected=expected)
            if is_new:
                ledger.add(stored)
                self._ledgers[stream] = ledger
            return stored

    def put_blob(self, data: bytes) -> str:
        digest = hashlib.sha256(data).hexdigest()
        with self._lock:
            self._blobs[digest] = bytes(data)
        return digest

    def get_blob(self, digest: str) -> bytes | None:
        with self._lock:
            return self._blobs.get(digest)

    def close(self) -> None:
        """Nothing to let go of."""
