"""The phone's pages in a real browser at phone size: taps, echo, pad, sizes, lost answers."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from dataclasses import dataclass

import pytest
from flask import Flask
from playwright.sync_api import Browser, Page, expect
from waitress.server import create_server

from holdtrue.domain.checklist import checklist
from holdtrue.service import installers, jobs
from holdtrue.service.services import Services
from holdtrue.store.port import Entry
from tests.walking import LEAD
from tests.web.phone.conftest import bring, walked

LEAST_TARGET_PX = 48
LEAST_NUMBER_PX = 40
LEAST_READ_OUT_PX = 96


@dataclass
class Wall:
    """A job served on loopback, and somebody's phone on it."""

    services: Services
    job_id: str
    address: str

    def url(self, where: str) -> str:
        return f"{self.address}/jobs/{self.job_id}/phone/{where}"

    def join(self, page: Page, name: str = "Ivo", unit: str = "in") -> None:
        code = installers.invite_installer(
            self.services, LEAD, self.job_id, label=name, key=self.services.ids.key()
        )
        page.goto(f"{self.address}/join?code={code}")
        page.fill("[name=name]", name)
        page.check(f"[name=unit][value={unit}]")
        page.get_by_role("button", name="Join").click()

    @property
    def entries(self) -> tuple[Entry, ...]:
        return self.services.store.read(jobs.stream_of(self.job_id))

    def records_of(self, task_id: str) -> list[Entry]:
        return [entry for entry in self.entries if entry.body.get("task") == task_id]


@pytest.fixture
def served(app: Flask, services: Services) -> Iterator[str]:
    server = create_server(app, host="127.0.0.1", port=0)
    thread = threading.Thread(target=server.run)
    thread.start()
    yield f"http://127.0.0.1:{server.effective_port}"
    # in its own thread: a page that is being closed may still be asking for news
    server.trigger.pull_trigger(server.close)
    thread.join(timeout=10)
    assert not thread.is_alive()


@pytest.fixture
def wall(served: str, services: Services) -> Wall:
    """The job with C1's fastener in, ready to be measured; every survey done."""
    _, _, before = walked()
    return Wall(services, bring(services, before["fasteners.measure:C1"]), served)


@pytest.fixture
def ivo(wall: Wall, phone: Page) -> Page:
    wall.join(phone)
    return phone


def test_a_tap_answers_in_place_and_the_back_button_goes_back(wall: Wall, ivo: Page) -> None:
    ivo.goto(wall.url("fasteners.measure:C1"))
    ivo.evaluate("window.stays = true")

    ivo.get_by_role("button", name="As planned").tap()

    expect(ivo.get_by_role("heading", level=1)).to_have_text("C1 is set")
    expect(ivo.get_by_role("heading", level=1)).to_be_focused()
    ivo.wait_for_url("**/result/*")
    assert ivo.title() == "C1 is set · holdtrue"
    assert ivo.evaluate("window.stays")
    ivo.go_back()
    expect(ivo.get_by_role("heading", level=1)).to_have_text("Measure C1")


def test_a_double_tap_is_stored_once(wall: Wall, ivo: Page) -> None:
    ivo.goto(wall.url("fasteners.measure:C1"))

    ivo.get_by_role("button", name="As planned").dblclick()

    expect(ivo.get_by_role("heading", level=1)).to_have_text("C1 is set")
    ivo.wait_for_url("**/result/*")
    assert len(wall.records_of("fasteners.measure:C1")) == 1


def test_a_length_is_echoed_while_it_is_typed_and_one_tap_saves_it(wall: Wall, ivo: Page) -> None:
    said: list[str] = []
    ivo.on("console", lambda message: said.append(message.text))
    ivo.goto(wall.url("fasteners.measure:C1"))

    ivo.get_by_label("Above the level line, in").fill("5 1/16")
    expect(ivo.locator("[id='said-above']")).to_contain_text("5 1/16 in = 128.6 mm")
    ivo.get_by_role("button", name="Record what I measured").tap()

    expect(ivo.get_by_role("heading", level=1)).to_have_text("C1 is set")
    ivo.wait_for_url("**/result/*")
    (entry,) = wall.records_of("fasteners.measure:C1")
    assert entry.body["values"]["above"]["typed"] == "5 1/16"
    assert entry.tapped is not None
    assert said == []


def test_fractions_come_from_buttons_and_give_way_to_each_other(wall: Wall, ivo: Page) -> None:
    ivo.goto(wall.url("fasteners.measure:C1"))
    above = ivo.get_by_label("Above the level line, in")

    above.fill("5")
    ivo.locator("[data-pad='3/16']").tap()
    expect(above).to_have_value("5 3/16")
    ivo.locator("[data-pad='1/2']").tap()
    expect(above).to_have_value("5 1/2")
    expect(above).to_be_focused()
    above.fill("")
    ivo.locator("[data-pad='7/8']").tap()

    expect(above).to_have_value("7/8")
    expect(ivo.locator("[id='said-above']")).to_contain_text("7/8 in = 22.2 mm")


def test_one_mark_at_a_time_and_across_the_reference_line(wall: Wall, ivo: Page) -> None:
    ivo.goto(wall.url("fasteners.measure:C1"))
    x = ivo.get_by_label("From the reference line, in")
    right = ivo.get_by_role("button", name="From the reference line: one mark further right")

    expect(x).to_have_value("1 1/4")
    right.tap()
    expect(x).to_have_value("1 3/16")
    x.fill("1/16")
    right.tap()
    expect(x).to_have_value("0")
    right.tap()

    expect(x).to_have_value("1/16")
    expect(ivo.get_by_role("radio", name="right")).to_be_checked()


