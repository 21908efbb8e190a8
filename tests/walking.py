"""A whole job walked through its tasks, as one would at the wall; every answer can be replaced."""

from __future__ import annotations

import itertools
import json
from collections.abc import Mapping
from datetime import UTC, datetime, timedelta
from functools import cache
from pathlib import Path
from typing import Any

from holdtrue.bootstrap import compose
from holdtrue.core.readout import format_length
from holdtrue.domain.checklist import checklist, find_task, next_task
from holdtrue.domain.state import JobState, Way
from holdtrue.service import installers, jobs, tasks
from holdtrue.service.services import Actor, Services
from holdtrue.service.tasks import Typed
from holdtrue.store.memory import MemoryStore
from holdtrue.store.port import Entry, NewEntry

REFERENCE = Path(__file__).parent / "reference"
JPEG = (
    b"\xff\xd8"
    b"\xff\xc0\0\x0b\x08\0\x02\0\x03\x01\x01\x11\0"
    b"\xff\xda\0\x08\x01\x01\0\0\x3f\0 a picture of a wall"
    b"\xff\xd9"
)
"""Three pixels by two, as far as anybody reads it who does not decode it."""
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
    "level.check": {"instrument": "spirit", "over": "48", "miss": "0", "higher": "same"},
    "stand_back.yes": {"who": "Mara, maker"},
    "secure.lock": {"with": "lock"},
    "secure.key": {"who": "the desk"},
    "close.note": {"note": "second hook a little stiff"},
}


def golden(name: str = "tidewrack") -> dict[str, Any]:
    document: dict[str, Any] = json.loads((REFERENCE / f"{name}.job.json").read_text())
    return document


def released(
    services: Services,
    lead: Actor,
    document: Mapping[str, Any] | None = None,
    holds: tuple[str, ...] = (),
    way: Way = "fasteners_first",
) -> str:
    """A job made and released."""
    job_id = jobs.create_job(services, lead, document=document or golden(), key=services.ids.key())
    jobs.release(
        services,
        lead,
        job_id,
        reason="the pilot hole will show",
        agreed="Mara, maker",
        way=way,
        holds=holds,
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
    task = find_task(state, task_id)
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


def minutes_apart(first_number: int = 1) -> Services:
    """Services over a memory store whose clock moves a minute on at every look."""
    numbers, moments = itertools.count(first_number), itertools.count()
    start = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)
    return compose(
        MemoryStore(),
        secret=bytes(32),
        clock=lambda: start + timedelta(minutes=next(moments)),
        random_bytes=lambda length: next(numbers).to_bytes(length, "big"),
    )


LEAD = Actor(person="LEADLEAD", name="Lea Leadbetter", role="lead")


@cache
def _story(name: str) -> tuple[str, tuple[Entry, ...]]:
    """A golden job walked once by Ivo Installer.

    ``off``: seat B1 came out off, a stop was called at A1 and cleared, panel A was trimmed.
    """
    # numbers of its own, so that no key of a test is one of the story's
    services = minutes_apart(first_number=len(name) << 64)
    job_id = released(services, LEAD)
    code = installers.invite_installer(services, LEAD, job_id, label="crew", key=services.ids.key())
    ivo = installers.join(
        services, code=code, name="Ivo Installer", unit="in", hand="left", key=services.ids.key()
    )
    if name == "off":
        state = walk(services, ivo, job_id, until="fasteners.measure:B1")
        do(services, ivo, job_id, "fasteners.measure:B1", off_by(state, "B1", -3, 4))
        walk(services, ivo, job_id, until="fasteners.mark:A2")
        stop = tasks.call_stop(
            services, ivo, job_id, "A1", what="cable", note="a hum", key=services.ids.key()
        )
        tasks.clear_stop(
            services, LEAD, job_id, stop=stop.seq, note="traced", key=services.ids.key()
        )
    low = {"panels.level:A": {"low": "left", "by": "1/8"}} if name == "off" else {}
    trim = {"panels.trim:A": {"seat": "A1", "by": "1/16", "means": "shim"}}
    walk(services, ivo, job_id, answers=low | trim)
    return job_id, services.store.read(jobs.stream_of(job_id))


def handed_over(services: Services, name: str = "clean") -> str:
    """A golden job, handed over, in this store: ``clean``, or ``off`` with its troubles."""
    job_id, entries = _story(name)
    services.store.put_blob(JPEG)
    for entry in entries:
        services.store.append(
            entry.stream,
            NewEntry(
                key=entry.key,
                type=entry.type,
                body=entry.body,
                who=entry.who,
                received=entry.received,
                tapped=entry.tapped,
            ),
            expected=entry.seq - 1,
        )
    return job_id
