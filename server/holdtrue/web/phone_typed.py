"""A form of the phone's pages as it was sent, read into what the commands take."""

from __future__ import annotations

import re
from collections.abc import Mapping

from flask import request

from holdtrue.service.meanwhile import read_shown
from holdtrue.service.tasks import Typed
from holdtrue.web.settings import UNITS

_TAPPED = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d{1,6})?(Z|[+-]\d\d:\d\d)", re.ASCII)


def read_typed(raw: Mapping[str, str], unit: str, *, is_sure: bool) -> Typed:
    """A task's form; bare numbers count in the unit the page was shown in, else in ``unit``."""
    return Typed(
        outcome=raw.get("outcome", ""),
        raw=raw,
        unit=read_in(raw, unit),
        seen=raw.get("seen"),
        is_sure=is_sure,
        is_paper=raw.get("paper") == "1",
        written=raw.get("written", ""),
        is_late=raw.get("late") == "1",
        shown=read_shown(raw),
        stands=raw.get("stands"),
        as_of=raw.get("as_of") or raw.get("sheet"),
        photo=photo_sent(),
    )


def photo_sent() -> bytes | None:
    """The photo's bytes; None when the form came without one."""
    photo = request.files.get("photo")
    if photo is None or not photo.filename:
        return None
    photo.stream.seek(0)  # it may have been read before
    data: bytes = photo.read()
    return data


def read_in(raw: Mapping[str, str], unit: str) -> str:
    """The unit of bare numbers: that of the page they were typed in, where it says so."""
    said = raw.get("read_in", "")
    return said if said in UNITS else unit


def tapped() -> str | None:
    """When the button was tapped, by the device's own clock; None when it does not say."""
    text = request.form.get("tapped", "")
    return text if _TAPPED.fullmatch(text) else None
