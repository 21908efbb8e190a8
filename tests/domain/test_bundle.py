"""A bundle holds everything, and a damaged one is refused with what is wrong with it."""

from __future__ import annotations

import json
from collections.abc import Callable
from contextlib import suppress
from typing import Any

import pytest

from holdtrue.domain.bundle import FORMAT, bundle_document, checksum, read_bundle
from holdtrue.domain.errors import InputError
from holdtrue.service import jobs
from tests import walking
from tests.damage import damages, says_what_is_wrong
from tests.domain.papers import says
from tests.walking import JPEG, LEAD

Change = Callable[[dict[str, Any]], None]


def document() -> dict[str, Any]:
    services = walking.minutes_apart()
    job_id = walking.handed_over(services, "off")
    entries = services.store.read(jobs.stream_of(job_id))
    digest = services.store.put_blob(JPEG)
    names = {LEAD.person: LEAD.name, "SOMEBODY": "Else"}
    return bundle_document(job_id, entries, {digest: JPEG}, names)


def written(content: dict[str, Any]) -> bytes:
    return json.dumps(content).encode()


def resealed(content: dict[str, Any]) -> bytes:
    """With a checksum that fits: what somebody made on purpose."""
    return written(content | {"sha256": checksum(content)})


def test_a_bundle_reads_back_entry_by_entry() -> None:
    content = document()
    bundle = read_bundle(written(content), "j.json")
    assert bundle.job_id == content["job"]
    assert [entry.seq for entry in bundle.entries] == list(range(1, len(bundle.entries) + 1))
    assert bundle.entries[0].body == content["entries"][0]["body"]
    assert list(bundle.blobs.values()) == [JPEG]


def test_a_bundle_names_the_people_of_its_entries_only() -> None:
    content = document()
    assert content["format"] == FORMAT
    assert content["people"] == {LEAD.person: LEAD.name}


def test_layout_does_not_count() -> None:
    content = document()
    text = json.dumps(dict(reversed(content.items())), indent=3)
    assert read_bundle(text.encode("utf-8-sig"), "j").job_id == content["job"]


def _drop(name: str) -> Change:
    return lambda content: content.pop(name)


def _job(value: object) -> Change:
    return lambda content: content.update(job=value)


def _first(**changes: object) -> Change:
    return lambda content: content["entries"][0].update(changes)


def _entries(value: object) -> Change:
    return lambda content: content.update(entries=value)


def _blobs(value: object) -> Change:
    return lambda content: content.update(blobs=value)


ENTRY = "entries[0]"
PHOTO = "blobs." + "a" * 64
WRONG: list[tuple[Change, str, object, str]] = [
    (_drop("entries"), "entries", None, "is missing"),
    (_job("../etc"), "job", "../etc", "is not the id of a job"),
    (_job(7), "job", 7, "is not the id of a job"),
    (_entries([]), "entries", [], "must be a list of entries"),
    (_entries([1]), ENTRY, 1, "must have seq, key, type, body, who, received, tapped"),
    (_first(seq=2), f"{ENTRY}.seq", 2, "must be 1"),
    (_first(seq=True), f"{ENTRY}.seq", True, "must be the entry's number"),
    (_first(seq=1.0), f"{ENTRY}.seq", 1.0, "must be the entry's number"),
    (_first(type=["x"]), f"{ENTRY}.type", ["x"], "must name the event"),
    (_first(who=None), f"{ENTRY}.who", None, "must be a person's id"),
    (_first(body=[]), f"{ENTRY}.body", [], "must be an object"),
    (_first(tapped=5), f"{ENTRY}.tapped", 5, "must be a time, or null"),
    (_first(received="today"), f"{ENTRY}.received", "today", "must be a time with its zone"),
    (_first(received="2026-03-02T08:00:00"), f"{ENTRY}.received", "2026-03-02T08:00:00", "zone"),
    (_first(key=""), f"{ENTRY}.key", "", "must be a key"),
    (_first(key="k" * 201), f"{ENTRY}.key", "k" * 201, "must be a key"),
    (_first(who="\ud800"), f"{ENTRY}.who", "'\\ud800'", "half a character"),
    (_first(body={"document": 10**30}), f"{ENTRY}.body.document", str(10**30), "ordinary size"),
    (_first(body={}), f"{ENTRY}.body", None, "makes no job"),
    (_first(body={"document": {"format": "x"}}), f"{ENTRY}.body", None, 'be "holdtrue.job/1"'),
    (_first(type="Painted"), f"{ENTRY}.type", "Painted", "use a newer holdtrue"),
    (_blobs([]), "blobs", [], "must be an object"),
    (_blobs({"a" * 64: "!!"}), PHOTO, "!!", "this photo does not read"),
    (_blobs({"a" * 64: 5}), PHOTO, 5, "this photo does not read"),
    (_blobs({"a" * 64: "eA=="}), PHOTO, "eA==", "this photo is not what it was"),
]


@pytest.mark.parametrize(("change", "place", "value", "said"), WRONG)
def test_what_is_wrong_is_named_with_its_place_even_under_a_checksum_that_fits(
    change: Change, place: str, value: object, said: str
) -> None:
    content = document()
    change(content)
    with pytest.raises(InputError) as caught:
        read_bundle(resealed(content), "j.json")
    says(caught.value, f"j.json: {place}", value, said)


