"""People with phones, who read what is on the screen and tap it."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from urllib.parse import unquote

from playwright.sync_api import Browser, BrowserContext, Locator

from tests.e2e.inspection import Inspection, Watch
from tests.walking import ANSWERS

PHONE_PX = {"width": 390, "height": 844}
TIMEOUT_MS = 30_000
SENDING_MS = 30_000
MANY = 400
"""More screens than any walk here has: one that goes in circles ends."""
EXPECTS = {
    "nothing": "nothing",
    "a stud": "wood",
    "the edge of a stud": "wood",
    "a steel stud": "steel",
    "a board": "wood",
    "solid": "masonry",
}
"""What the bit meets when the plan is right, by the words on the screen."""


TAPPING = """
() => {
  const page = document.documentElement;
  page.dataset.tapping = "";
  document.addEventListener("click", () => {
    delete page.dataset.tapping;
    document.getElementById("main").setAttribute("data-left", "");
  }, { capture: true, once: true });
}
"""
"""Marks the screen that is tapped on, at the tap itself: until then another may take its place (the
phone's own result gives way to the server's), and to have left the one before is no arrival."""


class Person:
    """Somebody with a browser of their own; every screen they come to is inspected."""

    def __init__(
        self, context: BrowserContext, name: str, inspection: Inspection, *, has_script: bool = True
    ) -> None:
        self.name = name
        self.context = context
        self.page = context.new_page()
        self.watch = Watch(self.page, name, inspection.faults)
        self.inspection = inspection
        self.has_script = has_script

    # -- looking and tapping ----------------------------------------------------------------------

    def open(self, address: str) -> None:
        self.page.goto(address)
        self.look()

    def look(self) -> None:
        """Where scripts are off the inspection's own cannot run either."""
        if self.has_script:
            self.inspection.look(self.page)

    def tap(self, what: Locator) -> None:
        """Tap something that leads on, and wait for the screen it leads to."""
        if not self.has_script:
            with self.page.expect_navigation():
                what.tap()
            return
        self.send(what)
        self.arrive()

    def send(self, what: Locator) -> None:
        """Tap without waiting."""
        self.page.evaluate(TAPPING)
        what.tap()

    def arrive(self) -> None:
        """The screen that was tapped on is gone, and the new one is ready to be tapped."""
        self.page.wait_for_selector(
            "html:not([data-tapping]) #main:not([data-left]):not(.htmx-added)"
        )
        self.look()

    def button(self, words: str) -> Locator:
        return self.page.get_by_role("button", name=words, exact=True)

    def link(self, words: str) -> Locator:
        return self.page.get_by_role("link", name=words, exact=True)

    @property
    def main(self) -> Locator:
        return self.page.locator("#main")

    @property
    def heading(self) -> str:
        return self.page.locator("h1").inner_text()

    @property
    def alert(self) -> str:
        return self.main.locator('[role="alert"]').inner_text()

    @property
    def outbox(self) -> Locator:
        """The line that says what is only on this phone."""
        return self.page.locator("#outbox")

    def all_sent(self) -> None:
        """Everything tapped has reached the server's disk."""
        self.page.wait_for_selector("#outbox[hidden]", state="attached", timeout=SENDING_MS)

    # -- signing in -------------------------------------------------------------------------------

    def become_lead(self, link: str) -> None:
        self.open(link)
        self.page.get_by_label("Your name").fill(self.name)
        self.tap(self.button("Sign in"))

    def join(self, address: str, code: str, *, tape: str, hand: str) -> None:
        """From the front page, with the code the lead read out."""
        self.open(address)
        self.page.get_by_label("Code from your lead").fill(code)
        self.tap(self.button("Join"))
        self.page.get_by_label("Your name").fill(self.name)
        self.page.get_by_text(tape, exact=True).tap()
        self.page.get_by_text(hand, exact=True).tap()
        self.tap(self.button("Join"))

    # -- tasks ------------------------------------------------------------------------------------

    @property
    def task(self) -> str | None:
        """The task whose form is on the screen."""
        form = self.page.locator("#task-form")
        if not form.count():
            return None
        return unquote((form.get_attribute("action") or "").rpartition("/phone/")[2])

    def go_to(self, title: str) -> None:
        """To a task by its title, by way of the list of all tasks."""
        if not self.page.locator(".task-all").count():
            self.tap(self.page.locator("a.bar"))
        entry = self.page.locator(".task-list a").filter(
            has=self.page.get_by_text(title, exact=True)
        )
        if not entry.is_visible():
            self.page.locator("details").filter(has=entry).locator("summary").tap()
        self.tap(entry)

    def work(
        self, *, until: str | None = None, readings: Mapping[str, Mapping[str, str]] | None = None
    ) -> None:
        """Do what the screen asks, task after task, up to (not with) ``until`` or to the end.

        ``readings``: what is read instead of the plan, by task, once.
        """
        left = dict(readings or {})
        for _ in range(MANY):
            task = self.task
            if task is not None and task == until:
                return
            if task is not None:
                self.do(task, left.pop(task, None))
            elif not self._go_on():
                assert until is None, f"{self.name} came to an end before {until}"
                assert not left, f"{self.name} was never asked for {left}"
                return
        raise AssertionError(f"{self.name} goes in circles at {self.page.url}")

    def _go_on(self) -> bool:
        """On from a screen that asks nothing; False when there is nowhere to go."""
        main = self.page.locator(".thumb .button-main")
        if not main.count() or main.inner_text() == "Look again":
            return False
        self.tap(main)
        return True

    def do(self, task: str, reading: Mapping[str, str] | None = None) -> None:
        """One task: as planned, or with what was read or has to be said."""
        planned = self.button("As planned")
        if reading is None and planned.count():
            self.tap(planned)
            return
        kind = task.partition(":")[0]
        for name, text in (reading or self._usual(kind)).items():
            self.put(name, text)
        words = "Record what I measured" if planned.count() else None
        done = self.button(words) if words else self.page.locator(".thumb button.button-main")
        self._record(done)

    def _record(self, done: Locator) -> None:
        """Without scripts nothing was echoed while it was typed: the page asks once."""
        if self.has_script or not self.page.locator("input[data-length]").count():
            self.tap(done)
            return
        with_length = any(
            one.input_value() for one in self.page.locator("input[data-length]").all()
        )
        if not with_length:
            self.tap(done)
            return
        with self.watch.refused(422):
            self.tap(done)
        assert self.alert == "Is this what you read?"
        self.tap(self.button("Save"))

    def _usual(self, kind: str) -> Mapping[str, str]:
        if kind == "fasteners.pilot":
            said = self.main.inner_text()
            found = re.search(r"The plan expects ([a-z ]+)", said)
            assert found, said
            met = next(met for words, met in EXPECTS.items() if found[1].startswith(words))
            return {"met": met}
        if kind == "close.photo":
            return {"photo": "a picture of the screen"}
        return ANSWERS.get(kind, {})

    def put(self, name: str, text: str) -> None:
        """Put a text into an input, or tap the choice it names."""
        chosen = self.page.locator(f'label:has(input[name="{name}"][value="{text}"])')
        if chosen.count():
            chosen.tap()
            return
        field = self.page.locator(f'[name="{name}"]')
        if field.get_attribute("type") == "file":
            picture = self.page.screenshot(type="jpeg", quality=60)
            field.set_input_files({"name": "wall.jpg", "mimeType": "image/jpeg", "buffer": picture})
            return
        field.tap()
        field.fill(text)
        self.wait_for_echo(name)

    def wait_for_echo(self, name: str) -> None:
        """Nobody records a length before they have seen how it was understood."""
        field = self.page.locator(f'[name="{name}"]')
        if self.has_script and field.get_attribute("data-length") is not None:
            text = field.input_value().replace('"', '\\"')
            if text:
                said = f'[id="said-{name}"] input[value="{text}"]'
                self.page.wait_for_selector(said, state="attached")


class Crew:
    """Everybody in a test, and what went wrong for any of them."""

    def __init__(self, browser: Browser) -> None:
        self.browser = browser
        self.faults: list[str] = []
        self.inspection = Inspection(self.faults)
        self.people: list[Person] = []
        self._contexts: list[BrowserContext] = []

    def person(self, name: str, *, has_script: bool = True) -> Person:
        context = self.browser.new_context(
            viewport={"width": PHONE_PX["width"], "height": PHONE_PX["height"]},
            device_scale_factor=2,
            is_mobile=True,
            has_touch=True,
            locale="en-GB",
            java_script_enabled=has_script,
        )
        context.set_default_timeout(TIMEOUT_MS)
        self._contexts.append(context)
        self.people.append(Person(context, name, self.inspection, has_script=has_script))
        return self.people[-1]

    def close(self) -> None:
        for context in self._contexts:
            context.close()


@contextmanager
def crew_of(browser: Browser) -> Iterator[Crew]:
    """A crew for one test; at its end nothing may have gone wrong on any screen."""
    crew = Crew(browser)
    try:
        yield crew
    finally:
        crew.close()
    assert not crew.faults, "\n".join(dict.fromkeys(crew.faults))
