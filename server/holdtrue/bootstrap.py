"""The composition root: the one place where store, clock, secret and ids are chosen."""

from __future__ import annotations

import os
import secrets
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

from holdtrue.service.services import Ids, Services
from holdtrue.settings import Settings
from holdtrue.store.port import EventStore

SECRET_BYTES = 32


class StartError(Exception):
    """The server cannot start; the message says what to do."""


def utc_now() -> datetime:
    return datetime.now(UTC)


def services_for(settings: Settings) -> Services:
    """The services of a real server: data on disk, the machine's clock and randomness.

    Raises ``StoreBrokenError`` when the data cannot be opened or another server has it open.
    """
    from holdtrue.store.tinydb import TinyStore

    make_folder(settings.data_dir)
    secret = read_or_make_secret(settings.secret_file)
    store = TinyStore(settings.data_dir)
    return compose(store, secret=secret, public_url=settings.public_url)


def compose(
    store: EventStore,
    *,
    secret: bytes,
    clock: Callable[[], datetime] = utc_now,
    random_bytes: Callable[[int], bytes] = secrets.token_bytes,
    public_url: str | None = None,
) -> Services:
    """Services over any store; tests hand in their own clock, secret and randomness."""
    ids = Ids(secret, random_bytes)
    return Services(store=store, clock=clock, ids=ids, secret=secret, public_url=public_url)


def make_folder(folder: Path) -> None:
    """The data folder, readable by its owner only (it holds the secret and people's names)."""
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    except OSError as error:
        raise StartError(f"Cannot use the data folder {folder}: {error.strerror}.") from error


def read_or_make_secret(path: Path) -> bytes:
    """The key that signs sessions; made at first start, 0600, written whole before it is used."""
    try:
        kept = path.read_bytes()
    except FileNotFoundError:
        return _make_secret(path)
    except OSError as error:
        raise StartError(f"Cannot read {path}: {error.strerror}.") from error
    if len(kept) != SECRET_BYTES:
        raise StartError(f"{path} is damaged: remove it, and everybody signs in again.")
    return kept


def _make_secret(path: Path) -> bytes:
    secret = secrets.token_bytes(SECRET_BYTES)
    being_written = path.with_name(path.name + ".new")
    try:
        flags = os.O_WRONLY | os.O_CREAT | os.O_TRUNC
        with os.fdopen(os.open(being_written, flags, 0o600), "wb") as file:
            file.write(secret)
            file.flush()
            os.fsync(file.fileno())
        being_written.replace(path)
    except OSError as error:
        raise StartError(f"Cannot write {path}: {error.strerror}.") from error
    return secret
