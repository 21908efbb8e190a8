"""Reading one stream and its blobs from outside, also while a server writes to the directory.

As for a backup: entries are only ever added at the end, so a file up to its last whole line is a
state the stream really had.
"""

from __future__ import annotations

from pathlib import Path

from holdtrue.store.blobs import blob_path, read_blob
from holdtrue.store.layout import BLOBS, STREAMS, stream_files, stream_path
from holdtrue.store.lines import ledger_of, tables_of
from holdtrue.store.port import Entry, StoreBrokenError


def streams_in(directory: Path) -> tuple[str, ...]:
    """The streams of a data directory. Raises StoreBrokenError when it is none."""
    if not (directory / STREAMS).is_dir():
        raise StoreBrokenError(f"{directory}: not a data directory, there is no {STREAMS} in it")
    return tuple(stream for stream, _ in stream_files(directory))


def read_stream(directory: Path, stream: str) -> tuple[Entry, ...]:
    """All entries of a stream, every line checked; an empty tuple when there is no such stream."""
    if stream not in streams_in(directory):
        return ()
    path = stream_path(directory, stream)
    return ledger_of(path, stream, tables_of(path, path.read_bytes())).entries()


def read_blob_in(directory: Path, digest: str) -> bytes | None:
    """The bytes of a blob, checked; None when there are none."""
    path = blob_path(directory / BLOBS, digest)
    return read_blob(path) if path.exists() else None
