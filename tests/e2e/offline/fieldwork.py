"""A released job on a real server, and installers who lose the network."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from playwright.sync_api import expect

from holdtrue.domain.state import Way
from holdtrue.service import installers, jobs
from holdtrue.service.services import Services
from holdtrue.store.port import Entry
from tests.e2e.people import Crew, Person
from tests.e2e.server import Server
from tests.walking import LEAD, golden, released, walk

READY = 'html[data-app="ready"]'
ALL_SENT = "#outbox[hidden]"
PATIENCE_MS = 30_000


@dataclass(frozen=True, kw_only=True)
class Job:
    """A job and the code its crew joins by."""

    id: str
    code: str


def prepared(
    server: Server, *, until: str | None = None, document: Mapping[str, Any] | None = None
) -> Job:
    """A job made and released before the server runs, begun by somebody up to a task."""
    with server.opened() as services:
        return prepare(services, until=until, document=document)


def prepare(
    services: Services,
    *,
    until: str | None = None,
    holds: tuple[str, ...] = (),
    document: Mapping[str, Any] | None = None,
    way: Way = "fasteners_first",
) -> Job:
    job_id = released(services, LEAD, document or golden(), holds, way)
    key = services.ids.key()
    code = installers.invite_installer(services, LEAD, job_id, label="crew", key=key)
    if until:
        vera = installers.join(
            services, code=code, name="Vera", unit="in", hand="left", key=services.ids.key()
        )
        walk(services, vera, job_id, until=until)
    return Job(id=job_id, code=code)


def installer(crew: Crew, server: Server, job: Job, name: str = "Ivo Installer") -> Person:
    """Joined, with the job on the phone."""
    person = crew.person(name)
    person.join(server.address, job.code, tape="Inch fractions", hand="Left hand")
    has_the_job(person)
    return person


def has_the_job(person: Person) -> None:
    """Everything has arrived: from here on no network is needed."""
    person.page.wait_for_selector(READY, state="attached")
    person.page.wait_for_load_state("networkidle")


@contextmanager
def offline(person: Person, *, then: Callable[[Person], None] | None = None) -> Iterator[None]:
    """No network; at the end it is back and everything recorded meanwhile has been sent."""
    with person.watch.cut_off():
        person.context.set_offline(True)
        yield
        person.context.set_offline(False)
        (then or all_sent)(person)


def all_sent(person: Person) -> None:
    person.page.wait_for_selector(ALL_SENT, state="attached", timeout=PATIENCE_MS)


def with_the_lead(person: Person, count: int = 1) -> None:
    """What was refused has reached the lead's list, and the phone says so until it was seen."""
    words = f"{count} refused: with the lead"
    expect(person.page.locator("#outbox .outbox-count")).to_have_text(words, timeout=PATIENCE_MS)


def unsent(person: Person) -> int:
    """How many entries the phone says are only on it."""
    bar = person.page.locator("#outbox")
    if not bar.is_visible():
        return 0
    words = bar.locator(".outbox-count").inner_text().split()
    return int(words[0]) if words[1:2] == ["not"] else 0


def switch_off(server: Server, crew: Crew) -> None:
    """With every phone put away first: none is cut off in the middle of asking for news."""
    for person in crew.people:
        if not person.page.is_closed():
            person.page.goto("about:blank")
    server.stop()


def log_of(server: Server, job: Job) -> tuple[Entry, ...]:
    """The job's log as it is on disk; the server is stopped."""
    with server.opened() as services:
        return services.store.read(jobs.stream_of(job.id))


def log_without_refusals(server: Server, job: Job) -> tuple[Entry, ...]:
    """The same; nothing that came in was refused and parked."""
    entries = log_of(server, job)
    assert [e.type for e in entries if e.type == "EntryParked"] == []
    return entries


def recorded(entries: tuple[Entry, ...]) -> list[str]:
    """The tasks in the order they were stored."""
    return [str(e.body["task"]) for e in entries if e.type == "TaskRecorded"]


def of_task(entries: tuple[Entry, ...], task: str) -> list[Entry]:
    return [e for e in entries if e.body.get("task") == task]


def two_at(server: Server, crew: Crew, job: Job, task: str) -> tuple[Person, Person]:
    """Two installers, each with the same task open on a phone."""
    ivo, vera = installer(crew, server, job), installer(crew, server, job, "Vera Vise")
    open_task(ivo, server, job, task)
    open_task(vera, server, job, task)
    return ivo, vera


def open_task(person: Person, server: Server, job: Job, task: str) -> None:
    person.open(f"{server.address}/jobs/{job.id}/phone/{task}")
    has_the_job(person)
