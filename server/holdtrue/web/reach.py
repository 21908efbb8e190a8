"""How far an address reaches: a code printed with one that opens nowhere else is worth nothing."""

from __future__ import annotations

import ipaddress
from typing import Literal
from urllib.parse import urlsplit

Reach = Literal["here", "network", "anywhere"]


def reach_of(address: str) -> Reach:
    """Whether an address opens on this machine only, in this network only, or anywhere."""
    host = (urlsplit(address).hostname or "").rstrip(".")
    try:
        number = ipaddress.ip_address(host)
    except ValueError:
        return _reach_of_name(host)
    if number.is_loopback or number.is_unspecified:
        return "here"
    return "network" if number.is_private or number.is_link_local else "anywhere"


def _reach_of_name(host: str) -> Reach:
    if not host or host == "localhost" or host.endswith(".localhost"):
        return "here"
    is_local = "." not in host or host.endswith((".local", ".lan", ".home.arpa", ".internal"))
    return "network" if is_local else "anywhere"
