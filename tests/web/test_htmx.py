"""What htmx-flask 0.1.0 gets wrong, and that our one module around it does not."""

from __future__ import annotations

import ast
from pathlib import Path

import flask
import pytest
from flask import Flask, Request
from htmx_flask import make_response as their_make_response

import holdtrue
from holdtrue.web import htmx

PACKAGE = Path(holdtrue.__file__).parent


@pytest.fixture
def bare() -> Flask:
    app = Flask("bare")
    htmx.init_app(app)
    return app


def headers(**values: str) -> dict[str, str]:
    return {f"HX-{name.replace('_', '-')}": value for name, value in values.items()}


def test_it_works(bare: Flask) -> None:
    with bare.test_request_context(headers=headers(Request="true")):
        assert htmx.wants_fragment()
    with bare.test_request_context():
        assert not htmx.wants_fragment()


@pytest.mark.parametrize("also", ["History_Restore_Request", "Boosted"])
def test_a_page_is_given_where_the_window_is_empty(bare: Flask, also: str) -> None:
    with bare.test_request_context(headers=headers(Request="true", **{also: "true"})):
        assert not htmx.wants_fragment()


def test_every_answer_varies_with_the_header(bare: Flask) -> None:
    bare.add_url_rule("/", view_func=lambda: "page")

    assert "HX-Request" in bare.test_client().get("/").headers["Vary"]


@pytest.mark.parametrize(
    "swap", ["beforebegin", "afterbegin", "textContent", "innerHTML show:top", "outerHTML"]
)
def test_every_swap_style_of_htmx_can_be_asked_for(bare: Flask, swap: str) -> None:
    with bare.test_request_context():
        assert htmx.answer("", swap=swap).headers["HX-Reswap"] == swap


def test_their_list_of_swap_styles_still_lacks_a_comma(bare: Flask) -> None:
    """When this fails the package was mended: look at what else changed."""
    with bare.test_request_context(), pytest.raises(ValueError, match="reswap"):
        their_make_response("", reswap="beforebegin")


def test_a_swap_style_that_is_none_is_refused(bare: Flask) -> None:
    with bare.test_request_context(), pytest.raises(ValueError, match="beforebeginafterbegin"):
        htmx.answer("", swap="beforebeginafterbegin")


def test_a_part_of_the_answer_can_be_chosen(bare: Flask) -> None:
    with bare.test_request_context():
        answer = htmx.answer("", 422, select="#form", target="#main", push_url="/there")

    assert answer.status_code == 422
    assert answer.headers["HX-Reselect"] == "#form"
    assert answer.headers["HX-Retarget"] == "#main"
    assert answer.headers["HX-Push-Url"] == "/there"


def test_a_trigger_outside_latin_1_can_be_sent(bare: Flask) -> None:
    with bare.test_request_context():
        sent = htmx.answer("", trigger={"saved\u2713": {"by": "Zo\u00eb"}}).headers["HX-Trigger"]

    assert sent.isascii()
    assert flask.json.loads(sent) == {"saved\u2713": {"by": "Zo\u00eb"}}


def test_a_request_class_of_our_own_stays() -> None:
    class Own(Request):
        mine = "mine"

    app = Flask("own")
    app.request_class = Own
    htmx.init_app(app)

    with app.test_request_context(headers=headers(Request="true")):
        assert flask.request.mine == "mine"  # type: ignore[attr-defined]
        assert htmx.wants_fragment()


def test_an_encoded_prompt_is_decoded(bare: Flask) -> None:
    encoded = headers(Prompt="5%C2%BD", Prompt_URI_AutoEncoded="true")
    with bare.test_request_context(headers=encoded):
        assert htmx.prompt_text() == "5\u00bd"
    with bare.test_request_context(headers=headers(Prompt="50%25")):
        assert htmx.prompt_text() == "50%25"
    with bare.test_request_context():
        assert htmx.prompt_text() is None


def test_a_way_on_is_a_303_or_htmx_own_header(bare: Flask) -> None:
    with bare.test_request_context():
        page = htmx.go_to("/there")
    with bare.test_request_context(headers=headers(Request="true")):
        fragment = htmx.go_to("/there")

    assert (page.status_code, page.headers["Location"]) == (303, "/there")
    assert (fragment.status_code, fragment.headers["HX-Redirect"]) == (200, "/there")


def test_only_one_module_knows_the_package() -> None:
    knowing = {
        path.relative_to(PACKAGE).as_posix()
        for path in PACKAGE.rglob("*.py")
        for node in ast.walk(ast.parse(path.read_text()))
        if isinstance(node, ast.ImportFrom | ast.Import)
        and "htmx_flask" in (getattr(node, "module", None), *(name.name for name in node.names))
    }

    assert knowing == {"web/htmx.py"}
