"""The wall worked through by keys alone, from Tab to Enter: a keyboard, a switch, a foot pedal.

After every key what has the focus must be seen: an outline of 3:1 at least, not under the bar, and
never again above what it was on before.
"""

from __future__ import annotations

from typing import Any

from playwright.sync_api import expect

from tests.e2e.offline.fieldwork import (
    Job,
    has_the_job,
    log_without_refusals,
    of_task,
    offline,
    open_task,
    prepared,
    recorded,
    switch_off,
)
from tests.e2e.people import Crew, Person
from tests.e2e.server import Server

FIRST, SECOND = "fasteners.measure:C1", "fasteners.measure:C2"
MOST_STOPS = 120
LEAST_RATIO = 3.0
NO_BUZZ = "Object.defineProperty(Navigator.prototype, 'vibrate', { value: undefined });"
FOCUS = """
() => {
  const on = document.activeElement;
  if (!on || on === document.body) return null;
  // a choice of a few is drawn by the words beside its input
  const seen = on.matches(".seg > input") ? on.nextElementSibling : on;
  const channels = (colour) => colour.match(/[\\d.]+/g).map(Number);
  const part = (value) =>
    value / 255 <= 0.04045 ? value / 255 / 12.92 : ((value / 255 + 0.055) / 1.055) ** 2.4;
  const luminance = (colour) => {
    const [r, g, b] = channels(colour).map(part);
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  const ground = (element) => {
    for (let one = element; one; one = one.parentElement) {
      const { backgroundColor } = getComputedStyle(one);
      if ((channels(backgroundColor)[3] ?? 1) > 0) return backgroundColor;
    }
    return "rgb(255, 255, 255)";
  };
  const { outlineStyle, outlineWidth, outlineColor, outlineOffset } = getComputedStyle(seen);
  const around = parseFloat(outlineOffset) < 0 ? seen : seen.parentElement;
  const [light, dark] = [outlineColor, ground(around)].map(luminance).sort((a, b) => b - a);
  const { x, y, width, height } = seen.getBoundingClientRect();
  const there = document.elementFromPoint(x + width / 2, y + height / 2);
  const before = window.seenBefore;
  window.seenBefore = seen;
  // in one row things may differ a little; the bar under the thumb lies where it likes
  const isAbove = before?.isConnected && !seen.closest(".thumb, .skip, #outbox")
    && seen.getBoundingClientRect().bottom <= before.getBoundingClientRect().top
    && !before.closest(".skip");
  return {
    tag: on.tagName,
    words: on.getAttribute("aria-label") ?? (on.textContent.trim() || `${on.name}=${on.value}`),
    isOutlined: outlineStyle !== "none" && parseFloat(outlineWidth) >= 2,
    ratio: (light + 0.05) / (dark + 0.05),
    isCovered: !seen.contains(there) && !there?.contains(seen) && there !== on,
    isAbove: Boolean(isAbove),
    isPad: on.closest("#pad") !== null,
  };
}
"""


class Keys:
    """Somebody who presses keys and looks where the focus is."""

    def __init__(self, person: Person) -> None:
        self.person = person
        self.page = person.page

    @property
    def focus(self) -> dict[str, Any] | None:
        """What has the focus, if it is anything of the page; it must be seen."""
        on: dict[str, Any] | None = self.page.evaluate(FOCUS)
        if on is not None:
            assert on["isOutlined"], on
            assert on["ratio"] >= LEAST_RATIO, on
            assert not on["isCovered"], on
        return on

    def press(self, *keys: str) -> dict[str, Any] | None:
        for key in keys:
            self.page.keyboard.press(key)
        return self.focus

    def reach(self, words: str, key: str = "Tab") -> None:
        """Tab on, no further than once round the page, to what says these words."""
        for _ in range(MOST_STOPS):
            on = self.press(key)
            if on is not None and on["words"] == words:
                return
        raise AssertionError(f"no way by keys to {words!r} on {self.person.heading!r}")

    def enter(self, words: str, key: str = "Enter") -> None:
        """Reach it, press it, and be on the next screen's first words."""
        # what lies under the thumb is deaf for a moment on a new screen
        self.page.wait_for_selector("#main:not(:has(.thumb[inert]))")
        self.reach(words)
        self.page.evaluate("document.getElementById('main').setAttribute('data-left', '')")
        self.page.keyboard.press(key)
        self.page.wait_for_selector("#main:not([data-left])")
        on = self.focus
        assert on is not None, "the focus is lost"
        assert on["tag"] == "H1", on

    def down(self) -> list[dict[str, Any]]:
        """Everything Tab comes by, from the page's first to beyond its last: no trap."""
        while self.press("Tab") is not None:
            pass
        stops: list[dict[str, Any]] = []
        while (on := self.press("Tab")) is not None:
            stops.append(on)
            assert len(stops) < MOST_STOPS, "no way out by keys"
        return stops

    def up(self, to: str) -> list[dict[str, Any]]:
        """Everything on the way back."""
        stops: list[dict[str, Any]] = []
        while not stops or stops[-1]["words"] != to:
            on = self.press("Shift+Tab")
            stops += [on] if on is not None else []
            assert len(stops) < MOST_STOPS, "no way back by keys"
        return stops


