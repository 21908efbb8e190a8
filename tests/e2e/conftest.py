"""A server of its own and a crew with phones for every browser test."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser

from tests.e2e.people import Crew, crew_of
from tests.e2e.server import Server, new_server


@pytest.fixture
def server() -> Iterator[Server]:
    """Not started: a test may prepare its data first."""
    with new_server() as server:
        yield server


@pytest.fixture
def crew(chromium: Browser) -> Iterator[Crew]:
    with crew_of(chromium) as crew:
        yield crew
