"""GET /: the sign-in page, the lead's job list, or the installer's way to their job."""

from __future__ import annotations

from flask import Blueprint, Response

from holdtrue.web.context import page, viewer
from holdtrue.web.security import anyone

blueprint = Blueprint("home", __name__)


@blueprint.get("/")
@anyone
def index() -> Response:
    who = viewer()
    if who is None:
        return page("home/sign_in.html")
    return page("home/jobs.html", jobs=[])
