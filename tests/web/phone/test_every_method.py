"""Panels on a wire, a rail and stand-offs: every screen of the walk on the phone, and the loads."""

from __future__ import annotations

import pytest
from flask import Flask

from holdtrue.core.loads import seat_force_N
from holdtrue.core.sources import STANDARD_GRAVITY
from holdtrue.domain.checklist import Task, checklist, next_task
from holdtrue.service.services import Services
from tests.domain.crew import panel, row
from tests.domain.test_hanging_methods import METHODS
from tests.walking import LEAD, do, released
from tests.web.phone.conftest import Site, joined

OWN = {
    "wire": ("work.wire:A", "Hang panel A by its wire"),
    "cleat": ("work.rail:A", "rail"),
    "standoff": ("fasteners.pair:A2-A4", "A2"),
}


def record(site: Site, task: Task) -> None:
    """By the button for what is as planned where the screen has one, else by the usual answer."""
    forms = [form for form in site.see(task.id).forms if form.id == "task-form"]
    said = {words for form in forms for *_, words in form.buttons}
    if "As planned" in said:
        site.send(forms[0].pressed("As planned"))
        assert task.id in site.state.records
    else:
        do(site.services, LEAD, site.job_id, task.id)


@pytest.mark.parametrize("method", METHODS)
def test_every_screen_of_the_walk_is_there_to_its_end(
    app: Flask, services: Services, method: str
) -> None:
    job_id = released(services, LEAD, row(METHODS[method](), panel("B")))
    site = Site(services, job_id, joined(app, services, job_id, "Ivo", unit="mm", hand="right"))
    seen: dict[str, str] = {}
    while (task := next_task(checklist(site.state))) is not None:
        shown = site.see(task.id)
        assert task.ask in shown.words, task.id
        seen[task.id] = shown.words
        record(site, task)
    assert site.state.review.state == "handed_over"
    task_id, said = OWN[method]
    assert said in seen[task_id]
    for seat in site.state.plan.seats:
        shown_kg = f"{round(seat_force_N(seat) / STANDARD_GRAVITY, 1):g} kg"
        assert f"{seat.seat} {shown_kg} of" in seen["before.loads"]
