"""The lines of a stream's file: ``crc32 [table, id, document]``, one per document, only ASCII.

The CRC is eight lower-case hex digits over the JSON behind it. A write is one line at the end of
the file, so a stopped process or a power cut can leave only one thing behind: a last line without
its newline. That one was never acknowledged and may be cut. Everything else that does not read is
damage to something acknowledged, and is named instead of repaired.
"""

from __future__ import annotations

import json
import zlib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from holdtrue.store.ledger import Ledger, entry_of
from holdtrue.store.plain import FrozenDict, frozen
from holdtrue.store.port import StoreBrokenError, UnfitEntryError

TABLE = "entries"
"""The one table the streams use."""

Tables = dict[str, dict[str, FrozenDict]]
"""Table name to document id (as text) to document, the shape TinyDB hands to a storage."""

_CRC_DIGITS = 8


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One sound line. ``end`` is where the next one begins."""

    number: int
    end: int
    table: str
    doc_id: int
    document: FrozenDict


@dataclass(frozen=True, slots=True, kw_only=True)
class BadLine:
    """A line that does not read, and why."""

    number: int
    why: str


def encode_line(table: str, doc_id: int, document: Mapping[str, Any]) -> bytes:
    text = json.dumps([table, doc_id, document], separators=(",", ":"), allow_nan=False).encode()
    return _crc(text) + b" " + text + b"\n"


def scan(data: bytes) -> Iterator[Line | BadLine]:
    """Every line of a file in order; a torn tail gives nothing."""
    start = 0
    number = 0
    while start < len(data):
        number += 1
        newline = data.find(b"\n", start)
        if newline < 0:
            if _is_sound(data[start:-1]):
                yield BadLine(number=number, why="its newline is damaged")
            return
        yield _decode(data[start:newline], number, newline + 1)
        start = newline + 1


def whole_length(data: bytes) -> int:
    """Bytes up to the end of the last whole line; what follows is a torn tail."""
    return data.rfind(b"\n") + 1


def tables_of(path: Path, data: bytes) -> Tables:
    """What the file holds, as TinyDB sees it. Raises StoreBrokenError at the first bad line."""
    tables: Tables = {}
    for line in scan(data):
        if isinstance(line, BadLine):
            raise damaged(path, line.number, line.why)
        table = tables.setdefault(line.table, {})
        if str(line.doc_id) in table:
            raise damaged(path, line.number, f"the number {line.doc_id} was used before")
        table[str(line.doc_id)] = line.document
    return tables


def ledger_of(path: Path, stream: str, tables: Tables) -> Ledger:
    """The entries of a stream, every one checked against its place.

    Entry n is line n, since a stream's file has one table and only grows.
    """
    if tables.keys() - {TABLE}:
        raise damaged(path, 1, f"it holds tables other than {TABLE!r}")
    ledger = Ledger(stream)
    for number, (doc_id, document) in enumerate(tables.get(TABLE, {}).items(), start=1):
        try:
            entry = entry_of(stream, document)
            if doc_id != str(entry.seq):
                raise ValueError(f"it is numbered {doc_id} and {entry.seq}")
            ledger.add(entry)
        except ValueError as error:
            raise damaged(path, number, str(error)) from error
    return ledger


def damaged(path: Path, number: int, why: str) -> StoreBrokenError:
    return StoreBrokenError(
        f"{path}, line {number}: damaged ({why}). Nothing was changed. Keep a copy of this file, "
        "then bring it back from a backup; `holdtrue check` lists every damaged line"
    )


def _crc(text: bytes) -> bytes:
    return b"%08x" % zlib.crc32(text)


def _is_sound(line: bytes) -> bool:
    # Compared as text: int(..., 16) would take a flipped "a" that became "A".
    return line[:_CRC_DIGITS] == _crc(line[_CRC_DIGITS + 1 :]) and line[_CRC_DIGITS:][:1] == b" "


def _decode(line: bytes, number: int, end: int) -> Line | BadLine:
    if not _is_sound(line):
        return BadLine(number=number, why="its checksum does not fit")
    try:
        table, doc_id, document = json.loads(line[_CRC_DIGITS + 1 :])
        document = frozen(document)
    except (ValueError, UnfitEntryError) as error:
        return BadLine(number=number, why=f"not [table, id, document]: {error}")
    if not (isinstance(table, str) and type(doc_id) is int and isinstance(document, FrozenDict)):
        return BadLine(number=number, why="not [table, id, document]")
    return Line(number=number, end=end, table=table, doc_id=doc_id, document=document)
