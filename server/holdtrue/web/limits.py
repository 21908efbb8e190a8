"""A brake on guessing codes: after too many wrong tries an address waits.

Only failures count, so a venue whose phones share one address is not slowed down by joining, and
only for the address they came from, so nobody can close the door to others. Ten thousand addresses
that try without a pause need a century for half of a code's 40 bits. The count lives in memory: a
restart forgives, which a guesser cannot cause.
"""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable
from datetime import datetime, timedelta
from ipaddress import IPv6Address, ip_address

WINDOW = timedelta(minutes=10)
PER_ADDRESS = 10
"""Wrong tries of one address within the window."""
MOST_ADDRESSES = 10_000
"""Addresses remembered; the one that failed the longest ago is forgotten first."""
_HOST_BITS = 64
"""Of an IPv6 address, the half that whoever has a network chooses freely (RFC 4291, 2.5.1)."""


class Brake:
    def __init__(self, clock: Callable[[], datetime]) -> None:
        self._clock = clock
        self._lock = threading.Lock()
        self._failures: OrderedDict[str, list[datetime]] = OrderedDict()

    def is_on(self, address: str) -> bool:
        with self._lock:
            return len(self._recent(_network_of(address))) >= PER_ADDRESS

    def count_failure(self, address: str) -> None:
        network = _network_of(address)
        with self._lock:
            self._failures[network] = [*self._recent(network), self._clock()][-PER_ADDRESS:]
            self._failures.move_to_end(network)
            while len(self._failures) > MOST_ADDRESSES:
                self._failures.popitem(last=False)

    def _recent(self, network: str) -> list[datetime]:
        now = self._clock()
        # A clock that was put back must not keep people out until it is there again.
        return [at for at in self._failures.get(network, ()) if now - WINDOW < at <= now]


def _network_of(address: str) -> str:
    """What one guesser can hardly have many of: an IPv4 address, or an IPv6 network of 64 bits."""
    try:
        read = ip_address(address.partition("%")[0])
    except ValueError:
        return address
    if not isinstance(read, IPv6Address):
        return str(read)
    if read.ipv4_mapped is not None:
        return str(read.ipv4_mapped)
    return str(IPv6Address(int(read) >> _HOST_BITS << _HOST_BITS))
