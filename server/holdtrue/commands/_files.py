"""Files named on the command line, ``-`` for standard input, and what is said of them."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TypeVar

from holdtrue.commands import _out
from holdtrue.core.model import Finding
from holdtrue.domain.errors import InputError
from holdtrue.domain.plainjson import MAX_BYTES, read_json

Parsed = TypeVar("Parsed")

_SAID = {"bar": "no release", "reason": "a written reason is needed", "note": "note"}


def read_document(name: str) -> object:
    """The plain value of a JSON file, or of standard input for ``-``."""
    # one byte more than is allowed: enough to refuse a huge file without reading it
    return read_json(read_bytes(name, MAX_BYTES + 1), shown_name(name))


def read_bytes(name: str, most: int = -1) -> bytes:
    """What a file holds, or the first ``most`` bytes of it."""
    if name == "-" and sys.stdin is None:
        raise InputError(shown_name(name), None, "is closed; name a file, or send one to it")
    try:
        if name == "-":
            return sys.stdin.buffer.read(most)
        with Path(name).open("rb") as file:
            return file.read(most)
    except OSError as error:
        raise InputError(
            shown_name(name),
            None,
            f"cannot be read: {error.strerror or error}; check the name",
        ) from error


def shown_name(name: str) -> str:
    return "standard input" if name == "-" else name


def read_as(name: str, read: Callable[[object], Parsed]) -> Parsed:
    """A document read into what it describes; an error says in which file it lies."""
    document = read_document(name)
    try:
        return read(document)
    except InputError as error:
        raise InputError(f"{shown_name(name)}: {error.path}", error.value, error.remedy) from error


def say(findings: Iterable[Finding]) -> None:
    """Warnings on standard error; they do not change the status."""
    for finding in findings:
        _out.tell(f"holdtrue: warning: {_SAID[finding.weight]}: {finding.text}")


def suggest(texts: Iterable[str]) -> None:
    """Suggestions on standard error: notes, of which nothing is applied."""
    for text in texts:
        _out.tell(f"holdtrue: suggestion: {text}")
