"""What no page may do, watched during every walk.

A ``Watch`` sits on one page of the browser and notes what should not happen there: words on the
console (a blocked script or style says so there), scripts that throw, requests that fail, answers
that refuse. An ``Inspection`` looks at each screen as it comes: no sideways scrolling at 390 and
320 px, with text twice as large, nor with the whole page twice as large, where the main action can
be scrolled to; nothing to tap smaller than a thumb, no length on a phone parted at a line's end, no
drawing without words, no number in hand too small for arm's length; and in both looks nothing axe
objects to and no text, large or in a drawing, in less contrast than 7:1.
Both collect; the test fails at its end with the whole list.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, ClassVar
from urllib.parse import urlsplit

from playwright.sync_api import ConsoleMessage, Page, Request, Response, ViewportSize

AXE = Path(__file__).parent / "vendor" / "axe-4.14.1.min.js"
RULES = ("wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa")
OF_COLOURS = ("color-contrast", "link-in-text-block")
"""Those of the rules that can be broken in one look and not in the other."""
WIDTHS_PX = (390, 320)
ZOOMED_PX: ViewportSize = {"width": 195, "height": 422}
"""What a phone of 390 by 844 has room for when its pages are twice as large."""
THUMB_PX = 48
LOOKS = ("daylight", "dark")
"""They differ in colours alone, all of them by this one attribute of the page."""
LEAST_CONTRAST = 7.0
HAND_PX = 40
READOUT_PX = 96
_RUN_AXE = """
async ([type, values]) =>
  (await axe.run({ runOnly: { type, values }, resultTypes: ["violations"] })).violations
  .map(({ id, nodes }) => `${id}: ${nodes.map((node) => node.html.slice(0, 160)).join(" | ")}`)
