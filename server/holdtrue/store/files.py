"""The few file operations durability rests on: locks, whole reads, directory flushes.

Files carry ``O_BINARY`` and locks go through ``msvcrt`` on Windows; there a directory cannot be
flushed and need not be.
"""

from __future__ import annotations

import errno
import os
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path

from holdtrue.store.port import StoreBrokenError

OPEN_FLAGS: int = getattr(os, "O_BINARY", 0) | getattr(os, "O_CLOEXEC", 0)

# Where Windows locks its byte: far behind any content, because a locked range cannot be read by
# others there, and a backup must be able to read.
_LOCK_OFFSET = 2**40

_HELD_ELSEWHERE = (errno.EWOULDBLOCK, errno.EAGAIN, errno.EACCES, errno.EDEADLK)


if sys.platform == "win32":
    import msvcrt

    def _lock_now(fd: int) -> None:
        os.lseek(fd, _LOCK_OFFSET, os.SEEK_SET)
        msvcrt.locking(fd, msvcrt.LK_NBLCK, 1)

    def sync_directory(path: Path) -> None:
        """Windows writes a directory's changes through by itself and offers no flush."""

else:
    import fcntl

    def _lock_now(fd: int) -> None:
        fcntl.flock(fd, fcntl.LOCK_EX | fcntl.LOCK_NB)

    def sync_directory(path: Path) -> None:
        """Make new names in a directory durable."""
        fd = os.open(path, os.O_RDONLY)
        try:
            os.fsync(fd)
        finally:
            os.close(fd)


def lock(fd: int, path: Path, holder: Callable[[], str]) -> None:
    """Lock an open file for this handle alone, until it is closed, or raise at once.

    ``holder`` words the message when somebody else has it.
    """
    try:
        _lock_now(fd)
    except OSError as error:
        if error.errno in _HELD_ELSEWHERE:
            raise StoreBrokenError(holder()) from error
        raise StoreBrokenError(
            f"{path}: cannot be locked ({error.strerror}); keep the data on a local disk"
        ) from error


def read_all(fd: int) -> bytes:
    os.lseek(fd, 0, os.SEEK_SET)
    parts = []
    while part := os.read(fd, 1 << 20):
        parts.append(part)
    return b"".join(parts)


def make_directory(path: Path) -> None:
    """Make a directory, and its parents, readable by the owner only; durable."""
    if path.is_dir():
        return
    make_directory(path.parent)
    path.mkdir(mode=0o700, exist_ok=True)
    sync_directory(path.parent)


def publish(data: bytes, path: Path, *, scratch: Path) -> None:
    """Put a whole file under its name, or nothing at all; durable on return.

    The name appears only after every byte is on disk. ``scratch`` is a folder on the same file
    system for the unfinished file.
    """
    fd, unfinished = tempfile.mkstemp(dir=scratch)
    try:
        with os.fdopen(fd, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        Path(unfinished).replace(path)
    except BaseException:
        Path(unfinished).unlink(missing_ok=True)
        raise
    sync_directory(path.parent)


class DirectoryLock:
    """Keeps a data directory to one process; a second one is told so at once."""

    NAME = "lock"

    def __init__(self, directory: Path) -> None:
        self._path = directory / self.NAME
        self._fd = os.open(self._path, os.O_RDWR | os.O_CREAT | OPEN_FLAGS, 0o600)
        try:
            lock(self._fd, self._path, self._holder)
            os.ftruncate(self._fd, 0)
            os.lseek(self._fd, 0, os.SEEK_SET)
            os.write(self._fd, str(os.getpid()).encode())
        except BaseException:
            os.close(self._fd)
            raise

    def _holder(self) -> str:
        pid = read_all(self._fd).decode("ascii", "replace")
        return (
            f"{self._path.parent}: already in use by process {pid or '?'}; stop that one first, "
            "or give this one another data directory"
        )

    def close(self) -> None:
        os.close(self._fd)
