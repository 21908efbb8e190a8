"""Signing in by a lead's one-time link, and signing out."""

from __future__ import annotations

from flask import Blueprint, Response, request, session, url_for

from holdtrue.domain.errors import InputError
from holdtrue.service import accounts
from holdtrue.web import htmx
from holdtrue.web.context import page, services
from holdtrue.web.security import anyone, sign_in, signs_in

blueprint = Blueprint("signin", __name__)


@blueprint.get("/lead/<token>")
@anyone
def show_link(token: str) -> Response:
    """What the link offers. Looking uses nothing up: messengers fetch links to preview them."""
    link = accounts.open_link(services(), token)
    return page("signin/lead.html", token=token, link=link, name="", error=None)


@blueprint.post("/lead/<token>")
@anyone
@signs_in
def use_link(token: str) -> Response:
    name = request.form.get("name", "")
    key = request.form.get("key", "")
    try:
        lead = accounts.accept_link(services(), token, name=name, key=key)
    except InputError as error:
        link = accounts.open_link(services(), token)
        return page("signin/lead.html", 422, token=token, link=link, name=name, error=error)
    sign_in(person=lead.person, round=lead.round)
    return htmx.go_to(url_for("home.index"))


@blueprint.post("/sign-out")
@anyone
def sign_out() -> Response:
    """For anyone: signing out twice is no fault."""
    session.clear()
    return htmx.go_to(url_for("home.index"))
