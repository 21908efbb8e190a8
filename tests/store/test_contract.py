"""What the port promises, asked of every store. PostgreSQL joins by one line in conftest."""

from __future__ import annotations

import copy
import hashlib
import json
import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from enum import StrEnum
from typing import Any, Protocol

import pytest

from holdtrue.store.port import (
    AppendOnlyError,
    Entry,
    EventStore,
    KeyReusedError,
    NewEntry,
    StreamMovedError,
    UnfitEntryError,
)

Word = Callable[..., NewEntry]

JOB = "job-ABCDEFGH"
OTHER_JOB = "job-01234567"


class Kept(Protocol):
    store: EventStore

    def reopen(self) -> EventStore: ...


def append_all(store: EventStore, stream: str, entries: list[NewEntry]) -> list[Entry]:
    start = len(store.read(stream))
    return [store.append(stream, entry, expected=start + i) for i, entry in enumerate(entries)]


def test_an_appended_entry_is_read_back_with_every_field(store: EventStore, word: Word) -> None:
    new = word("key-1", {"seat": "A1", "x_mm": 12.7}, tapped="2031-03-04T05:05:00+02:00")

    stored = store.append(JOB, new, expected=0)

    assert stored == Entry(
        stream=JOB,
        seq=1,
        key="key-1",
        type="MarkMeasured",
        body={"seat": "A1", "x_mm": 12.7},
        who="person-1",
        received="2031-03-04T05:06:07Z",
        tapped="2031-03-04T05:05:00+02:00",
    )
    assert store.read(JOB) == (stored,)


def test_entries_are_numbered_from_one_without_holes(store: EventStore, word: Word) -> None:
    append_all(store, JOB, [word(f"key-{i}") for i in range(20)])

    assert [entry.seq for entry in store.read(JOB)] == list(range(1, 21))
    assert [entry.key for entry in store.read(JOB)] == [f"key-{i}" for i in range(20)]


def test_an_unknown_stream_is_empty_and_reading_it_does_not_make_it(store: EventStore) -> None:
    assert store.read(JOB) == ()
    assert store.read("../etc/passwd") == ()
    assert store.streams() == ()


def test_streams_are_named_in_order_and_kept_apart(store: EventStore, word: Word) -> None:
    append_all(store, JOB, [word("same"), word("b")])
    append_all(store, "house", [word("same", {"other": True})])
    append_all(store, OTHER_JOB, [word("c")])

    assert store.streams() == ("house", OTHER_JOB, JOB)
    assert [entry.key for entry in store.read(JOB)] == ["same", "b"]
    assert [entry.body for entry in store.read("house")] == [{"other": True}]
    assert {entry.stream for entry in store.read(OTHER_JOB)} == {OTHER_JOB}


def test_the_same_entry_twice_is_stored_once_and_answered_alike(
    store: EventStore, word: Word
) -> None:
    first = store.append(JOB, word("key-1", {"a": 1, "b": [2]}), expected=0)
    store.append(JOB, word("key-2"), expected=1)

    # The second try comes later, knows another length and has its keys in another order.
    again = word("key-1", {"b": [2], "a": 1}, received="2031-03-04T06:00:00Z", tapped="later")

    assert store.append(JOB, again, expected=0) == first
    assert store.append(JOB, again, expected=99) == first
    assert len(store.read(JOB)) == 2


@pytest.mark.parametrize(
    "changed",
    [
        {"body": {"x_mm": 1.25}},
        {"body": {"x_mm": "1.5"}},
        {"body": {"x_mm": 1.5, "note": None}},
        {"type": "SeatMeasured"},
        {"who": "person-2"},
    ],
)
def test_a_key_used_for_something_else_is_refused(
    kept: Kept, word: Word, changed: dict[str, Any]
) -> None:
    first = kept.store.append(JOB, word("key-1"), expected=0)

    for is_reopened in (False, True):
        store = kept.reopen() if is_reopened else kept.store
        with pytest.raises(KeyReusedError, match="'key-1' already belongs to entry 1"):
            store.append(JOB, word("key-1", **changed), expected=1)
        assert store.read(JOB) == (first,)


def test_true_and_one_are_different_bodies_though_python_finds_them_equal(
    store: EventStore, word: Word
) -> None:
    store.append(JOB, word("key-1", {"is_level": True}), expected=0)

    with pytest.raises(KeyReusedError):
        store.append(JOB, word("key-1", {"is_level": 1}), expected=1)


@pytest.mark.parametrize("expected", [0, 1, 3, -1])
def test_a_stream_that_moved_refuses_and_stores_nothing(
    store: EventStore, word: Word, expected: int
) -> None:
    append_all(store, JOB, [word("key-1"), word("key-2")])

    with pytest.raises(StreamMovedError, match=f"has 2 entries, not {expected}"):
        store.append(JOB, word("key-3"), expected=expected)

    assert [entry.key for entry in store.read(JOB)] == ["key-1", "key-2"]
    assert store.append(JOB, word("key-3"), expected=2).seq == 3


