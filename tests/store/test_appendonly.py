"""The storage as TinyDB itself uses it: queries work, every change is refused."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from tinydb import TinyDB, where
from tinydb.operations import delete, increment
from tinydb.table import Document

from holdtrue.store.appendonly import AppendOnlyStorage
from holdtrue.store.port import AppendOnlyError, StoreBrokenError


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "house.log"


@pytest.fixture
def db(path: Path) -> Iterator[TinyDB]:
    with TinyDB(path, storage=AppendOnlyStorage) as db:
        db.insert({"seat": "A1", "x_mm": 10})
        db.insert({"seat": "A2", "x_mm": 20})
        yield db


def test_documents_are_found_and_survive_reopening(db: TinyDB, path: Path) -> None:
    db.table("others").insert_multiple([{"n": 1}, {"n": 2}, {"n": 3}])
    db.insert(Document({"seat": "A9"}, doc_id=9))
    db.close()

    with TinyDB(path, storage=AppendOnlyStorage) as again:
        assert again.search(where("x_mm") > 15) == [{"seat": "A2", "x_mm": 20}]
        assert again.get(doc_id=9) == {"seat": "A9"}
        assert again.tables() == {"_default", "others"}
        assert len(again.table("others")) == 3
        assert again.insert({"seat": "A10"}) == 10


CHANGES: dict[str, Callable[[TinyDB], object]] = {
    "update": lambda db: db.update({"x_mm": 11}, where("seat") == "A1"),
    "update every": lambda db: db.update({"x_mm": 11}),
    "update by operation": lambda db: db.update(increment("x_mm"), where("seat") == "A1"),
    "delete a field": lambda db: db.update(delete("x_mm")),
    "update several": lambda db: db.update_multiple([({"x_mm": 1}, where("seat") == "A1")]),
    "upsert of a known one": lambda db: db.upsert({"x_mm": 1}, where("seat") == "A1"),
    "remove": lambda db: db.remove(where("seat") == "A1"),
    "remove by id": lambda db: db.remove(doc_ids=[1]),
    "truncate": lambda db: db.truncate(),
    "drop a table": lambda db: db.drop_table("_default"),
    "drop all tables": lambda db: db.drop_tables(),
    "write another document": lambda db: db.storage.write(
        {"_default": {"1": {"seat": "A1", "x_mm": 10}, "2": {"seat": "A2", "x_mm": 20}}}
    ),
}


@pytest.mark.parametrize("change", CHANGES.values(), ids=CHANGES.keys())
def test_every_change_is_refused_and_nothing_is_different(
    db: TinyDB, path: Path, change: Callable[[TinyDB], object]
) -> None:
    before = path.read_bytes()

    with pytest.raises(AppendOnlyError):
        change(db)

    assert path.read_bytes() == before
    assert db.all() == [{"seat": "A1", "x_mm": 10}, {"seat": "A2", "x_mm": 20}]
    db.insert({"seat": "A3"})
    assert len(db) == 3


def test_a_known_number_cannot_be_inserted_again(db: TinyDB) -> None:
    with pytest.raises(ValueError, match="already exists"):
        db.insert(Document({"seat": "A2 again"}, doc_id=2))

    assert len(db) == 2


def test_a_closed_storage_says_so(db: TinyDB) -> None:
    db.close()

    with pytest.raises(StoreBrokenError, match="closed"):
        db.insert({"seat": "A3"})
    db.close()


def test_a_second_handle_is_refused_until_the_first_is_closed(db: TinyDB, path: Path) -> None:
    with pytest.raises(StoreBrokenError, match="already open elsewhere"):
        TinyDB(path, storage=AppendOnlyStorage)

    db.close()
    with TinyDB(path, storage=AppendOnlyStorage) as again:
        assert len(again) == 2