def test_a_photo_the_log_speaks_of_must_be_there() -> None:
    content = document()
    (digest,) = content["blobs"]
    content["blobs"] = {}
    with pytest.raises(InputError) as caught:
        read_bundle(resealed(content), "j.json")
    says(caught.value, f"j.json: blobs.{digest}", None, "this photo is missing")


@pytest.mark.parametrize("of", [0, 1, 10_000])
def test_taking_back_what_is_not_there_is_refused(of: int) -> None:
    content = document()
    content["entries"][-1].update(type="EntryUndone", body={"of": of, "why": ""})
    with pytest.raises(InputError) as caught:
        read_bundle(resealed(content), "j.json")
    at = len(content["entries"]) - 1
    says(caught.value, f"j.json: entries[{at}].body.of", of, "no such entry to take back")


def test_a_log_that_folds_but_cannot_be_shown_is_refused() -> None:
    content = document()
    tasks = [entry["body"].get("task", "") for entry in content["entries"]]
    seat = next(task for task in tasks if task.startswith("fasteners.measure:")).partition(":")[2]
    content["entries"][-1].update(type="SeatFreed", body={"seat": seat, "why": "spent"})
    with pytest.raises(InputError, match="entries: make no job"):
        read_bundle(resealed(content), "j.json")


TASK = {"task": "close.note", "outcome": "measured", "values": {}, "planned": {}}


@pytest.mark.parametrize(
    ("kind", "body"),
    [
        ("EntryUndone", {}),
        ("EntryUndone", {"of": "x"}),
        ("TaskRecorded", {"values": []}),
        ("TaskRecorded", {"values": {"photo": {}}}),
        ("TaskRecorded", TASK | {"planned": "x"}),
        ("TaskRecorded", TASK | {"values": ["x"]}),
        ("StopCleared", {"stop": 10_000, "note": "seen"}),
        ("StopCleared", {"stop": 2, "note": "seen"}),
    ],
)
def test_a_last_entry_that_cannot_be_taken_is_refused(kind: str, body: dict[str, Any]) -> None:
    content = document()
    content["entries"][-1].update(type=kind, body=body)
    at = len(content["entries"]) - 1
    with pytest.raises(InputError, match=rf"entries\[{at}\].body: makes no job"):
        read_bundle(resealed(content), "j.json")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (b"9" * 5000, "ordinary size"),
        (b"1e999", "ordinary size"),
        (b"-1e999", "ordinary size"),
        (b"NaN", "is not a number"),
    ],
)
@pytest.mark.parametrize("place", ["entries[0].body.document.elsewhere", "elsewhere"])
def test_a_number_no_store_keeps_is_refused_wherever_it_stands(
    text: bytes, said: str, place: str
) -> None:
    content = document()
    (content if place == "elsewhere" else content["entries"][0]["body"]["document"])[
        "elsewhere"
    ] = "HERE"
    data = resealed(content).replace(b'"HERE"', text)

    with pytest.raises(InputError, match=said) as caught:
        read_bundle(data, "j.json")
    assert caught.value.path == f"j.json: {place}"


def test_a_file_larger_than_any_job_is_refused_unread(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("holdtrue.domain.bundle.MAX_BYTES", 1024 * 1024)

    with pytest.raises(InputError, match="larger than 1 MB"):
        read_bundle(b" " * (1024 * 1024 + 1), "j.json")


def test_a_key_used_twice_is_refused() -> None:
    content = document()
    content["entries"][1]["key"] = content["entries"][0]["key"]
    with pytest.raises(InputError, match=r"entries\[1\].key: .*: this key stands twice"):
        read_bundle(resealed(content), "j.json")


def test_a_bundle_with_one_wrong_value_is_read_or_refused_in_words() -> None:
    for damage in damages(document(), seed=4, count=40):
        content = damage.document
        with suppress(KeyError, TypeError, ValueError):
            content["sha256"] = checksum(content)
        try:
            read_bundle(written(content), "j.json")
        except InputError as error:
            says_what_is_wrong(str(error).removeprefix("j.json: "), damage)


def test_one_changed_letter_is_found() -> None:
    content = document()
    content["entries"][-1]["who"] = "SOMEBODY"
    with pytest.raises(InputError, match=r"sha256: .*: this checksum does not fit"):
        read_bundle(written(content), "j.json")


@pytest.mark.parametrize("cut", [1, 100, 5000])
def test_a_cut_file_is_found(cut: int) -> None:
    with pytest.raises(InputError, match="is not JSON: line 1"):
        read_bundle(written(document())[:-cut], "j.json")


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "is not JSON: line 1, column 1"),
        (b"\xff\xfe", "is not UTF-8 text"),
        (b"[]", "is not a bundle"),
        (b'{"format": "holdtrue.job/1"}', "is not a bundle"),
        (b'{"entries": [{"body": {"x": NaN}}]}', r"j: entries\[0\].body.x: NaN: is not a number"),
        (b'{"job": "a", "job": "b"}', "j: job: b: stands twice in one object"),
        (b'{"job": 1e999}', "j: job: 1e999: must be a number of ordinary size"),
        (b"[" * 200_000, "nested more than 28 deep"),
        (b"[" * 60 + b"]" * 60, r"j: \[0\].*: is nested more than 28 deep"),
    ],
)
def test_something_else_is_refused(data: bytes, said: str) -> None:
    with pytest.raises(InputError, match=said):
        read_bundle(data, "j")