def test_a_refused_first_entry_leaves_no_stream_behind(kept: Kept, word: Word) -> None:
    with pytest.raises(StreamMovedError):
        kept.store.append(JOB, word("key-1"), expected=1)

    assert kept.store.streams() == ()
    assert kept.reopen().streams() == ()


@pytest.mark.parametrize(
    "name",
    ["", "House", "job-abcdefgh", "job-", "../job", "a/b", "house.log", "nul", "com1", "é", "a b",
     "job-ABCDEFGH\n", "x" * 40],
)  # fmt: skip
def test_a_stream_name_that_files_could_confuse_is_refused(
    store: EventStore, word: Word, name: str
) -> None:
    with pytest.raises(UnfitEntryError, match="as in house or job-ABCDEFGH"):
        store.append(name, word("key-1"), expected=0)

    assert store.read(name) == ()
    assert store.streams() == ()


@pytest.mark.parametrize(
    ("body", "path"),
    [
        ({"x_mm": float("nan")}, r"body\.x_mm"),
        ({"x": [1.0, float("inf")]}, r"body\.x\[1\]"),
        ({"x": b"bytes"}, r"body\.x"),
        ({"x": {1: "a"}}, r"body\.x"),
        ({"x": "half a pair \ud83d"}, r"body\.x"),
        ({"half \udc00": 1}, "body"),
        ({"x": 2**63}, r"body\.x"),
        ([1, 2], "the body is a JSON object"),
        ({"x": {1, 2}}, r"body\.x"),
    ],
)
def test_a_body_json_cannot_carry_unchanged_is_refused_with_its_path(
    store: EventStore, word: Word, body: object, path: str
) -> None:
    with pytest.raises(UnfitEntryError, match=path):
        store.append(JOB, word("key-1", body), expected=0)

    assert store.read(JOB) == ()


def test_nesting_without_end_is_refused(store: EventStore, word: Word) -> None:
    body: dict[str, Any] = {}
    body["again"] = body

    with pytest.raises(UnfitEntryError, match="deep"):
        store.append(JOB, word("key-1", body), expected=0)


@pytest.mark.parametrize("key", ["", "k" * 201, "\ud800"])
def test_a_useless_key_is_refused(store: EventStore, word: Word, key: str) -> None:
    with pytest.raises(UnfitEntryError):
        store.append(JOB, word(key), expected=0)

    assert store.streams() == ()


def test_every_kind_of_plain_value_survives_reopening(kept: Kept, word: Word) -> None:
    class Side(StrEnum):
        LEFT = "left"

    body = {
        "text": 'quote " back \\ slash / newline \n tab \t \x00 \u2028 ½ é 字 🔩 \u0301',
        "numbers": [0, -1, 2**53 + 1, 2**63 - 1, 0.1, -0.0, 1e-300, 1.7976931348623157e308],
        "flags": [True, False, None],
        "empty": [{}, [], ""],
        "tuple": (1, (2, 3)),
        "enum": Side.LEFT,
        "": {"nested": {"deeper": ["x", {"y": 1}]}},
    }
    key = "clé-🔑 \n 1"
    stored = kept.store.append(JOB, word(key, body, who="Ørjan"), expected=0)

    (read,) = kept.reopen().read(JOB)

    assert read == stored
    assert json.dumps(read.body) == json.dumps({**body, "tuple": [1, [2, 3]]})
    assert read.key == key
    assert read.who == "Ørjan"
    assert type(read.body["enum"]) is str


def test_a_big_body_is_kept_whole(kept: Kept, word: Word) -> None:
    body = {"rows": [{"n": i, "text": "½" * 50} for i in range(20_000)]}
    kept.store.append(JOB, word("key-1", body), expected=0)
    kept.store.append(JOB, word("key-2"), expected=1)

    big, small = kept.reopen().read(JOB)

    assert big.body == body
    assert small.key == "key-2"


def test_reopening_gives_equal_entries_and_keeps_keys_and_numbers(kept: Kept, word: Word) -> None:
    for i in range(7):
        append_all(kept.store, JOB, [word(f"key-{i}", {"i": i})])
        append_all(kept.store, "house", [word(f"key-{i}", {"i": -i})])
    before = {name: kept.store.read(name) for name in kept.store.streams()}

    store = kept.reopen()

    assert {name: store.read(name) for name in store.streams()} == before
    assert store.append(JOB, word("key-3", {"i": 3}), expected=0) == before[JOB][3]
    with pytest.raises(StreamMovedError):
        store.append(JOB, word("new"), expected=6)
    assert store.append(JOB, word("new"), expected=7).seq == 8


def test_what_the_caller_changes_afterwards_does_not_reach_the_store(
    store: EventStore, word: Word
) -> None:
    body: dict[str, Any] = {"list": [1], "dict": {"a": 1}}
    store.append(JOB, word("key-1", body), expected=0)

    body["list"] = []
    body["dict"]["a"] = 2

    assert store.read(JOB)[0].body == {"list": [1], "dict": {"a": 1}}


