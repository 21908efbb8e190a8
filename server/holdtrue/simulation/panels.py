"""A crew at the panels of N installs: shims, lift, readings, trims.

What is decided comes from the product: shims from ``core.shims``, what readings say from
``simulation.readings``, what to trim from ``domain.trimming``. The crew knows what it read, and
nothing else.

Source: as those modules.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from holdtrue.core.hung import (
    Hang,
    seats_beneath_mm,
    shimmed,
    slid,
)
from holdtrue.core.quality import Vector
from holdtrue.core.shims import lay_shims
from holdtrue.core.sources_play import ROUNDS, SLIDE_U_MM, TRIM_U_MM
from holdtrue.core.sources_trim import SHIM_MOST_MM
from holdtrue.core.trim import Touch
from holdtrue.core.trim_kit import Kind, Kit, plan_kit, shim_mm, turn_mm
from holdtrue.domain.trimming import best_trim, problem_of
from holdtrue.simulation.errors import Flags
from holdtrue.simulation.fasteners import Fasteners
from holdtrue.simulation.habits import Habits
from holdtrue.simulation.readings import Judged, Readings, Task
from holdtrue.simulation.site import Site
from holdtrue.simulation.world import World


class Panels:
    """What a crew knows of its hung panels, and does to them."""

    def __init__(self, site: Site, world: World, habits: Habits, seats: Fasteners) -> None:
        self.site, self.world, self.habits, self.seats = site, world, habits, seats
        self.installs = world.installs
        n, panels = site.n, len(site.job.panels)
        self.hung: list[int] = []
        self.readings = Readings(site, world)
        self.shims_mm = np.tile(site.planned_shims_mm, (self.installs, 1))
        """In every ring now, shape (N, n)."""
        self.turned_mm = np.zeros((self.installs, n))
        """How far the screw at each seat was turned up."""
        self.slid_mm = np.zeros((self.installs, panels))
        self.ends = np.zeros((self.installs, panels, 2), dtype=bool)
        """Whether each panel was found to slide no further to the left, to the right."""
        self.raised = np.zeros((self.installs, panels), dtype=np.int64)
        """Times a seat of each hung panel was raised or lowered."""
        self.touches, self.lift_offs, self.laid, self.more = (
            np.zeros(self.installs, dtype=np.int64) for _ in range(4)
        )
        """Touches; times a panel was taken off; rings shimmed; readings taken once more."""

    def hang_panel(self, panel: int) -> None:
        """Shims, lift, readings, trims."""
        self._lift(panel)
        if not self.habits.trim:
            return
        self._read_what_is_left()
        for _ in range(ROUNDS):
            touched = self._trim()
            if not touched.any():
                break
            self._void(touched)
            self._read_what_is_left()

    @property
    def hang(self) -> Hang:
        """Where the panels hang, as far as the crew knows."""
        return self.readings.hang

    # -- lift

    def _lift(self, panel: int) -> None:
        site = self.site
        across, up = site.columns(panel)
        more = self._lay_shims(panel)
        self.hung.append(panel)
        self.world.hang(panel, more, anywhere=self.habits.trim)
        if self.habits.trim:
            self.world.slide_to_the_gap(panel, site.spacing_rows(panel, self.hung))
        if self.habits.recompute:
            own = [*across, *up]
            self.hang.deviation_mm[:, own] = self._seats_mm()[:, own]
            self.hang.deviation_mm[:, up] += more
            known = self.seats.covariance_mm2[np.ix_(own, own)]
            self.hang.covariance_mm2[:, np.array(own)[:, None], own] = known
            if self._has_shims(panel):
                self.hang.covariance_mm2[:, up, up] += TRIM_U_MM**2
            self._tell_bearing()

    def _lay_shims(self, panel: int) -> Vector:
        """Ring by ring, as the tasks go; how much more than planned is laid in each."""
        across, _ = self.site.columns(panel)
        before = self.shims_mm[:, across].copy()
        for at, ring in enumerate(across if self._has_shims(panel) else ()):
            thick = self._shims_for(panel, across[at:])[:, ring]
            raised = thick - self.shims_mm[:, ring]
            self.shims_mm[:, ring] = thick
            self.laid += thick > 0
            x, y = self.seats.set_mm[ring]
            self.seats.bearing_mm[ring] = np.stack([x, y + raised])
            self._remark()
        return np.asarray(self.shims_mm[:, across] - before)

    def _has_shims(self, panel: int) -> bool:
        return self.habits.shims and self.site.job.panels[panel].shims_mm > 0

    def _seats_mm(self) -> Vector:
        """Deviations of all seats by their own readings, shape (N, 2n); 0 for unset ones."""
        n = self.site.n
        off = np.zeros((self.installs, 2 * n))
        for i, place in self.seats.set_mm.items():
            off[:, [i, n + i]] = (place - self.site.planned_mm[[i, n + i]][:, None]).T
        return off

    def _shims_for(self, panel: int, left: Sequence[int]) -> Vector:
        """Shims for the rings that are left of a panel, as ``domain.shims`` says how thick."""
        site, n = self.site, self.site.n
        bearing = self._seats_mm()
        for i, place in self.seats.bearing_mm.items():
            bearing[:, [i, n + i]] = (place - site.planned_mm[[i, n + i]][:, None]).T
        is_set = [k for k in site.panels if set(site.columns(k)[0]) <= set(self.seats.set_mm)]
        return lay_shims(
            site.goal,
            bearing,
            unset=[i for i in range(n) if i not in self.seats.set_mm],
            rings={
                k: left if k == panel else site.columns(k)[0]
                for k in sorted(is_set)
                if k not in self.hung and self._has_shims(k)
            },
            shims_mm=self.shims_mm,
            step_mm=shim_mm(site.job.unit),
            most_mm=SHIM_MOST_MM,
        )

    # -- readings

    def _tasks_of(self, panel: int) -> list[Task]:
        is_any_left = self.habits.by_panel and len(self.hung) < len(self.site.panels)
        return self.site.tasks_of(panel, self.hung, is_edge_read=is_any_left)

    def _void(self, touched: Flags) -> None:
        """What was read on touched panels is true no longer; touched: shape (N, panels)."""
        for task in self.readings.times:
            of_it = np.any([touched[:, k] for k in self.readings.panels(task)], axis=0)
            self.readings.void(task, of_it)

    def _read_what_is_left(self) -> None:
        """One task after the other as they stand on the list, also what is to be read once more."""
        tasks = [task for panel in self.hung for task in self._tasks_of(panel)]
        is_any_left = True
        while is_any_left:
            is_free = np.ones(self.installs, dtype=bool)
            for task in tasks:
                who = self.readings.is_due(task) & is_free
                is_free &= ~who
                if who.any():
                    self.more += self.readings.near(task) & who
                    self.readings.take(task, who, self.raised)
                    self._tell_bearing()
            is_any_left = not is_free.all()

    # -- trims

    def _trim(self) -> Flags:
        """One panel is trimmed as advised wherever something was read outside: which one.

        Of several that are advised the first in the order they hang in, as they stand on the list;
        what was read on it is read again before anything else is touched.
        """
        size = (self.installs, self.site.n)
        shims, turns, slides = np.zeros(size), np.zeros(size), np.zeros_like(self.slid_mm)
        judged = self.readings.judged()
        for install in np.flatnonzero(self.readings.is_unclear(judged)).tolist():
            advised = self._advice(install, judged)
            first = min((self.hung.index(touch.panel) for touch in advised), default=None)
            for touch in advised:
                if first is None or touch.panel != self.hung[first]:
                    continue
                if touch.seat is None:
                    slides[install, touch.panel] += touch.move_mm
                else:
                    of_kind = shims if touch.kind == "shim" else turns
                    of_kind[install, self.site.index[touch.seat]] += touch.move_mm
        return self._touch(shims, turns, slides)

    def _advice(self, install: int, judged: Judged) -> tuple[Touch, ...]:
        site = self.site
        readings = self.readings
        hang = readings.one(install)
        beneath = seats_beneath_mm(
            site.job,
            hang.deviation_mm,
            seats_mm=self._seats_mm()[install],
            covariance_mm2=self.seats.covariance_mm2,
            panels=self.hung,
            slid_mm=self.slid_mm[install],
        )
        problem = problem_of(
            site.job,
            site.goal,
            self._kit(install),
            hang=hang,
            seats_mm=beneath,
            hung=sorted(self.hung),
            read_mm={
                name: (float(value[install]), float(limit[install]))
                for name, (value, limit) in judged.items()
            },
            flush_mm={},
        )
        return best_trim(problem).touches

    def _kit(self, install: int) -> Kit:
        """What there is to trim one install with, as ``domain.trimming`` finds it."""
        names, kinds = self.site.form.seats, self.site.kinds
        at: dict[tuple[Kind, str], float] = {}
        steps = {}
        for i, name in enumerate(names):
            at["shim", name] = float(self.shims_mm[install, i])
            at["screw", name] = float(self.turned_mm[install, i])
            steps[name] = turn_mm(kinds[self.seats.kinds[install, i]])
        turns = {name: step for name, step in steps.items() if step > 0}
        ends = frozenset((int(k), 2 * int(way) - 1) for k, way in np.argwhere(self.ends[install]))
        return replace(plan_kit(self.site.plan), screw_mm=turns, at_mm=at, ends=ends)

    def _touch(self, shims_mm: Vector, turns_mm: Vector, slides_mm: Vector) -> Flags:
        """Touch panels so; which were touched, shape (N, panels)."""
        site = self.site
        touched = np.zeros(slides_mm.shape, dtype=bool)
        for panel in self.hung:
            across, _ = site.columns(panel)
            by_shims, by_turns = shims_mm[:, across], turns_mm[:, across]
            count = (by_shims != 0).sum(axis=1) + (by_turns != 0).sum(axis=1)
            for by in (by_shims, by_turns):
                self._raise(panel, across, by)
            self.raised[:, panel] += count
            self.lift_offs += count > 0
            self.touches += count + (slides_mm[:, panel] != 0)
            touched[:, panel] = (count > 0) | (slides_mm[:, panel] != 0)
            self.world.raise_rings(panel, by_shims + by_turns)
            self.world.slide_to_the_gap(panel, site.spacing_rows(panel, self.hung), who=count > 0)
            self._slide(panel, slides_mm[:, panel], is_alone=count == 0)
        self.shims_mm += shims_mm
        self.turned_mm += turns_mm
        self._tell_bearing()
        return touched

    def _slide(self, panel: int, by_mm: Vector, *, is_alone: Flags) -> None:
        """Slide a panel; where it stops short that is recorded, if it is all that was advised."""
        went = np.where(is_alone, self.world.slide(panel, by_mm), by_mm)
        self.ends[~is_alone, panel] = False
        for end, is_that_way in enumerate((by_mm < 0, by_mm > 0)):
            self.ends[is_that_way & (went != by_mm), panel, end] = True
        self.readings.hang = slid(self.site.job, self.hang, panel, went, SLIDE_U_MM)
        self.slid_mm[:, panel] += went

    def _raise(self, panel: int, across: Sequence[int], by_mm: Vector) -> None:
        is_loose = panel in self.readings.beside
        for seat, up in zip(across, by_mm.T, strict=True):
            if np.any(up):
                self.readings.hang = shimmed(
                    self.site.job, self.hang, seat, up, TRIM_U_MM, is_loose=is_loose
                )

    def _tell_bearing(self) -> None:
        """The marks of the rest answer to where the hung panels hang."""
        n = self.site.n
        for panel in self.hung:
            for i in self.site.columns(panel)[0]:
                off = self.hang.deviation_mm[:, [i, n + i]]
                self.seats.bearing_mm[i] = (off + self.site.planned_mm[[i, n + i]]).T
        self._remark()

    def _remark(self) -> None:
        if self.seats.marks_mm and self.habits.recompute:
            self.seats.remark()
