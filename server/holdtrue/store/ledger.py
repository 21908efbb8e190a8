"""The rules of the port for one stream, without any storing: both stores share this one decision.

A store holds its lock, asks ``admit``, makes the entry durable in its own way and only then
calls ``add``.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from holdtrue.store.plain import canonical, frozen
from holdtrue.store.port import Entry, KeyReusedError, NewEntry, StreamMovedError, UnfitEntryError

# A lower-case word, then perhaps an upper-case ID. With this shape no two names differ only in
# case, so they stay apart on file systems that ignore it.
_STREAM_NAME = re.compile(r"[a-z][a-z0-9]{0,30}(-[A-Z0-9]{1,32})?")
# Names that Windows keeps for devices, whatever their ending.
_DEVICE_NAME = re.compile(r"con|prn|aux|nul|com[0-9]|lpt[0-9]")

MAX_KEY_LENGTH = 200

_FIELDS = ("seq", "key", "type", "body", "who", "received", "tapped")


def is_stream_name(name: str) -> bool:
    return bool(_STREAM_NAME.fullmatch(name)) and not _DEVICE_NAME.fullmatch(name)


def checked_stream_name(name: str) -> str:
    if not is_stream_name(name):
        raise UnfitEntryError(
            f"stream {name!r}: use a lower-case word, alone or with an upper-case ID behind a "
            "hyphen, as in house or job-ABCDEFGH"
        )
    return name


class Ledger:
    """The entries of one stream, oldest first, with their key index."""

    def __init__(self, stream: str) -> None:
        self.stream = checked_stream_name(stream)
        self._entries: list[Entry] = []
        self._by_key: dict[str, Entry] = {}

    def __len__(self) -> int:
        return len(self._entries)

    def entries(self) -> tuple[Entry, ...]:
        return tuple(self._entries)

    def admit(self, new: NewEntry, *, expected: int) -> tuple[Entry, bool]:
        """The entry to answer with, and whether it still has to be stored."""
        entry = _numbered(self.stream, new, len(self) + 1)
        known = self._by_key.get(entry.key)
        if known is not None:
            if _request(known) != _request(entry):
                raise KeyReusedError(
                    f"{self.stream}: the key {entry.key!r} already belongs to entry {known.seq}, "
                    "which says something else; send new content under a new key"
                )
            return known, False
        if expected != len(self):
            raise StreamMovedError(
                f"{self.stream} has {len(self)} entries, not {expected}: read it again"
            )
        return entry, True

    def add(self, entry: Entry) -> None:
        """Take in an entry that is stored. Raises ValueError when it cannot be the next one."""
        if entry.seq != len(self) + 1:
            raise ValueError(f"entry {entry.seq} stands where {len(self) + 1} should")
        if entry.key in self._by_key:
            raise ValueError(f"the key of entry {entry.seq} was used before")
        self._entries.append(entry)
        self._by_key[entry.key] = entry


def document_of(entry: Entry) -> dict[str, Any]:
    """The entry as it is written, without the stream's name: the file has that."""
    return {field: getattr(entry, field) for field in _FIELDS}


def entry_of(stream: str, document: Mapping[str, Any]) -> Entry:
    """The entry that was written. Raises ValueError when the document is not one."""
    if set(document) != set(_FIELDS):
        raise ValueError(f"an entry has {', '.join(_FIELDS)}, not {', '.join(sorted(document))}")
    text = (document["key"], document["type"], document["who"], document["received"])
    is_sound = (
        type(document["seq"]) is int
        and all(isinstance(item, str) for item in text)
        and isinstance(document["tapped"], str | None)
        and isinstance(document["body"], Mapping)
    )
    if not is_sound:
        raise ValueError("a field of the entry has the wrong kind of value")
    return Entry(stream=stream, **document)


def _numbered(stream: str, new: NewEntry, seq: int) -> Entry:
    if not new.key or len(new.key) > MAX_KEY_LENGTH:
        raise UnfitEntryError(f"{stream}: a key has 1 to {MAX_KEY_LENGTH} characters")
    body: Mapping[str, Any] = frozen(new.body, "body")
    if not isinstance(body, Mapping):
        raise UnfitEntryError(f"{stream}: the body is a JSON object, not {type(body).__name__}")
    texts = {name: frozen(getattr(new, name), name) for name in ("key", "type", "who", "received")}
    return Entry(stream=stream, seq=seq, body=body, tapped=frozen(new.tapped, "tapped"), **texts)


def _request(entry: Entry) -> tuple[str, str, str]:
    """What a repeat must have in common: not the times, a second try comes later."""
    return entry.type, entry.who, canonical(entry.body)
