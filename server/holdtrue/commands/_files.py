"""Files named on the command line, ``-`` for standard input, and what goes out."""

from __future__ import annotations

import io
import os
import sys
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TypeVar

from holdtrue.core.model import Finding
from holdtrue.domain.errors import InputError
from holdtrue.domain.plainjson import MAX_BYTES, read_json

Parsed = TypeVar("Parsed")

_SAID = {"bar": "no release", "reason": "a written reason is needed", "note": "note"}


def read_document(name: str) -> object:
    """The plain value of a JSON file, or of standard input for ``-``."""
    return read_json(_bytes(name), shown_name(name))


def _bytes(name: str) -> bytes:
    # one byte more than is allowed: enough to refuse a huge file without reading it
    try:
        if name == "-":
            return sys.stdin.buffer.read(MAX_BYTES + 1)
        with Path(name).open("rb") as file:
            return file.read(MAX_BYTES + 1)
    except OSError as error:
        raise InputError(
            shown_name(name), None, f"cannot be read: {error.strerror or error}; check the name"
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
        print(f"holdtrue: warning: {_SAID[finding.weight]}: {finding.text}", file=sys.stderr)


def suggest(texts: Iterable[str]) -> None:
    """Suggestions on standard error: notes, of which nothing is applied."""
    for text in texts:
        print(f"holdtrue: suggestion: {text}", file=sys.stderr)


def write(text: str) -> None:
    """Text on standard output, whatever the terminal can show and however soon the reader stops."""
    if isinstance(sys.stdout, io.TextIOWrapper):
        sys.stdout.reconfigure(errors="backslashreplace")
    try:
        print(text, flush=True)
    except BrokenPipeError:
        # as the documentation of Python's signal module has it: the reader has what it wanted,
        # and the flush at exit must not fail again
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
