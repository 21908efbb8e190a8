"""What a phone sent and the job refused is kept in the log, as typed, until the lead settles it.

Nothing is refused here that could be kept: texts are cut and cleaned rather than turned away,
because the phone has nowhere else to put them.
"""

from __future__ import annotations

import json
from hashlib import sha256
from typing import Any

from holdtrue.domain import events
from holdtrue.domain.errors import ConflictError, InputError
from holdtrue.domain.picture import Picture, read_picture
from holdtrue.domain.state import JobState
from holdtrue.service.jobs import Body, append, clean_text, require_lead, require_member
from holdtrue.service.services import Actor, Services
from holdtrue.service.tasks import PHOTO_LIMIT
from holdtrue.store.port import Entry

MOST_FIELDS = 200
LONGEST_NAME = 80
LONGEST_TEXT = 1000
NO_PICTURE = "application/octet-stream"
_NOT_KEPT = frozenset({"csrf", "key"})
"""The session's token is nobody's business later; the key was for the entry that was refused."""


def park(
    services: Services,
    actor: Actor,
    job_id: str,
    *,
    task: str,
    fields: str,
    words: str,
    key: str,
    tapped: str | None = None,
    photo: bytes | None = None,
) -> Entry:
    """Keep a refused entry: ``fields`` is the JSON text of its form, ``photo`` the bytes of one."""
    require_member(actor, job_id)
    asked: dict[str, Any] = {
        "task": _cut(task, LONGEST_NAME) or "an entry",
        "fields": _read_fields(fields),
        "words": _cut(words, LONGEST_TEXT),
    }
    picture = _picture(photo) if photo is not None else None
    if picture is not None:
        asked["photo"] = {"sha256": sha256(picture.data).hexdigest(), "type": picture.kind}

    def decide(_state: JobState) -> Body:
        if picture is not None:
            # on disk before the entry that names it
            services.store.put_blob(picture.data)
        return {}

    return append(
        services,
        actor,
        job_id,
        events.ENTRY_PARKED,
        key=key,
        asked=asked,
        decide=decide,
        tapped=tapped,
    )


def _picture(data: bytes) -> Picture:
    """A photo as it is kept. What is no picture may be what it was refused for: it is kept as a
    file, which no page shows."""
    if len(data) > PHOTO_LIMIT:
        most = f"at most {PHOTO_LIMIT // 1024 // 1024} MB"
        raise InputError("photo", f"{len(data) / 1e6:.1f} MB", f"is too large; {most}")
    try:
        return read_picture(data)
    except InputError:
        return Picture(data=data, kind=NO_PICTURE)


def _read_fields(text: str) -> dict[str, str]:
    try:
        read: Any = json.loads(text)
    except (ValueError, RecursionError):
        read = None
    if not isinstance(read, dict):
        return {"note": _cut(text, LONGEST_TEXT)}
    kept = [(name, value) for name, value in read.items() if name not in _NOT_KEPT]
    return {
        _cut(name, LONGEST_NAME): _cut(_as_text(value), LONGEST_TEXT)
        for name, value in kept[:MOST_FIELDS]
    }


def _as_text(value: Any) -> str:
    if isinstance(value, str):
        return value
    try:
        return json.dumps(value)
    except (ValueError, RecursionError):
        return "(nested too deep to be kept)"


def _cut(text: str, most: int) -> str:
    """Plain characters on one line, at most so many."""
    plain = "".join(c if c.isprintable() else " " for c in text[: 2 * most])
    read = " ".join(plain.split())
    return read if len(read) <= most else read[: most - 1] + "…"


def settle(services: Services, actor: Actor, job_id: str, *, of: int, note: str, key: str) -> Entry:
    """The lead has seen to a parked entry, in writing."""
    require_lead(actor)
    asked = {"of": of, "note": clean_text("note", note, required=True)}

    def decide(state: JobState) -> Body:
        if all(one.seq != of for one in state.open_parked):
            raise ConflictError("That entry is not waiting; it may have been settled meanwhile.")
        return {}

    return append(
        services, actor, job_id, events.PARKED_SETTLED, key=key, asked=asked, decide=decide
    )
