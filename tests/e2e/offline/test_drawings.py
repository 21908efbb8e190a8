"""Drawings on the phone: asked for until they are here, and never older than the numbers beside."""

from __future__ import annotations

import re

from playwright.sync_api import Route, expect

from tests.e2e.offline.fieldwork import (
    installer,
    log_of,
    offline,
    open_task,
    prepared,
    recorded,
    switch_off,
)
from tests.e2e.people import Crew, Person
from tests.e2e.server import Server

MEASURE = "fasteners.measure:C1"


def drawing(person: Person) -> str:
    """The texts of the screen's first drawing, with what is read aloud of it."""
    svg = person.page.locator("#main figure.drawing svg").first
    svg.wait_for()
    return str(svg.evaluate("(svg) => svg.textContent"))


def in_accent(person: Person) -> list[str]:
    """The numbers of the drawing that the hand works by."""
    texts = person.page.locator("#main figure.drawing svg .d-text-hand")
    return [plain(text) for text in texts.all_text_contents()]


def numbers(person: Person) -> list[str]:
    """The same beside it, large."""
    rows = person.page.locator(".number-hand")
    return [
        plain(row.evaluate("(dd) => [...dd.childNodes].map((n) => n.textContent).join(' ')"))
        for row in rows.all()
    ]


def plain(text: str) -> str:
    """A length as letters alone: "10 3/4 in", whatever it is set in."""
    return " ".join(text.replace("⁄", "/").split()).replace(" /", "/").replace("/ ", "/")


def measure_off(person: Person) -> None:
    person.put("above", "5 3/16")
    person.tap(person.button("Record what I measured"))


def test_offline_a_drawing_says_the_numbers_of_the_rows_beside_it(
    server: Server, crew: Crew
) -> None:
    job = prepared(server, until=MEASURE)
    server.start()
    ivo = installer(crew, server, job)
    open_task(ivo, server, job, "fasteners.mark:D1")
    before = in_accent(ivo)
    open_task(ivo, server, job, MEASURE)
    with offline(ivo):
        measure_off(ivo)
        ivo.go_to("Mark D1")
        drawing(ivo)
        assert sorted(in_accent(ivo)) == sorted(numbers(ivo)) != sorted(before)
        said = ivo.page.locator("#main figure.drawing svg desc").text_content() or ""
        for number in numbers(ivo):
            assert number in said.replace("\xa0", " ")
    switch_off(server, crew)


def test_a_seat_set_without_network_is_drawn_set_and_one_given_up_open(
    server: Server, crew: Crew
) -> None:
    job = prepared(server, until=MEASURE)
    server.start()
    ivo = installer(crew, server, job)
    open_task(ivo, server, job, MEASURE)
    with offline(ivo):
        measure_off(ivo)
        ivo.tap(ivo.page.locator("a.bar"))
        assert state_of(ivo, "C1") == "set"
        assert ivo.page.locator('[data-seat="C1"] .d-seat-set').count() == 1
        assert "C1 is set" in drawing(ivo)
        ivo.look()
        ivo.go_to("Mark C2")
        assert state_of(ivo, "C1") == "set", "the close-up of its neighbour too"
        ivo.go_to("Measure C1")
        ivo.tap(ivo.link("Something is in the way"))
        ivo.tap(ivo.page.get_by_role("button", name=re.compile("^Hole spent")))
        ivo.tap(ivo.page.locator("a.bar"))
        assert state_of(ivo, "C1") == "open"
    switch_off(server, crew)


def state_of(person: Person, seat: str) -> str:
    drawing(person)
    shown = person.page.locator(f'#main figure.drawing [data-seat="{seat}"]')
    return shown.get_attribute("data-state") or ""


def test_a_stop_called_since_a_drawing_was_made_is_said_under_it(
    server: Server, crew: Crew
) -> None:
    job = prepared(server, until="fasteners.mark:C1")
    server.start()
    ivo = installer(crew, server, job)
    open_task(ivo, server, job, "fasteners.mark:C1")
    with offline(ivo):
        ivo.tap(ivo.link("Something is in the way"))
        ivo.tap(ivo.button("Cable suspected"))
        ivo.go_to("Mark A1")
        caption = ivo.page.locator("#main figure.drawing figcaption")
        assert caption.inner_text() == "Since this was drawn: stop at C1."
    switch_off(server, crew)


def test_drawings_that_did_not_come_are_said_to_lack_and_asked_for_again(
    server: Server, crew: Crew
) -> None:
    job = prepared(server, until=MEASURE)
    server.start()
    ivo = installer(crew, server, job)
    asked: list[str] = []

    def refuse(route: Route) -> None:
        asked.append(route.request.url)
        if len(asked) < 3:
            route.abort()
        else:
            route.continue_()

    ivo.page.evaluate("localStorage.clear()")
    ivo.page.route("**/phone/drawings*", refuse)
    with ivo.watch.cut_off():
        ivo.page.goto(f"{server.address}/jobs/{job.id}/phone/{MEASURE}")
        ivo.page.wait_for_selector('html[data-app="ready"]', state="attached")
        ivo.go_to("Mark D1")
        place = ivo.page.locator("#main figure.drawing")
        expect(place).to_have_text("Drawing not on this phone yet")
        ivo.look()
        expect(place.locator("svg")).to_be_visible(timeout=20_000)
        expect(place).not_to_contain_text("not on this phone")
    assert len(asked) == 3
    ivo.page.wait_for_timeout(6_000)
    assert len(asked) == 3, "what is here is not asked for again"
    switch_off(server, crew)
    assert recorded(log_of(server, job))[-1] != MEASURE
