"""The named cast over a memory store, a clock that is set by hand and ids that repeat."""

from __future__ import annotations

import itertools
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from html import unescape
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient
from jinja2.bccache import Bucket, BytecodeCache
from werkzeug.test import TestResponse

from holdtrue import create_app
from holdtrue.bootstrap import compose
from holdtrue.service import accounts
from holdtrue.service.services import Services
from holdtrue.store.memory import MemoryStore

SECRET = bytes(range(32))


class Compiled(BytecodeCache):
    """Templates, compiled once for all tests although each has an app of its own."""

    def __init__(self) -> None:
        self.kept: dict[str, bytes] = {}

    def load_bytecode(self, bucket: Bucket) -> None:
        if bucket.key in self.kept:
            bucket.bytecode_from_string(self.kept[bucket.key])

    def dump_bytecode(self, bucket: Bucket) -> None:
        self.kept[bucket.key] = bucket.bytecode_to_string()


COMPILED = Compiled()


class Clock:
    """Time moves only when told to."""

    def __init__(self) -> None:
        self.now = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)

    def __call__(self) -> datetime:
        return self.now

    def pass_by(self, **how_long: float) -> None:
        self.now += timedelta(**how_long)


def counting_bytes() -> Callable[[int], bytes]:
    """Random bytes that are none: 1, 2, 3, ..."""
    numbers: Iterator[int] = itertools.count(1)
    return lambda length: next(numbers).to_bytes(length, "big")


@dataclass
class Visitor:
    """Somebody with a browser: sends forms as a browser does, with what the page hid in them."""

    client: FlaskClient
    name: str = ""

    def get(self, url: str, **options: Any) -> TestResponse:
        return self.client.get(url, **options)

    def post(
        self,
        url: str,
        fields: dict[str, str] | None = None,
        *,
        seen_at: str | None = None,
        key: str | None = None,
        **options: Any,
    ) -> TestResponse:
        """Open the page the form is on, then send the form with its token and key."""
        hidden = hidden_fields(self.get(seen_at or url))
        data = {**hidden, **(fields or {})}
        if key is not None:
            data["key"] = key
        return self.client.post(url, data=data, **options)


def hidden_fields(answer: TestResponse) -> dict[str, str]:
    """The token and a key of a page's forms."""
    found = re.findall(r'name="(csrf|key|revision)" value="([^"]*)"', answer.text)
    return {name: unescape(value) for name, value in found}


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def services(clock: Clock) -> Services:
    return compose(MemoryStore(), secret=SECRET, clock=clock, random_bytes=counting_bytes())


@pytest.fixture
def app(services: Services) -> Flask:
    app = create_app(services)
    app.testing = True
    app.jinja_env.bytecode_cache = COMPILED
    return app


@pytest.fixture
def stranger(app: Flask) -> Visitor:
    """Nobody's guest: has the address and nothing else."""
    return Visitor(app.test_client())


@pytest.fixture
def lead(app: Flask, services: Services) -> Visitor:
    """Ines, the lead."""
    return sign_in_lead(app, services, "Ines")


@pytest.fixture
def other_lead(app: Flask, services: Services, lead: Visitor) -> Visitor:
    """Otto, whom Ines invited."""
    return sign_in_lead(app, services, "Otto")


def sign_in_lead(app: Flask, services: Services, name: str) -> Visitor:
    token = accounts.issue_system_link(services, services.ids.key())
    visitor = Visitor(app.test_client(), name)
    answer = visitor.post(f"/lead/{token}", {"name": name})
    assert answer.status_code == 303
    return visitor


@pytest.fixture
def job_id(lead: Visitor) -> str:
    """The demo job, not released."""
    answer = lead.post("/jobs/demo", seen_at="/")
    assert answer.status_code == 303
    return answer.headers["Location"].rsplit("/", 1)[1]


def code_for(lead: Visitor, job_id: str, label: str = "crew") -> str:
    """A code to join, as the lead's page shows it."""
    answer = lead.post(f"/jobs/{job_id}/invite", {"label": label}, seen_at=f"/jobs/{job_id}")
    found = re.search(r'id="join-code">([0-9A-Z]{4}-[0-9A-Z]{4})<', answer.text)
    assert found, answer.text
    return found[1]


@pytest.fixture
def installer(app: Flask, lead: Visitor, job_id: str) -> Visitor:
    """Ivo, who has joined the demo job."""
    visitor = Visitor(app.test_client(), "Ivo")
    code = code_for(lead, job_id)
    answer = visitor.post("/join", {"code": code, "name": "Ivo", "unit": "mm", "hand": "left"})
    assert answer.status_code == 303
    return visitor
