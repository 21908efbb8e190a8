"""What every request passes: who may see it, where it comes from, and the headers of the answer.

Every view says who may call it by one of the marks below; the factory refuses to start with a view
that has none. Rules of this file:

- nobody signed in: a page leads to the sign-in; a form gets 401, never a redirect, because a queued
  entry that was followed to a page with status 200 would be taken for stored and dropped;
- an installer asks for another job: 404, as if it did not exist; for a lead's page: 403;
- an unsafe request carries the session's token and must not come from another site. One that comes
  from our own page with an old token (signed in again meanwhile) is given back to be sent again:
  nothing typed is lost.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from hmac import compare_digest
from typing import Any, Literal, TypeVar, cast
from urllib.parse import urlsplit

from flask import Flask, Response, current_app, g, redirect, request, session, url_for
from werkzeug.exceptions import BadHost, Forbidden, Unauthorized

from holdtrue.domain.errors import NotAllowedError
from holdtrue.service import accounts, jobs
from holdtrue.service.services import Actor
from holdtrue.web import acks
from holdtrue.web.context import page, services, viewer

Access = Literal["anyone", "signed-in", "lead", "member"]
View = TypeVar("View", bound=Callable[..., Any])

CSRF_FIELD = "csrf"
_MASKED = re.compile(r"[0-9a-f]{64}")
CSRF_HEADER = "X-CSRF"
SAFE_METHODS = frozenset({"GET", "HEAD", "OPTIONS"})
LARGEST_FORM = 1024 * 1024
"""Bytes of a request unless its view allows more (a photo)."""

POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self'",
        "connect-src 'self'",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
    )
)
HEADERS = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    # Not no-referrer: browsers then send "Origin: null" with our own forms.
    "Referrer-Policy": "same-origin",
    "Permissions-Policy": "geolocation=(), microphone=(), camera=()",
}
ON_HTTPS = {"Cross-Origin-Opener-Policy": "same-origin"}
"""On plain http browsers ignore it, and say so as an error on every page."""
MARK = "X-Holdtrue"
"""By it our own scripts tell our answers from a portal's: ``phone`` for a whole page of a job on
the phone, ``1`` for any other answer but a file."""


def _marked(view: View, access: Access) -> View:
    cast(Any, view).holdtrue_access = access
    return view


def anyone(view: View) -> View:
    """Answers without a sign-in: sign-in pages, health, the card."""
    return _marked(view, "anyone")


def require_signed_in(view: View) -> View:
    """For every lead and installer."""
    return _marked(view, "signed-in")


def require_lead(view: View) -> View:
    return _marked(view, "lead")


def require_job_member(view: View) -> View:
    """For leads and the job's own installers; the rule has ``<job_id>``."""
    return _marked(view, "member")


def signs_in(view: View) -> View:
    """A form that renews the session: its second tap carries the old token and is let through
    when the browser itself says that our own page sent it."""
    cast(Any, view).holdtrue_signs_in = True
    return view


def ends_sign_ins(view: View) -> View:
    """A form that ends the sign-in it was sent with: its second tap, or one after a lost answer,
    carries the old sign-in and is let through under the same key."""
    cast(Any, view).holdtrue_ends_sign_ins = True
    return view


def allow_body(limit: int, typed: int = LARGEST_FORM) -> Callable[[View], View]:
    """Let a view take a body of ``limit`` bytes (a photo, a job file), ``typed`` of them text."""

    def mark(view: View) -> View:
        cast(Any, view).holdtrue_limit = limit
        cast(Any, view).holdtrue_typed = typed
        return view

    return mark


def init_app(app: Flask) -> None:
    app.before_request(_refuse_odd_host)
    app.before_request(_limit_body)
    app.before_request(_check_access)
    app.before_request(_check_origin_and_token)
    app.after_request(_add_headers)


def check_every_view(app: Flask) -> None:
    """Refuse to start with a view that does not say who may call it."""
    views = app.view_functions.items()
    bare = [name for name, view in views if _access_of(view) is None and name != "static"]
    if bare:
        raise RuntimeError(f"views without a guard: {', '.join(sorted(bare))}")


def _access_of(view: object) -> Access | None:
    return getattr(view, "holdtrue_access", None)


def _view() -> object | None:
    """The view about to run; None for the static files and for what does not exist."""
    if request.endpoint is None or request.endpoint == "static":
        return None
    return current_app.view_functions[request.endpoint]


def _refuse_odd_host() -> Response | None:
    """Every address on our pages is made from the host asked for; without one there is no page."""
    if request.host and not isinstance(request.routing_exception, BadHost):
        return None
    text = "This address names no host. Type the address that the server printed.\n"
    return Response(text, 400, mimetype="text/plain")


def _limit_body() -> None:
    request.max_content_length = getattr(_view(), "holdtrue_limit", LARGEST_FORM)
    request.max_form_memory_size = getattr(_view(), "holdtrue_typed", LARGEST_FORM)


