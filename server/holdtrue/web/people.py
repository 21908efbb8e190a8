"""Leads invite leads: one-time links, shown once."""

from __future__ import annotations

from flask import Blueprint, Response, request, session, url_for

from holdtrue.domain.errors import InputError
from holdtrue.service import accounts
from holdtrue.web import htmx
from holdtrue.web.context import actor, page, public_address, services
from holdtrue.web.security import ends_sign_ins, require_lead

blueprint = Blueprint("people", __name__, url_prefix="/people")


@blueprint.get("")
@require_lead
def index() -> Response:
    return _page()


def _page(
    status: int = 200,
    *,
    error: InputError | None = None,
    link: str | None = None,
    note: str = "",
    is_alone: bool = False,
) -> Response:
    house = accounts.house(services())
    links = house.open_links(services().now())
    return page(
        "people/index.html",
        status,
        leads=house.present_leads,
        links=links,
        names={lead.person: lead.name for lead in house.leads.values()},
        me=actor().person,
        error=error,
        new_link=link,
        note=note,
        is_alone=is_alone,
    )


@blueprint.post("/invite")
@require_lead
def invite() -> Response:
    note = request.form.get("note", "")
    try:
        token = accounts.invite_lead(services(), actor(), note=note, key=_key())
    except InputError as error:
        return _page(422, error=error, note=note)
    return _page(link=_address(token))


@blueprint.post("/own-link")
@require_lead
def own_link() -> Response:
    """A link that signs the same lead in on another device."""
    return _page(link=_address(accounts.issue_own_link(services(), actor(), key=_key())))


@blueprint.post("/sign-out-others")
@require_lead
@ends_sign_ins
def sign_out_others() -> Response:
    """End the lead's sign-ins on every other device; this one stays."""
    lead = accounts.sign_out_everywhere(services(), actor(), key=_key())
    session["round"] = lead.round
    return _page(is_alone=True)


@blueprint.post("/withdraw")
@require_lead
def withdraw() -> Response:
    accounts.withdraw_link(services(), actor(), link=request.form.get("link", ""), key=_key())
    return htmx.go_to(url_for("people.index"))


@blueprint.post("/remove")
@require_lead
def remove() -> Response:
    accounts.remove_lead(services(), actor(), person=request.form.get("person", ""), key=_key())
    return htmx.go_to(url_for("people.index"))


def _key() -> str:
    return request.form.get("key", "")


def _address(token: str) -> str:
    return public_address() + url_for("signin.show_link", token=token)
