"""Reading JSON strictly: what any file or upload goes through first."""

from __future__ import annotations

import json
from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holdtrue.domain.errors import InputError
from holdtrue.domain.plainjson import MAX_BYTES, MAX_DEPTH, MAX_INT, read_json

TEXTS = st.text(st.characters(exclude_categories=["Cs"]), max_size=20)
PLAIN = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-MAX_INT, MAX_INT)
    | st.floats(allow_nan=False, allow_infinity=False)
    | TEXTS,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(TEXTS, inner, max_size=4),
    max_leaves=20,
)


@given(PLAIN)
def test_what_json_writes_is_read_back(value: object) -> None:
    assert read_json(json.dumps(value).encode(), "f") == value
    assert read_json(json.dumps(value, ensure_ascii=False).encode(), "f") == value


@given(st.binary(max_size=200))
def test_any_bytes_are_read_or_refused(data: bytes) -> None:
    with suppress(InputError):
        read_json(data, "f")


@given(st.text('[]{}",:0123456789.eE-+truefalsnNaIity\\u \n', max_size=60))
def test_anything_like_json_is_read_as_python_reads_it_or_refused(text: str) -> None:
    try:
        value = read_json(text.encode(), "f")
    except InputError:
        return
    assert value == json.loads(text)


def test_nesting_is_counted_to_the_level() -> None:
    deepest = b"[" * MAX_DEPTH + b"]" * MAX_DEPTH
    read_json(deepest, "f")
    with pytest.raises(InputError, match="more than 20 deep"):
        read_json(b"[" + deepest[:MAX_DEPTH] + b"1" + deepest[MAX_DEPTH:] + b"]", "f")


def test_size_is_counted_to_the_byte() -> None:
    assert read_json(b"1".rjust(MAX_BYTES), "f") == 1
    with pytest.raises(InputError, match="larger than 2 MB"):
        read_json(b"1".rjust(MAX_BYTES + 1), "f")


@pytest.mark.parametrize(
    ("text", "place", "value", "says"),
    [
        ('{"a": 1, "a": 2}', "f: a", 2, "stands twice in one object"),
        ('[{"b": {"a": 1, "a": 2}}]', "f: [0].b.a", 2, "stands twice in one object"),
        ('{"a": 1, "a": NaN}', "f: a", "NaN", "stands twice in one object"),
        ('{"panels": [{}, {"width": NaN}]}', "f: panels[1].width", "NaN", "is not a number"),
        ('{"slope": -Infinity}', "f: slope", "-Infinity", "is not a number"),
        ('{"a": [1, [-1e999]]}', "f: a[1][0]", "-1e999", "a number of ordinary size"),
        (f'{{"a": {MAX_INT + 1}}}', "f: a", str(MAX_INT + 1), "a number of ordinary size"),
        (f'{{"a": -{"9" * 5000}}}', "f: a", "-" + "9" * 5000, "a number of ordinary size"),
        ("NaN", "f", "NaN", "is not a number"),
        ('{"a": {"b": "\\ud800"}}', "f: a.b", "'\\ud800'", "half a character"),
        ('{"a": {"\\ud800": 1}}', "f: a", "'\\ud800'", "half a character"),
        ('{"a\\nb": NaN}', "f: 'a\\nb'", "NaN", "is not a number"),
    ],
)
def test_what_is_odd_is_named_with_its_place(
    text: str, place: str, value: object, says: str
) -> None:
    with pytest.raises(InputError, match=says) as caught:
        read_json(text.encode(), "f")
    assert (caught.value.path, caught.value.value) == (place, value)


def test_equal_keys_of_different_objects_are_fine() -> None:
    assert read_json(b'[{"a": 1}, {"a": {"a": 2}}]', "f") == [{"a": 1}, {"a": {"a": 2}}]


def test_a_character_written_in_two_halves_is_whole() -> None:
    assert read_json(b'"\\ud83d\\udccf"', "f") == "\U0001f4cf"
