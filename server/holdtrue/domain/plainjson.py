"""JSON from a file or an upload to plain values, strictly.

Python's reader takes NaN, keeps the last of two equal keys and follows nesting as deep as its stack
goes. Here each of these is refused with a word on what is wrong, before anything else looks at it.
"""

from __future__ import annotations

import json
from math import isfinite
from typing import Any, NoReturn

from holdtrue.domain.errors import InputError

MAX_BYTES = 2 * 1024 * 1024
"""Far above any job or log of ours; what is larger was not meant for us."""
MAX_DEPTH = 20
"""Our documents are at most six deep."""
MAX_DIGITS = 40
"""Digits of a whole number; also keeps Python's own limit on them from being met."""


def read_json(data: bytes, name: str) -> object:
    """The value of a JSON text in UTF-8; InputError under ``name`` when it is not one."""
    if len(data) > MAX_BYTES:
        raise InputError(
            name, None, f"is larger than {MAX_BYTES // 1024 // 1024} MB; give a job or log file"
        )
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise InputError(
            name, None, f"is not UTF-8 text (byte {error.start}); save it as UTF-8"
        ) from error
    value = _parsed(text, name)
    _check(value, name)
    return value


def _parsed(text: str, name: str) -> object:
    def once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        found: dict[str, Any] = {}
        for key, value in pairs:
            if key in found:
                raise InputError(name, key, "stands twice in one object; keep one of them")
            found[key] = value
        return found

    def constant(word: str) -> NoReturn:
        raise InputError(name, word, "is not a number; give a finite one or leave it out")

    def whole(digits: str) -> int:
        if len(digits) > MAX_DIGITS:
            raise InputError(name, digits, "must be a number of ordinary size")
        return int(digits)

    def real(digits: str) -> float:
        if not isfinite(value := float(digits)):
            raise InputError(name, digits, "must be a number of ordinary size")
        return value

    try:
        value: object = json.loads(
            text,
            object_pairs_hook=once,
            parse_constant=constant,
            parse_int=whole,
            parse_float=real,
        )
    except json.JSONDecodeError as error:
        raise InputError(
            name, None, f"is not JSON: line {error.lineno}, column {error.colno}: {error.msg}"
        ) from error
    except RecursionError as error:
        raise _too_deep(name) from error
    return value


def _check(value: object, name: str) -> None:
    """Refuse deep nesting, and halves of characters, which no page or terminal could show."""
    level = [value]
    for _ in range(MAX_DEPTH):
        below: list[object] = []
        for item in level:
            if isinstance(item, dict):
                below += [*item.keys(), *item.values()]
            elif isinstance(item, list):
                below += item
            elif isinstance(item, str) and any("\ud800" <= c <= "\udfff" for c in item):
                raise InputError(name, ascii(item), "holds half a character; type it again")
        level = below
    if level:
        raise _too_deep(name)


def _too_deep(name: str) -> InputError:
    return InputError(name, None, f"is nested more than {MAX_DEPTH} deep; give a job or log file")
