"""The phone's modules of static/js in a real page, without a server."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from playwright.sync_api import Browser, Page, Route

from holdtrue.staticfiles import static_folder

ADDRESS = "http://holdtrue.test/"


@contextmanager
def open_modules(browser: Browser) -> Iterator[Page]:
    """An empty page that can import /static/js/...; anything it throws by itself fails the test."""
    context = browser.new_context()
    page = context.new_page()
    thrown: list[str] = []
    page.on("pageerror", lambda error: thrown.append(str(error)))
    page.route("**/*", _answer)
    page.goto(ADDRESS)
    yield page
    context.close()
    assert thrown == []


def _answer(route: Route) -> None:
    path = route.request.url.removeprefix(ADDRESS)
    if not path.startswith("static/"):
        route.fulfill(content_type="text/html", body="<!doctype html><title>modules</title>")
        return
    file = static_folder() / path.removeprefix("static/")
    if file.is_file():
        route.fulfill(content_type="text/javascript; charset=utf-8", body=file.read_bytes())
    else:
        route.fulfill(status=404, body="not there")
