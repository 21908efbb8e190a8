"""Whatever goes wrong, a page says so and nothing of ours leaks out."""

from __future__ import annotations

import dataclasses
import logging
from collections.abc import Callable
from typing import NoReturn

import pytest
from flask import Flask, abort

from holdtrue import create_app
from holdtrue.core.errors import CoreError
from holdtrue.domain.errors import AppError, ConflictError, InputError, NotFoundError
from holdtrue.service.services import Services
from holdtrue.store.port import (
    KeyReusedError,
    StoreBrokenError,
    StreamMovedError,
    UnfitEntryError,
)
from holdtrue.web.security import anyone
from tests.web.conftest import Visitor


def raising(error: Exception) -> Callable[[], NoReturn]:
    @anyone
    def view() -> NoReturn:
        raise error

    return view


@pytest.mark.parametrize(
    ("error", "status", "says"),
    [
        (InputError("panels[0].width", "x", "type a length"), 422, "panels[0].width: x: type a"),
        (ConflictError("Somebody was quicker."), 409, "Somebody was quicker."),
        (NotFoundError("No such job."), 404, "No such job."),
        (AppError("odd"), 500, "odd"),
        (CoreError("length", "x", "type a length"), 422, "type a length"),
        (KeyReusedError("key abc"), 422, "sent before"),
        (StreamMovedError("job-X"), 503, "Nothing was saved"),
        (UnfitEntryError("entry.body.x: not plain JSON"), 422, "cannot be kept as it is"),
        (StoreBrokenError("/srv/data/job-X: disk full"), 503, "Tell the lead"),
        (ZeroDivisionError("secret thing"), 500, "A fault of ours"),
    ],
)
def test_every_error_has_its_page(
    services: Services, error: Exception, status: int, says: str, caplog: pytest.LogCaptureFixture
) -> None:
    app = create_app(services)
    app.add_url_rule("/wrong", view_func=raising(error))
    with caplog.at_level(logging.CRITICAL + 1):
        page = app.test_client().get("/wrong")
        fragment = app.test_client().get("/wrong", headers={"HX-Request": "true"})

    assert page.status_code == fragment.status_code == status
    assert says in page.text
    assert "<html" in page.text
    assert "<html" not in fragment.text
    for leak in ("Traceback", "secret thing", "/srv/data", "key abc"):
        assert leak not in page.text + fragment.text


def test_a_page_that_is_none_is_not_found(stranger: Visitor) -> None:
    answer = stranger.get("/nowhere")

    assert answer.status_code == 404
    assert "Not found" in answer.text


def test_a_wrong_method_says_which_are_right(stranger: Visitor) -> None:
    answer = stranger.client.open("/health", method="DELETE")

    assert answer.status_code == 405
    assert "GET" in answer.headers["Allow"]


@pytest.mark.parametrize("host", ["", "." * 300, 'x"><b>', "a b", "x" * 64 + ".example"])
def test_a_host_that_is_none_is_answered_in_plain_words(stranger: Visitor, host: str) -> None:
    answer = stranger.get("/join", headers={"Host": host})

    assert answer.status_code == 400
    assert answer.content_type.startswith("text/plain")
    assert "names no host" in answer.text
    assert answer.headers["X-Content-Type-Options"] == "nosniff"


@pytest.mark.parametrize("status", [400, 415, 418, 429])
def test_other_faults_of_the_request_have_a_page_too(app: Flask, status: int) -> None:
    @anyone
    def view() -> NoReturn:
        abort(status)

    app.add_url_rule("/odd", view_func=view)

    answer = app.test_client().get("/odd")
    assert answer.status_code == status
    assert "<h1>" in answer.text


def test_a_store_that_cannot_be_written_answers_503(lead: Visitor, services: Services) -> None:
    class FullDisk:
        def __getattr__(self, name: str) -> object:
            return getattr(services.store, name)

        def append(self, *_: object, **__: object) -> NoReturn:
            raise StoreBrokenError("disk full")

    full = dataclasses.replace(services, store=FullDisk())  # type: ignore[arg-type]
    broken = Visitor(create_app(full).test_client())
    cookie = lead.client.get_cookie("holdtrue")
    assert cookie
    broken.client.set_cookie("holdtrue", cookie.value)

    answer = broken.post("/jobs/demo", seen_at="/")

    assert answer.status_code == 503
    assert "Nothing was saved" in answer.text
