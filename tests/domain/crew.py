"""A lead and an installer on one job over a memory store, and small jobs with round numbers."""

from __future__ import annotations

import itertools
import json
from collections.abc import Mapping
from copy import deepcopy
from dataclasses import fields, is_dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np

from holdtrue.bootstrap import compose
from holdtrue.domain.checklist import Task, checklist, find_task, next_task
from holdtrue.domain.state import JobState
from holdtrue.service import installers, jobs, swapping, tasks
from holdtrue.service.services import Actor, Services
from holdtrue.service.tasks import Typed
from holdtrue.store.memory import MemoryStore
from holdtrue.store.port import Entry
from tests.walking import JPEG

REFERENCE = Path(__file__).parent.parent / "reference"
MET = {
    "hollow": "nothing",
    "stud": "wood",
    "edge": "wood",
    "steel": "steel",
    "solid": "masonry",
    "backed": "wood",
}
ANSWERS: Mapping[str, Mapping[str, str]] = {
    "join.ways": {"unit": "mm", "hand": "left"},
    "before.people": {"people": "2", "platform": "platform"},
    "before.wall_yes": {"who": "the venue's technician"},
    "before.services": {"how": "both"},
    "reference.floor": {"left": "1500", "reference": "1502", "right": "1503"},
    "reference.bow": {"bow": "1", "lean": "0"},
    "level.check": {"instrument": "spirit", "over": "1200", "miss": "0", "higher": "same"},
    "stand_back.yes": {"who": "Mara, maker"},
    "panels.move": {"agreed": "yes", "who": "Mara, maker"},
    "secure.lock": {"with": "lock"},
    "secure.key": {"who": "front desk"},
}
"""What to type where there is no plan to confirm."""


def golden(name: str) -> dict[str, Any]:
    """A job file of the reference set."""
    document: dict[str, Any] = json.loads((REFERENCE / f"{name}.job.json").read_text())
    return document


def panel(name: str, hangers: int = 2, **more: Any) -> dict[str, Any]:
    """600 x 400 mm, 8 kg, measured on the back; hangers 100 mm down, evenly apart, 100 mm in."""
    ins = [300.0] if hangers == 1 else [100 + 400 * i / (hangers - 1) for i in range(hangers)]
    return {
        "name": name,
        "width": 600,
        "height": 400,
        "depth": 30,
        "mass": "8 kg",
        "hangers": [{"in": x, "down": 100} for x in ins],
        **more,
    }


FASTENERS = (
    {"name": "hook", "into": "hollow", "drop": 6, "capacity": "40 kg", "basis": "working"},
    {"name": "wood screw", "into": "stud", "drop": -2, "capacity": "60 kg", "basis": "working"},
    {"name": "weak hook", "into": "hollow", "drop": 6, "capacity": "1 kg", "basis": "working"},
    {
        "name": "tired hook",
        "into": "hollow",
        "drop": 9,
        "capacity": "10 kg",
        "basis": "working",
        "design_factor": 4,
    },
    {"name": "unlabelled hook", "into": "hollow", "drop": 4},
    {"name": "plug", "into": "solid", "drop": 1, "capacity": "60 kg", "basis": "working"},
)
"""A weak hook cannot carry these panels; a tired one may with a reason; the last says nothing."""


def row(*panels: dict[str, Any], gap: float = 50.0, at: float = 1500.0) -> dict[str, Any]:
    """Panels in a row on a hollow wall, mm; with three panels the middle one is centred on 0."""
    return {
        "format": "holdtrue.job/1",
        "title": "Row",
        "unit": "mm",
        "panels": list(panels),
        "layout": {"kind": "row", "gap": gap, "height": {"of": "centre", "at": at}},
        "wall": {"behind": "hollow"},
        "fasteners": deepcopy(list(FASTENERS)),
    }


