"""Which job an installer's code or a card opens: an index over the logs, never a second truth.

Anybody may ask for a code or a card, so asking must not read every job's log each time. Every
log is read once; what is appended later is taken in as it is stored.
"""

from __future__ import annotations

import threading
from dataclasses import dataclass, field
from typing import Literal

from holdtrue.domain import events
from holdtrue.service.streams import job_id_of
from holdtrue.store.port import Entry, EventStore, StoreBrokenError

Kind = Literal["code", "card"]
"""Also the place of the digest in an entry's body."""

_ISSUES: dict[str, Kind] = {events.INSTALLER_INVITED: "code", events.CARD_ISSUED: "card"}
_ENDS: dict[str, Kind] = {events.INSTALLER_CODE_REVOKED: "code", events.CARD_REVOKED: "card"}


@dataclass(slots=True)
class _Opener:
    """What the logs say of one digest."""

    issues: list[Entry] = field(default_factory=list)
    ended: set[str] = field(default_factory=set)
    """Streams in which it was revoked."""


class Openers:
    """Safe for threads. Logs that cannot be read are asked again, and shut no other."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._read: set[str] = set()
        self._by_digest: dict[tuple[Kind, str], _Opener] = {}

    def issues(self, store: EventStore, kind: Kind, digest: str) -> tuple[Entry, ...]:
        """The entries that issued it and were not revoked in their job since."""
        with self._lock:
            for stream in store.streams():
                if stream not in self._read and job_id_of(stream) is not None:
                    self._read_in(store, stream)
            found = self._by_digest.get((kind, digest))
            if found is None:
                return ()
            return tuple(entry for entry in found.issues if entry.stream not in found.ended)

    def note(self, entry: Entry) -> None:
        """Take in an entry that is stored; repeating is harmless."""
        with self._lock:
            # of a log not read yet, nothing: it will be read whole
            if entry.stream in self._read:
                self._take_in(entry)

    def _read_in(self, store: EventStore, stream: str) -> None:
        try:
            entries = store.read(stream)
        except StoreBrokenError:
            return
        for entry in entries:
            self._take_in(entry)
        self._read.add(stream)

    def _take_in(self, entry: Entry) -> None:
        kind = _ISSUES.get(entry.type) or _ENDS.get(entry.type)
        digest = entry.body.get(kind) if kind else None
        if kind is None or not isinstance(digest, str):
            return
        opener = self._by_digest.setdefault((kind, digest), _Opener())
        if entry.type in _ENDS:
            opener.ended.add(entry.stream)
        elif entry not in opener.issues:
            opener.issues.append(entry)
