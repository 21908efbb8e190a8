"""Green, red and the accent never say anything alone: a word or a shape says the same beside them.

The rules that use one of these colours are read from the style itself, as the browser has it, so
that a new one is looked at here too. Everything they apply to on the pages below must carry words
or a sign; and states that stand beside each other must differ in shape, colours left out.
"""

from __future__ import annotations

from typing import Any

import pytest
from playwright.sync_api import Page, expect

from tests.e2e.offline.fieldwork import has_the_job, installer, offline, prepare, prepared
from tests.e2e.people import Crew, Person
from tests.e2e.server import Server
from tests.e2e.test_every_address import House, furnished, hung_low, lead

STATE_COLOURS = ("--good", "--bad", "--hand")
NEVER_MET = {
    # a form refused as a whole, a plan that cannot be released, the mark in hand in a table
    *(".error-summary", ".findings > .finding-bar", "tr.in-hand", "tr.in-hand > :first-child"),
}
"""Rules about what none of these pages has; their elements carry words by their templates."""
COLOURED = """
(colours) => [...document.styleSheets].flatMap((sheet) => [...sheet.cssRules])
  .filter((rule) => rule instanceof CSSStyleRule && rule.selectorText !== ":root"
    && colours.some((colour) => rule.style.cssText.includes(`var(${colour})`)))
  .flatMap((rule) => rule.selectorText.split(/,\\s*/)).map((one) => one.replace(/::\\w+/, ""))
"""
SILENT = """
(selectors) => Object.fromEntries(selectors.map((selector) => [
  selector,
  [...document.querySelectorAll(selector)].filter((one) => one.checkVisibility()).map((one) => {
    const sign = getComputedStyle(one, "::before").content;
    const described = (one.getAttribute("aria-describedby") ?? "").split(" ")
      .map((id) => document.getElementById(id)?.textContent.trim()).join("");
    const label = one.labels?.[0]?.textContent ?? one.getAttribute("aria-label") ?? "";
    const says = one.matches("input, select, textarea")
      ? (one.getAttribute("aria-invalid") ? described : label)
      : one.closest("svg")
        ? shape(one)
        : one.textContent.trim() + (/^(none|normal|"")/.test(sign) ? "" : sign);
    return says ? "" : one.outerHTML.slice(0, 160);
  }),
]));
// of a drawing's part: that it is another shape than what has no such colour, or words
function shape(one) {
  if (one.matches("text")) return one.textContent.trim();
  const { strokeWidth, strokeDasharray } = getComputedStyle(one);
  const isOther = [...one.ownerSVGElement.querySelectorAll(one.tagName)]
    .filter((other) => !/hand|stop|lock/.test(other.getAttribute("class")))
    .every((other) => {
      const style = getComputedStyle(other);
      return style.strokeWidth !== strokeWidth || style.strokeDasharray !== strokeDasharray
        || other.getAttribute("r") !== one.getAttribute("r") || strokes(other) !== strokes(one);
    });
  return isOther ? "another shape" : "";
}
function strokes(path) {
  return (path.getAttribute("d") ?? "").replace(/[\\d. -]+/g, "");
}
"""
SHAPES = """
(chosen) => Object.fromEntries([...document.querySelectorAll(chosen)]
  .filter((one) => one.checkVisibility())
  .map((one) => {
    const state = one.dataset.state ?? [...one.classList].find((name) => /-/.test(name)) ?? "plain";
    if (one.closest("svg")) {
      const parts = [...one.children].filter((part) => part.tagName !== "title");
      const drawn = (part) => `${part.tagName} ${getComputedStyle(part).strokeDasharray}`;
      return [state, parts.map(drawn).join("; ")];
    }
    const looks = [getComputedStyle(one), getComputedStyle(one, "::before")];
    return [state, looks.map((style) => [
      style.content, style.borderTopStyle, style.borderTopWidth, style.borderTopLeftRadius,
      style.clipPath, style.height,
      style.backgroundColor === style.borderTopColor ? "full" : "empty",
    ].join(" ")).join("; ")];
  }))
"""


def met(page: Page, left: set[str]) -> set[str]:
    """Rules that apply to something on this page; nothing of it may say it by colour alone."""
    rules = set(page.evaluate(COLOURED, list(STATE_COLOURS)))
    assert rules, "the style was not read"
    left |= rules
    found: dict[str, list[str]] = page.evaluate(SILENT, sorted(rules))
    silent = {rule: [one for one in ones if one] for rule, ones in found.items()}
    assert not {rule: ones for rule, ones in silent.items() if ones}, page.url
    return {rule for rule, ones in found.items() if ones}


@pytest.fixture
def house(server: Server) -> House:
    with server.opened() as services:
        return furnished(services)


