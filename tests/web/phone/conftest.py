"""Ivo with the golden job on his phone, at any point of it; his browser runs no script."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import Any

import pytest
from flask import Flask
from werkzeug.test import TestResponse

from holdtrue.domain.checklist import checklist, next_task
from holdtrue.domain.state import JobState
from holdtrue.service import installers, jobs, tasks
from holdtrue.service.services import Services
from holdtrue.store.port import Entry, NewEntry
from tests.walking import LEAD, do, minutes_apart, released
from tests.web.conftest import Visitor, hidden_fields
from tests.web.phone.page import Form, Screen, read_screen

HTMX = {"HX-Request": "true"}


@cache
def walked() -> tuple[str, tuple[Entry, ...], dict[str, int]]:
    """The golden job walked as planned; for every task, how many entries stood before it."""
    services = minutes_apart(first_number=7 << 64)
    job_id = released(services, LEAD)
    before: dict[str, int] = {}
    while (task := next_task(checklist(jobs.state_of(services, job_id)))) is not None:
        before.setdefault(task.id, len(services.store.read(jobs.stream_of(job_id))))
        do(services, LEAD, job_id, task.id)
    return job_id, services.store.read(jobs.stream_of(job_id)), before


@dataclass(repr=False)
class Site:
    """The job at the wall, and people's phones on it."""

    services: Services
    job_id: str
    visitor: Visitor

    @property
    def base(self) -> str:
        return f"/jobs/{self.job_id}/phone"

    @property
    def state(self) -> JobState:
        return jobs.state_of(self.services, self.job_id)

    @property
    def entries(self) -> tuple[Entry, ...]:
        return self.services.store.read(jobs.stream_of(self.job_id))

    def url(self, where: str) -> str:
        if where.startswith("/"):
            return where
        return f"{self.base}/{where}" if where else self.base

    def see(self, where: str, status: int = 200, **options: Any) -> Screen:
        """Open a screen."""
        return read_screen(self.visitor.get(self.url(where), **options), status)

    def send(self, form: Form, status: int = 303, **options: Any) -> TestResponse:
        """Send a form as it stands."""
        sent = self.visitor.client.post(
            form.action, data=form.fields, headers=options.pop("headers", None), **options
        )
        assert sent.status_code == status, read_screen(sent, sent.status_code).words
        return sent

    def tap(self, where: str, button: str, typed: dict[str, str] | None = None) -> Screen:
        """Open a screen, type, tap a button of its form, and follow where it leads."""
        form = self.see(where).form("task-form")
        answer = self.send(form.filled(typed or {}).pressed(button), 303)
        return self.see(answer.headers["Location"])

    def refused(
        self, where: str, button: str, typed: dict[str, str] | None = None, status: int = 422
    ) -> Screen:
        """The same for a form that comes back, having stored nothing."""
        before = len(self.entries)
        form = self.see(where).form("task-form")
        answer = self.send(form.filled(typed or {}).pressed(button), status)
        assert len(self.entries) == before
        return read_screen(answer, status)

    def record_of(self, task_id: str) -> Any:
        return self.state.records[task_id]


def bring(services: Services, count: int) -> str:
    """The first ``count`` entries of the walk, in this store."""
    job_id, entries, _ = walked()
    for entry in entries[:count]:
        new = NewEntry(
            key=entry.key, type=entry.type, body=entry.body, who=entry.who, received=entry.received
        )
        services.store.append(entry.stream, new, expected=entry.seq - 1)
    return job_id


def joined(
    app: Flask, services: Services, job_id: str, name: str, *, unit: str, hand: str
) -> Visitor:
    """Somebody with the lead's code."""
    key = services.ids.key()
    code = installers.invite_installer(services, LEAD, job_id, label=name, key=key)
    visitor = Visitor(app.test_client(), name)
    answer = visitor.post("/join", {"code": code, "name": name, "unit": unit, "hand": hand})
    assert answer.status_code == 303
    return visitor


@pytest.fixture
def at(app: Flask, services: Services) -> Callable[..., Site]:
    """``at("fasteners.mark:C1")``: the job when that task is next, Ivo signed in."""

    def arrive(task_id: str, *, unit: str = "in", hand: str = "right") -> Site:
        _, _, before = walked()
        job_id = bring(services, before[task_id])
        ivo = joined(app, services, job_id, "Ivo", unit=unit, hand=hand)
        return Site(services, job_id, ivo)

    return arrive


At = Callable[..., Site]


def stop_at(site: Site, seat: str, what: str = "cable") -> int:
    """A stop called by the lead; its number."""
    key = site.services.ids.key()
    return tasks.call_stop(site.services, LEAD, site.job_id, seat, what=what, key=key).seq


def fresh_hidden(site: Site) -> dict[str, str]:
    """A token and a key, from any page with a form."""
    return hidden_fields(site.visitor.get("/join"))
