"""What was found and what the lead said reach who stands at the wall, on a phone of its own."""

from __future__ import annotations

from playwright.sync_api import expect

from tests.e2e.offline.fieldwork import Job, installer, offline, open_task, prepared
from tests.e2e.people import Crew, Person
from tests.e2e.server import Server

FOUND = "something to keep clear of was found"

NEWS_MS = 15_000
"""A phone looks for news every 5 s."""


def lead_of(crew: Crew, server: Server) -> Person:
    lea = crew.person("Lea")
    lea.become_lead(server.lead_link)
    return lea


def release(lea: Person, server: Server, job: Job, reason: str) -> None:
    lea.open(f"{server.address}/jobs/{job.id}")
    lea.page.get_by_label("Why it may hang all the same").fill(reason)
    lea.tap(lea.page.get_by_role("button", name="Release revision"))


def test_a_cable_found_without_network_stops_the_work_there_and_then(
    server: Server, crew: Crew
) -> None:
    job = prepared(server, until="fasteners.mark:C1")
    server.start()
    ivo = installer(crew, server, job)
    open_task(ivo, server, job, "before.services?again=1")
    with offline(ivo):
        ivo.put("found", "live cable, runs up")
        ivo.put("near[2]", "A2")
        ivo.tap(ivo.button("Checked"))
        assert "Work stops at the first hole until the lead has looked." in ivo.main.inner_text()
        assert "Near A2: live cable, runs up." in ivo.main.inner_text()
        ivo.go_to("Mark C1")
        assert FOUND in ivo.main.inner_text()
        assert ivo.task is None
        ivo.tap(ivo.link("All tasks"))
        assert f"Nothing can be done now\n\nThe lead must look first: {FOUND}." in (
            ivo.main.get_by_role("alert").inner_text()
        )
        ivo.go_to("Mark C1")

    release(lead_of(crew, server), server, job, "it ends at 2 m, drill 40 mm at most")
    ivo.page.wait_for_selector("#task-form", state="attached")
    assert ivo.task == "fasteners.mark:C1"
    assert not ivo.main.locator(".heed").count()
    said = "Found before drilling near A2: live cable, runs up. Lea: it ends at 2 m, drill 40 mm"
    ivo.go_to("Mark A2")
    assert said in ivo.main.locator(".heed").inner_text()
    ivo.tap(ivo.page.locator("a.bar"))
    assert said in ivo.main.locator(".heed").inner_text()


def test_something_to_keep_clear_of_is_recorded_from_behind_the_wall_without_network(
    server: Server, crew: Crew
) -> None:
    job = prepared(server, until="behind.studs")
    server.start()
    ivo = installer(crew, server, job)
    open_task(ivo, server, job, "behind.studs")
    with offline(ivo):
        ivo.tap(ivo.link("Something to keep clear of"))
        assert ivo.task == "before.services"
        ivo.put("found", "an outlet box")
        ivo.put("near[1]", "A1")
        ivo.tap(ivo.button("Checked"))
        assert "Near A1: an outlet box." in ivo.main.inner_text()
    lea = lead_of(crew, server)
    lea.open(f"{server.address}/jobs/{job.id}")
    lea.page.get_by_text("near A1: an outlet box", exact=False).first.wait_for()


def test_the_leads_words_on_a_cleared_stop_come_to_an_open_phone(
    server: Server, crew: Crew
) -> None:
    job = prepared(server, until="fasteners.mark:B2")
    server.start()
    ivo = installer(crew, server, job)
    ivo.go_to("Mark B2")
    ivo.tap(ivo.link("Something is in the way"))
    ivo.tap(ivo.button("Cable suspected"))
    ivo.all_sent()
    lea = lead_of(crew, server)
    lea.open(f"{server.address}/jobs/{job.id}/phone/all")
    lea.tap(lea.page.locator("a.bar-stop"))
    lea.page.get_by_label("Why it is safe to go on").fill("use a bigger toggle")
    lea.tap(lea.button("Clear this stop"))

    said = "Lea cleared the stop at B2: use a bigger toggle."
    expect(ivo.main.locator(".heed")).to_have_text(said, timeout=NEWS_MS)
    assert ivo.task == "fasteners.mark:B2"
    ivo.do("fasteners.mark:B2")
    ivo.tap(ivo.page.locator("a.bar"))
    expect(ivo.main.locator(".heed")).to_have_text(said)


