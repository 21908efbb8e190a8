"""A whole job walked through its tasks, as one would at the wall; every answer can be replaced."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from holdtrue.core.readout import format_length
from holdtrue.domain.checklist import checklist, next_task
from holdtrue.domain.state import JobState
from holdtrue.service import jobs, tasks
from holdtrue.service.services import Actor, Services
from holdtrue.service.tasks import Typed

REFERENCE = Path(__file__).parent / "reference"
JPEG = b"\xff\xd8\xff\xe0 a picture of a wall"
MET = {
    "hollow": "nothing",
    "stud": "wood",
    "edge": "wood",
    "steel": "steel",
    "solid": "masonry",
    "backed": "wood",
}
ANSWERS: Mapping[str, Mapping[str, str]] = {
    "join.ways": {"unit": "in", "hand": "left"},
    "before.people": {"people": "2", "platform": "platform"},
    "before.wall_yes": {"who": "Vera, for the house"},
    "before.services": {"how": "both"},
    "reference.floor": {"left": "60", "reference": "60 1/8", "right": "60 1/4"},
    "reference.ends": {},
    "reference.bow": {"bow": "1/16", "lean": "0"},
    "level.check": {"instrument": "spirit", "over": "48", "miss": "1/16", "higher": "high"},
    "stand_back.yes": {"who": "Mara, maker"},
    "secure.lock": {"with": "lock"},
    "secure.key": {"who": "the desk"},
    "close.note": {"note": "second hook a little stiff"},
}


def golden(name: str = "tidewrack") -> dict[str, Any]:
    document: dict[str, Any] = json.loads((REFERENCE / f"{name}.job.json").read_text())
    return document


def released(services: Services, lead: Actor, document: Mapping[str, Any] | None = None) -> str:
    """A job made and released."""
    job_id = jobs.create_job(services, lead, document=document or golden(), key=services.ids.key())
    jobs.release(
        services,
        lead,
        job_id,
        reason="the pilot hole will show",
        way="fasteners_first",
        key=services.ids.key(),
    )
    return job_id


def walk(
    services: Services,
    actor: Actor,
    job_id: str,
    *,
    answers: Mapping[str, Mapping[str, str]] | None = None,
    until: str | None = None,
) -> JobState:
    """Do every task that is ready, up to (not with) ``until``.

    ``answers``: task id to what is typed instead of the plan, once; a task met again is answered
    by the plan.
    """
    left = dict(answers or {})
    while True:
        state = jobs.state_of(services, job_id)
        task = next_task(checklist(state))
        if task is None or task.id == until:
            return state
        do(services, actor, job_id, task.id, left.pop(task.id, None))


def do(
    services: Services,
    actor: Actor,
    job_id: str,
    task_id: str,
    raw: Mapping[str, str] | None = None,
) -> None:
    """Record one task: as typed in ``raw``, else as planned or with the usual answer."""
    state = jobs.state_of(services, job_id)
    task = next(task for task in checklist(state) if task.id == task_id)
    outcome = "done"
    if task.kind.has_plan:
        outcome = "measured" if raw is not None else "as_planned"
    if raw is None:
        raw = ANSWERS.get(task.kind.name, {})
        if task.kind.name == "fasteners.pilot":
            raw = {"met": MET[state.seat(task.subject).into]}
    tasks.record_task(
        services,
        actor,
        job_id,
        task_id,
        Typed(
            outcome=outcome,
            raw=raw,
            unit="in",
            photo=JPEG if task.kind.name == "close.photo" else None,
        ),
        key=services.ids.key(),
    )


def off_by(state: JobState, seat: str, right_mm: float, up_mm: float) -> dict[str, str]:
    """What is read at a seat that came out off its mark."""
    x, y = state.marks_mm[seat]
    x, above = x + right_mm, y + up_mm - state.line_height_mm(state.line_of(seat))
    return {
        "x": format_length(abs(x), "in"),
        "x.side": "left" if x < 0 else "right",
        "above": format_length(above, "in"),
    }