def test_nothing_is_lost_when_no_answer_comes(wall: Wall, ivo: Page) -> None:
    ivo.goto(wall.url("fasteners.measure:C1"))
    ivo.get_by_label("Above the level line, in").fill("5 1/16")
    expect(ivo.locator("[id='said-above']")).to_contain_text("128.6 mm")
    ivo.context.set_offline(True)

    ivo.get_by_role("button", name="Record what I measured").tap()

    expect(ivo.get_by_role("heading", level=1)).to_have_text("C1 is set")
    expect(ivo.locator("#outbox")).to_contain_text("1 not sent: only on this phone")
    assert wall.records_of("fasteners.measure:C1") == []
    ivo.context.set_offline(False)
    expect(ivo.locator("#outbox")).to_be_hidden()
    assert len(wall.records_of("fasteners.measure:C1")) == 1


def test_a_session_that_ended_is_said_and_nothing_is_lost(wall: Wall, ivo: Page) -> None:
    ivo.goto(wall.url("fasteners.measure:C1"))
    (digest,) = jobs.state_of(wall.services, wall.job_id).codes
    key = wall.services.ids.key()
    installers.revoke_code(wall.services, LEAD, wall.job_id, code=digest, key=key)

    ivo.get_by_role("button", name="As planned").tap()
    ivo.locator("#outbox summary").tap()

    expect(ivo.get_by_role("link", name="Sign in again")).to_be_visible()
    expect(ivo.locator("#outbox")).to_contain_text("1 not sent: only on this phone")


def test_the_main_case_fits_one_screen_and_everything_is_in_reach(wall: Wall, ivo: Page) -> None:
    state = jobs.state_of(wall.services, wall.job_id)
    fasteners = [t.id for t in checklist(state) if t.kind.stage == "fasteners" and t.panel == "C"]
    for task in fasteners:
        ivo.goto(wall.url(task))
        height = ivo.evaluate("document.documentElement.scrollHeight")
        assert height <= 844, (task, height)
        for button in ivo.locator(".thumb .button").all():
            box = button.bounding_box()
            assert box is not None
            assert box["height"] >= LEAST_TARGET_PX, (task, button.inner_text())
            assert box["y"] + box["height"] <= 844


def test_numbers_are_large_enough_for_an_arms_length(wall: Wall, ivo: Page) -> None:
    for task, numbers in (("fasteners.mark:B1", ".number-hand"), ("fasteners.measure:C1",
                                                                  ".input-large")):  # fmt: skip
        ivo.goto(wall.url(task))
        for number in ivo.locator(numbers).all():
            size = number.evaluate("e => parseFloat(getComputedStyle(e).fontSize)")
            assert size >= LEAST_NUMBER_PX, task
    for n in (0, 1):
        ivo.goto(wall.url(f"fasteners.mark:B1?look=readout&n={n}"))
        number = ivo.locator(".readout-number")
        size = number.evaluate("e => parseFloat(getComputedStyle(e).fontSize)")
        assert size >= LEAST_READ_OUT_PX
        assert ivo.evaluate("document.documentElement.scrollWidth") <= 390


@pytest.fixture
def narrow(chromium: Browser) -> Iterator[Page]:
    context = chromium.new_context(
        viewport={"width": 320, "height": 640}, is_mobile=True, has_touch=True
    )
    context.set_default_timeout(10_000)
    yield context.new_page()
    context.close()


def test_no_screen_scrolls_sideways_on_a_narrow_phone(wall: Wall, narrow: Page) -> None:
    wall.join(narrow, unit="mm")
    state = jobs.state_of(wall.services, wall.job_id)
    kinds = {task.kind.name: task.id for task in checklist(state)}
    for where in (*(f"{task}?again=1" for task in kinds.values()), "all", "way/C1"):
        narrow.goto(wall.url(where))
        width = narrow.evaluate("document.documentElement.scrollWidth")
        assert width <= 320, (where, width)


def test_no_screen_breaks_the_policy_or_a_script(wall: Wall, ivo: Page) -> None:
    said: list[str] = []
    ivo.on("console", lambda message: said.append(f"{message.type}: {message.text}"))
    ivo.on("pageerror", lambda error: said.append(str(error)))
    state = jobs.state_of(wall.services, wall.job_id)
    kinds = {task.kind.name: task.id for task in checklist(state)}

    for where in (*(f"{task}?again=1" for task in kinds.values()), "all", "way/C1"):
        ivo.goto(wall.url(where))

    assert said == []


def test_without_scripts_the_same_pages_work(wall: Wall, chromium: Browser) -> None:
    context = chromium.new_context(
        viewport={"width": 390, "height": 844}, java_script_enabled=False
    )
    page = context.new_page()
    wall.join(page)
    page.goto(wall.url("fasteners.measure:C1"))
    assert page.locator("[data-nudge]:visible").count() == 0

    page.get_by_label("Above the level line, in").fill("5 1/16")
    page.get_by_role("button", name="Record what I measured").click()
    expect(page.get_by_text("5 1/16 in = 128.6 mm")).to_be_visible()
    page.get_by_role("button", name="Save").click()

    expect(page.get_by_role("heading", level=1)).to_have_text("C1 is set")
    assert len(wall.records_of("fasteners.measure:C1")) == 1
    context.close()


def test_the_thumb_of_either_hand_finds_the_main_button(wall: Wall, ivo: Page) -> None:
    ivo.goto(wall.url("fasteners.measure:C1"))
    main = ivo.get_by_role("button", name="As planned").bounding_box()
    other = ivo.get_by_role("button", name="Record what I measured").bounding_box()
    assert main is not None
    assert other is not None

    hand = ivo.locator("html").get_attribute("data-hand")

    assert (main["x"] > other["x"]) == (hand == "right")