def test_what_a_colour_says_a_word_or_a_sign_says_too(
    server: Server, crew: Crew, house: House
) -> None:
    with server.opened() as services:
        low, free = hung_low(services), prepare(services, until="fasteners.measure:C2")
    server.start()
    lea = lead(server, crew)
    rules: set[str] = set()
    seen: set[str] = set()
    shapes: dict[str, dict[str, Any]] = {}
    phone = f"{server.address}/jobs/{house.job}/phone"
    for address in (
        *(
            f"{phone}/{path}"
            for path in ("all", "fasteners.mark:C2?again=1", "before.loads?again=1")
        ),
        *(f"{phone}/{path}" for path in ("fasteners.measure:C2", f"stop/{house.stop}", "way/C2")),
        *(f"{phone}/{path}" for path in (f"result/{house.result}", "stand_back.yes?again=1")),
        f"{phone}/fasteners.mark:C2?look=readout&again=1",
        f"{server.address}/jobs/{house.job}",
        f"{server.address}/jobs/{low}/phone/panels.trim:A",
        f"{server.address}/jobs/{low}/review",
    ):
        lea.open(address)
        if "/phone/" in address:
            has_the_job(lea)
        collect(lea, seen, rules, shapes)
    phone = f"{server.address}/jobs/{free.id}/phone"
    as_planned_is_kept(lea, phone)
    collect(lea, seen, rules, shapes)
    lea.open(f"{phone}/fasteners.measure:C2")
    has_the_job(lea)
    lea.page.locator('[name="above"]').fill("4 ell")
    lea.button("Record what I measured").tap()
    expect(lea.main.locator(".error")).to_be_visible()
    collect(lea, seen, rules, shapes)
    lea.do("fasteners.measure:C2", {"above": "4 1/2"})
    collect(lea, seen, rules, shapes)
    lea.all_sent()
    assert rules - seen <= NEVER_MET, "a rule that no page here has anything for"
    assert {"open", "set", "hand", "stopped", "locked"} <= shapes["seats"].keys()
    assert {"mark-done", "mark-ready", "mark-waiting", "mark-stopped"} <= shapes["tasks"].keys()
    assert {"verdict-in", "verdict-out"} <= shapes["verdicts"].keys()
    assert {"bar-done", "bar-now", "bar-open"} <= shapes["stages"].keys()
    for family, states in shapes.items():
        assert len(set(states.values())) == len(states), (family, states)


FAMILIES = {
    "seats": "[data-state]",
    "tasks": ".mark",
    "verdicts": ".verdict",
    "notices": ".notice",
    "stages": ".bar-stages > i",
}


def collect(
    person: Person, seen: set[str], rules: set[str], shapes: dict[str, dict[str, Any]]
) -> None:
    seen |= met(person.page, rules)
    # with colours of people's own choice in place of ours
    person.page.emulate_media(forced_colors="active")
    for family, chosen in FAMILIES.items():
        shapes.setdefault(family, {}).update(person.page.evaluate(SHAPES, chosen))
    person.page.emulate_media(forced_colors="none")


def as_planned_is_kept(lea: Person, phone: str) -> None:
    """The line that says what was recorded last."""
    lea.open(f"{phone}/fasteners.mark:B2?again=1")
    has_the_job(lea)
    lea.tap(lea.page.locator(".thumb .button-main"))
    expect(lea.main.locator(".kept")).to_contain_text("saved")


def test_what_is_not_sent_yet_is_said_in_words(server: Server, crew: Crew) -> None:
    job = prepared(server, until="fasteners.measure:C2")
    server.start()
    ivo = installer(crew, server, job)
    bar = ivo.page.locator("#outbox .outbox-count")
    ivo.go_to("Measure C2")
    with offline(ivo):
        ivo.do("fasteners.measure:C2")
        expect(bar).to_have_text("1 not sent: only on this phone")
    expect(ivo.outbox).to_be_hidden()


def test_drawings_take_the_colours_people_choose_for_themselves(
    server: Server, crew: Crew, house: House
) -> None:
    """Dark letters on a dark ground are none: lines follow the ground, and so do words."""
    server.start()
    lea = lead(server, crew)
    lea.page.emulate_media(forced_colors="active", color_scheme="dark")
    lea.page.goto(f"{server.address}/jobs/{house.job}/phone/fasteners.mark:C2?again=1")
    has_the_job(lea)
    ground, *inks = lea.page.evaluate(
        """() => [getComputedStyle(document.body).backgroundColor,
          ...[...document.querySelectorAll(".d-line, .d-hand, .d-reference, .d-level")]
            .map((one) => getComputedStyle(one).stroke)]"""
    )
    assert ground == "rgb(0, 0, 0)"
    assert inks
    assert ground not in inks
