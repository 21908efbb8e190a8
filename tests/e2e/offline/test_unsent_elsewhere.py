"""What is only on this phone is told on every page, and before somebody signs out."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from playwright.sync_api import Route, expect

from tests.e2e.offline.fieldwork import (
    Job,
    all_sent,
    has_the_job,
    installer,
    log_of,
    of_task,
    open_task,
    prepared,
    switch_off,
    unsent,
)
from tests.e2e.people import Crew, Person
from tests.e2e.server import Server

MEASURE = "fasteners.measure:C1"


@pytest.fixture
def job(server: Server) -> Job:
    job = prepared(server, until=MEASURE)
    server.start()
    return job


@contextmanager
def one_unsent(server: Server, crew: Crew, job: Job) -> Iterator[Person]:
    """A reading taken without network; then no post of it arrives."""
    ivo = installer(crew, server, job)
    open_task(ivo, server, job, MEASURE)
    ivo.context.route("**/phone/fasteners**", lost)
    with ivo.watch.cut_off():
        ivo.put("above", "5 1/16")
        ivo.tap(ivo.button("Record what I measured"))
        assert unsent(ivo) == 1
        yield ivo
    switch_off(server, crew)


def lost(route: Route) -> None:
    if route.request.method == "POST":
        route.abort()
    else:
        route.continue_()


def test_a_page_off_the_job_says_what_is_only_on_this_phone(
    server: Server, crew: Crew, job: Job
) -> None:
    with one_unsent(server, crew, job) as ivo:
        ivo.page.goto(f"{server.address}/join")
        line = ivo.page.locator("#unsent")
        expect(line).to_contain_text("1 entry of Tidewrack, four panels only on this phone")
        ivo.look()
        ivo.context.unroute_all()
        line.get_by_role("link").tap()
        has_the_job(ivo)
        all_sent(ivo)
        expect(ivo.page.locator("#unsent")).to_have_count(0)
        ivo.page.goto(f"{server.address}/join")
        expect(ivo.page.locator("#unsent")).to_have_count(0)
    assert len(of_task(log_of(server, job), MEASURE)) == 1


def test_signing_out_asks_first_and_loses_nothing(server: Server, crew: Crew, job: Job) -> None:
    with one_unsent(server, crew, job) as ivo:
        ivo.tap(ivo.page.locator("a.bar"))
        ivo.button("Sign out").tap()
        expect(ivo.main.get_by_role("alert")).to_contain_text("1 entry only on this phone")
        ivo.look()
        assert "/phone" in ivo.page.url
        with ivo.page.expect_navigation():
            ivo.button("Sign out").tap()
        expect(ivo.page.locator("#unsent")).to_contain_text("1 entry")
        copy = f"caches.match('/jobs/{job.id}/phone').then((found) => found?.status ?? 0)"
        assert ivo.page.evaluate(copy) == 0
        ivo.context.unroute_all()
        ivo.join(server.address, job.code, tape="Inch fractions", hand="Left hand")
        has_the_job(ivo)
        all_sent(ivo)
    (entry,) = of_task(log_of(server, job), MEASURE)
    assert entry.body["values"]["above"]["typed"] == "5 1/16"


def test_with_nothing_unsent_signing_out_is_one_tap(server: Server, crew: Crew, job: Job) -> None:
    ivo = installer(crew, server, job)
    ivo.tap(ivo.page.locator("a.bar"))
    with ivo.page.expect_navigation():
        ivo.button("Sign out").tap()
    assert ivo.page.get_by_label("Code from your lead").is_visible()
    switch_off(server, crew)
