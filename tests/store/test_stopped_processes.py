"""Processes that are killed, started twice or opened again and again.

The rule behind every test: what was acknowledged is there afterwards, what was not may be sent
again, and damage is named, never passed over.
"""

from __future__ import annotations

import os
import random
import subprocess
import sys
import textwrap
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from holdtrue.store.check import verify
from holdtrue.store.files import DirectoryLock
from holdtrue.store.port import NewEntry, StoreBrokenError
from holdtrue.store.tinydb import TinyStore

Word = Callable[..., NewEntry]
Fill = Callable[[TinyStore], None]

JOB = "job-ABCDEFGH"

on_posix = pytest.mark.skipif(sys.platform == "win32", reason="needs signals and limits of POSIX")


def keys(store: TinyStore) -> list[str]:
    return [entry.key for entry in store.read(JOB)]


APPENDS_FOR_EVER = """
    import sys
    from pathlib import Path
    from holdtrue.store.port import NewEntry
    from holdtrue.store.tinydb import TinyStore

    store = TinyStore(Path(sys.argv[1]))
    seq = len(store.read("job-ABCDEFGH"))
    while True:
        new = NewEntry(key=f"key-{seq}", type="T", body={"i": seq, "pad": "x" * (seq * 37 % 9000)},
                       who="p", received="now")
        seq = store.append("job-ABCDEFGH", new, expected=seq).seq
        print(seq, flush=True)
"""


@on_posix
@pytest.mark.slow
def test_every_acknowledged_entry_survives_kill_9(directory: Path) -> None:
    """Fifteen times over the same data, each time killed after another number of entries."""
    draws = random.Random(4)
    acknowledged = 0
    for _ in range(15):
        process = subprocess.Popen(
            [sys.executable, "-c", textwrap.dedent(APPENDS_FOR_EVER), str(directory)],
            stdout=subprocess.PIPE,
            text=True,
        )
        assert process.stdout is not None
        for _ in range(draws.randint(1, 60)):
            assert process.stdout.readline(), "the process stopped by itself"
        process.kill()
        rest = process.stdout.read().splitlines(keepends=True)
        process.wait()
        process.stdout.close()

        store = TinyStore(directory)
        entries = store.read(JOB)
        store.close()
        complete = [int(line) for line in rest if line.endswith("\n")]
        acknowledged = max([acknowledged, *complete])
        assert len(entries) >= acknowledged
        assert [entry.body["i"] for entry in entries] == list(range(len(entries)))
        acknowledged = len(entries)
    assert verify(directory).problems == ()
    assert acknowledged > 15


def test_a_torn_last_line_is_cut_at_every_length(directory: Path, log: Path, fill: Fill) -> None:
    store = TinyStore(directory)
    fill(store)
    store.close()
    whole = log.read_bytes()
    second_end = whole.rindex(b"\n", 0, -1) + 1

    for length in range(second_end, len(whole)):
        log.write_bytes(whole[:length])
        store = TinyStore(directory)
        assert keys(store) == ["key-0", "key-1"]
        store.close()
        assert log.read_bytes() == whole[:second_end]


def test_after_a_torn_line_was_cut_the_stream_goes_on(
    directory: Path, log: Path, word: Word, fill: Fill
) -> None:
    store = TinyStore(directory)
    fill(store)
    store.close()
    log.write_bytes(log.read_bytes()[:-5])

    store = TinyStore(directory)
    assert store.append(JOB, word("key-2", {"i": 2}), expected=2).seq == 3
    store.close()

    store = TinyStore(directory)
    assert keys(store) == ["key-0", "key-1", "key-2"]
    store.close()


def test_a_tail_of_zeros_as_a_power_cut_leaves_it_is_cut(
    directory: Path, log: Path, fill: Fill
) -> None:
    store = TinyStore(directory)
    fill(store)
    store.close()
    with log.open("ab") as file:
        file.write(b"\0" * 4096)

    store = TinyStore(directory)
    assert keys(store) == ["key-0", "key-1", "key-2"]
    store.close()


def test_a_stream_whose_first_line_was_torn_does_not_exist(
    directory: Path, log: Path, word: Word
) -> None:
    TinyStore(directory).close()
    log.write_bytes(b'1234abcd ["entries",1,{"seq"')

    store = TinyStore(directory)
    assert store.streams() == ()
    assert store.read(JOB) == ()
    assert store.append(JOB, word("key-0"), expected=0).seq == 1
    assert store.streams() == (JOB,)
    store.close()


def test_an_unfinished_photo_is_swept_away_at_start(directory: Path) -> None:
    TinyStore(directory).close()
    unfinished = directory / "blobs" / "new" / "tmp123"
    unfinished.write_bytes(b"half")

    TinyStore(directory).close()

    assert not unfinished.exists()


