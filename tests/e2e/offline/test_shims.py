"""Shims without network: how thick they are follows from what was read and laid here."""

from __future__ import annotations

import re
from typing import Any

import pytest

from holdtrue.domain.documents import with_shims
from holdtrue.domain.fold import created, evolve
from holdtrue.domain.prefill import planned_values
from tests.e2e.offline.fieldwork import (
    Job,
    installer,
    log_of,
    log_without_refusals,
    of_task,
    offline,
    open_task,
    prepare,
    prepared,
    recorded,
    switch_off,
)
from tests.e2e.offline.test_whole_install import come_out_high
from tests.e2e.people import Crew, Person
from tests.e2e.server import Server
from tests.walking import golden

FIRST, SECOND = "panels.shim:C1", "panels.shim:C2"


def shimmed() -> dict[str, Any]:
    return with_shims(golden(), "ABCD", 25.4 / 16)


def shims(person: Person) -> int:
    """How many the screen asks for."""
    text = person.main.inner_text()
    if "No shim in this ring" in text:
        return 0
    found = re.search(r"(\d+) shims? of 1/64\sin", text)
    assert found, text
    return int(found[1])


def at_first_ring(server: Server, crew: Crew) -> tuple[Job, Person, int]:
    """An installer about to lay the first shims, and how many the second ring asks for then."""
    job = prepared(server, until=FIRST, document=shimmed())
    server.start()
    ivo = installer(crew, server, job)
    open_task(ivo, server, job, SECOND)
    said = shims(ivo)
    open_task(ivo, server, job, FIRST)
    return job, ivo, said


def test_shims_laid_as_said_need_no_network(server: Server, crew: Crew) -> None:
    job = prepared(server, until=FIRST, document=shimmed())
    server.start()
    ivo = installer(crew, server, job)
    said = {}
    for seat in ("C2", "C1"):
        open_task(ivo, server, job, f"panels.shim:{seat}")
        said[seat] = shims(ivo)
    with offline(ivo):
        assert shims(ivo) == said["C1"]
        ivo.tap(ivo.button("Laid as said"))
        ivo.go_to("Shims C2")
        assert shims(ivo) == said["C2"]
        ivo.tap(ivo.button("Laid as said"))
        assert ivo.task == "panels.lift:C"
    switch_off(server, crew)
    log = log_of(server, job)
    assert recorded(log)[-2:] == [FIRST, SECOND]
    assert [of_task(log, task)[0].body["outcome"] for task in (FIRST, SECOND)] == ["as_planned"] * 2


def test_other_shims_than_said_ask_for_others_in_the_next_ring(server: Server, crew: Crew) -> None:
    job, ivo, said = at_first_ring(server, crew)
    with offline(ivo):
        # more than a ring takes is refused here as on the server
        ivo.put("thick", "3/16")
        ivo.button("Record what I laid").tap()
        assert "is more than a ring takes" in ivo.main.inner_text()
        ivo.put("thick", "5/64")
        ivo.button("Laid as said").tap()
        # which of the two, in the task's own words
        assert ivo.button("Laid as said all the same").is_visible()
        ivo.tap(ivo.button("Record what I laid"))
        ivo.go_to("Shims C2")
        here = shims(ivo)
        assert here > said
    open_task(ivo, server, job, SECOND)
    assert shims(ivo) == here
    switch_off(server, crew)
    laid = of_task(log_of(server, job), FIRST)[0].body
    assert (laid["outcome"], laid["values"]["thick"]["typed"]) == ("measured", "5/64")


def test_a_panel_is_read_shimmed_and_lifted_without_network(server: Server, crew: Crew) -> None:
    first = "fasteners.measure:C1"
    with server.opened() as services:
        job = prepare(services, until=first, document=shimmed(), way="panel_by_panel")
    server.start()
    ivo = installer(crew, server, job)
    said: dict[str, int] = {}
    with offline(ivo):
        come_out_high(ivo)
        for task in (FIRST, SECOND):
            ivo.work(until=task)
            said[task] = shims(ivo)
            assert ivo.page.locator('[name="thick"]').input_value()
        ivo.work(until="panels.level:C")
    # what was high has fewer of them in its ring
    assert said[FIRST] < said[SECOND]
    switch_off(server, crew)
    entries = log_without_refusals(server, job)
    for task, count in said.items():
        body = of_task(entries, task)[0].body
        assert body["outcome"] == "as_planned"
        assert body["values"]["thick"]["mm"] == pytest.approx(count * 25.4 / 64, abs=1e-5)
    # what the server alone asks for, before and after either was laid
    state = created(entries[0])
    for entry in entries[1:]:
        if entry.body.get("task") in said and entry.type == "TaskRecorded":
            asked = planned_values(state, entry.body["task"])
            assert asked["thick"]["mm"] == pytest.approx(entry.body["values"]["thick"]["mm"])
        state = evolve(state, entry)


def test_with_the_network_other_shims_lead_on_to_the_next_ring(server: Server, crew: Crew) -> None:
    """How thick the next are only the server knows: that is waited for, not said to lack."""
    _, ivo, said = at_first_ring(server, crew)
    ivo.put("thick", "5/64")
    ivo.button("Laid as said").tap()
    ivo.tap(ivo.button("Record what I laid"))
    assert ivo.task == SECOND
    assert shims(ivo) > said
    switch_off(server, crew)