def _check_access() -> Response | None:
    access = _access_of(_view())
    if access is None or access == "anyone":
        return None
    who = viewer() or _signed_in_until_now()
    if who is None:
        return _ask_to_sign_in()
    if access == "lead" and not who.is_lead:
        raise NotAllowedError("This page is for the lead. Ask the lead of your job.")
    if access == "member":
        jobs.require_member(who, str((request.view_args or {})["job_id"]))
    return None


def _signed_in_until_now() -> Actor | None:
    """Who ended their own sign-ins with this very form."""
    if not hasattr(_view(), "holdtrue_ends_sign_ins"):
        return None
    person, before = session.get("person", ""), session.get("round", 0)
    now = accounts.round_after(services(), person, before, key=request.form.get("key", ""))
    if now is None:
        return None
    session["round"] = now
    g.pop("viewer", None)
    return viewer()


def _ask_to_sign_in() -> Response:
    if acks.is_wanted():
        return acks.failed(401, "Sign in again: nothing is lost, and nothing was sent.")
    if request.method in SAFE_METHODS:
        return cast(Response, redirect(url_for("home.index"), code=303))
    if comes_from_us():
        return _send_again(401)
    raise Unauthorized("Sign in first. Nothing was saved.")


def _check_origin_and_token() -> Response | None:
    if request.method in SAFE_METHODS or _view() is None:
        return None
    if comes_from_elsewhere():
        raise Forbidden("This form was sent by another site. Nothing was saved.")
    sent = request.form.get(CSRF_FIELD) or request.headers.get(CSRF_HEADER, "")
    kept = session.get("csrf", "")
    if kept and compare_digest(_unmasked(sent).encode(), kept.encode()):
        return None
    if acks.is_wanted() and comes_from_us():
        # the page is older than the sign-in: the outbox sends it again with this token
        return acks.failed(401, "This page's token is old.", csrf=csrf_token())
    if comes_from_us():
        return None if hasattr(_view(), "holdtrue_signs_in") else _send_again(403)
    raise Forbidden("This form is too old. Go back, reload the page and send it again.")


def _send_again(status: int) -> Response:
    """The form given back with a fresh token: our own page sent it, so it is safe to offer.

    Files cannot be given back by a server; the page says so.
    """
    fields = [(name, text) for name, text in request.form.items(multi=True) if name != CSRF_FIELD]
    return page(
        "errors/send_again.html",
        status,
        fields=fields,
        has_files=bool(request.files),
        is_signed_in=viewer() is not None,
        action=request.full_path.rstrip("?"),
    )


def comes_from_elsewhere() -> bool:
    """Whether the browser says that another site sent this."""
    site = request.headers.get("Sec-Fetch-Site")
    if site is not None:
        return site not in ("same-origin", "none")
    origin = request.headers.get("Origin")
    return origin is not None and not _is_ours(origin)


def comes_from_us() -> bool:
    """Whether the browser says that our own page sent this (silence is no proof)."""
    site = request.headers.get("Sec-Fetch-Site")
    if site is not None:
        return site == "same-origin"
    origin = request.headers.get("Origin")
    return origin is not None and _is_ours(origin)


def _is_ours(origin: str) -> bool:
    public = services().public_url
    ours = {request.host, urlsplit(public).netloc if public else request.host}
    try:
        return urlsplit(origin).netloc in ours
    except ValueError:  # "http://[::1": no address at all
        return False


def csrf_token() -> str:
    """The session's token, made when the first form is shown; bound to the session, not to time.

    Every page shows it under another mask: pages go out compressed, and a text that stays the same
    could be guessed from how well what an attacker makes the page repeat is compressed with it.
    """
    if "csrf" not in session:
        session["csrf"] = services().ids.key()
    mask = services().ids.key()
    return mask + _xor(mask, cast(str, session["csrf"]))


def _unmasked(sent: str) -> str:
    """The token under its mask; "" for what is none."""
    half = len(sent) // 2
    return _xor(sent[:half], sent[half:]) if _MASKED.fullmatch(sent) else ""


def _xor(one: str, other: str) -> str:
    return f"{int(one, 16) ^ int(other, 16):0{len(one)}x}"


def sign_in(**who: str | int) -> None:
    """A new session for ``who``; the look of the screen is kept, everything else is not."""
    look = session.get("look")
    session.clear()
    session.permanent = True
    session.update(who)
    session["csrf"] = services().ids.key()
    if look:
        session["look"] = look


def _is_https() -> bool:
    """Behind a proxy the request itself is plain; then the public address tells."""
    return request.is_secure or (services().public_url or "").startswith("https:")


def _add_headers(response: Response) -> Response:
    for name, value in {**HEADERS, **(ON_HTTPS if _is_https() else {})}.items():
        response.headers.setdefault(name, value)
    if request.endpoint != "static":
        response.headers.setdefault("Cache-Control", "no-store")
    if request.endpoint not in ("static", "assets.show"):
        response.headers.setdefault(MARK, "1")
    return response