def differences(one: object, other: object, path: str = "state") -> list[str]:
    """Where two states differ, place by place; empty when they are the same in every field.

    Arrays in them compare number by number, so that ``==`` cannot be asked.
    """
    if isinstance(one, np.ndarray) and isinstance(other, np.ndarray):
        return [] if np.array_equal(one, other, equal_nan=True) else [path]
    if type(one) is not type(other) and not (
        isinstance(one, Mapping) and isinstance(other, Mapping)
    ):
        return [f"{path}: {type(one).__name__} and {type(other).__name__}"]
    if is_dataclass(one) and not isinstance(one, type):
        return [
            found
            for field in fields(one)
            for found in differences(
                getattr(one, field.name), getattr(other, field.name), f"{path}.{field.name}"
            )
        ]
    if isinstance(one, Mapping) and isinstance(other, Mapping):
        if one.keys() != other.keys():
            return [f"{path}: keys {sorted(one.keys() ^ other.keys())}"]
        return [
            found for key in one for found in differences(one[key], other[key], f"{path}[{key}]")
        ]
    if isinstance(one, tuple | list) and isinstance(other, tuple | list):
        if len(one) != len(other):
            return [f"{path}: {len(one)} and {len(other)} items"]
        return [
            found
            for i, (a, b) in enumerate(zip(one, other, strict=True))
            for found in differences(a, b, f"{path}[{i}]")
        ]
    return [] if one == other else [f"{path}: {one!r} and {other!r}"]


class Clock:
    def __init__(self) -> None:
        self.now = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)

    def __call__(self) -> datetime:
        self.now += timedelta(seconds=1)
        return self.now


def make_services() -> Services:
    numbers = itertools.count(1)
    return compose(
        MemoryStore(),
        secret=bytes(32),
        clock=Clock(),
        random_bytes=lambda length: next(numbers).to_bytes(length, "big"),
    )


