"""A job with its whole log as one document, ``holdtrue.bundle/1``, and its reading back.

Nothing is left out and nothing made anew: entries keep their keys, people, times and order, so a
bundle brought into another store folds to the same job. The checksum finds a damaged file; whoever
wants to deceive can make a new one.
"""

from __future__ import annotations

import binascii
import hashlib
import json
import re
from base64 import b64decode, b64encode
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from holdtrue.domain import events, tokens
from holdtrue.domain.checklist import checklist
from holdtrue.domain.errors import InputError, UnreadableEntryError, shown_key
from holdtrue.domain.fold import fold, undone_seqs
from holdtrue.domain.logexport import log_document
from holdtrue.domain.plainjson import MAX_DEPTH, at_place, read_json
from holdtrue.domain.review import bars_to_accepting, photos
from holdtrue.domain.state import Recorded
from holdtrue.domain.timeline import timeline

FORMAT = "holdtrue.bundle/1"
_KEYS = ("format", "job", "people", "entries", "blobs", "sha256")
_ENTRY_KEYS = ("seq", "key", "type", "body", "who", "received", "tapped")
_KEY = re.compile(r"[!-~]{1,200}")
_MAX_DEPTH = MAX_DEPTH + 8
"""A bundle holds job documents a few levels down."""
MAX_BYTES = 1024 * 1024 * 1024
"""Over ninety photos as large as they may be, written as text."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BundleEntry:
    """An entry as a bundle holds it."""

    seq: int
    key: str
    type: str
    body: Mapping[str, Any]
    who: str
    received: str
    tapped: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Bundle:
    job_id: str
    entries: tuple[BundleEntry, ...]
    blobs: Mapping[str, bytes]


def photo_digests(entries: Sequence[Recorded]) -> tuple[str, ...]:
    """The blobs a job's entries speak of, each once."""
    return tuple(dict.fromkeys(photo.digest for photo in photos(entries)))


def bundle_document(
    job_id: str,
    entries: Sequence[Recorded],
    blobs: Mapping[str, bytes],
    names: Mapping[str, str],
) -> dict[str, Any]:
    """The bundle as plain JSON; ``names`` says who the ids of its entries are, for people."""
    there = {entry.who for entry in entries}
    content = {
        "format": FORMAT,
        "job": job_id,
        "people": {person: name for person, name in sorted(names.items()) if person in there},
        "entries": [{key: getattr(entry, key) for key in _ENTRY_KEYS} for entry in entries],
        "blobs": {digest: b64encode(data).decode("ascii") for digest, data in blobs.items()},
    }
    # bodies may be read-only views of the store: through JSON they become plain values
    plain: dict[str, Any] = json.loads(json.dumps(content, allow_nan=False))
    return plain | {"sha256": checksum(plain)}


def checksum(content: Mapping[str, Any]) -> str:
    """SHA-256 over the content without its checksum, keys sorted, so that layout does not count."""
    rest = {key: value for key, value in content.items() if key != "sha256"}
    text = json.dumps(rest, sort_keys=True, separators=(",", ":"), allow_nan=False)
    return hashlib.sha256(text.encode("ascii")).hexdigest()


def read_bundle(data: bytes, name: str) -> Bundle:
    """The bundle in a file; InputError names what is wrong with it, and where."""
    document = read_json(data, name, most_bytes=MAX_BYTES, deepest=_MAX_DEPTH)
    not_one = f'is not a bundle: its format must be "{FORMAT}"'
    if not isinstance(document, dict):
        raise InputError(name, document, not_one)
    if document.get("format") != FORMAT:
        raise InputError(at_place(name, "format"), document.get("format"), not_one)
    for key in _KEYS:
        if key not in document:
            raise _damaged(name, key, None, "is missing")
    if document["sha256"] != checksum(document):
        raise _damaged(name, "sha256", document["sha256"], "this checksum does not fit the rest")
    job_id = document["job"]
    if not isinstance(job_id, str) or tokens.normalise(job_id, tokens.CODE_LENGTH) != job_id:
        raise _damaged(name, "job", job_id, "is not the id of a job")
    entries = _entries(document["entries"], name)
    blobs = _blobs(document["blobs"], name)
    missing = [digest for digest in _digests_of_job(entries, name) if digest not in blobs]
    if missing:
        raise _damaged(name, f"blobs.{missing[0]}", None, "this photo is missing")
    return Bundle(job_id=job_id, entries=entries, blobs=blobs)


