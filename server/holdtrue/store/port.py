"""The store's port: append-only streams of entries, each with a client-made unique key.

Promises every store keeps (tests/store holds the one contract suite they all pass):

- ``append`` returns only when the entry is on disk (memory store excepted);
- an entry's ``seq`` is 1, 2, 3, ... within its stream, with no holes;
- a key already in the stream: the same body gives back the stored entry and stores nothing,
  another body raises ``KeyReusedError``;
- ``expected`` other than the stream's length raises ``StreamMovedError``, nothing is stored; a
  known key is answered before ``expected`` is looked at, so a repeat is harmless;
- nothing is ever changed or deleted: the bodies given out refuse every change.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Protocol


@dataclass(frozen=True, slots=True, kw_only=True)
class NewEntry:
    """What is handed in. ``body`` is plain JSON (str, int, float, bool, None, list, dict)."""

    key: str
    type: str
    body: Mapping[str, Any]
    who: str
    """Person id, or "system"."""
    received: str
    """Server time, ISO 8601 UTC."""
    tapped: str | None = None
    """The device's own time of the tap, ISO 8601, as sent; None when not sent."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """What is stored: a NewEntry with its place."""

    stream: str
    seq: int
    key: str
    type: str
    body: Mapping[str, Any]
    who: str
    received: str
    tapped: str | None = None


class StoreError(Exception):
    """Base of the store's errors."""


class KeyReusedError(StoreError):
    """The key was used before for another body, type or person."""


class StreamMovedError(StoreError):
    """Somebody appended in between; read again and decide again."""


class StoreBrokenError(StoreError):
    """The store cannot be trusted or written: full disk, damaged line, already open elsewhere.

    The message names the file, the line and what to do.
    """


class UnfitEntryError(StoreError, ValueError):
    """The entry is not plain JSON, or its key or stream name cannot be used; says which and why."""


class AppendOnlyError(StoreError, TypeError):
    """Something tried to change or delete what is stored; nothing was changed."""


class EventStore(Protocol):
    def streams(self) -> tuple[str, ...]:
        """Names of all streams, sorted."""
        ...

    def read(self, stream: str) -> tuple[Entry, ...]:
        """All entries, oldest first; an empty tuple for an unknown stream."""
        ...

    def append(self, stream: str, entry: NewEntry, *, expected: int) -> Entry:
        """Store one entry at ``expected + 1``, durably. See the promises above."""
        ...

    def put_blob(self, data: bytes) -> str:
        """Keep bytes (a photo) under their sha256 hex digest, durably; repeating is harmless."""
        ...

    def get_blob(self, digest: str) -> bytes | None:
        """The bytes, checked against their digest; None when there are none."""
        ...

    def close(self) -> None: ...
