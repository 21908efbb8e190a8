"""JSON from a file or an upload to plain values, strictly.

Python's reader takes NaN, keeps the last of two equal keys and follows nesting as deep as its stack
goes. Here each of these is refused with its place and a word on what is wrong, before anything else
looks at it. Python's reader knows no places: what is odd is put into the value as a mark, and found
there by walking it.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from math import isfinite
from typing import Any

from holdtrue.domain.errors import InputError, shown_key

MAX_BYTES = 2 * 1024 * 1024
"""Far above any job or log of ours; what is larger was not meant for us."""
MAX_DEPTH = 20
"""Our documents are at most six deep."""
MAX_INT = 2**63 - 1
"""Whole numbers beyond this are kept by no store."""
_MAX_DIGITS = len(str(MAX_INT)) + 1
"""With a sign; keeps Python's own limit on digits from being met."""
_LONGEST_PLACE = 200


@dataclass(frozen=True, slots=True)
class _Odd:
    """Put where something stood that is no value of ours."""

    value: object
    remedy: str


def read_json(
    data: bytes, name: str, *, most_bytes: int | None = MAX_BYTES, deepest: int = MAX_DEPTH
) -> object:
    """The value of a JSON text in UTF-8; InputError names the file ``name`` and the place in it."""
    if most_bytes is not None and len(data) > most_bytes:
        raise InputError(
            name, None, f"is larger than {most_bytes // 1024 // 1024} MB; give a job or log file"
        )
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise InputError(
            name, None, f"is not UTF-8 text (byte {error.start}); save it as UTF-8"
        ) from error
    value = _parsed(text, name, deepest)
    _check(value, name, deepest)
    return value


def at_place(name: str, place: str) -> str:
    """The path of a place in a file."""
    return f"{name}: {place}" if place else name


def _parsed(text: str, name: str, deepest: int) -> object:
    try:
        value: object = json.loads(
            text,
            object_pairs_hook=_object,
            parse_constant=_constant,
            parse_int=_whole,
            parse_float=_real,
        )
    except json.JSONDecodeError as error:
        raise InputError(
            name,
            None,
            f"is not JSON: line {error.lineno}, column {error.colno}: {error.msg}; mend it there, "
            "or save the file again",
        ) from error
    except RecursionError as error:
        raise _too_deep(name, deepest) from error
    return value


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for key, value in pairs:
        found[key] = _twice(value) if key in found else value
    return found


def _twice(value: object) -> _Odd:
    shown = value.value if isinstance(value, _Odd) else value
    return _Odd(shown, "stands twice in one object; keep one of them")


def _constant(word: str) -> _Odd:
    return _Odd(word, "is not a number; give a finite one or leave it out")


def _whole(digits: str) -> int | _Odd:
    if len(digits) > _MAX_DIGITS or abs(int(digits)) > MAX_INT:
        return _Odd(digits, "must be a number of ordinary size")
    return int(digits)


def _real(digits: str) -> float | _Odd:
    value = float(digits)
    return value if isfinite(value) else _Odd(digits, "must be a number of ordinary size")


def _check(value: object, name: str, deepest: int) -> None:
    """Refuse what is odd, deep nesting, and halves of characters, which nothing could show."""
    level = [("", value)]
    for _ in range(deepest):
        below: list[tuple[str, object]] = []
        for place, item in level:
            _check_one(item, at_place(name, place))
            below += _inside(item, place)
        level = below
    if level:
        raise _too_deep(at_place(name, level[0][0][:_LONGEST_PLACE]), deepest)


def _check_one(item: object, path: str) -> None:
    if isinstance(item, _Odd):
        raise InputError(path, item.value, item.remedy)
    texts = item if isinstance(item, dict) else [item] if isinstance(item, str) else ()
    for text in texts:
        if any("\ud800" <= c <= "\udfff" for c in text):
            raise InputError(path, ascii(text), "holds half a character; type it again")


def _inside(item: object, place: str) -> Iterator[tuple[str, object]]:
    """What an object or a list holds, with its place."""
    if isinstance(item, dict):
        for key, inner in item.items():
            yield f"{place}.{shown_key(key)}" if place else shown_key(key), inner
    elif isinstance(item, list):
        for i, inner in enumerate(item):
            yield f"{place}[{i}]", inner


def _too_deep(path: str, deepest: int) -> InputError:
    return InputError(
        path, None, f"is nested more than {deepest} deep; give a job, a log or an exported job"
    )
