"""What every command is given: the store, the clock and the maker of ids (chosen in bootstrap)."""

from __future__ import annotations

import hmac
import re
import threading
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Any, Literal
from weakref import WeakValueDictionary

from holdtrue.domain import tokens
from holdtrue.domain.errors import InputError
from holdtrue.service.folds import Folds
from holdtrue.service.openers import Openers
from holdtrue.store.port import Entry, EventStore, KeyReusedError, NewEntry, StreamMovedError

Role = Literal["lead", "installer"]

_KEY = re.compile(r"[A-Za-z0-9_-]{16,64}")
_TRIES = 8
"""How often a decision is taken again when something beside this process appended in between."""


class Ids:
    """Makes keys, codes and tokens.

    Codes, tokens and ids are derived from the form's key with our secret, so a form sent twice
    makes the same code twice: a person sees the second answer of a double tap, and it must hold.
    """

    def __init__(self, secret: bytes, random_bytes: Callable[[int], bytes]) -> None:
        self._secret = secret
        self._random_bytes = random_bytes

    def key(self) -> str:
        """A fresh 128-bit key for a form."""
        return self._random_bytes(16).hex()

    def short(self, purpose: str, key: str) -> str:
        """Eight typable characters: an installer's code, a person's or a job's id."""
        return tokens.encode(self._derive(purpose, key), tokens.CODE_LENGTH)

    def token(self, purpose: str, key: str) -> str:
        """Twenty-six characters nobody guesses: a lead link or a card."""
        return tokens.encode(self._derive(purpose, key), tokens.TOKEN_LENGTH)

    def _derive(self, purpose: str, key: str) -> bytes:
        return hmac.digest(self._secret, f"{purpose}:{key}".encode(), "sha256")


@dataclass(frozen=True, slots=True, kw_only=True)
class Actor:
    """Who asks: a lead (every job) or an installer (one job)."""

    person: str
    name: str
    role: Role
    job: str | None = None

    @property
    def is_lead(self) -> bool:
        return self.role == "lead"


class _Turn:
    def __init__(self) -> None:
        self.lock = threading.RLock()


class Turns:
    """One writer at a time for each stream: who waits decides on what the one before stored."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        # a stream nobody writes to keeps no lock, so made-up names pile nothing up
        self._of: WeakValueDictionary[str, _Turn] = WeakValueDictionary()

    @contextmanager
    def at(self, stream: str) -> Iterator[None]:
        with self._lock:
            turn = self._of.get(stream)
            if turn is None:
                turn = self._of[stream] = _Turn()
        with turn.lock:
            yield


@dataclass(frozen=True, slots=True, kw_only=True)
class Services:
    store: EventStore
    clock: Callable[[], datetime]
    ids: Ids
    secret: bytes
    """Signs the sessions and, in ``ids``, makes what is derived from a form's key."""
    public_url: str | None = None
    """The address people reach this server by, without a closing slash; None when not told."""
    memo: Folds = field(default_factory=Folds)
    """Jobs as last folded; only ever a shortcut, the log decides."""
    turns: Turns = field(default_factory=Turns)
    openers: Openers = field(default_factory=Openers)

    def now(self) -> str:
        """Server time as stored: UTC, milliseconds, so that texts sort as times do."""
        moment = self.clock().astimezone(UTC)
        return moment.isoformat(timespec="milliseconds").replace("+00:00", "Z")


def clean_key(key: str) -> str:
    """The key a form brought, checked; every stored entry carries one made before it was sent."""
    if not _KEY.fullmatch(key):
        raise InputError(
            "key", key, "send the key this form was given (16 to 64 letters and digits)"
        )
    return key


def entry_under(entries: tuple[Entry, ...], key: str) -> Entry | None:
    """The entry already stored under ``key``, if this is a repeat."""
    return next((entry for entry in entries if entry.key == key), None)


def append_decided(
    services: Services,
    stream: str,
    *,
    key: str,
    who: str,
    event: str,
    asked: Mapping[str, Any],
    decide: Callable[[tuple[Entry, ...]], Mapping[str, Any]],
    tapped: str | None = None,
) -> Entry:
    """Read, decide, append, one at a time for each stream.

    ``asked`` is the part of the body that the form alone determines: a repeat of ``key`` gives the
    stored entry back when it agrees, and is refused when it asks for something else. ``decide``
    sees the stream, refuses by raising, and returns the body. Raises StreamMovedError when another
    process keeps writing in between: nothing is wrong with the entry, so it is to be sent later.
    """
    clean_key(key)

    def once() -> Entry:
        entries = services.store.read(stream)
        known = entry_under(entries, key)
        if known is not None:
            return _repeated(known, event, asked)
        new = NewEntry(
            key=key,
            type=event,
            body=decide(entries),
            who=who,
            received=services.now(),
            tapped=tapped,
        )
        stored = services.store.append(stream, new, expected=len(entries))
        services.openers.note(stored)
        return stored

    with services.turns.at(stream):
        for _ in range(_TRIES - 1):
            try:
                return once()
            except StreamMovedError:
                continue
        return once()


def _repeated(known: Entry, event: str, asked: Mapping[str, Any]) -> Entry:
    agrees = known.type == event and all(known.body.get(name) == asked[name] for name in asked)
    if not agrees:
        raise KeyReusedError(f"key {known.key} was used before for something else")
    return known
