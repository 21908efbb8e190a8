"""A cable suspected: one installer stops, both phones lock, only the lead clears it."""

from __future__ import annotations

from tests.e2e.people import Crew
from tests.e2e.prepared import Prepared
from tests.e2e.server import Server


def test_a_suspected_cable_locks_what_is_near_until_the_lead_clears_it(
    server: Server, crew: Crew
) -> None:
    job = Prepared(server, until="fasteners.mark:C1")
    server.start()
    lea, ivo, una = crew.person("Lea"), crew.person("Ivo"), crew.person("Una")
    ivo.join(server.address, job.code, tape="Inch fractions", hand="Left hand")
    una.join(server.address, job.code, tape="Millimetres", hand="Right hand")

    ivo.go_to("Mark A2")
    ivo.tap(ivo.link("Something is in the way"))
    ivo.page.get_by_label("Note").fill("the detector hums")
    ivo.tap(ivo.button("Cable suspected"))
    assert ivo.heading == "Stop at A2"
    assert "Only the lead clears it" in ivo.main.inner_text()
    assert not ivo.button("Clear this stop").count()

    ivo.all_sent()
    una.page.locator(".bar-stop").wait_for()

    # B1 is 260 mm from A2, A1 is 537 mm away: the one is locked on both phones, the other goes on
    for person in (ivo, una):
        person.go_to("Mark B1")
        assert person.heading == "Stop at A2"
        person.go_to("Mark A1")
        assert person.task == "fasteners.mark:A1"
    una.do("fasteners.mark:A1")

    lea.become_lead(server.lead_link)
    lea.tap(lea.link("Tidewrack, four panels stopped"))
    lea.tap(lea.link("Phone"))
    lea.tap(lea.page.locator("a.bar-stop"))
    with lea.watch.refused(422):
        lea.tap(lea.button("Clear this stop"))
    assert lea.page.locator("#note-error").is_visible()
    lea.page.get_by_label("Why it is safe to go on").fill("traced: it runs under the floor")
    lea.tap(lea.button("Clear this stop"))
    assert lea.heading == "Cleared: A2"

    for person in (ivo, una):
        person.page.locator(".bar-stop").wait_for(state="detached")
        person.go_to("Mark B1")
        assert person.task == "fasteners.mark:B1"
