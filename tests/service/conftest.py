"""Services over a memory store with a clock set by hand."""

from __future__ import annotations

import itertools
from datetime import UTC, datetime, timedelta

import pytest

from holdtrue.bootstrap import compose
from holdtrue.service.services import Services
from holdtrue.store.memory import MemoryStore


class Clock:
    def __init__(self) -> None:
        self.now = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)

    def __call__(self) -> datetime:
        return self.now

    def pass_by(self, **how_long: float) -> None:
        self.now += timedelta(**how_long)


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def services(clock: Clock) -> Services:
    numbers = itertools.count(1)
    return compose(
        MemoryStore(),
        secret=bytes(32),
        clock=clock,
        random_bytes=lambda length: next(numbers).to_bytes(length, "big"),
    )
