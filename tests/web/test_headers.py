"""Headers by which browsers and our own scripts know our answers."""

from __future__ import annotations

from dataclasses import replace

import pytest

from holdtrue import create_app
from holdtrue.service.services import Services
from tests.web.conftest import Visitor

OPENER = "Cross-Origin-Opener-Policy"


def test_windows_are_kept_apart_over_https_alone(services: Services) -> None:
    """On plain http browsers ignore it and log an error for every page."""
    client = create_app(services).test_client()
    assert OPENER not in client.get("/").headers
    assert client.get("/", base_url="https://hang.example").headers[OPENER] == "same-origin"


def test_behind_a_proxy_the_public_address_tells(services: Services) -> None:
    client = create_app(replace(services, public_url="https://hang.example")).test_client()
    assert client.get("/").headers[OPENER] == "same-origin"


def test_every_answer_of_ours_can_be_told_from_a_portals(installer: Visitor, job_id: str) -> None:
    phone = f"/jobs/{job_id}/phone"
    whole = installer.get(f"{phone}/join.ways")
    assert whole.headers["X-Holdtrue"] == "phone"
    since = whole.text.split('"seq":')[1].split(",")[0]
    for url in ("/", "/nowhere", "/health", f"{phone}/pack", f"{phone}/pack?since={since}"):
        assert installer.get(url).headers["X-Holdtrue"] == "1", url


@pytest.mark.parametrize("where", ["join.ways", "all", "way/A1"])
def test_only_a_whole_page_of_the_phone_is_one_to_keep(
    installer: Visitor, job_id: str, where: str
) -> None:
    url = f"/jobs/{job_id}/phone/{where}"
    assert installer.get(url).headers["X-Holdtrue"] == "phone"
    part = installer.get(url, headers={"HX-Request": "true"})
    assert part.headers["X-Holdtrue"] == "1"
