"""A brake on guessing codes: after too many wrong tries an address waits.

Only failures count, so a venue whose phones share one address is not slowed down by joining. The
count lives in memory: a restart forgives, which a guesser cannot cause.
"""

from __future__ import annotations

import threading
from collections.abc import Callable
from datetime import datetime, timedelta

WINDOW = timedelta(minutes=10)
PER_ADDRESS = 10
"""Wrong tries of one address within the window."""
FROM_ALL = 300
"""Wrong tries of everybody: at 300 in 10 minutes, half of 40 bits takes over 30 000 years."""


class Brake:
    def __init__(self, clock: Callable[[], datetime]) -> None:
        self._clock = clock
        self._lock = threading.Lock()
        self._failures: list[tuple[datetime, str]] = []

    def is_on(self, address: str) -> bool:
        with self._lock:
            self._forget_old()
            of_address = sum(1 for _, other in self._failures if other == address)
            return of_address >= PER_ADDRESS or len(self._failures) >= FROM_ALL

    def count_failure(self, address: str) -> None:
        with self._lock:
            self._forget_old()
            if len(self._failures) < FROM_ALL:
                self._failures.append((self._clock(), address))

    def _forget_old(self) -> None:
        now = self._clock()
        # A clock that was put back must not keep people out until it is there again.
        self._failures = [
            (moment, who) for moment, who in self._failures if now - WINDOW < moment <= now
        ]