def test_what_crumbles_without_network_is_a_stop_for_the_lead(server: Server, crew: Crew) -> None:
    job = prepared(server, until="fasteners.press:C1")
    server.start()
    ivo = installer(crew, server, job)
    open_task(ivo, server, job, "fasteners.press:C1")
    with offline(ivo):
        ivo.tap(ivo.link("It does not hold"))
        assert ivo.heading == "What is in the way at C1?"
        ivo.tap(ivo.page.get_by_role("button", name="Crumbling / will not hold"))
        assert ivo.heading == "Stop at C1"
        assert "Crumbling, or will not hold" in ivo.main.inner_text()
    ivo.page.get_by_text("Sent: the lead and the others see it.").wait_for()


def test_a_panel_that_does_not_hold_stays_to_be_tried(server: Server, crew: Crew) -> None:
    job = prepared(server, until="secure.try:A")
    server.start()
    ivo = installer(crew, server, job)
    open_task(ivo, server, job, "secure.try:A")
    with offline(ivo):
        ivo.button("It does not hold").tap()
        assert ivo.main.locator(".error").inner_text() == "type what moved, or came off"
        ivo.put("found", "slides left")
        ivo.tap(ivo.button("It does not hold"))
        assert ivo.heading == "A does not hold"
        ivo.tap(ivo.link("Try A"))
        assert ivo.task == "secure.try:A"
    expect(ivo.main.locator(".heed")).to_have_text(
        "A did not hold when Ivo Installer tried it: slides left.", timeout=NEWS_MS
    )
    ivo.tap(ivo.button("It holds"))
    ivo.all_sent()
    ivo.tap(ivo.page.locator("a.bar"))
    expect(ivo.main.locator(".heed")).to_have_count(0, timeout=NEWS_MS)


def test_a_mistapped_pilot_moves_nothing_and_is_undone(server: Server, crew: Crew) -> None:
    job = prepared(server, until="fasteners.pilot:C1")
    server.start()
    ivo = installer(crew, server, job)
    open_task(ivo, server, job, "fasteners.pilot:C1")
    with offline(ivo):
        ivo.put("met", "masonry")
        ivo.tap(ivo.button("Record"))
        assert ivo.heading == "Stop at C1"
        said = ivo.main.inner_text()
        assert "no fastener is listed" in said
        assert "undo it and record it again" in said
        assert not ivo.main.locator(".moves li").count()
    # the server's own words, once it has them
    ivo.page.wait_for_url("**/result/*")
    assert not ivo.main.locator(".moves li").count()
    ivo.tap(ivo.button("Undo Pilot C1"))
    ivo.all_sent()
    ivo.page.wait_for_selector("#task-form", state="attached", timeout=NEWS_MS)
    assert ivo.task == "fasteners.pilot:C1"


def test_the_leads_page_of_the_job_follows_the_work_and_calls_them(
    server: Server, crew: Crew
) -> None:
    job = prepared(server, until="fasteners.mark:C1")
    server.start()
    ivo, lea = installer(crew, server, job), lead_of(crew, server)
    lea.open(f"{server.address}/jobs/{job.id}")
    assert "Waits for you" not in lea.main.inner_text()
    lea.page.evaluate("window.stays = true")
    ivo.do("fasteners.mark:C1")
    expect(lea.page.locator("#now")).to_contain_text("Mark C1", timeout=NEWS_MS)

    ivo.go_to("Mark B2")
    ivo.tap(ivo.link("Something is in the way"))
    ivo.tap(ivo.button("Pipe suspected"))
    expect(lea.page.locator("#now .waits")).to_contain_text("Stop at B2: pipe", timeout=NEWS_MS)
    assert lea.page.evaluate("window.stays")

    lea.tap(lea.link("Stop at B2: pipe"))
    lea.page.get_by_label("Why it is safe to go on").fill("it is a drain, 60 mm deep")
    lea.tap(lea.button("Clear this stop"))
    lea.open(server.address)
    assert "Waits for you" not in lea.main.inner_text()


def test_the_lock_is_offered_right_after_the_level_without_network(
    server: Server, crew: Crew
) -> None:
    job = prepared(server, until="panels.level:C")
    server.start()
    ivo = installer(crew, server, job)
    open_task(ivo, server, job, "panels.level:C")
    with offline(ivo):
        ivo.do("panels.level:C")
        following = ivo.task
        ivo.tap(ivo.page.get_by_role("link", name="Secure C now"))
        ivo.do("secure.lock:C")
        assert ivo.task == "secure.try:C"
        ivo.do("secure.try:C")
        assert ivo.task == following
