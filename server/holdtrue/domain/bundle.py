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
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, NoReturn

from holdtrue.domain import events, tokens
from holdtrue.domain.checklist import checklist
from holdtrue.domain.errors import InputError, UnreadableEntryError
from holdtrue.domain.fold import fold, undone_seqs
from holdtrue.domain.logexport import log_document
from holdtrue.domain.plainjson import MAX_DEPTH
from holdtrue.domain.review import bars_to_accepting, photos
from holdtrue.domain.state import Recorded
from holdtrue.domain.timeline import timeline

FORMAT = "holdtrue.bundle/1"
_KEYS = ("format", "job", "people", "entries", "blobs", "sha256")
_ENTRY_KEYS = ("seq", "key", "type", "body", "who", "received", "tapped")
_KEY = re.compile(r"[!-~]{1,200}")
_MAX_INT = 2**63 - 1
"""Whole numbers beyond this are kept by no store."""


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
    """The bundle in a file; InputError names what is wrong with it."""
    document = _parsed(data, name)
    if not isinstance(document, dict) or document.get("format") != FORMAT:
        raise InputError(name, None, f'is not a bundle: its format must be "{FORMAT}"')
    for key in _KEYS:
        if key not in document:
            raise _damaged(name, f"{key} is missing")
    if document["sha256"] != checksum(document):
        raise _damaged(name, "its checksum does not fit")
    job_id = document["job"]
    if not isinstance(job_id, str) or tokens.normalise(job_id, tokens.CODE_LENGTH) != job_id:
        raise _damaged(name, "job is not the id of a job")
    entries = _entries(document["entries"], name)
    blobs = _blobs(document["blobs"], name)
    missing = [digest for digest in _digests_of_job(entries, name) if digest not in blobs]
    if missing:
        raise _damaged(name, f"the photo {missing[0][:12]} is missing")
    return Bundle(job_id=job_id, entries=entries, blobs=blobs)


def _damaged(name: str, why: str) -> InputError:
    return InputError(name, None, f"is damaged ({why}); export the job again")


def _parsed(data: bytes, name: str) -> object:
    def constant(word: str) -> NoReturn:
        raise InputError(name, word, "is not a number of a bundle")

    try:
        value: object = json.loads(data.decode("utf-8-sig"), parse_constant=constant)
    except (UnicodeDecodeError, json.JSONDecodeError, RecursionError) as error:
        raise _damaged(name, "it is not JSON") from error
    _check_plain(value, name)
    return value


def _check_plain(value: object, name: str) -> None:
    """Nothing that a store refuses: it would stop in the middle of bringing the entries in.

    A bundle holds job documents a few levels down; deeper than that is none of ours.
    """
    level = [value]
    for _ in range(MAX_DEPTH + 8):
        below: list[object] = []
        for item in level:
            if isinstance(item, dict):
                below += [*item.keys(), *item.values()]
            elif isinstance(item, list):
                below += item
            elif isinstance(item, int) and abs(item) > _MAX_INT:
                raise _damaged(name, "it holds a whole number of no ordinary size")
            elif isinstance(item, str) and any("\ud800" <= c <= "\udfff" for c in item):
                raise _damaged(name, "it holds half a character")
        level = below
    if level:
        raise _damaged(name, "it is nested too deep")


def _entries(listed: object, name: str) -> tuple[BundleEntry, ...]:
    if not isinstance(listed, list) or not listed:
        raise _damaged(name, "it has no entries")
    return tuple(_entry(item, at, name) for at, item in enumerate(listed, start=1))


def _entry(item: object, at: int, name: str) -> BundleEntry:
    if not isinstance(item, dict) or set(item) != set(_ENTRY_KEYS):
        raise _damaged(name, f"entry {at} does not have {', '.join(_ENTRY_KEYS)}")
    if type(item["seq"]) is not int or item["seq"] != at:
        raise _damaged(name, f"entry {at} is numbered {str(item['seq'])[:20]}")
    texts = [item[key] for key in ("key", "type", "who", "received")]
    is_text = all(isinstance(text, str) for text in texts) and _KEY.fullmatch(item["key"])
    if not is_text or not isinstance(item["body"], dict):
        raise _damaged(name, f"entry {at} is not made of texts and a body")
    if item["tapped"] is not None and not isinstance(item["tapped"], str):
        raise _damaged(name, f"entry {at} was tapped at no time")
    if not _is_moment(item["received"]):
        raise _damaged(name, f"entry {at} was received at no time")
    if item["type"] not in events.EVENTS:
        kind = item["type"][:40]
        raise InputError(name, kind, "is not an event this version knows; use a newer holdtrue")
    return BundleEntry(**item)


def _is_moment(text: str) -> bool:
    try:
        return datetime.fromisoformat(text).tzinfo is not None
    except ValueError:
        return False


def _blobs(listed: object, name: str) -> dict[str, bytes]:
    if not isinstance(listed, dict):
        raise _damaged(name, "blobs is not an object")
    found = {}
    for digest, text in listed.items():
        try:
            data = b64decode(text, validate=True)
        except (binascii.Error, ValueError, TypeError) as error:
            raise _damaged(name, f"the photo {digest[:12]} does not read") from error
        if hashlib.sha256(data).hexdigest() != digest:
            raise _damaged(name, f"the photo {digest[:12]} is not what it was")
        found[digest] = data
    return found


def _digests_of_job(entries: Sequence[BundleEntry], name: str) -> tuple[str, ...]:
    """The photos of a log that folds; one that does not would lock the job for ever.

    One whose tasks, log file or timeline cannot be made would show error pages for ever.
    """
    keys = [entry.key for entry in entries]
    if len(set(keys)) != len(keys):
        raise _damaged(name, "a key stands twice")
    try:
        if any(not 1 < of < entry.seq for entry in entries for of in undone_seqs([entry])):
            raise _damaged(name, "it takes back an entry that is not there")
        state = fold(entries)
        checklist(state)
        log_document(entries, state, {})
        timeline(entries, {}, state.job.unit)
        bars_to_accepting(state)
        return photo_digests(entries)
    except UnreadableEntryError as error:
        raise _damaged(name, f"its entries do not make a job: entry {error.seq}") from error
    except InputError:
        raise
    except (AttributeError, LookupError, TypeError, ValueError) as error:
        raise _damaged(name, "its entries do not make a job") from error