class Crew:
    """Every command with a fresh key, unless the test brings its own."""

    def __init__(self, document: Mapping[str, Any], *, services: Services | None = None) -> None:
        self.services = services or make_services()
        self.lead = Actor(person="LEAD", name="Lea", role="lead")
        self.job = jobs.create_job(self.services, self.lead, document=document, key=self.key())
        code = installers.invite_installer(
            self.services, self.lead, self.job, label="crew", key=self.key()
        )
        self.installer = self.joined(code, "Ivo")

    def joined(self, code: str, name: str) -> Actor:
        return installers.join(
            self.services, code=code, name=name, unit="mm", hand="right", key=self.key()
        )

    def key(self) -> str:
        return self.services.ids.key()

    @property
    def state(self) -> JobState:
        return jobs.state_of(self.services, self.job)

    @property
    def entries(self) -> tuple[Entry, ...]:
        return self.services.store.read(jobs.stream_of(self.job))

    @property
    def tasks(self) -> tuple[Task, ...]:
        return checklist(self.state)

    @property
    def ids(self) -> list[str]:
        return [task.id for task in self.tasks]

    def task(self, task_id: str) -> Task:
        return find_task(self.state, task_id)

    def status(self, task_id: str) -> str:
        return self.task(task_id).status

    def release(
        self,
        way: str = "fasteners_first",
        *,
        holds: tuple[str, ...] = (),
        reason: str = "the pilot hole will show",
        agreed: str = "Mara, maker",
    ) -> Entry:
        return jobs.release(
            self.services,
            self.lead,
            self.job,
            reason=reason,
            agreed=agreed,
            way=way,
            holds=holds,
            key=self.key(),
        )

    def revise(self, document: Mapping[str, Any]) -> Entry:
        return jobs.revise_plan(
            self.services, self.lead, self.job, document=document, key=self.key()
        )

    def record(
        self,
        task_id: str,
        raw: Mapping[str, str] | None = None,
        *,
        outcome: str | None = None,
        by: Actor | None = None,
        is_sure: bool = False,
        photo: bytes | None = None,
        unit: str = "mm",
        key: str | None = None,
    ) -> Entry:
        """Record a task: measured (or done) when something is typed, else as planned or done."""
        has_plan = self.task(task_id).kind.has_plan
        if outcome is None and has_plan:
            outcome = "as_planned" if raw is None else "measured"
        return tasks.record_task(
            self.services,
            by or self.installer,
            self.job,
            task_id,
            Typed(
                outcome=outcome or "done", raw=raw or {}, unit=unit, is_sure=is_sure, photo=photo
            ),
            key=key or self.key(),
        )

    def do(self, task_id: str) -> Entry:
        """Record a task the usual way: as planned, or with the answer a calm day gives."""
        task = self.task(task_id)
        kind = task.kind.name
        if kind == "fasteners.pilot":
            return self.record(task_id, {"met": MET[self.state.seat(task.subject).into]})
        if kind == "close.photo":
            return self.record(task_id, photo=JPEG)
        by = self.lead if task.kind.lead_only else self.installer
        return self.record(task_id, ANSWERS.get(kind), by=by)

    def walk(self, until: str | None = None) -> list[str]:
        """Do one ready task after the other; stop before ``until``, or when none is ready."""
        walked: list[str] = []
        while (task := next_task(self.tasks)) is not None and task.id != until:
            self.do(task.id)
            walked.append(task.id)
            assert len(walked) < 2000, f"going round in circles: {walked[-20:]}"
        if until is not None:
            assert task is not None, f"never came to {until}"
        return walked

    def seat_done(self, seat: str) -> None:
        """All that is left of one seat's own tasks, without the marks of the others."""
        for name in ("pilot", "anchor", "press", "measure"):
            if self.status(f"fasteners.{name}:{seat}") != "done":
                self.do(f"fasteners.{name}:{seat}")

    def measure(self, seat: str, x_mm: float, y_mm: float) -> Entry:
        """Record where a seat really is, as it is read: from the two lines."""
        line = self.state.line_height_mm(self.state.line_of(seat))
        raw = {
            "x": f"{abs(x_mm):.3f} mm",
            "x.side": "left" if x_mm < 0 else "right",
            "above": f"{y_mm - line:.3f} mm",
        }
        return self.record(f"fasteners.measure:{seat}", raw, is_sure=True)

    def block(
        self, seat: str, found: str, *, material: str = "", fastener: str = "", note: str = ""
    ) -> Entry:
        return tasks.block_seat(
            self.services,
            self.installer,
            self.job,
            seat,
            found=found,
            material=material,
            fastener=fastener,
            note=note,
            key=self.key(),
        )

    def free(
        self, seat: str, why: str = "wrong_hole", hole: Mapping[str, str] | None = None
    ) -> Entry:
        return tasks.free_seat(
            self.services, self.installer, self.job, seat, why=why, hole=hole, key=self.key()
        )

    def swap(self, one: str, other: str, *, by: Actor | None = None, agreed: str = "Mara") -> Entry:
        return swapping.swap_panels(
            self.services, by or self.lead, self.job, one, other, agreed=agreed, key=self.key()
        )

    def stop(self, seat: str, what: str = "cable") -> Entry:
        return tasks.call_stop(
            self.services, self.installer, self.job, seat, what=what, key=self.key()
        )

    def clear(self, stop: int, by: Actor | None = None) -> Entry:
        return tasks.clear_stop(
            self.services,
            by or self.lead,
            self.job,
            stop=stop,
            note="traced, it is dead",
            key=self.key(),
        )

    def undo(self, entry: Entry | int, by: Actor | None = None) -> Entry:
        of = entry if isinstance(entry, int) else entry.seq
        return tasks.undo(self.services, by or self.installer, self.job, of=of, key=self.key())


def at_fasteners(
    document: Mapping[str, Any], way: str = "fasteners_first", holds: tuple[str, ...] = ()
) -> Crew:
    """A released job, surveyed and consented to: its first mark is next."""
    crew = Crew(document)
    crew.release(way, holds=holds)
    first = next(task.id for task in crew.tasks if task.kind.name == "fasteners.mark")
    crew.walk(until=first)
    return crew


def hung_low(by: str = "4") -> Crew:
    """A job of one panel that hangs low at its right side by that much, just read."""
    crew = at_fasteners(row(panel("A")))
    crew.walk(until="panels.level:A")
    crew.record("panels.level:A", {"low": "right", "by": by})
    return crew
