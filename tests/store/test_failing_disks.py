"""Disks that are full or do not do what they are told.

The rule behind every test: what was acknowledged is there afterwards, what was not may be sent
again, and damage is named, never passed over.
"""

from __future__ import annotations

import errno
import os
import subprocess
import sys
import textwrap
from collections.abc import Callable
from pathlib import Path

import pytest

from holdtrue.store.check import verify
from holdtrue.store.port import NewEntry, StoreBrokenError
from holdtrue.store.tinydb import TinyStore

Word = Callable[..., NewEntry]
Fill = Callable[[TinyStore], None]

JOB = "job-ABCDEFGH"

on_posix = pytest.mark.skipif(sys.platform == "win32", reason="needs signals and limits of POSIX")


def keys(store: TinyStore) -> list[str]:
    return [entry.key for entry in store.read(JOB)]


FILLS_ITS_DISK = """
    import resource
    import sys
    from pathlib import Path
    from holdtrue.store.port import NewEntry, StoreBrokenError
    from holdtrue.store.tinydb import TinyStore

    JOB = "job-ABCDEFGH"
    limit = int(sys.argv[2])
    hard = resource.getrlimit(resource.RLIMIT_FSIZE)[1]
    resource.setrlimit(resource.RLIMIT_FSIZE, (limit, hard))
    store = TinyStore(Path(sys.argv[1]))
    seq = 0

    def append():
        new = NewEntry(key=f"key-{seq}", type="T", body={"i": seq, "pad": "x" * 211}, who="p",
                       received="now")
        return store.append(JOB, new, expected=seq).seq

    try:
        while True:
            seq = append()
    except StoreBrokenError as error:
        print(error, file=sys.stderr)
    assert len(store.read(JOB)) == seq
    try:
        append()
    except StoreBrokenError:
        print("still full", file=sys.stderr)
    assert len(store.read(JOB)) == seq
    print(seq, flush=True)

    resource.setrlimit(resource.RLIMIT_FSIZE, (hard, hard))
    seq = append()
    print(seq, flush=True)
"""


@on_posix
@pytest.mark.parametrize("limit", [20_000, 20_001, 20_123])
def test_a_full_disk_loses_nothing_and_the_store_goes_on_when_there_is_room(
    directory: Path, limit: int
) -> None:
    done = subprocess.run(
        [sys.executable, "-c", textwrap.dedent(FILLS_ITS_DISK), str(directory), str(limit)],
        capture_output=True,
        text=True,
        timeout=60,
    )

    assert done.returncode == 0, done.stderr
    assert "not saved" in done.stderr
    assert "still full" in done.stderr
    full, after = map(int, done.stdout.split())
    assert full > 10
    assert after == full + 1
    store = TinyStore(directory)
    assert [entry.body["i"] for entry in store.read(JOB)] == list(range(after))
    store.close()
    assert verify(directory).problems == ()


def test_a_short_write_is_taken_back(
    embedded: TinyStore, log: Path, word: Word, fill: Fill, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A full disk first gives a short count without any error."""
    fill(embedded)
    before = log.read_bytes()
    real_write = os.write

    with monkeypatch.context() as patch:
        patch.setattr(os, "write", lambda fd, data: real_write(fd, data[:20]))
        with pytest.raises(StoreBrokenError, match=r"only 20 of .* bytes fitted"):
            embedded.append(JOB, word("key-3"), expected=3)

    assert log.read_bytes() == before
    assert keys(embedded) == ["key-0", "key-1", "key-2"]
    assert embedded.append(JOB, word("key-3"), expected=3).seq == 4


def fail(*_: object) -> int:
    raise OSError(errno.EIO, "Input/output error")


@pytest.mark.parametrize("call", ["write", "fsync"])
def test_an_entry_whose_write_or_flush_failed_is_not_saved(
    embedded: TinyStore,
    log: Path,
    word: Word,
    fill: Fill,
    monkeypatch: pytest.MonkeyPatch,
    call: str,
) -> None:
    fill(embedded)
    before = log.read_bytes()

    with monkeypatch.context() as patch:
        patch.setattr(os, call, fail)
        with pytest.raises(StoreBrokenError, match=r"not saved \(Input/output error\)"):
            embedded.append(JOB, word("key-3"), expected=3)

    assert log.read_bytes() == before
    assert keys(embedded) == ["key-0", "key-1", "key-2"]
    # The key is still free: the phone sends the same entry again.
    assert embedded.append(JOB, word("key-3"), expected=3).seq == 4


def test_a_first_entry_that_failed_leaves_no_stream(
    embedded: TinyStore, word: Word, monkeypatch: pytest.MonkeyPatch
) -> None:
    with monkeypatch.context() as patch:
        patch.setattr(os, "write", fail)
        with pytest.raises(StoreBrokenError):
            embedded.append(JOB, word("key-0"), expected=0)

    assert embedded.streams() == ()
    assert embedded.read(JOB) == ()
    assert embedded.append(JOB, word("key-0"), expected=0).seq == 1


def test_when_even_taking_back_fails_the_stream_waits_for_a_restart(
    directory: Path, word: Word, fill: Fill, monkeypatch: pytest.MonkeyPatch
) -> None:
    store = TinyStore(directory)
    fill(store)
    store.append("house", word("key-0"), expected=0)

    with monkeypatch.context() as patch:
        patch.setattr(os, "fsync", fail)
        patch.setattr(os, "ftruncate", fail)
        with pytest.raises(StoreBrokenError, match="restart the server"):
            store.append(JOB, word("key-3"), expected=3)

    with pytest.raises(StoreBrokenError, match="restart the server"):
        store.read(JOB)
    with pytest.raises(StoreBrokenError, match="restart the server"):
        store.append(JOB, word("key-3"), expected=3)
    assert len(store.read("house")) == 1
    store.close()

    store = TinyStore(directory)
    assert keys(store)[:3] == ["key-0", "key-1", "key-2"]
    # Whether it got to disk or not, the same entry sent again is there once.
    store.append(JOB, word("key-3"), expected=3)
    assert keys(store) == ["key-0", "key-1", "key-2", "key-3"]
    store.close()


def test_opening_flushes_what_a_killed_process_may_have_left_unflushed(
    directory: Path, fill: Fill, monkeypatch: pytest.MonkeyPatch
) -> None:
    store = TinyStore(directory)
    fill(store)
    store.close()
    store = TinyStore(directory)
    real_fsync = os.fsync
    flushed: list[int] = []

    def fsync(fd: int) -> None:
        flushed.append(os.fstat(fd).st_ino)
        real_fsync(fd)

    monkeypatch.setattr(os, "fsync", fsync)
    store.read(JOB)

    assert flushed == [(directory / "streams" / f"{JOB}.log").stat().st_ino]
    store.close()


def test_a_photo_that_does_not_get_to_disk_is_not_there(
    embedded: TinyStore, directory: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with monkeypatch.context() as patch:
        patch.setattr(os, "fsync", fail)
        with pytest.raises(StoreBrokenError, match="send it again"):
            embedded.put_blob(b"photo")

    assert [path for path in (directory / "blobs").rglob("*") if path.is_file()] == []
    assert embedded.get_blob(embedded.put_blob(b"photo")) == b"photo"
