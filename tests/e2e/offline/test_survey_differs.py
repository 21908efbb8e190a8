"""Hangers and studs that are not where the plan had them, found without network: work goes on."""

from __future__ import annotations

from typing import Any

import pytest
from playwright.sync_api import expect

from holdtrue.service import installers, jobs
from tests.e2e.offline.fieldwork import (
    installer,
    log_of,
    of_task,
    offline,
    prepare,
    prepared,
    recorded,
    switch_off,
)
from tests.e2e.offline.test_whole_install import (
    assert_marks_as_shown,
    assert_same,
    work_and_read,
)
from tests.e2e.people import Crew
from tests.e2e.server import Server
from tests.walking import golden, walk

HANGER = "work.hanger:A1"
SPACING = "work.spacing:A1-A2"
READ = {"in": "4 3/4", "down": "7 1/4"}
"""A1's hanger is 3/8 in further in and 1/8 in lower than planned."""
STUDS = {"studs[2].x": "7", "studs[4].x": "22 5/8"}
"""Two studs are an inch nearer to the reference line."""


def test_an_install_goes_on_by_hangers_and_studs_as_measured_without_network(
    server: Server, crew: Crew
) -> None:
    with server.opened() as services:
        away, at_home = prepare(services), prepare(services)
    server.start()
    ivo = installer(crew, server, away)
    with offline(ivo):
        ivo.work(until=HANGER)
        ivo.do(HANGER, READ)
        ivo.work(until=SPACING)
        # 21 1/8 in was planned, and would not agree with what was read from the edges
        assert ivo.page.locator('[name="spacing"]').input_value() == "20 3/4"
        expect(ivo.page.locator("figure svg [data-live^=spacing]")).to_have_text("20 3/4 in")
        ivo.work(until="behind.studs")
        ivo.do("behind.studs", STUDS)
        shown = work_and_read(ivo)
        assert ivo.main.get_by_text("tasks are done").count() == 1
    switch_off(server, crew)
    entries = log_of(server, away)
    assert [e.type for e in entries if e.type == "EntryParked"] == []
    readings = {str(e.body["task"]): typed(e.body["values"]) for e in entries if is_measured(e)}
    assert set(readings) == {HANGER, "behind.studs", "fasteners.measure:B1", "fasteners.measure:C2"}
    with server.opened() as services:
        who = installers.join(
            services, code=at_home.code, name="Ivo", unit="in", hand="left", key=services.ids.key()
        )
        walk(services, who, at_home.id, answers=readings)
        online = services.store.read(jobs.stream_of(at_home.id))
    assert recorded(entries) == recorded(online)
    assert_same(entries, online)
    assert_marks_as_shown(shown, entries)


def is_measured(entry: Any) -> bool:
    return bool(entry.type == "TaskRecorded" and entry.body["outcome"] == "measured")


def typed(values: Any, path: str = "") -> dict[str, str]:
    """The form's fields once more, from what was stored of them."""
    fields: dict[str, str] = {}
    for name, value in values.items():
        at = f"{path}.{name}" if path else name
        if isinstance(value, list | tuple):
            for i, one in enumerate(value):
                fields |= typed(one, f"{at}[{i}]")
        elif hasattr(value, "items"):
            fields[at] = value["typed"]
            if "side" in value:
                fields[f"{at}.side"] = value["side"]
        elif value:
            fields[at] = value
    return fields


@pytest.mark.parametrize("reading", [{"in": "5 1/2"}, {"down": "8"}])
def test_a_hanger_far_off_plan_waits_for_the_server(
    server: Server, crew: Crew, reading: dict[str, str]
) -> None:
    """How the panel's weight is shared then is the server's to say."""
    job = prepared(server, until=HANGER)
    server.start()
    ivo = installer(crew, server, job)
    with offline(ivo):
        for name, text in reading.items():
            ivo.put(name, text)
        ivo.button("Record what I measured").tap()
        ivo.tap(ivo.button("Yes, save it"))
        ivo.go_to("Mark A1")
        expect(ivo.main).to_contain_text("Send first: what you measured changes the plan")
    ivo.go_to("Mark A1")
    expect(ivo.main).not_to_contain_text("Send first")
    switch_off(server, crew)
    assert len(of_task(log_of(server, job), HANGER)) == 1


def test_a_load_that_just_holds_is_checked_by_the_server_before_its_seats_are_made(
    server: Server, crew: Crew
) -> None:
    """The other panels go on meanwhile."""
    document = golden()
    # half of it on each hook, which may carry 20 lb: not with a hanger half an inch off
    document["panels"][1]["mass"] = "39 lb"
    with server.opened() as services:
        job = prepare(services, until="work.hanger:B1", document=document)
    server.start()
    ivo = installer(crew, server, job)
    with offline(ivo):
        ivo.do("work.hanger:B1", {"in": "3 3/8"})
        ivo.work(until="fasteners.mark:C1")
        ivo.go_to("Mark B1")
        expect(ivo.main).to_contain_text("Send first: the server checks the load at B1 again")
    assert ivo.task == "fasteners.mark:B1"
    switch_off(server, crew)
    assert len(of_task(log_of(server, job), "work.hanger:B1")) == 1
