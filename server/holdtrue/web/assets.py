"""The phone's one script and one style sheet, made from their sources at start, and its worker.

Each has its content's hash in its address, so it is fetched once and never asked for again; it is
kept compressed, since a phone on a ladder has a slow network and the server has little to do.
"""

from __future__ import annotations

import gzip
import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from hashlib import sha256
from pathlib import Path

from flask import Blueprint, Response, abort, current_app, request, url_for

from holdtrue.web.scripts import joined
from holdtrue.web.security import anyone

blueprint = Blueprint("assets", __name__)

FOREVER = "public, max-age=31536000, immutable"
SCRIPT = "js/app/main.js"
LATER = "js/app/later.js"
"""What the first screen can do without: fetched as soon as that can be used."""
STYLES = ("css/holdtrue.css", "css/phone.css", "css/outbox.css")
_COMMENT = re.compile(r"/\*.*?\*/", re.DOTALL)


@dataclass(frozen=True, slots=True, kw_only=True)
class Asset:
    """One file as it is sent."""

    mimetype: str
    text: bytes
    packed: bytes
    version: str


def _asset(mimetype: str, text: str, version: str = "") -> Asset:
    data = text.encode()
    packed = gzip.compress(data, 9, mtime=0)
    return Asset(mimetype=mimetype, text=data, packed=packed, version=version or _hash(text))


def _hash(text: str) -> str:
    return sha256(text.encode()).hexdigest()[:12]


@cache
def _made(folder: Path, _stamp: tuple[int, ...]) -> dict[str, Asset]:
    first, later = joined(folder / SCRIPT, folder / LATER, name="phone.js")
    # the two name each other by address, so they have one version
    version = _hash(first + later)
    return {
        "phone.js": _asset("text/javascript", first, version),
        "later.js": _asset("text/javascript", later, version),
        "phone.css": _asset("text/css", style(folder / name for name in STYLES)),
    }


def style(files: Iterable[Path]) -> str:
    """Style sheets as one, without comments and idle space."""
    text = _COMMENT.sub("", "".join(file.read_text("utf-8") for file in files))
    # not beside ( ) + - *: in a calc() the space is part of the sum
    return re.sub(r"\s*([{};,>])\s*", r"\1", re.sub(r"\s+", " ", text)).strip()


def _assets() -> dict[str, Asset]:
    """Made once; again when a source was changed, so that a checkout shows what was written."""
    folder = Path(str(current_app.static_folder))
    sources = [*sorted((folder / "js").rglob("*.js")), *(folder / name for name in STYLES)]
    return _made(folder, tuple(source.stat().st_mtime_ns for source in sources))


def asset(name: str) -> str:
    """The address of an asset."""
    return url_for("assets.show", version=_assets()[name].version, name=name)


@blueprint.get("/assets/<version>/<name>")
@anyone
def show(version: str, name: str) -> Response:
    """The asset; another version than today's is given as it is today, but not for ever."""
    found = _assets().get(name)
    if found is None:
        abort(404)
    is_packed = request.accept_encodings.quality("gzip") > 0
    answer = Response(found.packed if is_packed else found.text, mimetype=found.mimetype)
    answer.headers["Cache-Control"] = FOREVER if version == found.version else "no-store"
    answer.vary.add("Accept-Encoding")
    if is_packed:
        answer.headers["Content-Encoding"] = "gzip"
    return answer


@blueprint.get("/sw.js")
@anyone
def worker() -> Response:
    """The service worker: at the root, because it reaches what lies below its own address."""
    answer = current_app.send_static_file("js/sw.js")
    answer.headers["Cache-Control"] = "no-cache"
    return answer
