"""What every command is given: the store, the clock and the maker of ids (chosen in bootstrap)."""

from __future__ import annotations

import hmac
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Any, Literal

from holdtrue.domain import tokens
from holdtrue.domain.errors import ConflictError, InputError
from holdtrue.service.folds import Folds
from holdtrue.store.port import Entry, EventStore, KeyReusedError, NewEntry, StreamMovedError

Role = Literal["lead", "installer"]

_KEY = re.compile(r"[A-Za-z0-9_-]{16,64}")
_TRIES = 8
"""How often a decision is taken again when somebody else appended in between."""


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
    """Read, decide, append; decide again when somebody was quicker.

    ``asked`` is the part of the body that the form alone determines: a repeat of ``key`` gives the
    stored entry back when it agrees, and is refused when it asks for something else. ``decide``
    sees the stream, refuses by raising, and returns the body.
    """
    clean_key(key)
    for _ in range(_TRIES):
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
        try:
            return services.store.append(stream, new, expected=len(entries))
        except StreamMovedError:
            continue
    raise ConflictError("Too many people wrote at once; nothing was changed. Send it again.")


def _repeated(known: Entry, event: str, asked: Mapping[str, Any]) -> Entry:
    agrees = known.type == event and all(known.body.get(name) == asked[name] for name in asked)
    if not agrees:
        raise KeyReusedError(f"key {known.key} was used before for something else")
    return known