CHANGES: tuple[Callable[[dict[str, Any]], object], ...] = (
    lambda body: body.update(list=[]),
    lambda body: body.pop("list"),
    lambda body: body["dict"].clear(),
    lambda body: body["list"].append(1),
    lambda body: body["list"][0].setdefault("b", 1),
    lambda body: body["list"].sort(),
)


def test_the_bodies_given_out_refuse_every_change_but_can_be_copied(kept: Kept, word: Word) -> None:
    kept.store.append(JOB, word("key-1", {"list": [{"a": 1}], "dict": {"a": 1}}), expected=0)

    for body in (kept.store.read(JOB)[0].body, kept.reopen().read(JOB)[0].body):
        assert isinstance(body, dict)
        for change in CHANGES:
            with pytest.raises(AppendOnlyError):
                change(body)
        with pytest.raises(AppendOnlyError):
            body["list"][0]["a"] = 2
        with pytest.raises(AppendOnlyError):
            del body["list"][0]
        with pytest.raises(AppendOnlyError):
            body |= {"b": 1}

        mine = copy.deepcopy(body)
        mine["list"][0]["a"] = 2
        mine["dict"]["b"] = 3
        assert mine == {"list": [{"a": 2}], "dict": {"a": 1, "b": 3}}
        assert body == {"list": [{"a": 1}], "dict": {"a": 1}}


def test_a_body_given_out_can_be_appended_again(store: EventStore, word: Word) -> None:
    first = store.append(JOB, word("key-1", {"list": [{"a": 1}]}), expected=0)

    second = store.append(JOB, word("key-2", {**first.body, "corrects": 1}), expected=1)

    assert second.body == {"list": [{"a": 1}], "corrects": 1}


def test_eight_threads_that_read_again_when_the_stream_moved_all_get_through(
    kept: Kept, word: Word
) -> None:
    threads, each = 8, 50
    ready = threading.Barrier(threads)

    def work(thread: int) -> None:
        ready.wait()
        for i in range(each):
            append_until_stored(kept.store, word(f"{thread}-{i}", {"thread": thread, "i": i}))

    with ThreadPoolExecutor(threads) as pool:
        list(pool.map(work, range(threads)))

    entries = kept.store.read(JOB)
    assert [entry.seq for entry in entries] == list(range(1, threads * each + 1))
    for thread in range(threads):
        own = [entry.body["i"] for entry in entries if entry.body["thread"] == thread]
        assert own == list(range(each))
    assert kept.reopen().read(JOB) == entries


def append_until_stored(store: EventStore, entry: NewEntry) -> Entry:
    while True:
        try:
            return store.append(JOB, entry, expected=len(store.read(JOB)))
        except StreamMovedError:
            continue


def test_eight_threads_with_the_same_key_store_it_once(kept: Kept, word: Word) -> None:
    threads = 8
    ready = threading.Barrier(threads)

    def work(_: int) -> Entry:
        ready.wait()
        return kept.store.append(JOB, word("same"), expected=0)

    with ThreadPoolExecutor(threads) as pool:
        answers = list(pool.map(work, range(threads)))

    assert len(set(map(repr, answers))) == 1
    assert len(kept.reopen().read(JOB)) == 1


def test_eight_threads_on_streams_of_their_own_do_not_mix(kept: Kept, word: Word) -> None:
    names = [f"job-{i}" for i in range(8)]

    def work(name: str) -> None:
        append_all(kept.store, name, [word(f"key-{i}", {"of": name}) for i in range(20)])

    with ThreadPoolExecutor(len(names)) as pool:
        list(pool.map(work, names))

    store = kept.reopen()
    assert store.streams() == tuple(names)
    for name in names:
        assert [entry.body["of"] for entry in store.read(name)] == [name] * 20


def test_a_blob_is_kept_under_its_digest(kept: Kept) -> None:
    data = bytes(range(256)) * 1000
    digest = kept.store.put_blob(data)

    assert digest == hashlib.sha256(data).hexdigest()
    assert kept.store.put_blob(data) == digest
    assert kept.reopen().get_blob(digest) == data


def test_an_empty_blob_is_a_blob(kept: Kept) -> None:
    digest = kept.store.put_blob(b"")

    assert kept.reopen().get_blob(digest) == b""


@pytest.mark.parametrize("digest", ["0" * 64, "", "../../lock", "A" * 64, "0" * 63])
def test_an_unknown_digest_has_no_blob(store: EventStore, digest: str) -> None:
    assert store.get_blob(digest) is None


def test_the_same_photo_from_eight_threads_is_one_blob(kept: Kept) -> None:
    data = b"photo" * 10_000
    with ThreadPoolExecutor(8) as pool:
        digests = set(pool.map(kept.store.put_blob, [data] * 8))

    assert digests == {hashlib.sha256(data).hexdigest()}
    assert kept.reopen().get_blob(digests.pop()) == data
