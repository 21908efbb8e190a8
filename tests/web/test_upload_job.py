"""A lead brings in a job file."""

from __future__ import annotations

import io
import json
import re
from html import unescape
from pathlib import Path

import pytest
from werkzeug.test import TestResponse

from holdtrue.service.services import Services
from tests.damage import damages, says_what_is_wrong
from tests.domain.papers import reference
from tests.web.conftest import Visitor, hidden_fields

JOB = (Path(__file__).parents[1] / "reference" / "staithe.job.json").read_bytes()


def upload(lead: Visitor, content: bytes, name: str = "staithe.job.json") -> TestResponse:
    data = {**hidden_fields(lead.get("/")), "file": (io.BytesIO(content), name)}
    return lead.client.post("/jobs/upload", data=data)


def test_it_works(lead: Visitor) -> None:
    answer = upload(lead, JOB)

    assert answer.status_code == 303
    assert "Staithe, grid of five" in lead.get(answer.headers["Location"]).text


def test_the_file_asked_for_is_the_one_a_jobs_page_gives(lead: Visitor, job_id: str) -> None:
    asked = re.search(r'id="file-hint">[^<]*“([^”]+)” on a job’s page', lead.get("/").text)
    assert asked
    given = re.search(rf'href="([^"]+)">{asked[1]}<', lead.get(f"/jobs/{job_id}").text)
    assert given

    answer = upload(lead, lead.get(given[1]).data)

    assert answer.status_code == 303
    assert answer.headers["Location"] != f"/jobs/{job_id}"


def test_a_file_with_a_byte_order_mark_is_read(lead: Visitor) -> None:
    assert upload(lead, b"\xef\xbb\xbf" + JOB).status_code == 303


def bad(**changes: object) -> bytes:
    return json.dumps({**json.loads(JOB), **changes}).encode()


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "is not JSON"),
        (b"\xff\xfe\x00", "is not UTF-8 text"),
        (b"{", "is not JSON"),
        (b"[" * 100_000, "nested more than"),
        (b"[]", "one object"),
        (b"1" * 5_000, "of ordinary size"),
        (b'{"title": "a", "title": "b"}', "stands twice"),
        (bad(title=None), "title"),
        (bad(panels=[]), "panels"),
        (bad(surprise=1), "surprise: 1: unknown key"),
        (bad(panels=float("nan")), "file: panels: NaN: is not a number"),
        (bad(slope="x"), "slope: x: must be a number"),
        (bad(slope=2**63), "file: slope: 9223372036854775808: must be a number"),
        (bad(unit="\ud800"), "half a character"),
        (bad(format="holdtrue.job/2"), "format"),
    ],
)
def test_a_file_that_cannot_be_used_is_refused(
    lead: Visitor, services: Services, content: bytes, says: str
) -> None:
    answer = upload(lead, content)

    assert answer.status_code == 422
    assert says in answer.text
    assert services.store.streams() == ("house",)


@pytest.mark.parametrize("name", ["tidewrack", "staithe"])
def test_a_file_with_one_wrong_value_is_taken_or_refused_in_words(
    lead: Visitor, services: Services, name: str
) -> None:
    for damage in damages(reference(f"{name}.job.json"), seed=3, count=60):
        jobs_before = services.store.streams()
        answer = upload(lead, damage.text())
        if answer.status_code == 303:
            assert lead.get(answer.headers["Location"]).status_code == 200, damage
            continue
        assert answer.status_code == 422, damage
        said = re.search(r'<p class="error" role="alert">([^<]+)</p>', answer.text)
        assert said, answer.text
        says_what_is_wrong(unescape(said[1]).removeprefix("file: "), damage)
        assert services.store.streams() == jobs_before


def test_no_file_is_said(lead: Visitor) -> None:
    assert "choose a job file" in lead.post("/jobs/upload", seen_at="/").text


def test_ten_megabytes_are_too_large_and_said_so(lead: Visitor) -> None:
    head = b'--b\r\nContent-Disposition: form-data; name="file"; filename="x.json"\r\n\r\n'
    body = io.BytesIO(head + b" " * 10_000_000 + b"\r\n--b--\r\n")

    answer = lead.client.post(
        "/jobs/upload",
        input_stream=body,
        content_type="multipart/form-data; boundary=b",
        content_length=len(body.getvalue()),
    )

    assert answer.status_code == 413
    assert "larger than" in answer.text


def test_a_large_form_is_too_large_too(lead: Visitor) -> None:
    answer = lead.post("/jobs/new", {"title": "x" * 20_000_000})

    assert answer.status_code == 413
