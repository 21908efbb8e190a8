"""Shims without network: laid as said one after the other; what follows from others waits."""

from __future__ import annotations

import re
from typing import Any

from holdtrue.domain.documents import with_shims
from tests.e2e.offline.fieldwork import (
    installer,
    log_of,
    of_task,
    offline,
    open_task,
    prepared,
    recorded,
    switch_off,
)
from tests.e2e.people import Crew, Person
from tests.e2e.server import Server
from tests.walking import golden

FIRST, SECOND = "panels.shim:C1", "panels.shim:C2"
WAITS = "Send first: how thick the shims are is worked out from what you measured"


def shimmed() -> dict[str, Any]:
    return with_shims(golden(), "ABCD", 25.4 / 16)


def shims(person: Person) -> int:
    """How many the screen asks for."""
    found = re.search(r"(\d+) shims? of 1/64 in", person.main.inner_text())
    assert found, person.main.inner_text()
    return int(found[1])


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


def test_other_shims_than_said_leave_the_next_ring_to_the_server(
    server: Server, crew: Crew
) -> None:
    job = prepared(server, until=FIRST, document=shimmed())
    server.start()
    ivo = installer(crew, server, job)
    open_task(ivo, server, job, SECOND)
    said = shims(ivo)
    open_task(ivo, server, job, FIRST)
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
        assert WAITS in ivo.main.inner_text()
    open_task(ivo, server, job, SECOND)
    assert shims(ivo) > said
    switch_off(server, crew)
    laid = of_task(log_of(server, job), FIRST)[0].body
    assert (laid["outcome"], laid["values"]["thick"]["typed"]) == ("measured", "5/64")