def test_a_second_store_on_the_same_data_is_refused_until_the_first_is_closed(
    directory: Path,
) -> None:
    store = TinyStore(directory)
    with pytest.raises(StoreBrokenError, match=f"already in use by process {os.getpid()}; stop"):
        TinyStore(directory)

    store.close()
    TinyStore(directory).close()


def test_a_second_process_is_refused_with_a_clear_message(directory: Path) -> None:
    store = TinyStore(directory)
    opens = (
        "import sys; from pathlib import Path; from holdtrue.store.tinydb import TinyStore; "
        "TinyStore(Path(sys.argv[1]))"
    )
    done = subprocess.run(
        [sys.executable, "-c", opens, str(directory)], capture_output=True, text=True
    )
    store.close()

    assert done.returncode == 1
    assert f"{directory}: already in use by process {os.getpid()}" in done.stderr


def test_a_killed_process_leaves_no_lock_behind(directory: Path) -> None:
    directory.mkdir()
    (directory / "lock").write_text("99999")

    lock = DirectoryLock(directory)

    assert (directory / "lock").read_text() == str(os.getpid())
    lock.close()


def test_data_that_cannot_be_made_is_named(tmp_path: Path) -> None:
    in_the_way = tmp_path / "file"
    in_the_way.write_text("not a folder")

    with pytest.raises(StoreBrokenError, match="file"):
        TinyStore(in_the_way / "data")


def test_a_closed_store_refuses_everything(directory: Path, word: Word) -> None:
    store = TinyStore(directory)
    store.close()
    store.close()

    for use in (
        store.streams,
        lambda: store.read(JOB),
        lambda: store.append(JOB, word("key-0"), expected=0),
        lambda: store.put_blob(b""),
        lambda: store.get_blob("0" * 64),
    ):
        with pytest.raises(StoreBrokenError, match="closed"):
            use()


@pytest.mark.skipif(not Path("/proc/self/fd").is_dir(), reason="needs /proc to see open files")
def test_no_more_streams_are_open_than_allowed(directory: Path, word: Word) -> None:
    store = TinyStore(directory, max_open=3)
    names = [f"job-{i}" for i in range(8)]
    for turn in range(3):
        for name in names:
            store.append(name, word(f"key-{turn}", {"of": name}), expected=turn)
            assert len(list(open_logs(directory))) <= 3
    for name in names:
        assert [entry.body["of"] for entry in store.read(name)] == [name] * 3
    store.close()
    assert list(open_logs(directory)) == []


def open_logs(directory: Path) -> Iterator[str]:
    """Of this store: what runs the tests may write a log of its own."""
    for fd in Path("/proc/self/fd").iterdir():
        try:
            target = str(fd.readlink())
        except FileNotFoundError:
            continue  # the one iterdir itself used
        if target.startswith(str(directory)) and target.endswith(".log"):
            yield target


ON_WINDOWS = """
    import json, pathlib, subprocess, sys, tempfile, types
    import tinydb  # and what it imports, before the platform changes its name

    calls = []
    sys.modules["fcntl"] = None
    sys.modules["msvcrt"] = types.ModuleType("msvcrt")
    sys.modules["msvcrt"].LK_NBLCK = 2
    sys.modules["msvcrt"].locking = lambda fd, mode, size: calls.append((mode, size))
    sys.platform = "win32"

    from holdtrue.store.port import NewEntry
    from holdtrue.store.tinydb import TinyStore

    directory = pathlib.Path(sys.argv[1])
    for seq in (0, 1):
        store = TinyStore(directory)
        new = NewEntry(key=f"key-{seq}", type="T", body={}, who="p", received="now")
        assert store.append("house", new, expected=seq).seq == seq + 1
        store.put_blob(b"photo")
        store.close()
    print(calls)
"""


def test_without_fcntl_the_locks_go_through_msvcrt(directory: Path) -> None:
    """As near to Windows as another system gets: its branch runs, over a stand-in for msvcrt."""
    done = subprocess.run(
        [sys.executable, "-c", textwrap.dedent(ON_WINDOWS), str(directory)],
        capture_output=True,
        text=True,
    )

    assert done.returncode == 0, done.stderr
    # The data directory and the stream's file, twice.
    assert done.stdout.strip() == str([(2, 1)] * 4)


@on_posix
def test_the_data_is_for_its_owner_only(directory: Path, word: Word) -> None:
    store = TinyStore(directory)
    store.append("house", word("key-0"), expected=0)
    digest = store.put_blob(b"photo")
    store.close()

    assert directory.stat().st_mode & 0o077 == 0
    for path in ("streams/house.log", "lock", f"blobs/{digest[:2]}/{digest}"):
        assert (directory / path).stat().st_mode & 0o077 == 0
