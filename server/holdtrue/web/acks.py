"""Answers for a phone's outbox: short JSON, never a page.

The outbox drops an entry only for ``{"stored": seq}``. 401 keeps it until somebody signs in again;
``refused`` has it parked for the lead; everything else (429, 5xx, no answer) has it sent again
later.
"""

from __future__ import annotations

from flask import Response, jsonify, request

from holdtrue.domain.errors import InputError
from holdtrue.store.port import Entry

LATER = (401, 429)
"""Below 500, answers that say nothing about the entry itself."""


def is_wanted() -> bool:
    """Whether the outbox (or another program) asks, and not a browser's own form."""
    if request.headers.get("X-Outbox") == "1":
        return True
    kinds = request.accept_mimetypes
    return "application/json" in kinds.values() and "text/html" not in kinds.values()


def stored(entry: Entry, latest: int, photo_bytes: int | None = None) -> Response:
    """On disk, as entry ``entry.seq`` of a job that has ``latest`` entries now.

    ``photo_bytes``: how much arrived of the photo that is on the disk now; the outbox gives no
    photo away before.
    """
    photo = {} if photo_bytes is None else {"photo": photo_bytes}
    return jsonify(stored=entry.seq, seq=latest, **photo)


def failed(status: int, words: str, **more: str) -> Response:
    """Nothing was stored."""
    name = "error" if status in LATER or status >= 500 else "refused"
    response = jsonify({name: words, **more})
    response.status_code = status
    return response


def refused_input(error: InputError) -> Response:
    """Something typed cannot be used; ``field`` says which."""
    words = error.remedy[:1].upper() + error.remedy[1:]
    shown = f"“{error.value}”: " if isinstance(error.value, str) and error.value else ""
    return failed(error.status, (shown + words)[:1000], field=error.path)
