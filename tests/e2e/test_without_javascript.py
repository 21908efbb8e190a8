"""A small job by a browser that runs no scripts: every task is a page, every answer a form."""

from __future__ import annotations

import re

from tests.e2e.people import Crew
from tests.e2e.prepared import Prepared, one_panel
from tests.e2e.server import Server


def test_a_panel_is_hung_without_javascript(server: Server, crew: Crew) -> None:
    job = Prepared(server, document=one_panel())
    server.start()
    ivo = crew.person("Ivo", has_script=False)
    ivo.join(server.address, job.code, tape="Inch fractions", hand="Right hand")
    ivo.work(until="fasteners.measure:A1")
    ivo.do("fasteners.measure:A1", {"x": "10 1/16", "above": "4 1/16"})
    assert ivo.heading == "A1 is set"
    assert "1 mark moves" in ivo.main.inner_text()
    ivo.work()
    assert re.search(r"All \d+ tasks are done", ivo.main.inner_text())
    server.stop()
    last = job.entries()[-1]
    assert (last.body["task"], last.who) == ("close.hand_over", job.entries()[-2].who)


def test_a_doubtful_length_is_asked_about_and_nothing_is_lost(server: Server, crew: Crew) -> None:
    job = Prepared(server, document=one_panel(), until="work.hanger:A1")
    server.start()
    ivo = crew.person("Ivo", has_script=False)
    ivo.join(server.address, job.code, tape="Millimetres", hand="Left hand")
    ivo.work(until="work.hanger:A1")
    ivo.put("in", "1,500")
    with ivo.watch.refused(422):
        ivo.tap(ivo.button("Record what I measured"))
    assert ivo.page.locator('[name="in"]').input_value() == "1,500"
    assert "1500" in ivo.page.locator("#error-f-in").inner_text()
