"""Where things lie in a data directory; the server, the check and the backup agree on it here."""

from __future__ import annotations

from pathlib import Path

from holdtrue.store.ledger import is_stream_name

STREAMS = "streams"
BLOBS = "blobs"
_SUFFIX = ".log"


def stream_path(directory: Path, stream: str) -> Path:
    return directory / STREAMS / f"{stream}{_SUFFIX}"


def stream_files(directory: Path) -> tuple[tuple[str, Path], ...]:
    """Name and file of every stream that has an entry, sorted by name.

    One that cannot be read counts as one: whoever opens it says why, and it shuts no other.
    """
    return tuple((path.stem, path) for path in _logs(directory) if _has_line(path))


def empty_files(directory: Path) -> tuple[Path, ...]:
    """Files of streams without one whole line: the very first write never came through, or
    somebody emptied them.
    """
    return tuple(path for path in _logs(directory) if not _has_line(path))


def stray_files(directory: Path) -> tuple[Path, ...]:
    """Files among the streams that no stream has put there."""
    return tuple(
        path
        for path in sorted((directory / STREAMS).iterdir())
        if path.suffix != _SUFFIX or not is_stream_name(path.stem)
    )


def _logs(directory: Path) -> list[Path]:
    found = sorted((directory / STREAMS).glob(f"*{_SUFFIX}"))
    return [path for path in found if is_stream_name(path.stem)]


def _has_line(path: Path) -> bool:
    if not path.is_file():  # a folder, a link to nothing
        return True
    try:
        with path.open("rb") as file:
            return file.readline().endswith(b"\n")
    except OSError:
        return True
