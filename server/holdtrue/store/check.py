"""Reading a data directory from outside, also while a server writes to it: check and backup.

Both only read the source. Entries are only ever added at the end of a file, so a file up to the
end of its last whole line is a state the stream really had.
"""

from __future__ import annotations

import shutil
from dataclasses import dataclass
from pathlib import Path

from holdtrue.store.blobs import blob_paths, read_blob
from holdtrue.store.files import make_directory, publish, sync_directory
from holdtrue.store.layout import (
    BLOBS,
    STREAMS,
    empty_files,
    stray_files,
    stream_files,
    stream_path,
)
from holdtrue.store.lines import BadLine, Line, damaged, ledger_of, scan, tables_of, whole_length
from holdtrue.store.port import StoreBrokenError

_SNAPSHOT_TRIES = 1000
_REMEDY = "move it away and bring the log back from a backup"


@dataclass(frozen=True, slots=True, kw_only=True)
class Report:
    """What a data directory holds. ``problems`` need a person, ``notes`` do not."""

    streams: int
    entries: int
    blobs: int
    problems: tuple[str, ...]
    notes: tuple[str, ...]


def verify(directory: Path) -> Report:
    """Read every line and every blob; name all that is damaged. Changes nothing."""
    _check_is_data(directory)
    problems = [
        f"{path}: holds no entry; bring it back from a backup, or delete it if none was ever saved"
        for path in empty_files(directory)
    ]
    notes = [f"{path}: not ours, left alone" for path in stray_files(directory)]
    entries = 0
    files = stream_files(directory)
    for stream, path in files:
        try:
            data = path.read_bytes()
        except OSError as error:
            problems.append(f"{path}: cannot be read ({error.strerror}); {_REMEDY}")
            continue
        found = _problems_of(stream, path, data)
        problems += found
        entries += sum(isinstance(line, Line) for line in scan(data))
        if not found and whole_length(data) < len(data):
            notes.append(f"{path}: an unfinished last line, cut when the server next opens it")
    blobs = blob_paths(directory / BLOBS)
    for path in blobs:
        problems += _blob_problems(path)
    return Report(
        streams=len(files),
        entries=entries,
        blobs=len(blobs),
        problems=tuple(problems),
        notes=tuple(notes),
    )


def backup(directory: Path, target: Path) -> Report:
    """Copy a data directory as it was at one moment; ``target`` must not exist or be empty.

    Damaged files are copied as they are, so that nothing is lost by making a backup; the report
    on the copy names them. Restoring is copying the files back while no server runs.
    """
    _check_is_data(directory)
    _check_is_free(directory, target)
    # Under another name until complete: a half backup must not look like one.
    partial = target.with_name(f"{target.name}.partial")
    if partial.exists():
        raise StoreBrokenError(f"{partial}: left by a backup that was stopped; delete it first")
    try:
        _copy(directory, partial)
        if target.exists():
            target.rmdir()
        partial.replace(target)
        sync_directory(target.parent)
    except OSError as error:
        raise StoreBrokenError(
            f"{error.filename or target}: no backup made ({error.strerror})"
        ) from error
    finally:
        # Still there only when something failed.
        shutil.rmtree(partial, ignore_errors=True)
    return verify(target)


def _copy(directory: Path, partial: Path) -> None:
    make_directory(partial / STREAMS)
    make_directory(partial / BLOBS)
    for stream, size in _sizes_at_one_moment(directory).items():
        with stream_path(directory, stream).open("rb") as file:
            data = file.read(size)
        publish(data[: whole_length(data)], stream_path(partial, stream), scratch=partial / STREAMS)
    # After the logs: whatever blob an entry speaks of was on disk before that entry.
    for path in blob_paths(directory / BLOBS):
        copy = partial / BLOBS / path.parent.name / path.name
        make_directory(copy.parent)
        publish(path.read_bytes(), copy, scratch=partial / STREAMS)


def _sizes_at_one_moment(directory: Path) -> dict[str, int]:
    """The size of every stream's file at a single moment.

    Files only grow, so when two rounds of looking give the same sizes, all of them had these
    sizes at once between the rounds.
    """
    before = _sizes(directory)
    for _ in range(_SNAPSHOT_TRIES):
        after = _sizes(directory)
        if after == before:
            return after
        before = after
    raise StoreBrokenError(f"{directory}: too busy for a backup; try again in a quieter moment")


def _sizes(directory: Path) -> dict[str, int]:
    return {stream: path.stat().st_size for stream, path in stream_files(directory)}


def _check_is_data(directory: Path) -> None:
    if not (directory / STREAMS).is_dir():
        raise StoreBrokenError(f"{directory}: not a data directory, there is no {STREAMS} in it")


def _check_is_free(directory: Path, target: Path) -> None:
    if target.resolve().is_relative_to(directory.resolve()):
        raise StoreBrokenError(f"{target}: lies inside the data; name a folder elsewhere")
    if target.exists() and (not target.is_dir() or any(target.iterdir())):
        raise StoreBrokenError(f"{target}: already there; name a new or an empty folder")


def _problems_of(stream: str, path: Path, data: bytes) -> list[str]:
    bad = [line for line in scan(data) if isinstance(line, BadLine)]
    if bad:
        return [str(damaged(path, line.number, line.why)) for line in bad]
    try:
        ledger_of(path, stream, tables_of(path, data))
    except StoreBrokenError as error:
        return [str(error)]
    return []


def _blob_problems(path: Path) -> list[str]:
    try:
        read_blob(path)
    except StoreBrokenError as error:
        return [str(error)]
    return []
