"""Files that somebody or something changed behind the store's back.

The rule behind every test: what was acknowledged is there afterwards, what was not may be sent
again, and damage is named, never passed over.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from holdtrue.store.check import verify
from holdtrue.store.port import NewEntry, StoreBrokenError
from holdtrue.store.tinydb import TinyStore

Word = Callable[..., NewEntry]
Fill = Callable[[TinyStore], None]

JOB = "job-ABCDEFGH"


def keys(store: TinyStore) -> list[str]:
    return [entry.key for entry in store.read(JOB)]


@pytest.mark.parametrize("number", [1, 2, 3])
def test_a_flipped_bit_is_refused_with_file_line_and_what_to_do(
    directory: Path, log: Path, word: Word, fill: Fill, number: int
) -> None:
    store = TinyStore(directory)
    fill(store)
    store.append("house", word("key-0"), expected=0)
    store.close()
    lines = log.read_bytes().splitlines(keepends=True)
    damaged = bytearray(lines[number - 1])
    damaged[40] ^= 1
    lines[number - 1] = bytes(damaged)
    log.write_bytes(b"".join(lines))

    store = TinyStore(directory)
    with pytest.raises(StoreBrokenError, match=rf"{JOB}\.log, line {number}: .*backup"):
        store.read(JOB)
    with pytest.raises(StoreBrokenError, match=f"line {number}"):
        store.append(JOB, word("key-9"), expected=3)

    # The others work, and the damaged file is as it was, also for a second try.
    assert len(store.read("house")) == 1
    assert store.streams() == ("house", JOB)
    assert log.read_bytes() == b"".join(lines)
    store.close()


def test_a_damaged_last_newline_is_not_taken_for_a_torn_line(
    directory: Path, log: Path, fill: Fill
) -> None:
    store = TinyStore(directory)
    fill(store)
    store.close()
    log.write_bytes(log.read_bytes()[:-1] + b"\x0b")

    store = TinyStore(directory)
    with pytest.raises(StoreBrokenError, match=r"line 3: .*newline"):
        store.read(JOB)
    store.close()


@pytest.mark.parametrize(
    ("rearranged", "why"),
    [
        ((0, 2), "line 2: .*entry 3 stands where 2 should"),
        ((1, 0, 2), "line 1: .*entry 2 stands where 1 should"),
        ((0, 1, 1), "line 3: .*the number 2 was used before"),
    ],
)
def test_a_missing_moved_or_doubled_line_is_refused(
    directory: Path, log: Path, fill: Fill, rearranged: tuple[int, ...], why: str
) -> None:
    store = TinyStore(directory)
    fill(store)
    store.close()
    lines = log.read_bytes().splitlines(keepends=True)
    log.write_bytes(b"".join(lines[i] for i in rearranged))

    store = TinyStore(directory)
    with pytest.raises(StoreBrokenError, match=why):
        store.read(JOB)
    store.close()
    assert len(verify(directory).problems) == 1


def test_a_file_that_went_away_is_not_begun_anew(
    embedded: TinyStore, directory: Path, log: Path, word: Word, fill: Fill
) -> None:
    fill(embedded)
    log.unlink()

    with pytest.raises(StoreBrokenError, match="another program"):
        embedded.append(JOB, word("key-3"), expected=3)
    with pytest.raises(StoreBrokenError, match="gone; bring it back"):
        embedded.append(JOB, word("key-3"), expected=3)
    with pytest.raises(StoreBrokenError, match="gone; bring it back"):
        embedded.read(JOB)
    assert not log.exists()


def test_a_file_that_lost_entries_while_it_was_closed_is_refused(
    directory: Path, log: Path, word: Word, fill: Fill
) -> None:
    store = TinyStore(directory, max_open=1)
    fill(store)
    store.append("house", word("key-0"), expected=0)
    log.write_bytes(b"".join(log.read_bytes().splitlines(keepends=True)[:2]))

    with pytest.raises(StoreBrokenError, match="has 2 entries, but 3 were saved"):
        store.read(JOB)
    store.close()


def test_a_file_another_program_wrote_to_is_left_alone(
    embedded: TinyStore, log: Path, word: Word, fill: Fill
) -> None:
    fill(embedded)
    with log.open("ab") as file:
        file.write(b"a note of somebody's\n")
    before = log.read_bytes()

    with pytest.raises(StoreBrokenError, match="another program changed"):
        embedded.append(JOB, word("key-3"), expected=3)
    with pytest.raises(StoreBrokenError, match="line 4"):
        embedded.read(JOB)
    assert log.read_bytes() == before


def test_a_damaged_photo_is_named_and_healed_by_sending_it_again(
    embedded: TinyStore, directory: Path
) -> None:
    digest = embedded.put_blob(b"photo")
    path = directory / "blobs" / digest[:2] / digest
    path.write_bytes(b"phote")

    with pytest.raises(StoreBrokenError, match=f"{digest}: the content is damaged"):
        embedded.get_blob(digest)

    assert embedded.put_blob(b"photo") == digest
    assert embedded.get_blob(digest) == b"photo"
