"""A crew at the panels of N installs: shims, lift, readings, trims.

What is decided comes from the product: shims from ``core.shims``, where panels hang from
``core.hung``, what to trim from ``domain.trimming``. The crew knows what it read, and nothing else.

Source: as those modules.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

import numpy as np

from holdtrue.core.hung import (
    Hang,
    RowKey,
    hang_on_seats,
    read_on,
    seats_beneath_mm,
    shimmed,
    slid,
)
from holdtrue.core.instruments import level_u_mm
from holdtrue.core.quality import Vector
from holdtrue.core.shims import lay_shims
from holdtrue.core.sources_play import ROUNDS, SLIDE_U_MM, TRIM_U_MM
from holdtrue.core.sources_trim import RULE_U_MM, SHIM_MOST_MM
from holdtrue.core.trim import Touch
from holdtrue.core.trim_kit import Kind, Kit, plan_kit, shim_mm, turn_mm
from holdtrue.domain.trimming import best_trim, problem_of
from holdtrue.simulation.errors import Flags
from holdtrue.simulation.fasteners import Fasteners
from holdtrue.simulation.habits import Habits
from holdtrue.simulation.site import Site
from holdtrue.simulation.world import World


class Panels:
    """What a crew knows of its hung panels, and does to them."""

    def __init__(self, site: Site, world: World, habits: Habits, seats: Fasteners) -> None:
        self.site, self.world, self.habits, self.seats = site, world, habits, seats
        self.installs = world.installs
        n, panels = site.n, len(site.job.panels)
        self.hung: list[int] = []
        self.beside: set[int] = set()
        """Panels read against another."""
        self.hang = Hang(
            deviation_mm=np.zeros((self.installs, 2 * n)),
            covariance_mm2=np.zeros((self.installs, 2 * n, 2 * n)),
        )
        self.shims_mm = np.tile(site.planned_shims_mm, (self.installs, 1))
        """In every ring now, shape (N, n)."""
        self.turned_mm = np.zeros((self.installs, n))
        """How far the screw at each seat was turned up."""
        self.slid_mm = np.zeros((self.installs, panels))
        self.ends = np.zeros((self.installs, panels, 2), dtype=bool)
        """Whether each panel was found to slide no further to the left, to the right."""
        self.raised = np.zeros((self.installs, panels), dtype=np.int64)
        """Times a seat of each hung panel was raised or lowered."""
        self.read: dict[RowKey, Vector] = {}
        """Readings that stand, shape (N,); NaN where there is none."""
        self.touches, self.lift_offs, self.laid = (
            np.zeros(self.installs, dtype=np.int64) for _ in range(3)
        )

    def hang_panel(self, panel: int) -> None:
        """Shims, lift, readings, trims."""
        self._lift(panel)
        if not self.habits.trim:
            return
        for task in self.site.tasks_of(panel, self.hung):
            self._take(task, np.ones(self.installs, dtype=bool))
        for _ in range(ROUNDS):
            touched = self._trim()
            if not touched.any():
                break
            self._read_again(touched)

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

    def _u_mm(self, key: RowKey) -> tuple[float, float]:
        """Of a reading: what it really is, and what the crew reckons with."""
        if key[0] != "level":
            return self.world.sizes.rule_mm, RULE_U_MM
        job = self.site.job
        width = next(p.width_mm for p in job.panels if p.name == key[1])
        known = job.uncertainty
        u = level_u_mm(width, fixed_mm=known.level, per_m_mm=known.level_per_m)
        return self.world.sizes.levelled_mm(width), u

    def _take(self, keys: Sequence[RowKey], who: Flags) -> None:
        """Take readings where ``who``; they stand until their panels are touched."""
        self._loosen({k for key in keys if "|" in key[1] for k in self._panels(key)})
        values = np.array([self.world.read(key, self._u_mm(key)[0], who) for key in keys])
        for key, value in zip(keys, values, strict=True):
            stood = self.read.get(key, np.full(self.installs, np.nan))
            self.read[key] = np.where(who, value, stood)
        design = np.array([self.site.hung[key] for key in keys]) * who[:, None, None]
        u = np.array([self._u_mm(key)[1] for key in keys])
        self.hang = read_on(self.hang, design, np.where(who, values, 0.0).T, u)
        self._tell_bearing()

    def _panels(self, key: RowKey) -> set[int]:
        names = [panel.name for panel in self.site.job.panels]
        return {names.index(name) for name in key[1].split("|")}

    def _loosen(self, panels: Iterable[int]) -> None:
        """Panels read against another for the first time may hang anywhere in their play."""
        for panel in sorted(set(panels) - self.beside):
            self.beside.add(panel)
            self.hang = hang_on_seats(
                self.site.job,
                deviation_mm=self.hang.deviation_mm,
                covariance_mm2=self.hang.covariance_mm2,
                panels=[panel],
            )
            across = slice(*self.site.ends(panel))
            more = self.raised[:, panel] * self.site.play_mm**2 / 3.0
            self.hang.covariance_mm2[:, across, across] += more[:, None, None]

    def _read_again(self, touched: Flags) -> None:
        """What was read on touched panels is void, and read again; touched: shape (N, panels)."""
        for panel in self.hung:
            for task in self.site.tasks_of(panel, self.hung):
                void = np.any([touched[:, k] for k in self._panels(task[0])], axis=0)
                if void.any():
                    self._take(task, void)

    # -- trims

    def _trim(self) -> Flags:
        """One panel is trimmed as advised wherever something was read outside: which one.

        Of several that are advised the first in the order they hang in, as they stand on the list;
        what was read on it is read again before anything else is touched.
        """
        size = (self.installs, self.site.n)
        shims, turns, slides = np.zeros(size), np.zeros(size), np.zeros_like(self.slid_mm)
        for install in np.flatnonzero(self._is_outside()).tolist():
            advised = self._advice(install)
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

    def _is_outside(self) -> Flags:
        read = self.site.verdicts(self.read)
        outside = [
            np.abs(value) > self.site.tolerance_mm(kind) + 1e-9 for (kind, _), value in read.items()
        ]
        return np.asarray(np.any(outside, axis=0))

    def _advice(self, install: int) -> tuple[Touch, ...]:
        site = self.site
        hang = Hang(
            deviation_mm=self.hang.deviation_mm[install],
            covariance_mm2=self.hang.covariance_mm2[install],
        )
        beneath = seats_beneath_mm(
            site.job,
            hang.deviation_mm,
            seats_mm=self._seats_mm()[install],
            covariance_mm2=self.seats.covariance_mm2,
            panels=self.hung,
            slid_mm=self.slid_mm[install],
        )
        read = {key: value[install : install + 1] for key, value in self.read.items()}
        problem = problem_of(
            site.job,
            site.goal,
            self._kit(install),
            hang=hang,
            seats_mm=beneath,
            hung=sorted(self.hung),
            read_mm={key: float(value[0]) for key, value in site.verdicts(read).items()},
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
        self.hang = slid(self.site.job, self.hang, panel, went, SLIDE_U_MM)
        self.slid_mm[:, panel] += went

    def _raise(self, panel: int, across: Sequence[int], by_mm: Vector) -> None:
        is_loose = panel in self.beside
        for seat, up in zip(across, by_mm.T, strict=True):
            if np.any(up):
                self.hang = shimmed(
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
