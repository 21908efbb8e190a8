"""The look of the screen, the hand that holds it and the unit it reads in: kept in the session."""

from __future__ import annotations

import re
from dataclasses import dataclass

from flask import Blueprint, Response, request, session, url_for

from holdtrue.domain.errors import InputError
from holdtrue.web import htmx
from holdtrue.web.security import require_signed_in

blueprint = Blueprint("settings", __name__)

LOOKS = {"daylight": "Daylight", "dark": "Dark"}
HANDS = {"right": "Right hand", "left": "Left hand"}
_OUR_PATH = re.compile(r"(/[A-Za-z0-9._:-]+)+/?")
"""No second slash at the start, no backslash: browsers would leave the site for those."""
UNITS = {"in": "Inch fractions", "mm": "Millimetres", "cm": "Centimetres"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Preferences:
    look: str
    hand: str
    unit: str | None
    """None: the job's own unit."""


def preferences() -> Preferences:
    return Preferences(
        look=session.get("look", "daylight"),
        hand=session.get("hand", "right"),
        unit=session.get("unit"),
    )


def choice(name: str, allowed: dict[str, str]) -> str:
    """A choice sent by a form, checked against what it offered."""
    value = request.form.get(name, "")
    if value not in allowed:
        raise InputError(name, value, f"choose one of {', '.join(allowed)}")
    return value


@blueprint.post("/settings")
@require_signed_in
def change() -> Response:
    """Change whichever of look, hand and unit the form carries."""
    for name, allowed in (("look", LOOKS), ("hand", HANDS), ("unit", UNITS)):
        if name in request.form:
            session[name] = choice(name, allowed)
    return htmx.go_to(way_back())


def way_back() -> str:
    """The page the form was on: a path of ours, else the first page."""
    return our_path(request.form.get("back", "")) or url_for("home.index")


def our_path(text: str) -> str:
    """A path of ours as it stands; "" for anything else."""
    return text if _OUR_PATH.fullmatch(text) else ""


def other_looks() -> dict[str, str]:
    """The looks that could be changed to."""
    return {look: text for look, text in LOOKS.items() if look != preferences().look}
