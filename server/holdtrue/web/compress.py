"""Text goes out compressed, and the static files' addresses carry their content's hash.

A page of the phone holds the whole job; compressed it is a twentieth of that. Static files are
compressed once and kept; one asked for by its hash may be kept by the browser for ever, since
another content has another address. A compressed body and a plain one share an ETag that is weak,
as the standard asks of them: alike in meaning, not byte by byte (RFC 9110, section 8.8.1).
"""

from __future__ import annotations

import gzip
from functools import lru_cache
from hashlib import sha256
from pathlib import Path
from typing import Any

from flask import Flask, Response, current_app, request

TEXTS = frozenset(
    {
        *("text/html", "text/css", "text/javascript", "text/plain", "application/javascript"),
        *("application/json", "image/svg+xml", "application/manifest+json"),
    }
)
SMALLEST = 1024
"""Bytes below which compressing gains nothing worth a header."""
LEVEL = 9
"""The first page of a job of twelve seats: 750 bytes less than at 6, for two milliseconds."""
FOREVER = "public, max-age=31536000, immutable"
_MOST_KEPT = 64


def init_app(app: Flask) -> None:
    """Call before anything else that changes answers: what is added first sees them last."""
    app.after_request(_compress)
    app.url_defaults(_add_version)


def _compress(answer: Response) -> Response:
    is_static = request.endpoint == "static"
    if is_static and answer.status_code in (200, 304):
        _keep_for_ever(answer)
    if answer.mimetype not in TEXTS or answer.status_code in (204, 206, 304):
        return answer
    if "Content-Encoding" in answer.headers or request.method == "HEAD":
        return answer
    answer.vary.add("Accept-Encoding")
    body = _body(answer)
    if len(body) < SMALLEST or request.accept_encodings.quality("gzip") <= 0:
        return answer
    answer.set_data(_kept(body) if is_static else gzip.compress(body, LEVEL, mtime=0))
    answer.headers["Content-Encoding"] = "gzip"
    etag, _ = answer.get_etag()
    if etag is not None:
        answer.set_etag(etag, weak=True)
    return answer


def _body(answer: Response) -> bytes:
    """The whole body; the file it came from, if it did, is closed."""
    if not answer.direct_passthrough:
        return answer.get_data()
    answer.direct_passthrough = False
    body = answer.get_data()
    answer.close()
    return body


@lru_cache(maxsize=_MOST_KEPT)
def _kept(body: bytes) -> bytes:
    return gzip.compress(body, 9, mtime=0)


# -- addresses with a hash -------------------------------------------------------------------------


def _add_version(endpoint: str, values: dict[str, Any]) -> None:
    """``/static/css/holdtrue.css?v=...`` wherever an address of a static file is made."""
    if endpoint == "static" and "v" not in values:
        version = version_of(Path(str(current_app.static_folder)) / str(values["filename"]))
        if version:
            values["v"] = version


def version_of(file: Path) -> str:
    """The start of a file's hash; "" when there is no such file."""
    try:
        stamp = file.stat()
    except OSError:
        return ""  # the address then answers 404, which says more than an error here
    return _hashed(file, stamp.st_mtime_ns, stamp.st_size)


@lru_cache(maxsize=4 * _MOST_KEPT)
def _hashed(file: Path, _changed_ns: int, _size: int) -> str:
    return sha256(file.read_bytes()).hexdigest()[:12]


def _keep_for_ever(answer: Response) -> None:
    file = Path(str(current_app.static_folder)) / str((request.view_args or {})["filename"])
    if request.args.get("v") == version_of(file):
        answer.headers["Cache-Control"] = FOREVER
