"""A level found to be off without network: what is read by it is shown and judged with that."""

from __future__ import annotations

from typing import Any

from playwright.sync_api import expect

from tests.e2e.offline.fieldwork import (
    has_the_job,
    installer,
    log_of,
    of_task,
    offline,
    open_task,
    prepared,
    switch_off,
)
from tests.e2e.people import Crew, Person
from tests.e2e.server import Server

OUT = {"instrument": "spirit", "over": "24", "miss": "3/8", "higher": "high"}
"""Off by 3/16 in over 24 in, its right end too high."""
PAIR = "fasteners.pair:C1-C2"


def screen(person: Person) -> dict[str, Any]:
    """What a task read by level shows and starts from."""
    page = person.page
    return {
        "line": page.locator(".task-line").first.inner_text(),
        "by": page.locator('[name="by"]').input_value(),
        "side": page.locator('fieldset input[type="radio"]:checked').get_attribute("value"),
        "seen": page.locator('[name="seen"]').get_attribute("value"),
    }


def test_a_level_checked_without_network_is_taken_off_as_the_server_takes_it_off(
    server: Server, crew: Crew
) -> None:
    job = prepared(server, until="level.check")
    server.start()
    ivo = installer(crew, server, job)
    with offline(ivo):
        ivo.work(until=PAIR, readings={"level.check": OUT})
        on_the_phone = screen(ivo)
        # drawn with the right mark higher: no picture rather than a wrong one
        assert not ivo.page.locator(".drawing svg").is_visible()
        # 3/16 in over 24 in makes 1/8 in over 16 5/8 in; the right mark is 1/16 in higher by plan
        assert "spirit level itself reads 1/8\xa0in low on the right" in on_the_phone["line"]
        assert (on_the_phone["side"], on_the_phone["by"]) == ("left", "1/16")
        ivo.put("higher", "level")
        ivo.put("by", "0")
        ivo.tap(ivo.button("Record what I measured"))
        expect(ivo.main).to_contain_text("C2 is 1/16 in too high")
    has_the_job(ivo)
    open_task(ivo, server, job, PAIR)
    assert screen(ivo) == on_the_phone
    expect(ivo.page.locator(".drawing desc")).to_contain_text("C1 is higher by 1/16 in")
    ivo.tap(ivo.button("As planned"))
    ivo.all_sent()
    switch_off(server, crew)
    first, second = of_task(log_of(server, job), PAIR)
    assert first.body["values"]["higher"] == "level"
    assert second.body["outcome"] == "as_planned"
