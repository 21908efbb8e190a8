"""Text goes out compressed to who takes it so; static files are kept by their hash."""

from __future__ import annotations

import gzip
import json
import re

import pytest
from flask import Flask

from holdtrue.staticfiles import static_folder
from tests.web.conftest import Visitor, hidden_fields

GZIP = {"Accept-Encoding": "gzip, deflate"}
CSS = "/static/css/holdtrue.css"


def test_a_page_is_compressed_and_is_the_same_page(lead: Visitor, job_id: str) -> None:
    url = f"/jobs/{job_id}/job.json"
    plain, packed = lead.get(url), lead.get(url, headers=GZIP)
    assert packed.headers["Content-Encoding"] == "gzip"
    assert gzip.decompress(packed.data) == plain.data
    assert int(packed.headers["Content-Length"]) == len(packed.data) < len(plain.data)
    assert json.loads(plain.data)["title"]


@pytest.mark.parametrize(
    "headers", [{}, {"Accept-Encoding": "identity"}, {"Accept-Encoding": "gzip;q=0"}]
)
def test_who_does_not_take_it_compressed_gets_it_plain(
    lead: Visitor, headers: dict[str, str]
) -> None:
    for url in ("/", CSS):
        answer = lead.get(url, headers=headers)
        assert "Content-Encoding" not in answer.headers
        assert "Accept-Encoding" in answer.headers["Vary"]


def test_a_short_answer_a_picture_and_a_head_are_left_alone(lead: Visitor) -> None:
    assert "Content-Encoding" not in lead.get("/health", headers=GZIP).headers
    head = lead.client.head("/", headers=GZIP)
    assert "Content-Encoding" not in head.headers


def test_an_error_page_is_compressed_too(lead: Visitor) -> None:
    answer = lead.get("/no/such/page", headers=GZIP)
    assert answer.status_code == 404
    assert b"Not found" in gzip.decompress(answer.data)


def test_a_static_file_is_compressed_and_still_knows_its_etag(stranger: Visitor) -> None:
    plain, packed = stranger.get(CSS), stranger.get(CSS, headers=GZIP)
    assert gzip.decompress(packed.data) == plain.data
    assert packed.get_etag()[1]  # weak: the bodies differ
    headers = {**GZIP, "If-None-Match": packed.headers["ETag"]}
    again = stranger.client.get(CSS, headers=headers, buffered=True)
    assert (again.status_code, again.data) == (304, b"")


def test_a_part_of_a_static_file_is_what_was_asked_for(stranger: Visitor) -> None:
    headers = {**GZIP, "Range": "bytes=0-9"}
    answer = stranger.client.get(CSS, headers=headers, buffered=True)
    assert answer.status_code == 206
    assert answer.data == (static_folder() / "css/holdtrue.css").read_bytes()[:10]


def test_every_static_address_in_a_page_carries_its_hash_and_is_kept_for_ever(
    lead: Visitor,
) -> None:
    found = re.findall(r'(?:href|src)="(/static/[^"]*)"', lead.get("/").text)
    assert len(found) >= 3
    for url in found:
        assert re.search(r"\?v=[0-9a-f]{12}$", url), url
        answer = lead.get(url)
        assert (answer.status_code, "immutable" in answer.headers["Cache-Control"]) == (200, True)


@pytest.mark.parametrize("query", ["", "?v=", "?v=000000000000"])
def test_by_another_address_it_is_asked_for_again_soon(stranger: Visitor, query: str) -> None:
    answer = stranger.get(CSS + query)
    assert "immutable" not in answer.headers["Cache-Control"]
    assert "no-store" not in answer.headers["Cache-Control"]


def test_an_address_of_a_file_that_is_not_there_is_made_all_the_same(app: Flask) -> None:
    with app.test_request_context():
        assert app.url_for("static", filename="no/such.css") == "/static/no/such.css"


def test_pages_are_not_kept(lead: Visitor) -> None:
    assert lead.get("/", headers=GZIP).headers["Cache-Control"] == "no-store"


def test_the_token_looks_different_on_every_page_and_is_the_same(
    lead: Visitor, job_id: str
) -> None:
    one, other = (hidden_fields(lead.get("/join"))["csrf"] for _ in range(2))
    assert one != other
    for token in (one, other):
        data = {"csrf": token, "look": "dark", "back": "/"}
        assert lead.client.post("/settings", data=data).status_code == 303


@pytest.mark.parametrize("token", ["", "0" * 64, "x" * 64, "f" * 62, "²" * 64, "0" * 10_000])
def test_what_is_no_token_is_none(lead: Visitor, token: str) -> None:
    data = {"csrf": token, "look": "dark", "back": "/"}
    assert lead.client.post("/settings", data=data).status_code == 403


def test_the_kept_token_itself_is_none_either(lead: Visitor) -> None:
    with lead.client.session_transaction() as session:
        session["csrf"] = "0" * 32
    data = {"csrf": "0" * 32, "look": "dark", "back": "/"}
    assert lead.client.post("/settings", data=data).status_code == 403
