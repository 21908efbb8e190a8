"""The application factory: services in, Flask out. Nothing here is global."""

from __future__ import annotations

from datetime import timedelta
from importlib import import_module
from typing import Any, NamedTuple

from flask import Flask, url_for

from holdtrue.service.services import Services
from holdtrue.staticfiles import static_folder
from holdtrue.web import compress, errors, htmx, phone_pack, security
from holdtrue.web.assets import asset
from holdtrue.web.context import EXTENSION, services, viewer
from holdtrue.web.limits import Brake
from holdtrue.web.sessions import Sessions
from holdtrue.web.settings import other_looks, preferences

TOPICS = (
    *("assets", "health", "home", "jobs", "join", "label", "now", "parked", "people", "phone"),
    *("plan", "review", "settings", "sheet", "signin"),
)
"""Modules of this package with a ``blueprint``; add a topic by adding its name.

A topic with a page of its own for each job also has ``JOB_LINK = ("Phone", "phone.show")``: what
the job's page calls it, and the endpoint, which takes ``job_id``.
"""


class JobLink(NamedTuple):
    text: str
    url: str


SESSION_DAYS = 90
"""A sign-in must outlast an installation; revoking ends it earlier."""
STATIC_SECONDS = 3600


def create_app(given: Services) -> Flask:
    app = Flask("holdtrue.web", static_folder=str(static_folder()), static_url_path="/static")
    app.config.from_mapping(_config(given))
    app.session_interface = Sessions()
    app.extensions[EXTENSION] = given
    app.extensions["holdtrue-brake"] = Brake(given.clock)
    app.extensions[phone_pack.EXTENSION] = phone_pack.Packs()
    compress.init_app(app)
    htmx.init_app(app)
    security.init_app(app)
    errors.init_app(app)
    modules = [import_module(f"holdtrue.web.{topic}") for topic in TOPICS]
    for module in modules:
        app.register_blueprint(module.blueprint)
    links = [module.JOB_LINK for module in modules if hasattr(module, "JOB_LINK")]
    app.context_processor(lambda: _for_templates(links))
    app.jinja_env.trim_blocks = app.jinja_env.lstrip_blocks = True
    security.check_every_view(app)
    return app


def _config(given: Services) -> dict[str, Any]:
    public = given.public_url or ""
    return {
        "SECRET_KEY": given.secret,
        "SESSION_COOKIE_NAME": "holdtrue",
        "SESSION_COOKIE_HTTPONLY": True,
        "SESSION_COOKIE_SAMESITE": "Lax",
        "SESSION_COOKIE_SECURE": public.startswith("https:"),
        "SESSION_REFRESH_EACH_REQUEST": False,
        "PERMANENT_SESSION_LIFETIME": timedelta(days=SESSION_DAYS),
        "MAX_CONTENT_LENGTH": security.LARGEST_FORM,
        "MAX_FORM_MEMORY_SIZE": security.LARGEST_FORM,
        "SEND_FILE_MAX_AGE_DEFAULT": STATIC_SECONDS,
    }


def _for_templates(links: list[tuple[str, str]]) -> dict[str, Any]:
    """What every template may use; functions, so that nothing is looked up in vain."""
    return {
        "job_links": lambda job_id: [
            JobLink(text, url_for(endpoint, job_id=job_id)) for text, endpoint in links
        ],
        "asset": asset,
        "viewer": viewer,
        "preferences": preferences,
        "other_looks": other_looks,
        "csrf_token": security.csrf_token,
        "form_key": services().ids.key,
    }