def begun(server: Server, crew: Crew, script: str = "") -> tuple[Keys, Person, Job]:
    job = prepared(server, until=FIRST)
    server.start()
    ivo = crew.person("Ivo")
    if script:
        ivo.context.add_init_script(script)
    ivo.join(server.address, job.code, tape="Inch fractions", hand="Left hand")
    has_the_job(ivo)
    open_task(ivo, server, job, FIRST)
    ivo.page.wait_for_selector("#f-x")
    return Keys(ivo), ivo, job


def walk_by_keys(keys: Keys, ivo: Person, *, is_online: bool) -> None:
    """One seat as planned, one measured, by way of everything else a screen offers."""
    keys.enter("Read out")
    keys.enter("Type a reading in")
    assert ivo.task == FIRST
    keys.enter("Something is in the way")
    assert ivo.heading == "What is in the way at C1?"
    keys.enter("Nothing, go back")
    assert ivo.task == FIRST
    keys.enter("As planned")
    assert ivo.heading == "C1 is set"
    if is_online:
        # the server's own words of it take the place of the phone's
        ivo.page.wait_for_url("**/result/*")
        ivo.all_sent()
    keys.enter("Undo Measure C1")
    # what had been sent already waits there for the server's answer
    ivo.page.wait_for_selector("#task-form", state="attached")
    assert ivo.task == FIRST
    keys.enter("As planned", key="Space")
    keys.enter("Go on")
    assert ivo.task == "fasteners.pilot:C2"
    keys.press("Tab")
    keys.reach("met=nothing")
    keys.press("Space")
    keys.enter("Record")
    keys.enter("It is in")
    keys.enter("It holds")
    assert ivo.task == SECOND
    keys.reach("From the reference line, in")
    keys.page.keyboard.type("15")
    # what was typed stands in place of the plan, and the pad of fractions follows its input
    keys.reach("7⁄16")
    keys.press("Enter")
    expect(keys.page.locator('[name="x"]')).to_have_value("15 7/16")
    keys.reach("Above the level line, in")
    keys.press("Control+a")
    keys.page.keyboard.type("5 1/16")
    expect(keys.page.locator('[id="said-above"]')).to_contain_text("5 1/16 in = 128.6 mm")
    keys.enter("Record what I measured")
    assert ivo.heading == "C2 is set"


def assert_walked(server: Server, crew: Crew, job: Job) -> None:
    switch_off(server, crew)
    entries = log_without_refusals(server, job)
    assert recorded(entries)[-6:] == [
        *(FIRST, FIRST),
        *("fasteners.pilot:C2", "fasteners.anchor:C2", "fasteners.press:C2", SECOND),
    ]
    assert [e.body["outcome"] for e in of_task(entries, FIRST)] == ["as_planned", "as_planned"]
    (read,) = of_task(entries, SECOND)
    assert (read.body["values"]["x"]["mm"], read.body["values"]["above"]["mm"]) == (
        392.1125,
        128.5875,
    )


def test_a_seat_is_recorded_read_undone_and_gone_back_from_by_keys(
    server: Server, crew: Crew
) -> None:
    keys, ivo, job = begun(server, crew)
    walk_by_keys(keys, ivo, is_online=True)
    ivo.all_sent()
    assert_walked(server, crew, job)


def test_a_phone_that_cannot_buzz_is_worked_the_same_without_network(
    server: Server, crew: Crew
) -> None:
    """Nothing is said by vibration, and nothing waits for it."""
    keys, ivo, job = begun(server, crew, NO_BUZZ)
    assert ivo.page.evaluate("navigator.vibrate === undefined")
    with offline(ivo):
        walk_by_keys(keys, ivo, is_online=False)
    assert_walked(server, crew, job)


def test_the_focus_goes_down_the_page_and_comes_back_the_same_way(
    server: Server, crew: Crew
) -> None:
    keys, ivo, job = begun(server, crew)
    for path in (FIRST, "way/C1", "all", f"{FIRST}?look=readout", "panels.lift:A"):
        ivo.open(f"{server.address}/jobs/{job.id}/phone/{path}")
        has_the_job(ivo)
        ivo.page.wait_for_selector("#main")
        there = keys.down()
        assert there, path
        assert [on["words"] for on in there if on["isAbove"]] == [], path
        back = keys.up(there[0]["words"])
        # the pad of fractions comes after its input, once that has the focus
        assert [on["words"] for on in reversed(back) if not on["isPad"]] == [
            on["words"] for on in there if not on["isPad"]
        ], path