def _damaged(name: str, place: str, value: object, why: str) -> InputError:
    return InputError(
        at_place(name, place), value, f"{why}: the file is damaged, export the job again"
    )


def _entries(listed: object, name: str) -> tuple[BundleEntry, ...]:
    if not isinstance(listed, list) or not listed:
        raise _damaged(name, "entries", listed, "must be a list of entries")
    return tuple(_entry(item, at, name) for at, item in enumerate(listed))


def _entry(item: object, at: int, name: str) -> BundleEntry:
    place = f"entries[{at}]"
    if not isinstance(item, dict) or set(item) != set(_ENTRY_KEYS):
        raise _damaged(name, place, item, f"must have {', '.join(_ENTRY_KEYS)} and nothing else")
    for key, (is_right, why) in _ENTRY_RULES.items():
        if not is_right(item[key]):
            raise _damaged(name, f"{place}.{key}", item[key], why)
    if item["seq"] != at + 1:
        raise _damaged(name, f"{place}.seq", item["seq"], f"must be {at + 1}")
    if item["type"] not in events.EVENTS:
        raise InputError(
            at_place(name, f"{place}.type"),
            item["type"],
            "is not an event this version knows; use a newer holdtrue",
        )
    return BundleEntry(**item)


def _is_text(value: object) -> bool:
    return isinstance(value, str)


def _is_moment(value: object) -> bool:
    try:
        return isinstance(value, str) and datetime.fromisoformat(value).tzinfo is not None
    except ValueError:
        return False


_ENTRY_RULES: dict[str, tuple[Callable[[object], bool], str]] = {
    "seq": (lambda value: type(value) is int, "must be the entry's number"),
    "key": (
        lambda value: isinstance(value, str) and _KEY.fullmatch(value) is not None,
        "must be a key of 1 to 200 characters",
    ),
    "type": (_is_text, "must name the event"),
    "body": (lambda value: isinstance(value, dict), "must be an object {...}"),
    "who": (_is_text, "must be a person's id"),
    "received": (_is_moment, "must be a time with its zone"),
    "tapped": (lambda value: value is None or _is_text(value), "must be a time, or null"),
}


def _blobs(listed: object, name: str) -> dict[str, bytes]:
    if not isinstance(listed, dict):
        raise _damaged(name, "blobs", listed, "must be an object {...}")
    found = {}
    for digest, text in listed.items():
        place = f"blobs.{shown_key(digest)}"
        try:
            data = b64decode(text, validate=True)
        except (binascii.Error, ValueError, TypeError) as error:
            raise _damaged(name, place, text, "this photo does not read") from error
        if hashlib.sha256(data).hexdigest() != digest:
            raise _damaged(name, place, text, "this photo is not what it was")
        found[digest] = data
    return found


def _digests_of_job(entries: Sequence[BundleEntry], name: str) -> tuple[str, ...]:
    """The photos of a log that folds; one that does not would lock the job for ever.

    One whose tasks, log file or timeline cannot be made would show error pages for ever.
    """
    seen: set[str] = set()
    for at, entry in enumerate(entries):
        if entry.key in seen:
            raise _damaged(name, f"entries[{at}].key", entry.key, "this key stands twice")
        seen.add(entry.key)
    try:
        for at, entry in enumerate(entries):
            for of in undone_seqs([entry]):
                if not 1 < of < entry.seq:
                    raise _damaged(name, f"entries[{at}].body.of", of, "no such entry to take back")
        state = fold(entries)
        checklist(state)
        log_document(entries, state, {})
        timeline(entries, {}, state.job.unit)
        bars_to_accepting(state)
        return photo_digests(entries)
    except UnreadableEntryError as error:
        raise _damaged(
            name, f"entries[{error.seq - 1}].body", None, f"makes no job ({error.why})"
        ) from error
    except InputError:
        raise
    except (AttributeError, LookupError, TypeError, ValueError) as error:
        raise _damaged(name, "entries", None, f"make no job ({error})") from error
