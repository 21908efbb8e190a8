"""Readings a crew takes on the hung panels of N installs, and what they say.

Where panels hang comes from ``core.hung``, what that says of the criteria from ``core.judging``.
What is too near a tolerance to tell is read once more, as the product asks.

Source: as those modules.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from holdtrue.core.hung import Hang, RowKey, hang_on_seats, is_surprising, read_on, slipped
from holdtrue.core.instruments import level_u_mm
from holdtrue.core.judging import RowName, guarded_mm, is_near, likely_mm
from holdtrue.core.quality import Vector
from holdtrue.core.sources_trim import MOST_READINGS, RULE_U_MM
from holdtrue.simulation.errors import Flags
from holdtrue.simulation.site import Site
from holdtrue.simulation.world import World

Task = tuple[RowKey, ...]
Judged = dict[RowName, tuple[Vector, Vector]]
"""Criteria that were read: likely value, and within what each is clear, shapes (N,)."""


class Readings:
    """What a crew knows of where its panels hang."""

    def __init__(self, site: Site, world: World) -> None:
        self.site, self.world, self.installs = site, world, world.installs
        n = site.n
        self.hang = Hang(
            deviation_mm=np.zeros((self.installs, 2 * n)),
            covariance_mm2=np.zeros((self.installs, 2 * n, 2 * n)),
        )
        self.beside: set[int] = set()
        """Panels read sideways."""
        self.times: dict[Task, NDArray[np.int64]] = {}
        """How often each task was done since its panels were last touched, shape (N,)."""

    def take(self, task: Task, who: Flags, raised: NDArray[np.int64]) -> None:
        """Read once where ``who``; raised: how often each panel was, shape (N, panels)."""
        if task[0][0] != "level":
            self._loosen(self.panels(task), raised)
        values = np.array([self.world.read(key, self._u_mm(key)[0], who) for key in task])
        design = np.array([self.site.hung[key] for key in task]) * who[:, None, None]
        u = np.array([self._u_mm(key)[1] for key in task])
        read = np.where(who, values, 0.0).T
        self.hang = read_on(self._believed(design, read, u), design, read, u)
        self.times[task] = self._times(task) + who

    def _times(self, task: Task) -> NDArray[np.int64]:
        return self.times.get(task, np.zeros(self.installs, dtype=np.int64))

    def is_due(self, task: Task) -> Flags:
        """Where it is to be done: not read yet, or too near to tell."""
        return np.asarray((self._times(task) == 0) | self.near(task))

    def void(self, task: Task, who: Flags) -> None:
        """Its panels were touched where ``who``: what was read is true no longer."""
        self.times[task] = np.where(who, 0, self.times[task])

    def panels(self, task: Task) -> set[int]:
        """The panels a task reads."""
        names = [panel.name for panel in self.site.job.panels]
        return {names.index(name) for name in task[0][1].split("|")}

    def near(self, task: Task) -> Flags:
        """Where what was read leaves a panel too near a tolerance to tell."""
        kinds = {"level": ("level",), "edge": ()}.get(task[0][0], ("gap", "taper", "step"))
        found = np.zeros(self.installs, dtype=bool)
        for kind in kinds:
            found |= self._is_near(kind, task[0][1])
        times = self._times(task)
        return np.asarray(found & (times > 0) & (times < MOST_READINGS))

    def _is_near(self, kind: str, where: str) -> Flags:
        value, u = self.likely((kind, where))
        return is_near(value, u, self.site.tolerance_mm(kind))

    def judged(self) -> Judged:
        """What was read so far [mm]."""
        found: Judged = {}
        for name in self.site.criteria_of({key for task in self.times for key in task}):
            value, u = self.likely(name)
            found[name] = (value, guarded_mm(self.site.tolerance_mm(name[0]), u))
        return found

    def likely(self, name: RowName) -> tuple[Vector, Vector]:
        """A criterion by all that is known, and its standard uncertainty [mm], shapes (N,)."""
        return likely_mm(self.hang, self.site.criteria[name])

    def is_unclear(self, judged: Judged) -> Flags:
        """Where anything that was read asks for a trim."""
        is_unclear = np.zeros(self.installs, dtype=bool)
        for value, limit in judged.values():
            is_unclear |= np.abs(value) > limit + 1e-9
        return is_unclear

    def one(self, install: int) -> Hang:
        """One install."""
        return Hang(
            deviation_mm=self.hang.deviation_mm[install],
            covariance_mm2=self.hang.covariance_mm2[install],
        )

    def _u_mm(self, key: RowKey) -> tuple[float, float]:
        """Of a reading: what it really is, and what the crew reckons with."""
        job, sizes = self.site.job, self.world.sizes
        known = job.uncertainty
        if key[0] == "edge":
            return sizes.tape_mm, known.tape
        if key[0] != "level":
            return sizes.rule_mm, RULE_U_MM
        width = next(p.width_mm for p in job.panels if p.name == key[1])
        u = level_u_mm(width, fixed_mm=known.level, per_m_mm=known.level_per_m)
        return sizes.levelled_mm(width), u

    def _loosen(self, panels: Iterable[int], raised: NDArray[np.int64]) -> None:
        """Panels read sideways for the first time may hang anywhere in their play."""
        for panel in sorted(set(panels) - self.beside):
            self.beside.add(panel)
            self.hang = hang_on_seats(
                self.site.job,
                deviation_mm=self.hang.deviation_mm,
                covariance_mm2=self.hang.covariance_mm2,
                panels=[panel],
            )
            across = slice(*self.site.ends(panel))
            more = raised[:, panel] * self.site.play_mm**2 / 3.0
            self.hang.covariance_mm2[:, across, across] += more[:, None, None]

    def _believed(self, design: Vector, read: Vector, u: Vector) -> Hang:
        """What was known, but where a reading says that a panel hangs elsewhere."""
        odd = np.any(is_surprising(self.hang, design, read, u), axis=1)
        covariance = self.hang.covariance_mm2
        for install in np.flatnonzero(odd).tolist():
            own = (design[install], read[install], u)
            covariance[install] = slipped(self.site.job, self.one(install), *own).covariance_mm2
        return self.hang
