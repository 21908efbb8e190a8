"""How far an address reaches."""

from __future__ import annotations

import pytest

from holdtrue.web.reach import reach_of


@pytest.mark.parametrize(
    ("address", "reach"),
    [
        ("http://127.0.0.1:8000", "here"),
        ("http://127.3.2.1", "here"),
        ("http://[::1]:8000", "here"),
        ("http://localhost:8000", "here"),
        ("http://0.0.0.0:8000", "here"),
        ("", "here"),
        ("http://192.168.1.20:8000", "network"),
        ("http://10.0.0.7", "network"),
        ("http://[fe80::1]", "network"),
        ("http://studio:8000", "network"),
        ("http://studio.local", "network"),
        ("https://hang.example.org", "anywhere"),
        ("https://hang.example.org.", "anywhere"),
        ("http://8.8.8.8", "anywhere"),
    ],
)
def test_an_address_reaches_as_far_as_it_does(address: str, reach: str) -> None:
    assert reach_of(address) == reach
