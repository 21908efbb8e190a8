"""Screens the phone makes itself show what the server's own show, and stay where the hand is."""

from __future__ import annotations

import json
import re

from playwright.sync_api import Route, expect

from holdtrue.service import jobs
from tests.e2e.offline.fieldwork import (
    has_the_job,
    installer,
    log_of,
    offline,
    open_task,
    prepare,
    prepared,
    recorded,
    switch_off,
)
from tests.e2e.people import MANY, Crew
from tests.e2e.server import Server
from tests.walking import LEAD

MEASURE = "fasteners.measure:C1"
UNRELEASED = "The lead has not released this plan"


def test_the_list_of_all_tasks_has_the_wall_and_the_way_to_paper_without_network(
    server: Server, crew: Crew
) -> None:
    job = prepared(server, until=MEASURE)
    server.start()
    ivo = installer(crew, server, job)
    with offline(ivo):
        ivo.tap(ivo.page.locator("a.bar"))
        assert ivo.page.locator("#main figure.drawing svg [data-seat]").count() == 9
        sheet = ivo.link("A sheet of paper for where no phone works")
        assert sheet.get_attribute("href") == f"/jobs/{job.id}/sheet"
        assert UNRELEASED not in ivo.main.inner_text()
        ivo.look()
    switch_off(server, crew)


def test_what_is_said_of_a_plan_not_released_goes_when_it_is(server: Server, crew: Crew) -> None:
    with server.opened() as services:
        job = prepare(services, until="fasteners.mark:C1")
        document = json.loads(
            json.dumps(dict(jobs.state_of(services, job.id).document), default=dict)
        )
        document["layout"]["height"]["at"] = "59 in"
        jobs.revise_plan(services, LEAD, job.id, document=document, key=services.ids.key())
    server.start()
    ivo, lea = installer(crew, server, job), crew.person("Lea Leadbetter")
    lea.become_lead(server.lead_link)
    ivo.go_to("Mark C1")
    ivo.tap(ivo.page.locator("a.bar"))
    said = ivo.main.get_by_text(UNRELEASED)
    expect(said).to_be_visible()
    lea.open(f"{server.address}/jobs/{job.id}")
    lea.page.get_by_label("Why it may hang all the same").fill("seen with the house")
    lea.page.get_by_role("button", name=re.compile("^Release revision")).tap()
    expect(lea.main).to_contain_text("Released. A new revision")
    expect(said).to_be_hidden(timeout=15_000)
    assert ivo.page.locator(".task-all").count() == 1
    switch_off(server, crew)


def test_the_servers_result_comes_as_calmly_as_any_screen(server: Server, crew: Crew) -> None:
    """It takes the phone's own result's place a moment later: under a thumb perhaps."""
    job = prepared(server, until=MEASURE)
    server.start()
    ivo = installer(crew, server, job)
    open_task(ivo, server, job, MEASURE)
    ivo.page.evaluate(
        """() => document.addEventListener("holdtrue:shown", ({ detail }) => setTimeout(() => {
          const thumb = detail.elt.querySelector(".thumb");
          (window.shown ??= []).push({ screen: detail.elt.dataset.screen ?? "server",
            isCalm: thumb?.inert, focus: document.activeElement?.tagName });
          document.body.dataset.shown = window.shown.length;
        }))"""
    )
    ivo.put("above", "5 1/16")
    ivo.tap(ivo.button("Record what I measured"))
    ivo.page.wait_for_url(re.compile(r"/result/\d+$"))
    ivo.page.wait_for_selector("body[data-shown='2']")
    shown = ivo.page.evaluate("window.shown")
    assert shown == [
        {"screen": "result", "isCalm": True, "focus": "H1"},
        {"screen": "server", "isCalm": True, "focus": "H1"},
    ]
    switch_off(server, crew)


def test_the_servers_result_leaves_open_what_somebody_opened_meanwhile(
    server: Server, crew: Crew
) -> None:
    job = prepared(server, until=MEASURE)
    server.start()
    ivo = installer(crew, server, job)
    ivo.page.set_viewport_size({"width": 390, "height": 420})
    open_task(ivo, server, job, MEASURE)
    asked: list[Route] = []

    def hold_back(route: Route) -> None:
        asked.append(route)

    ivo.page.route(re.compile(r"/result/\d+$"), hold_back)
    ivo.put("above", "5 5/16")
    ivo.tap(ivo.button("Record what I measured"))
    fold = ivo.page.locator("details", has_text="How it finishes").locator("summary")
    if fold.locator("xpath=..").get_attribute("open") is None:
        fold.tap()
    ivo.page.evaluate("scrollTo(0, 120)")
    while not asked:
        ivo.page.wait_for_timeout(20)
    asked[0].continue_()
    ivo.page.wait_for_url(re.compile(r"/result/\d+$"))
    expect(ivo.page.locator("details[open]", has_text="How it finishes")).to_be_visible()
    assert ivo.page.evaluate("scrollY") == 120
    switch_off(server, crew)


def test_a_reload_on_a_task_of_each_kind_shows_it_again(server: Server, crew: Crew) -> None:
    job = prepared(server)
    server.start()
    ivo = installer(crew, server, job)
    seen: dict[str, str] = {}
    for _ in range(MANY):
        task = ivo.task
        if task is None:
            main = ivo.page.locator(".thumb .button-main")
            if not main.count():
                break
            ivo.tap(main)
            continue
        kind = task.partition(":")[0]
        if kind not in seen:
            seen[kind] = ivo.heading
            ivo.page.reload()
            has_the_job(ivo)
            assert (ivo.task, ivo.heading) == (task, seen[kind])
        ivo.do(task)
    ivo.all_sent()
    switch_off(server, crew)
    done = recorded(log_of(server, job))
    assert set(seen) == {task.partition(":")[0] for task in done}
    assert len(seen) > 30
