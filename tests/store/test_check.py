"""Check and backup, both beside a running server."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from holdtrue.store.check import Report, backup, verify
from holdtrue.store.port import NewEntry, StoreBrokenError
from holdtrue.store.tinydb import TinyStore

Word = Callable[..., NewEntry]

JOB = "job-ABCDEFGH"


@pytest.fixture
def store(directory: Path, word: Word) -> Iterator[TinyStore]:
    """A running store with two streams and a photo."""
    store = TinyStore(directory)
    for i in range(3):
        store.append(JOB, word(f"key-{i}", {"text": "½ é", "i": i}), expected=i)
    store.append("house", word("key-0"), expected=0)
    store.put_blob(b"photo")
    yield store
    store.close()


def test_sound_data_has_no_problems(store: TinyStore, directory: Path) -> None:
    assert verify(directory) == Report(streams=2, entries=4, blobs=1, problems=(), notes=())


def test_check_names_every_damaged_line_and_blob(store: TinyStore, directory: Path) -> None:
    log = directory / "streams" / f"{JOB}.log"
    lines = log.read_bytes().splitlines(keepends=True)
    log.write_bytes(lines[0].replace(b"key-0", b"key-X") + lines[1] + lines[2].replace(b"2", b"3"))
    digest = store.put_blob(b"another")
    blob = directory / "blobs" / digest[:2] / digest
    blob.write_bytes(b"anothe")

    report = verify(directory)

    first, third, photo = report.problems
    assert f"{log}, line 1: damaged" in first
    assert f"{log}, line 3: damaged" in third
    assert f"{blob}: the content is damaged" in photo
    assert (report.streams, report.entries, report.blobs) == (2, 2, 2)


def test_check_tells_of_torn_tails_and_strange_files_and_changes_nothing(
    store: TinyStore, directory: Path
) -> None:
    log = directory / "streams" / "house.log"
    with log.open("ab") as file:
        file.write(b'1234abcd ["entries"')
    before = log.read_bytes()
    strange = directory / "streams" / "job-abc.log.old"
    strange.write_text("")

    report = verify(directory)

    assert report.problems == ()
    assert report.notes == (
        f"{strange}: not ours, left alone",
        f"{log}: an unfinished last line, cut when the server next opens it",
    )
    assert log.read_bytes() == before


@pytest.mark.parametrize("what", ["folder", "link", "empty", "torn"])
def test_check_names_a_log_that_holds_nothing_or_is_no_file(
    store: TinyStore, directory: Path, what: str
) -> None:
    odd = directory / "streams" / "job-77777777.log"
    put_odd(odd, what)

    report = verify(directory)

    assert [str(odd) in problem for problem in report.problems] == [True]
    assert "from a backup" in report.problems[0]
    assert report.entries == 4


@pytest.mark.parametrize("what", ["folder", "link", "empty", "torn"])
def test_one_odd_log_shuts_no_other(
    store: TinyStore, directory: Path, word: Word, what: str
) -> None:
    store.close()
    put_odd(directory / "streams" / "job-77777777.log", what)

    again = TinyStore(directory)

    assert len(again.read(JOB)) == 3
    again.append("house", word("key-1"), expected=1)
    if what in ("folder", "link"):
        with pytest.raises(StoreBrokenError, match="from a backup"):
            again.read("job-77777777")
        with pytest.raises(StoreBrokenError, match="from a backup"):
            again.append("job-77777777", word("key-1"), expected=0)
    again.close()


def put_odd(path: Path, what: str) -> None:
    if what == "folder":
        path.mkdir()
    elif what == "link":
        path.symlink_to(path.with_name("nowhere"))
    else:
        path.write_bytes(b"" if what == "empty" else b"1234abcd [")


@pytest.mark.parametrize("make", [False, True])
def test_a_folder_without_data_is_refused(tmp_path: Path, make: bool) -> None:
    folder = tmp_path / "elsewhere"
    if make:
        folder.mkdir()

    with pytest.raises(StoreBrokenError, match="not a data directory"):
        verify(folder)
    with pytest.raises(StoreBrokenError, match="not a data directory"):
        backup(folder, tmp_path / "copy")


def test_a_backup_of_a_running_store_restores_to_the_identical_log(
    store: TinyStore, directory: Path, tmp_path: Path, word: Word
) -> None:
    target = tmp_path / "backups" / "monday"

    report = backup(directory, target)

    assert report == Report(streams=2, entries=4, blobs=1, problems=(), notes=())
    for name in ("house", JOB):
        path = Path("streams") / f"{name}.log"
        assert (target / path).read_bytes() == (directory / path).read_bytes()
    restored = TinyStore(target)
    assert restored.streams() == store.streams()
    for name in store.streams():
        assert restored.read(name) == store.read(name)
    assert restored.get_blob(store.put_blob(b"photo")) == b"photo"
    assert restored.append(JOB, word("key-3"), expected=3).seq == 4
    restored.close()
    assert len(store.read(JOB)) == 3


def test_backups_during_appends_hold_a_state_there_really_was(
    store: TinyStore, directory: Path, tmp_path: Path, word: Word
) -> None:
    """Two streams written in turn: at every moment the first is level or one ahead."""
    stop = threading.Event()
    names = ("job-A", "job-B")

    def write() -> None:
        turn = 0
        while not stop.is_set():
            for name in names:
                store.append(name, word(f"key-{turn}", {"turn": turn}), expected=turn)
            turn += 1
            stop.wait(0.001)

    writer = threading.Thread(target=write)
    writer.start()
    try:
        lengths = []
        for i in range(10):
            target = tmp_path / f"backup-{i}"
            assert backup(directory, target).problems == ()
            copy = TinyStore(target)
            lengths.append(tuple(len(copy.read(name)) for name in names))
            copy.close()
    finally:
        stop.set()
        writer.join()

    assert all(first - second in (0, 1) for first, second in lengths)
    assert lengths == sorted(lengths)
    assert lengths[-1][0] > lengths[0][0]


def test_a_torn_tail_is_not_copied(store: TinyStore, directory: Path, tmp_path: Path) -> None:
    with (directory / "streams" / f"{JOB}.log").open("ab") as file:
        file.write(b"1234abcd [")

    report = backup(directory, tmp_path / "copy")

    assert (report.entries, report.notes) == (4, ())


def test_damage_is_copied_as_it_is_and_named(
    store: TinyStore, directory: Path, tmp_path: Path
) -> None:
    log = directory / "streams" / "house.log"
    log.write_bytes(log.read_bytes().replace(b"key-0", b"key-X"))

    report = backup(directory, tmp_path / "copy")

    copy = tmp_path / "copy" / "streams" / "house.log"
    assert copy.read_bytes() == log.read_bytes()
    assert [problem.startswith(f"{copy}, line 1") for problem in report.problems] == [True]


def test_a_backup_never_writes_over_anything(
    store: TinyStore, directory: Path, tmp_path: Path
) -> None:
    empty = tmp_path / "empty"
    empty.mkdir()
    assert backup(directory, empty).entries == 4

    with pytest.raises(StoreBrokenError, match="already there"):
        backup(directory, empty)
    with pytest.raises(StoreBrokenError, match="inside the data"):
        backup(directory, directory / "backup")
    (tmp_path / "half.partial").mkdir()
    with pytest.raises(StoreBrokenError, match="delete it first"):
        backup(directory, tmp_path / "half")


def test_a_backup_that_fails_leaves_nothing_behind(
    store: TinyStore, directory: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(_: int) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr("os.fsync", fail)
        with pytest.raises(StoreBrokenError, match=r"no backup made \(No space left"):
            backup(directory, tmp_path / "copy")

    assert sorted(path.name for path in tmp_path.iterdir()) == ["data"]


def test_a_store_that_never_stands_still_is_said_to_be_busy(
    store: TinyStore, directory: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    sizes = iter(range(10_000))
    monkeypatch.setattr("holdtrue.store.check._sizes", lambda _: {JOB: next(sizes)})

    with pytest.raises(StoreBrokenError, match="too busy"):
        backup(directory, tmp_path / "copy")
    assert not (tmp_path / "copy").exists()
    assert not (tmp_path / "copy.partial").exists()
