"""A bundle holds everything, and a damaged one is refused with what is wrong with it."""

from __future__ import annotations

import json
from base64 import b64encode
from collections.abc import Callable
from typing import Any

import pytest

from holdtrue.domain.bundle import FORMAT, bundle_document, checksum, read_bundle
from holdtrue.domain.errors import InputError
from holdtrue.service import jobs
from tests import walking
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


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (_drop("entries"), "entries is missing"),
        (_job("../etc"), "job is not the id of a job"),
        (_job(7), "job is not the id of a job"),
        (_entries([]), "it has no entries"),
        (_entries([1]), "entry 1 does not have"),
        (_first(seq=2), "entry 1 is numbered 2"),
        (_first(seq=True), "entry 1 is numbered True"),
        (_first(who=None), "entry 1 is not made of texts and a body"),
        (_first(body=[]), "entry 1 is not made of texts and a body"),
        (_first(tapped=5), "entry 1 was tapped at no time"),
        (_first(received="today"), "entry 1 was received at no time"),
        (_first(received="2026-03-02T08:00:00"), "entry 1 was received at no time"),
        (_first(seq=1.0), "entry 1 is numbered 1.0"),
        (_first(key=""), "entry 1 is not made of texts and a body"),
        (_first(key="k" * 201), "entry 1 is not made of texts and a body"),
        (_first(who="\ud800"), "half a character"),
        (_first(body={"document": 10**30}), "no ordinary size"),
        (_first(body={}), "its entries do not make a job"),
        (_first(body={"document": {"format": "x"}}), "its entries do not make a job"),
        (_first(type="Painted"), "is not an event this version knows"),
        (_blobs([]), "blobs is not an object"),
        (_blobs({}), "is missing"),
        (_blobs({"a" * 64: "!!"}), "the photo aaaaaaaaaaaa does not read"),
        (_blobs({"a" * 64: 5}), "the photo aaaaaaaaaaaa does not read"),
        (_blobs({"a" * 64: b64encode(b"x").decode()}), "the photo aaaaaaaaaaaa is not what it was"),
    ],
)
def test_what_is_wrong_is_named_even_under_a_checksum_that_fits(change: Change, said: str) -> None:
    content = document()
    change(content)
    with pytest.raises(InputError, match=said):
        read_bundle(resealed(content), "j.json")


@pytest.mark.parametrize("of", [0, 1, 10_000])
def test_taking_back_what_is_not_there_is_refused(of: int) -> None:
    content = document()
    content["entries"][-1].update(type="EntryUndone", body={"of": of, "why": ""})
    with pytest.raises(InputError, match="takes back an entry that is not there"):
        read_bundle(resealed(content), "j.json")


def test_a_log_that_folds_but_cannot_be_shown_is_refused() -> None:
    content = document()
    for entry in content["entries"]:
        if entry["type"] == "TaskRecorded":
            entry["body"]["planned"] = None
    with pytest.raises(InputError, match="do not make a job"):
        read_bundle(resealed(content), "j.json")


@pytest.mark.parametrize(
    ("kind", "body"),
    [
        ("EntryUndone", {}),
        ("EntryUndone", {"of": "x"}),
        ("TaskRecorded", {"values": []}),
        ("TaskRecorded", {"values": {"photo": {}}}),
    ],
)
def test_a_last_entry_that_cannot_be_taken_is_refused(kind: str, body: dict[str, Any]) -> None:
    content = document()
    content["entries"][-1].update(type=kind, body=body)
    with pytest.raises(InputError, match="do not make a job"):
        read_bundle(resealed(content), "j.json")


def test_a_key_used_twice_is_refused() -> None:
    content = document()
    content["entries"][1]["key"] = content["entries"][0]["key"]
    with pytest.raises(InputError, match="a key stands twice"):
        read_bundle(resealed(content), "j.json")


def test_one_changed_letter_is_found() -> None:
    content = document()
    content["entries"][-1]["who"] = "SOMEBODY"
    with pytest.raises(InputError, match="its checksum does not fit"):
        read_bundle(written(content), "j.json")


@pytest.mark.parametrize("cut", [1, 100, 5000])
def test_a_cut_file_is_found(cut: int) -> None:
    with pytest.raises(InputError, match="it is not JSON"):
        read_bundle(written(document())[:-cut], "j.json")


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "it is not JSON"),
        (b"\xff\xfe", "it is not JSON"),
        (b"[]", "is not a bundle"),
        (b'{"format": "holdtrue.job/1"}', "is not a bundle"),
        (b'{"format": NaN}', "is not a number of a bundle"),
        (b"[" * 200_000, "it is not JSON"),
        (b"[" * 60 + b"]" * 60, "nested too deep"),
    ],
)
def test_something_else_is_refused(data: bytes, said: str) -> None:
    with pytest.raises(InputError, match=said):
        read_bundle(data, "j.json")