"""
_LOOK = "(look) => { document.documentElement.dataset.look = look; }"
_PALE = """
(least) => {
  const channels = (colour) => colour.match(/[\\d.]+/g).map(Number);
  const isClear = (colour) => colour === "none" || (channels(colour)[3] ?? 1) === 0;
  const part = (value) =>
    value / 255 <= 0.04045 ? value / 255 / 12.92 : ((value / 255 + 0.055) / 1.055) ** 2.4;
  const luminance = (colour) => {
    const [r, g, b] = channels(colour).map(part);
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  const ratio = (...colours) => {
    const [light, dark] = colours.map(luminance).sort((a, b) => b - a);
    return (light + 0.05) / (dark + 0.05);
  };
  // a shape of the drawing painted before the text and under its middle, else what is behind all
  const shapeUnder = (text) => {
    const box = text.getBoundingClientRect();
    const [x, y] = [box.x + box.width / 2, box.y + box.height / 2];
    return [...text.ownerSVGElement.querySelectorAll("rect, path, circle, polygon, ellipse")]
      .filter((shape) => !shape.closest("defs, clipPath, pattern, mask")
        && shape.compareDocumentPosition(text) & Node.DOCUMENT_POSITION_FOLLOWING
        && !isClear(getComputedStyle(shape).fill)
        && /^rgb/.test(getComputedStyle(shape).fill)
        && shape.isPointInFill(new DOMPoint(x, y).matrixTransform(shape.getScreenCTM().inverse())))
      .at(-1);
  };
  const ground = (element) => {
    const shape = element.closest("text") && shapeUnder(element.closest("text"));
    if (shape) return getComputedStyle(shape).fill;
    for (let one = element; one; one = one.parentElement) {
      const { backgroundColor } = getComputedStyle(one);
      if (!isClear(backgroundColor)) return backgroundColor;
    }
    return "rgb(255, 255, 255)";
  };
  const hasWords = (element) => element.matches("input:not([type=hidden], [type=checkbox],"
    + " [type=radio], [type=file]), select, textarea")
    || [...element.childNodes].some((node) => node.nodeType === 3 && node.data.trim());
  return [...document.body.querySelectorAll("*:not(option, script, style, title, desc)")]
    .filter((element) => hasWords(element) && element.checkVisibility()
      && !element.closest(".hidden-label, .skip, defs"))
    .map((element) => {
      const style = getComputedStyle(element);
      const colour = element.closest("text") ? style.fill : style.color;
      return { element, ratio: ratio(colour, ground(element)) };
    })
    .filter(({ ratio }) => ratio < least)
    .map(({ element, ratio }) => `${ratio.toFixed(2)}:1 ${element.outerHTML.slice(0, 120)}`);
}
"""
_WORDLESS = """
() => [...document.querySelectorAll("svg")]
  .filter((svg) => svg.checkVisibility() && !svg.closest("[aria-hidden=true]"))
  .filter((svg) => {
    const ids = (svg.getAttribute("aria-labelledby") ?? "").split(" ").filter(Boolean);
    const words = ids.map((id) => document.getElementById(id)?.textContent.trim());
    const name = svg.getAttribute("aria-label") ?? words.filter(Boolean).join(" ");
    return svg.getAttribute("role") !== "img" || !name;
  }).map((svg) => svg.outerHTML.slice(0, 120))
"""
_FINE = """
(least) => Object.entries(least).flatMap(([chosen, size]) =>
  [...document.querySelectorAll(`${chosen}, ${chosen} *`)]
    .filter((e) => !e.closest(".unit") && e.checkVisibility()
      && [...e.childNodes].some((node) => node.nodeType === 3 && node.data.trim()))
    .map((e) => [e, parseFloat(getComputedStyle(e).fontSize)])
    .filter(([, px]) => px < size - 0.01)
    .map(([e, px]) => `${px} px ${e.outerHTML.slice(0, 120)}`))
"""
_WIDE = """
(width) => [...document.querySelectorAll("body *")]
  .filter((e) => e.getBoundingClientRect().right > width + 0.5)
  // The fixed bar is as wide as the page: it only follows what made the page wide.
  .sort((a, b) => Boolean(b.closest(".thumb")) - Boolean(a.closest(".thumb")))
  .slice(-3).map((e) => e.outerHTML.slice(0, 120))
"""
_SMALL = """
(least) => [...document.querySelectorAll(
  "button, summary, select, nav a, .button, .thumb a, .page-head a, .crumbs a, .bar, .bar-stop, "
  + ".job-list a, .task-list a, .phone-nav a, .seg, .choice, "
  + "input:not([type=hidden], .seg input, .choice input)")]
  .filter((e) => e.checkVisibility() && !e.closest("[hidden], .hidden-label, .skip"))
  .map((e) => {
    const { width, height } = e.getBoundingClientRect();
    return { text: e.textContent.trim() || e.outerHTML.slice(0, 80), width, height };
  }).filter(({ width, height }) => width && Math.min(width, height) < least - 0.01)
  .map(({ text, width, height }) => `${text} ${width.toFixed(1)} x ${height.toFixed(1)}`)
"""
_PARTED = """
() => {
  const length = /\\d[\\d./]*(?:\\s\\d+\\/\\d+)?\\s(?:in|mm|cm|ft)\\b/g;
  const texts = document.createTreeWalker(document.querySelector("main.task") ?? new Text(), 4);
  const found = [];
  while (texts.nextNode()) {
    const { data, parentElement } = texts.currentNode;
    if (!parentElement.checkVisibility() || parentElement.closest("svg, title")) continue;
    for (const { index, 0: words } of data.matchAll(length)) {
      const range = new Range();
      range.setStart(texts.currentNode, index);
      range.setEnd(texts.currentNode, index + words.length);
      const lines = new Set([...range.getClientRects()].map(({ top }) => Math.round(top)));
      if (lines.size > 1) found.push(`"${words}" in "${data.trim().slice(0, 80)}"`);
    }
  }
  return found;
}
"""
_OUT_OF_REACH = """
() => [...document.querySelectorAll(".thumb > .button")].filter((e) => {
  e.scrollIntoView({ block: "center" });
  const { x, y, width, height } = e.getBoundingClientRect();
  const top = document.elementFromPoint(x + width / 2, y + height / 2);
  return !e.closest("[inert]") && !e.disabled && e.checkVisibility() && !e.contains(top);
}).map((e) => e.outerHTML.slice(0, 120))
"""
_KIND = """
() => [
  document.querySelector("h1").innerText,
  document.querySelector('#main [role="alert"], #main .notice') !== null,
  document.getElementById("main").textContent,
]
"""
_TEXT = "(size) => { document.documentElement.style.fontSize = size; }"
TEXT_SIZE = "200%"


REFUSALS = (400, 401, 403, 404, 409, 413, 422)


class Watch:
    """Notes what goes wrong on a page."""

    def __init__(self, page: Page, who: str, faults: list[str]) -> None:
        self.who = who
        self.faults = faults
        self._statuses: set[int] = set()
        self._met: set[int] = set()
        self._is_cut_off = False
        page.on("console", self._console)
        page.on("pageerror", lambda error: self._note(f"a script threw: {error}"))
        page.on("requestfailed", self._failed)
        page.on("response", self._response)

    def _note(self, words: str) -> None:
        self.faults.append(f"{self.who}: {words}")

    def _console(self, message: ConsoleMessage) -> None:
        # The browser repeats here every answer above 399 and every failed request; those are
        # looked at one by one below.
        is_repeat = message.text.startswith("Failed to load resource")
        if message.type in ("error", "warning") and not is_repeat and not self._is_cut_off:
            self._note(f"console {message.type}: {message.text}")

    def _failed(self, request: Request) -> None:
        # A phone's own look for news may fail: it looks again. A page that is left behind for
        # another, or for a download, is given up, and so are its scripts and what it just asked for
        # by itself (a job's page looks whether anything waits for the lead).
        path = urlsplit(request.url).path
        is_for_news = request.method in ("GET", "HEAD") and "/phone/" in path
        is_navigation = request.is_navigation_request()
        is_icon = path.startswith("/static/icons/")
        may_be_left = (
            is_navigation or is_icon or path.startswith("/assets/") or path.endswith("/now")
        )
        given_up_as = ("net::ERR_ABORTED", *(["net::ERR_FAILED"] if is_icon else []))
        is_given_up = may_be_left and request.failure in given_up_as
        given_up = is_given_up or (is_for_news and not is_navigation)
        if not given_up and not self._is_cut_off:
            self._note(f"{request.method} {request.url} failed: {request.failure}")

    def _response(self, response: Response) -> None:
        if response.status < 400:
            return
        self._met.add(response.status)
        if response.status not in self._statuses:
            self._note(f"{response.request.method} {response.url}: {response.status}")

    @contextmanager
    def refused(self, status: int) -> Iterator[None]:
        """An answer of this status is meant here, and comes."""
        self._met.clear()
        self._statuses.add(status)
        yield
        self._statuses.remove(status)
        assert status in self._met, f"{self.who}: no answer {status}, but {self._met or 'none'}"

    @contextmanager
    def refusals(self) -> Iterator[None]:
        """Whoever opens what is not theirs, or sends what is not whole, is refused."""
        own, self._statuses = self._statuses, set(REFUSALS)
        yield
        self._statuses = own

    @contextmanager
    def cut_off(self) -> Iterator[None]:
        """The server is gone for a while: what fails now is meant to."""
        self._is_cut_off = True
        yield
        self._is_cut_off = False


class Inspection:
    """Looks at every kind of screen once in a run of tests, whichever test comes to it first."""

    seen: ClassVar[set[str]] = set()

    def __init__(self, faults: list[str]) -> None:
        self.faults = faults

    def look(self, page: Page) -> None:
        """Inspect the page as it stands, unless one like it was inspected before."""
        # without its style a page is as wide as it likes
        page.wait_for_load_state("load")
        kind = self.kind_of(page)
        if kind in self.seen:
            return
        self.seen.add(kind)
        for fault in inspect(page):
            self.faults.append(f"{kind}: {fault}")

    @staticmethod
    def kind_of(page: Page) -> str:
        """Address and heading without job, seat and numbers, and the unit read in.

        A screen that complains is another.
        """
        path = re.sub(r"[0-9A-HJKMNP-TV-Z]{8,}", "*", urlsplit(page.url).path)
        path = re.sub(r":[^/]*$|\d+$", "", path)
        heading, has_words, text = page.evaluate(_KIND)
        heading = re.sub(r"\b[A-D]\d?\b|\d+", "*", heading)
        length = re.search(r"\d\s?(in|mm|cm|ft)\b", text)
        unit = f" in {length[1]}" if length else ""
        return f"{path} {heading!r}{' with words' * has_words}{unit}"


def inspect(page: Page) -> list[str]:
    """Everything wrong with how the page is built."""
    faults = []
    size = page.viewport_size
    assert size is not None
    for width in WIDTHS_PX:
        page.set_viewport_size({"width": width, "height": size["height"]})
        if page.evaluate("document.documentElement.scrollWidth") > width:
            faults.append(f"scrolls sideways at {width} px: {page.evaluate(_WIDE, width)}")
        small = page.evaluate(_SMALL, THUMB_PX)
        faults += [f"too small for a thumb at {width} px: {target}" for target in small]
        fine = page.evaluate(_FINE, {".number-hand": HAND_PX, ".readout-number": READOUT_PX})
        faults += [f"too fine for arm's length at {width} px: {number}" for number in fine]
        parted = page.evaluate(_PARTED)
        faults += [f"parted at the end of a line at {width} px: {length}" for length in parted]
    page.set_viewport_size({"width": WIDTHS_PX[0], "height": size["height"]})
    page.evaluate(_TEXT, TEXT_SIZE)
    if page.evaluate("document.documentElement.scrollWidth") > WIDTHS_PX[0]:
        wide = page.evaluate(_WIDE, WIDTHS_PX[0])
        faults.append(f"scrolls sideways with text at {TEXT_SIZE}: {wide}")
    page.evaluate(_TEXT, "")
    page.set_viewport_size(ZOOMED_PX)
    if page.evaluate("document.documentElement.scrollWidth") > ZOOMED_PX["width"]:
        wide = page.evaluate(_WIDE, ZOOMED_PX["width"])
        faults.append(f"scrolls sideways twice as large: {wide}")
    hidden = page.evaluate(_OUT_OF_REACH)
    faults += [f"out of reach twice as large: {button}" for button in hidden]
    page.evaluate("scrollTo(0, 0)")
    page.set_viewport_size(size)
    faults += [f"a drawing without words: {one}" for one in page.evaluate(_WORDLESS)]
    return faults + in_both_looks(page)


def in_both_looks(page: Page) -> list[str]:
    """What axe objects to, and what is too pale; the page is left in the look it had."""
    if not page.evaluate("'axe' in window"):
        page.evaluate(AXE.read_text())
    own: str = page.evaluate("document.documentElement.dataset.look")
    faults = []
    for look in LOOKS:
        page.evaluate(_LOOK, look)
        rules = ("tag", RULES) if look == LOOKS[0] else ("rule", OF_COLOURS)
        found: Any = page.evaluate(_RUN_AXE, rules)
        found += [f"pale: {one}" for one in page.evaluate(_PALE, LEAST_CONTRAST)]
        faults += [f"{look}: {one}" for one in found]
    page.evaluate(_LOOK, own)
    return faults
