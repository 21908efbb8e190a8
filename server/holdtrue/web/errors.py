"""Every error a person can meet, shown once here: a page, a fragment or JSON, as was asked."""

from __future__ import annotations

from typing import NamedTuple

from flask import Flask, Response, current_app
from werkzeug.exceptions import HTTPException

from holdtrue.core.errors import CoreError
from holdtrue.domain.errors import AppError
from holdtrue.store.port import (
    KeyReusedError,
    StoreBrokenError,
    StreamMovedError,
    UnfitEntryError,
)
from holdtrue.web import acks
from holdtrue.web.context import page_or_fragment

RETRY = "Nothing was saved. Go back and try again."


class Said(NamedTuple):
    title: str
    text: str


SAYINGS = {
    400: Said("That could not be read", f"The request was damaged on its way. {RETRY}"),
    401: Said("Sign in first", "Nothing was saved."),
    403: Said("Not allowed", "This is not open to you."),
    404: Said("Not found", "There is nothing here, or it is not yours to see."),
    405: Said("Not found", "There is nothing here to send to or to read."),
    409: Said("Something changed meanwhile", RETRY),
    413: Said("Too large", "What was sent is larger than this place takes. Nothing was saved."),
    422: Said("That could not be used", RETRY),
    429: Said("Too many tries", "Wait ten minutes, then try again."),
    500: Said("A fault of ours", f"Something went wrong in holdtrue. {RETRY}"),
    503: Said("The store cannot be written", "Nothing was saved. Tell the lead at once."),
}


def init_app(app: Flask) -> None:
    app.register_error_handler(AppError, _app_error)
    app.register_error_handler(CoreError, _core_error)
    app.register_error_handler(KeyReusedError, _key_reused)
    app.register_error_handler(StreamMovedError, _stream_moved)
    app.register_error_handler(StoreBrokenError, _store_broken)
    app.register_error_handler(UnfitEntryError, _unfit)
    app.register_error_handler(HTTPException, _http_error)


def error_page(status: int, text: str | None = None) -> Response:
    """The error in words: a page, its fragment, or JSON for a phone's outbox."""
    said = SAYINGS.get(status, SAYINGS[500 if status >= 500 else 400])
    if acks.is_wanted():
        return acks.failed(status, text or said.text)
    return page_or_fragment(
        "errors/error.html",
        "errors/_error.html",
        status,
        title=said.title,
        text=text or said.text,
    )


def _app_error(error: AppError) -> Response:
    return error_page(error.status, str(error))


def _core_error(error: CoreError) -> Response:
    return error_page(422, str(error))


def _key_reused(_error: KeyReusedError) -> Response:
    return error_page(
        422, "This form was sent before with other contents; the first ones are kept. Reload it."
    )


def _stream_moved(_error: StreamMovedError) -> Response:
    # never 409, which a phone takes for a refusal and gives up sending
    return error_page(503, "Too many wrote at once. Nothing was saved; send it again in a moment.")


def _unfit(error: UnfitEntryError) -> Response:
    return error_page(422, f"This cannot be kept as it is: {error}. {RETRY}")


def _store_broken(error: StoreBrokenError) -> Response:
    # The message names files of this machine: for its log, not for the page.
    current_app.logger.error("store: %s", error)
    return error_page(503)


def _http_error(error: HTTPException) -> Response | HTTPException:
    """Pages for what Flask and Werkzeug raise; our own words where a view gave some."""
    if error.code is not None and error.code < 400:
        return error  # a redirect of the router's own
    status = error.code or 500
    has_own_words = status in (401, 403, 429) and error.description is not None
    answer = error_page(status, error.description if has_own_words else None)
    allowed = getattr(error, "valid_methods", None)
    if status == 405 and allowed:
        answer.headers["Allow"] = ", ".join(sorted(allowed))
    return answer
