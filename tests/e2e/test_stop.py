"""A cable suspected: one installer stops, both phones lock, only the lead clears it."""

from __future__ import annotations

from tests.e2e.offline.fieldwork import installer, offline, prepared
from tests.e2e.people import Crew, Person
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


def test_the_phones_page_of_a_stop_says_what_the_servers_page_says(
    server: Server, crew: Crew
) -> None:
    job = prepared(server, until="fasteners.mark:B2")
    server.start()
    ivo, una = installer(crew, server, job), installer(crew, server, job, "Una")
    ivo.go_to("Mark B2")
    counted = left(ivo)
    with offline(ivo):
        ivo.tap(ivo.link("Something is in the way"))
        ivo.tap(ivo.button("Cable suspected"))
        assert "This stop is only on this phone. Tell the others by voice." in ivo.main.inner_text()
        said = locked(ivo)
        assert left(ivo) == counted
    ivo.page.get_by_text("Sent: the lead and the others see it.").wait_for()
    # C2 is 26 in away; C1 is near, and so is the pair that is checked together with C2
    assert said == "Nobody drills at B2 or within 300\xa0mm of it: B1, C1."

    to_the_servers_page(una)
    assert locked(una) == said
    assert left(una) == counted


def to_the_servers_page(person: Person) -> None:
    person.tap(person.page.locator("a.bar"))
    person.tap(person.page.locator("a.bar-stop"))


def locked(person: Person) -> str:
    return person.main.locator(".care li").first.inner_text()


def left(person: Person) -> str:
    """How far the stage is, on the bar."""
    return person.main.locator(".task-left").inner_text()


def test_an_open_page_of_a_stop_follows_when_the_lead_clears_it(server: Server, crew: Crew) -> None:
    job = prepared(server, until="fasteners.mark:B2")
    server.start()
    ivo, una = installer(crew, server, job), installer(crew, server, job, "Una")
    ivo.go_to("Mark B2")
    ivo.tap(ivo.link("Something is in the way"))
    ivo.tap(ivo.button("Cable suspected"))
    to_the_servers_page(una)
    assert ivo.heading == una.heading == "Stop at B2"

    lea = crew.person("Lea")
    lea.become_lead(server.lead_link)
    lea.open(f"{server.address}/jobs/{job.id}/phone/all")
    lea.tap(lea.page.locator("a.bar-stop"))
    lea.page.get_by_label("Why it is safe to go on").fill("it runs under the floor")
    lea.tap(lea.button("Clear this stop"))

    una.page.get_by_role("heading", name="Cleared: B2").wait_for()
    assert "it runs under the floor" in una.main.inner_text()
    ivo.page.wait_for_selector("#task-form", state="attached")
    assert ivo.task == "fasteners.mark:B2"
