"""Photos and other bytes, each in a file named by its sha256: ``blobs/ab/abcdef...``."""

from __future__ import annotations

import hashlib
import re
from pathlib import Path

from holdtrue.store.files import make_directory, publish, sync_directory
from holdtrue.store.port import StoreBrokenError

_DIGEST = re.compile(r"[0-9a-f]{64}")


class BlobFolder:
    """Blobs below one directory. Safe for threads: a name appears only with its whole content."""

    def __init__(self, directory: Path) -> None:
        self._directory = directory
        self._scratch = directory / "new"
        make_directory(self._scratch)
        for leftover in self._scratch.iterdir():
            # Written by a process that was stopped before it could acknowledge.
            leftover.unlink()

    def put(self, data: bytes) -> str:
        digest = hashlib.sha256(data).hexdigest()
        path = blob_path(self._directory, digest)
        try:
            if path.exists() and path.read_bytes() == data:
                # Perhaps put there by another thread that has not flushed the name yet.
                sync_directory(path.parent)
                return digest
            make_directory(path.parent)
            publish(data, path, scratch=self._scratch)
        except OSError as error:
            raise StoreBrokenError(
                f"{path}: not saved ({error.strerror}); make room on the disk and send it again"
            ) from error
        return digest

    def get(self, digest: str) -> bytes | None:
        if not _DIGEST.fullmatch(digest):
            return None
        path = blob_path(self._directory, digest)
        return read_blob(path) if path.exists() else None


def blob_path(directory: Path, digest: str) -> Path:
    return directory / digest[:2] / digest


def blob_paths(directory: Path) -> tuple[Path, ...]:
    """Every file below the blob directory that is not still being written, sorted."""
    files = (path for path in directory.glob("*/*") if path.parent.name != "new")
    return tuple(sorted(files))


def read_blob(path: Path) -> bytes:
    """The content, checked against the file's name."""
    try:
        data = path.read_bytes()
    except OSError as error:
        raise StoreBrokenError(f"{path}: cannot be read ({error.strerror})") from error
    if hashlib.sha256(data).hexdigest() != path.name:
        raise StoreBrokenError(
            f"{path}: the content is damaged; bring this file back from a backup"
        )
    return data
