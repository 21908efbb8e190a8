"""One played install given to the product, reading by reading: what it says must be what was done.

The world of a play is listened to: every reading of one install is typed into the product as an
installer would, at the task it belongs to; what the product then gives as mark, shims and trim is
handed back, to be held against what the play did.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import pytest

from holdtrue.core.hung import RowKey
from holdtrue.core.quality import Vector
from holdtrue.core.sources_play import ROUNDS
from holdtrue.core.trim_kit import shim_mm
from holdtrue.domain.checklist import Task, next_task
from holdtrue.domain.prefill import planned_facing, planned_values
from holdtrue.simulation.errors import ErrorSizes, Flags, Luck
from holdtrue.simulation.site import Integers, Site
from holdtrue.simulation.world import World
from tests.domain.crew import Crew

GRAIN = 3
"""Digits of a typed length in mm, to which what a play reads is rounded: both read the same."""


@dataclass(slots=True)
class Heard:
    """What one install read and did, in its order."""

    met: dict[int, bool] = field(default_factory=dict)
    marks: list[tuple[int, float, float]] = field(default_factory=list)
    """Seat, and its hole as it was driven; by story stick its way from the first seat."""
    read: dict[str, list[float]] = field(default_factory=dict)
    """What was read, by what it is of, the first reading first."""
    shims: list[tuple[int, list[float]]] = field(default_factory=list)
    """Panel and how much more than planned each of its rings got."""
    touches: list[tuple[int, int, list[float], float, float]] = field(default_factory=list)
    """How many panels hung then, the panel, how its seats were raised, how far it was to be slid,
    and how far it went."""


class ListenedWorld(World):
    """A world that writes down what every install reads and does."""

    def __init__(self, site: Site, sizes: ErrorSizes, luck: Luck) -> None:
        super().__init__(site, sizes, luck)
        self.heard = [Heard() for _ in range(luck.installs)]

    def _hear(self, name: str, values: Vector, who: Flags | None = None) -> Vector:
        values = np.round(values, GRAIN)
        for k, one in enumerate(self.heard):
            if who is None or who[k]:
                one.read.setdefault(name, []).append(float(values[k]))
        return values

    def meets_a_stud(self, seat: int) -> Flags:
        met = super().meets_a_stud(seat)
        for one, is_met in zip(self.heard, met, strict=True):
            one.met[seat] = bool(is_met)
        return met

    def drive(self, seat: int, hole_mm: tuple[Vector, Vector], kind: Integers, who: Flags) -> None:
        for k, one in enumerate(self.heard):
            if who[k]:
                one.marks.append((seat, float(hole_mm[0][k]), float(hole_mm[1][k])))
        super().drive(seat, hole_mm, kind, who)

    def across(self, seat: int) -> Vector:
        return self._hear(f"across {seat}", super().across(seat))

    def above(self, seat: int) -> Vector:
        return self._hear(f"above {seat}", super().above(seat))

    def apart(self, a: int, b: int) -> Vector:
        return self._hear(f"apart {a} {b}", super().apart(a, b))

    def rise(self, a: int, b: int) -> Vector:
        return self._hear(f"rise {a} {b}", super().rise(a, b))

    def read(self, key: RowKey, u_mm: float, who: Flags) -> Vector:
        return self._hear(f"{key[0]} {key[1]}", super().read(key, u_mm, who), who)

    def hang(self, panel: int, shims_mm: Vector, *, anywhere: bool) -> None:
        for one, more in zip(self.heard, shims_mm.tolist(), strict=True):
            one.shims.append((panel, more))
        super().hang(panel, shims_mm, anywhere=anywhere)

    def raise_rings(self, panel: int, by_mm: Vector) -> None:
        for one, up in zip(self.heard, by_mm.tolist(), strict=True):
            one.touches.append((len(one.shims), panel, up, 0.0, 0.0))
        super().raise_rings(panel, by_mm)

    def slide(self, panel: int, by_mm: Vector) -> Vector:
        went = super().slide(panel, by_mm)
        went = np.where(went == by_mm, by_mm, np.round(went, GRAIN))
        for one, told, right in zip(self.heard, by_mm.tolist(), went.tolist(), strict=True):
            hung, of, up, *_ = one.touches.pop()
            assert of == panel
            if any(up) or told:
                one.touches.append((hung, panel, up, told, right))
        return went


class TieError(Exception):
    """Two answers as good as each other: from here on play and product do different jobs.

    A play takes the tape between seats as linear, the product does not: they differ by less than a
    thousandth of a millimetre, which may tip a shim, or which of equally few touches are taken.
    """


class Follower:
    """The product, led through one played install, each thing it says held against the play.

    ``seen``: how many marks, shims and trims were.
    """

    def __init__(
        self,
        document: Mapping[str, Any],
        site: Site,
        heard: Heard,
        way: str,
        sticks: frozenset[int],
    ) -> None:
        self.site, self.heard, self.sticks = site, heard, sticks
        self.crew = Crew(document)
        self.crew.release(way)
        self.times: dict[str, int] = {}
        self.in_round: Counter[int] = Counter()
        """Trims followed, by how many panels hung then."""
        self.seen = {"marks": 0, "shims": 0, "trims": 0, "stopped short": 0}

    def follow(self) -> None:
        """To the end of the install; TieError where both could go another way."""
        while (task := self._next()).kind.stage not in ("secure", "close"):
            self._do(task)
        assert self.in_round.total() == len(self.heard.touches)

    def _next(self) -> Task:
        """The next task; more readings of a panel's seats come before any other panel."""
        tasks = self.crew.tasks
        following = next_task(tasks)
        assert following is not None
        for task in tasks:
            if task.status == "ready" and self._is_wanted(task, following):
                return task
        return following

    def _is_wanted(self, task: Task, following: Task) -> bool:
        kind = task.kind.name
        if kind == "fasteners.stick":
            names = [self.site.job.panels[k].name for k in self.sticks]
            return task.subject in names and task.panel == following.panel
        if kind == "fasteners.again":
            return self._has(f"across {self.site.index[task.subject]}") and self._all_set(task)
        if kind in ("fasteners.cross", "fasteners.recross"):
            return self._has(f"apart {self._pair(task)}") and self._all_set(task)
        return False

    def _all_set(self, task: Task) -> bool:
        of_panel = [s for s in self.site.form.seats if s.rstrip("0123456789") == task.panel]
        return set(of_panel) <= set(self.crew.state.set_seats)

    def _pair(self, task: Task) -> str:
        a, b = task.subject.split("-")
        return f"{self.site.index[a]} {self.site.index[b]}"

    def _has(self, name: str) -> bool:
        return len(self.heard.read.get(name, [])) > self.times.get(name, 0)

    def _read(self, name: str) -> float:
        at = self.times[name] = self.times.get(name, 0) + 1
        return self.heard.read[name][at - 1]

    def _do(self, task: Task) -> None:
        kind, _, _ = task.id.partition(":")
        do = {
            "level.check": self._check_level,
            "fasteners.pilot": self._pilot,
            "fasteners.measure": self._measure,
            "fasteners.again": self._again,
            "fasteners.cross": self._cross,
            "fasteners.recross": self._cross,
            "panels.shim": self._shim,
            "panels.level": self._level,
            "panels.edge": self._edge,
            "panels.facing": self._facing,
            "panels.trim": self._trim,
        }.get(kind)
        if do is None:
            self.crew.do(task.id)
        else:
            do(task)

    def _record(self, task: Task, raw: Mapping[str, str]) -> None:
        self.crew.record(task.id, raw, is_sure=True)

    def _check_level(self, task: Task) -> None:
        """A level without an error of its own, so that what it reads is what the play reads."""
        raw = {"instrument": "spirit", "over": "1200", "miss": "0", "higher": "same"}
        self.crew.record(task.id, raw)

    def _pilot(self, task: Task) -> None:
        if self.heard.met[self.site.index[task.subject]] and self._into(task) == "hollow":
            self.crew.record(task.id, {"met": "wood"})
        else:
            self.crew.do(task.id)

    def _into(self, task: Task) -> str:
        return str(self.crew.state.seat(task.subject).into)

    def _measure(self, task: Task) -> None:
        seat = self.site.index[task.subject]
        self._hold_mark(task.subject, seat)
        x, y = self._read(f"across {seat}"), self._read(f"above {seat}")
        self.crew.measure(task.subject, x, y)

    def _hold_mark(self, name: str, seat: int) -> None:
        """The hole the product asks for is where the play drove it; a stick's is not on the wall
        yet when it is told."""
        hole = self.crew.state.holes[name]
        by_lines = {i: (x, y) for i, x, y in self.heard.marks}
        if seat in by_lines:
            assert hole == (
                _about(by_lines[seat][0]),
                _about(by_lines[seat][1]),
            ), name
            self.seen["marks"] += 1

    def _again(self, task: Task) -> None:
        seat = self.site.index[task.subject]
        x, y = self._read(f"across {seat}"), self._read(f"above {seat}")
        state = self.crew.state
        raw = {
            "x": f"{abs(x):.3f} mm",
            "x.side": "left" if x < 0 else "right",
            "above": f"{y - state.set_seats[task.subject].line_mm:.3f} mm",
        }
        self._record(task, raw)

    def _cross(self, task: Task) -> None:
        rise = self._read(f"rise {self._pair(task)}")
        raw = {
            "distance": f"{self._read(f'apart {self._pair(task)}'):.3f} mm",
            "higher": "right" if rise > 0 else "left",
            "by": f"{abs(rise):.3f} mm",
        }
        self._record(task, raw)

    def _shim(self, task: Task) -> None:
        panel = self.site.form.seat_panel[self.site.index[task.subject]]
        more = dict(self.heard.shims)[panel]
        at = self.site.index[task.subject] - self.site.ends(panel)[0]
        wanted = self.site.job.panels[panel].shims_mm + more[at]
        said = planned_values(self.crew.state, task.id)["thick"]["mm"]
        if said != _about(wanted):
            assert abs(said - wanted) == _about(shim_mm(self.site.job.unit)), task.id
            raise TieError
        self.crew.do(task.id)
        self.seen["shims"] += 1

    def _level(self, task: Task) -> None:
        if not self._has(f"level {task.subject}"):
            self.crew.do(task.id)
            return
        right = self._read(f"level {task.subject}")
        raw = {"low": "left" if right > 0 else "right", "by": f"{abs(right):.3f} mm"}
        self._record(task, raw)

    def _edge(self, task: Task) -> None:
        planned = planned_values(self.crew.state, task.id)["across"]["mm"]
        across = planned + self._read(f"edge {task.subject}")
        raw = {
            "across": f"{abs(across):.6f} mm",
            "across.side": "left" if across < 0 else "right",
        }
        self._record(task, raw)

    def _facing(self, task: Task) -> None:
        planned = planned_facing(self.crew.state, task.subject)
        first, second, step = (
            self._read(f"{what} {task.subject}") for what in ("gap first", "gap second", "step")
        )
        raw = {
            "first": f"{planned.first_mm + first:.6f} mm",
            "second": f"{planned.second_mm + second:.6f} mm",
            "ahead": "p" if step > 0 else "q",
            "by": f"{abs(step):.3f} mm",
        }
        self._record(task, raw)

    def _trim(self, task: Task) -> None:
        """What is advised here is what the play did next; what the play left is left."""
        advised = planned_values(self.crew.state, task.id)
        if not advised:
            self.crew.record(task.id, {"means": "none"})
            return
        hung = sum(task.startswith("panels.lift:") for task in self.crew.state.records)
        now = [touch for touch in self.heard.touches if touch[0] == hung]
        if self.in_round[hung] == len(now):
            assert len(now) == ROUNDS, f"{task.id}: the product trims on"
            raise TieError  # the play left it to the lead
        _, panel, up, right, went = now[self.in_round[hung]]
        assert self.site.job.panels[panel].name == task.subject, task.id
        said = {one["seat"]: _signed(one) for one in advised["touches"]}
        first, last = self.site.ends(panel)
        names = self.site.form.seats[first:last]
        done = {name: mm for name, mm in zip(names, up, strict=True) if mm}
        done |= {"": right} if right else {}
        assert len(said) == len(done), task.id
        if said.keys() != done.keys() or any(said[key] != _about(done[key]) for key in said):
            raise TieError
        if went == right or any(up):
            self.crew.do(task.id)
        else:
            way = "right" if right > 0 else "left"
            self._record(task, {"means": "slide", "way": way, "by": f"{abs(went):.3f} mm"})
            self.seen["stopped short"] += 1
        self.in_round[hung] += 1
        self.seen["trims"] += 1


def _signed(touch: Mapping[str, Any]) -> float:
    size = float(touch["by"]["mm"])
    return -size if touch["way"] in ("down", "left") else size


def _about(mm: float) -> Any:
    return pytest.approx(mm, abs=1e-4)
