"""The only module that knows htmx-flask (0.1.0): its request attribute, and what it gets wrong.

What is mended here, each with a test in ``tests/web/test_htmx.py``:

- a back-button reload and a boosted link carry HX-Request too: ``wants_fragment`` asks for both;
- no ``Vary`` is sent: the cache would give a fragment for a page (``add_vary``);
- its list of swap styles lost a comma, and refuses ``textContent`` and modifiers: we write the
  header ourselves, and HX-Reselect, which it does not know;
- a trigger that is text outside Latin-1 breaks the server: triggers are sent as ASCII JSON;
- ``init_app`` throws away a request class of the application's own: the two are joined;
- values sent URI-encoded are not decoded: ``prompt_text`` does.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any
from urllib.parse import unquote

from flask import Flask, Request, Response, make_response
from htmx_flask import Htmx
from htmx_flask import request as htmx_request

SWAPS = frozenset(
    {
        "innerHTML",
        "outerHTML",
        "textContent",
        "beforebegin",
        "afterbegin",
        "beforeend",
        "afterend",
        "delete",
        "none",
    }
)


def init_app(app: Flask) -> None:
    own = app.request_class
    Htmx(app)
    if own is not Request:
        app.request_class = type("HtmxRequest", (app.request_class, own), {})
    app.after_request(add_vary)


def add_vary(response: Response) -> Response:
    response.vary.add("HX-Request")
    return response


def wants_fragment() -> bool:
    """Whether the answer goes into a page that stands already, not into an empty window."""
    asked = htmx_request.htmx
    return bool(asked) and not asked.boosted and not asked.history_restore_request


def prompt_text() -> str | None:
    """What the person typed into an hx-prompt."""
    text = htmx_request.htmx.prompt
    is_encoded = htmx_request.headers.get("HX-Prompt-URI-AutoEncoded") == "true"
    return unquote(text) if text is not None and is_encoded else text


def answer(
    html: str,
    status: int = 200,
    *,
    swap: str | None = None,
    target: str | None = None,
    select: str | None = None,
    trigger: Mapping[str, Any] | None = None,
    push_url: str | None = None,
) -> Response:
    """A response with htmx headers; ``swap`` may carry modifiers ("innerHTML show:top")."""
    if swap is not None and swap.split(" ")[0] not in SWAPS:
        raise ValueError(f"unknown swap style {swap!r}; there are {', '.join(sorted(SWAPS))}")
    headers = {
        "HX-Reswap": swap,
        "HX-Retarget": target,
        "HX-Reselect": select,
        "HX-Trigger": None if trigger is None else json.dumps(trigger),
        "HX-Push-Url": push_url,
    }
    response = make_response(html, status)
    for name, value in headers.items():
        if value is not None:
            response.headers[name] = value
    return response


def go_to(url: str) -> Response:
    """Send the browser to another page: a 303, or for htmx the header that does the same.

    A 303 would be followed inside the request and the new page put into the fragment's place.
    """
    if wants_fragment():
        response = make_response("", 200)
        response.headers["HX-Redirect"] = url
        return response
    response = make_response("", 303)
    response.headers["Location"] = url
    return response
