"""What views and templates reach for: the services, who is asking, the page or its fragment."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any, cast

from flask import Response, current_app, g, render_template, request, session

from holdtrue.domain.errors import InputError, NotFoundError
from holdtrue.domain.state import JobState
from holdtrue.service import jobs, members
from holdtrue.service.services import Actor, Services
from holdtrue.web import htmx

EXTENSION = "holdtrue"


def services() -> Services:
    return cast(Services, current_app.extensions[EXTENSION])


def viewer() -> Actor | None:
    """Who asks, looked up once a request: a removed lead or a revoked code is nobody."""
    if "viewer" not in g:
        g.viewer = members.actor(
            services(), session.get("person"), session.get("job"), session.get("round", 0)
        )
    return cast("Actor | None", g.viewer)


def actor() -> Actor:
    """Who asks, on a page that nobody reaches without signing in."""
    found = viewer()
    if found is None:
        raise NotFoundError("Sign in first.")
    return found


def fetch_job(job_id: str) -> JobState:
    """The job as its log says; 404 when there is none. Who may see it was checked before."""
    return jobs.state_of(services(), job_id)


def public_address() -> str:
    """Where people reach this server, without a closing slash: as told, else as asked."""
    return services().public_url or request.host_url.rstrip("/")


def whole_number(name: str) -> int:
    """A whole number a form carries in a hidden field."""
    text = request.form.get(name, "")
    if not (text.isascii() and text.isdigit() and len(text) <= 9):
        raise InputError(name, text, "reload the page and send the form again")
    return int(text)


def page(template: str, status: int = 200, **values: Any) -> Response:
    """A whole page."""
    return htmx.answer(render_template(template, **values), status)


def page_or_fragment(template: str, fragment: str, status: int = 200, **values: Any) -> Response:
    """The fragment alone when htmx asked for it, else the page (which includes the fragment)."""
    return page(fragment if htmx.wants_fragment() else template, status, **values)


def download_json(document: Mapping[str, Any], name: str) -> Response:
    """A JSON file to keep."""
    text = json.dumps(document, indent=2, ensure_ascii=False) + "\n"
    response = Response(text, mimetype="application/json")
    response.headers["Content-Disposition"] = f'attachment; filename="{name}"'
    return response
