"""Both stores behind one fixture, and a short way to word an entry."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from holdtrue.store.memory import MemoryStore
from holdtrue.store.port import EventStore, NewEntry
from holdtrue.store.tinydb import TinyStore

WordEntry = Callable[..., NewEntry]


@pytest.fixture
def word() -> WordEntry:
    """``word("key-1")`` is an entry; every field can be given."""

    def make(key: str, body: Any = None, **fields: Any) -> NewEntry:
        given: dict[str, Any] = {
            "type": "MarkMeasured",
            "who": "person-1",
            "received": "2031-03-04T05:06:07Z",
            **fields,
        }
        return NewEntry(key=key, body={"x_mm": 1.5} if body is None else body, **given)

    return make


@pytest.fixture
def directory(tmp_path: Path) -> Path:
    """Where the embedded store of a test keeps its data."""
    return tmp_path / "data"


@pytest.fixture
def log(directory: Path) -> Path:
    """The file of the job the tests of the embedded store write to."""
    return directory / "streams" / "job-ABCDEFGH.log"


@pytest.fixture
def embedded(directory: Path) -> Iterator[TinyStore]:
    store = TinyStore(directory)
    yield store
    store.close()


@pytest.fixture
def fill(word: WordEntry) -> Callable[[TinyStore], None]:
    """``fill(store)`` gives a store three entries in the job, key-0 to key-2."""

    def append(store: TinyStore) -> None:
        for i in range(3):
            store.append("job-ABCDEFGH", word(f"key-{i}", {"i": i}), expected=i)

    return append


class Kept:
    """One store of a kind that can be closed and opened again on the same data."""

    def __init__(self, open_store: Callable[[], EventStore]) -> None:
        self._open_store = open_store
        self.store = open_store()

    def reopen(self) -> EventStore:
        self.store.close()
        self.store = self._open_store()
        return self.store


@pytest.fixture(params=["memory", "tinydb", "tinydb keeping one stream open"])
def kept(request: pytest.FixtureRequest, directory: Path) -> Iterator[Kept]:
    if request.param == "memory":
        only_one = MemoryStore()
        kept = Kept(lambda: only_one)
    elif request.param == "tinydb":
        kept = Kept(lambda: TinyStore(directory))
    else:
        kept = Kept(lambda: TinyStore(directory, max_open=1))
    yield kept
    kept.store.close()


@pytest.fixture
def store(kept: Kept) -> EventStore:
    return kept.store
