"""An installer joins one job with the lead's code."""

from __future__ import annotations

from typing import cast

from flask import Blueprint, Response, abort, current_app, request, session, url_for

from holdtrue.domain.errors import InputError
from holdtrue.service import accounts, installers
from holdtrue.service.services import Actor
from holdtrue.web import htmx
from holdtrue.web.context import page, services
from holdtrue.web.limits import Brake
from holdtrue.web.security import anyone, sign_in, signs_in
from holdtrue.web.settings import HANDS, UNITS, choice, our_path

blueprint = Blueprint("join", __name__)


@blueprint.get("/join")
@anyone
def show() -> Response:
    """The form; ``?code=`` fills it in, ``?back=`` says which page the sign-in ended on.

    Whether the code is right shows only on sending it.
    """
    typed = {"code": request.args.get("code", ""), "back": request.args.get("back", "")}
    return _form(typed)


@blueprint.get("/J/<code>")
@blueprint.get("/j/<code>")
@anyone
def follow(code: str) -> Response:
    """The address in the QR code: short, and in capitals, which make the code coarser."""
    return _form({"code": code})


def _form(typed: dict[str, str], error: InputError | None = None) -> Response:
    status = 200 if error is None else 422
    errors = {} if error is None else {error.path: error.remedy}
    back = our_path(typed.get("back", ""))
    return page(
        "signin/join.html",
        status,
        typed=typed,
        errors=errors,
        units=UNITS,
        hands=HANDS,
        back=back,
    )


@blueprint.post("/join")
@anyone
@signs_in
def join() -> Response:
    brake = cast(Brake, current_app.extensions["holdtrue-brake"])
    address = request.remote_addr or "unknown"
    if brake.is_on(address):
        abort(429, "Too many wrong codes from here. Wait ten minutes, then try again.")
    typed = {name: request.form.get(name, "") for name in ("code", "name", "unit", "hand", "back")}
    try:
        joined = _joined(typed)
    except InputError as error:
        if error.path == "code":
            brake.count_failure(address)
        return _form(typed, error)
    sign_in(person=joined.person, job=joined.job or "")
    session.update(unit=typed["unit"], hand=typed["hand"])
    return htmx.go_to(_way_on(typed["back"], joined))


def _way_on(back: str, joined: Actor) -> str:
    """Back to the page of this very job; else to the first page."""
    own = url_for("phone.show", job_id=joined.job)
    path = our_path(back)
    return path if path == own or path.startswith(f"{own}/") else url_for("home.index")


def _joined(typed: dict[str, str]) -> Actor:
    return installers.join(
        services(),
        code=typed["code"],
        name=accounts.clean_name(typed["name"]),
        unit=choice("unit", UNITS),
        hand=choice("hand", HANDS),
        key=request.form.get("key", ""),
    )
