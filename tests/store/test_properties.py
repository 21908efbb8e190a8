"""Random histories, with closing and opening in between, against a plain list."""

from __future__ import annotations

import json
import tempfile
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holdtrue.store.check import verify
from holdtrue.store.lines import BadLine, Line, encode_line, scan, whole_length
from holdtrue.store.plain import canonical, frozen
from holdtrue.store.port import KeyReusedError, NewEntry, StreamMovedError
from holdtrue.store.tinydb import TinyStore

texts = st.text(st.characters(exclude_categories=["Cs"]), max_size=20)
values = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(2**63) + 1, 2**63 - 1)
    | st.floats(allow_nan=False, allow_infinity=False)
    | texts,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(texts, inner, max_size=4),
    max_leaves=10,
)
bodies = st.dictionaries(texts, values, max_size=4)
streams = st.sampled_from(["house", "job-A", "job-B"])
# Few keys, so that repeats and reuses come up often; "reopen" in between.
actions = st.lists(
    st.tuples(streams, st.sampled_from("abcdefgh"), bodies, st.integers(-1, 1)) | st.just("reopen"),
    max_size=25,
)


class Model:
    """What the port promises, as plainly as it can be said."""

    def __init__(self) -> None:
        self.streams: dict[str, list[tuple[str, str]]] = {}

    def append(self, stream: str, key: str, body: dict[str, Any], expected: int) -> int | str:
        known = self.streams.get(stream, [])
        text = json.dumps(body, sort_keys=True)
        for seq, (known_key, known_text) in enumerate(known, start=1):
            if known_key == key:
                return seq if known_text == text else "reused"
        if expected != len(known):
            return "moved"
        self.streams[stream] = [*known, (key, text)]
        return len(known) + 1


def attempt(store: TinyStore, stream: str, entry: NewEntry, expected: int) -> int | str:
    try:
        return store.append(stream, entry, expected=expected).seq
    except KeyReusedError:
        return "reused"
    except StreamMovedError:
        return "moved"


@settings(max_examples=60)
@given(actions)
def test_a_random_history_equals_the_model_also_after_reopening(history: list[Any]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        directory = Path(folder)
        model = Model()
        store = TinyStore(directory, max_open=2)
        for action in [*history, "reopen"]:
            if action == "reopen":
                store.close()
                store = TinyStore(directory, max_open=2)
                assert_equal(store, model)
                continue
            stream, key, body, shift = action
            expected = len(model.streams.get(stream, [])) + shift
            new = NewEntry(key=key, type="T", body=body, who="p", received="now")
            assert attempt(store, stream, new, expected) == model.append(
                stream, key, body, expected
            )
        assert_equal(store, model)
        store.close()
        assert verify(directory).problems == ()


def assert_equal(store: TinyStore, model: Model) -> None:
    assert store.streams() == tuple(sorted(model.streams))
    for stream, known in model.streams.items():
        entries = store.read(stream)
        assert [entry.seq for entry in entries] == list(range(1, len(known) + 1))
        assert [(entry.key, json.dumps(entry.body, sort_keys=True)) for entry in entries] == known


@given(values)
def test_freezing_changes_no_value_and_is_done_once(value: object) -> None:
    once = frozen(value)

    assert json.dumps(once) == json.dumps(value)
    assert canonical(once) == canonical(value)
    if isinstance(value, dict | list):
        assert frozen(once) is once


@given(st.lists(bodies, min_size=1, max_size=5), st.data())
def test_a_file_cut_anywhere_reads_as_its_whole_lines(
    documents: list[dict[str, Any]], data: st.DataObject
) -> None:
    lines = [encode_line("entries", i, body) for i, body in enumerate(documents, start=1)]
    whole = b"".join(lines)
    cut = whole[: data.draw(st.integers(0, len(whole)))]

    found = list(scan(cut))

    assert all(isinstance(line, Line) for line in found)
    assert len(found) == cut.count(b"\n")
    assert whole_length(cut) == sum(len(line) for line in lines[: len(found)])


@pytest.mark.parametrize("bit", range(8))
def test_every_single_flipped_bit_is_found_and_its_line_named(bit: int) -> None:
    """All bits of a file, one after the other: none goes unseen, none is taken for a torn tail."""
    lines = [encode_line("entries", i, {"n": i, "text": "½ a"}) for i in (1, 2, 3)]
    whole = b"".join(lines)
    for place in range(len(whole)):
        damaged = bytearray(whole)
        damaged[place] ^= 1 << bit
        number = whole[:place].count(b"\n") + 1
        bad = [line.number for line in scan(bytes(damaged)) if isinstance(line, BadLine)]
        assert bad, f"bit {bit} of byte {place} went unseen"
        assert bad[0] == number
