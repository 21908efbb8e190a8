"""Plain http on the venue's own network: no worker, no copy, nothing that needs a secure page."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser

from tests.conftest import CHROMIUM_FLAGS, find_chromium
from tests.e2e.offline.fieldwork import (
    has_the_job,
    installer,
    log_of,
    of_task,
    offline,
    prepared,
    switch_off,
    unsent,
)
from tests.e2e.people import Crew, crew_of
from tests.e2e.server import Server

NAME = "wall.lan"
MEASURE = "fasteners.measure:C1"


class OnLan(Server):
    """The same server, called by the name a venue's network gives it."""

    @property
    def address(self) -> str:
        return super().address.replace("127.0.0.1", NAME)


@pytest.fixture
def on_lan(server: Server) -> OnLan:
    server.__class__ = OnLan
    assert isinstance(server, OnLan)
    return server


@pytest.fixture
def lan_crew(chromium: Browser) -> Iterator[Crew]:
    flags = [*CHROMIUM_FLAGS, f"--host-resolver-rules=MAP {NAME} 127.0.0.1", "--no-sandbox"]
    browser = chromium.browser_type.launch(args=flags, executable_path=find_chromium())
    with crew_of(browser) as crew:
        yield crew
    browser.close()


def test_tasks_done_without_network_are_sent_when_it_is_back(on_lan: OnLan, lan_crew: Crew) -> None:
    job = prepared(on_lan, until=MEASURE)
    on_lan.start()
    assert NAME in on_lan.address
    ivo = installer(lan_crew, on_lan, job)
    missing = "[isSecureContext, 'serviceWorker' in navigator, 'randomUUID' in crypto]"
    assert ivo.page.evaluate(missing) == [False, False, False]
    with offline(ivo):
        ivo.put("above", "5 1/16")
        ivo.tap(ivo.button("Record what I measured"))
        assert ivo.heading == "C1 is set"
        for _ in range(3):
            ivo.tap(ivo.page.locator(".thumb .button-main"))
            ivo.do(ivo.task or "")
        assert unsent(ivo) >= 3
        said = ivo.page.locator("#reach")
        said.wait_for(timeout=20_000)
    ivo.page.reload()
    has_the_job(ivo)
    assert unsent(ivo) == 0
    switch_off(on_lan, lan_crew)
    entries = log_of(on_lan, job)
    (reading,) = of_task(entries, MEASURE)
    assert reading.body["values"]["above"]["typed"] == "5 1/16"
    assert len({entry.key for entry in entries}) == len(entries)


def test_another_page_says_what_is_only_on_this_phone(on_lan: OnLan, lan_crew: Crew) -> None:
    job = prepared(on_lan, until=MEASURE)
    on_lan.start()
    ivo = installer(lan_crew, on_lan, job)
    ivo.context.route(
        "**/phone/fasteners**",
        lambda route: route.abort() if route.request.method == "POST" else route.continue_(),
    )
    with ivo.watch.cut_off():
        ivo.tap(ivo.button("As planned"))
        ivo.page.goto(f"{on_lan.address}/join")
        assert "1 entry of Tidewrack" in ivo.page.locator("#unsent").inner_text()
    switch_off(on_lan, lan_crew)
