"""What is true of N installs at once: where seats and panels really are, and what is read of them.

Whoever works here only acts and reads: nothing true is handed out but the finish at the end.

- A fastener comes to lie off its mark by the placing error; its seat below its hole by its real
  drop, of which a part is common to its kind.
- Heights are marked and read from the level line. The line lies midway between two drawn by level,
  turned end for end in between: it is out of level by the level's error by distance over sqrt 2,
  the same for all seats; and it is as far off in height as the floor it was counted from.
- A story stick held on a set seat and levelled carries its own error and the level's, not that of
  placing.
- A panel hangs anywhere in its hangers' play; shims and slides have a small error of their own.

Source: plane rigid bodies for small turns as in ``core.quality`` and ``core.hung``.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import sqrt

import numpy as np
from numpy.typing import NDArray

from holdtrue.core.hung import RowKey
from holdtrue.core.quality import Vector
from holdtrue.core.sources_trim import SLIDE_MM
from holdtrue.simulation.errors import ErrorSizes, Flags, Luck
from holdtrue.simulation.site import Site

Integers = NDArray[np.int64]


class World:
    """The truth of N installs of one job."""

    def __init__(self, site: Site, sizes: ErrorSizes, luck: Luck) -> None:
        self.site, self.sizes, self.luck = site, sizes, luck
        self.installs = luck.installs
        n = site.n
        self._true = np.zeros((self.installs, 2 * n))
        """Deviations the panels hang by, and of seats without a panel yet [mm]."""
        self._off = np.zeros((self.installs, len(site.job.panels)))
        """Where each panel hangs within its play, from the middle of its seats [mm]."""
        self._tilt = luck.normal("level line") * sizes.level_mm_per_m / sqrt(2.0) / 1000.0
        self._common = np.stack(
            [luck.normal(f"drop of {i}") * sizes.common_drop_mm for i in range(len(site.kinds))],
            axis=1,
        )
        self._times: dict[str, int] = {}

    def _error(self, name: str, u_mm: float, *shape: int) -> Vector:
        """The next error of that name."""
        return self.luck.normal(self._next(name), *shape) * u_mm

    def _next(self, name: str) -> str:
        time = self._times[name] = self._times.get(name, 0) + 1
        return f"{name} {time}"

    # -- fasteners

    def meets_a_stud(self, seat: int) -> Flags:
        """Whether the pilot of a seat in a hollow wall meets a stud nobody knew of."""
        return self.luck.uniform(f"stud {seat}") < self.sizes.surprise

    def drive(self, seat: int, hole_mm: tuple[Vector, Vector], kind: Integers, who: Flags) -> None:
        """Drive the fasteners of some installs at a mark made from the two lines."""
        x, y = hole_mm
        miss = self._error(f"placing {seat}", self._aim_mm(seat), 2)
        self._come_to_lie(
            seat, x + miss[:, 0], y + miss[:, 1] + self._tilt * self.site.x_mm[seat], kind, who
        )

    def drive_by_stick(
        self, seat: int, first: int, way_mm: tuple[Vector, Vector], kind: Integers, who: Flags
    ) -> None:
        """The same with the hole carried over from where another seat really is."""
        n = self.site.n
        x, y = (self._true[:, [first, n + first]] + self.site.planned_mm[[first, n + first]]).T
        miss = self._error(f"stick {seat}", self.sizes.stick_mm, 2)
        level = self.sizes.levelled_mm(self.site.span_mm(first, seat))
        up = miss[:, 1] + self._error(f"levelled {seat}", level)
        self._come_to_lie(seat, x + way_mm[0] + miss[:, 0], y + way_mm[1] + up, kind, who)

    def _aim_mm(self, seat: int) -> float:
        own = self.site.placing_mm(seat)
        return self.sizes.aim_mm if own is None else own

    def _come_to_lie(self, seat: int, x: Vector, hole: Vector, kind: Integers, who: Flags) -> None:
        n, site = self.site.n, self.site
        drop = site.drops_mm[kind] + self._common[np.arange(self.installs), kind]
        drop = drop + self._error(f"own drop {seat}", self.sizes.own_drop_mm)
        place = np.stack([x, hole - drop], axis=1) - site.planned_mm[[seat, n + seat]]
        columns = [seat, n + seat]
        self._true[:, columns] = np.where(who[:, None], place, self._true[:, columns])

    def across(self, seat: int) -> Vector:
        """A seat's distance from the reference line, as read [mm]."""
        read = self._true[:, seat] + self.site.planned_mm[seat]
        return np.asarray(read + self._error(f"across {seat}", self.sizes.tape_mm))

    def above(self, seat: int) -> Vector:
        """A seat's height, as read from the level line [mm]."""
        at = self.site.n + seat
        read = self._true[:, at] + self.site.planned_mm[at] - self._tilt * self.site.x_mm[seat]
        return np.asarray(read + self._error(f"above {seat}", self.sizes.tape_mm))

    def apart(self, a: int, b: int) -> Vector:
        """From one seat to another by tape, as read [mm]."""
        n = self.site.n
        place = self._true + self.site.planned_mm
        dx, dy = place[:, b] - place[:, a], place[:, n + b] - place[:, n + a]
        return np.hypot(dx, dy) + self._error(f"apart {a} {b}", self.sizes.tape_mm)

    def rise(self, a: int, b: int) -> Vector:
        """Height of seat b over seat a by level, as read [mm]."""
        n = self.site.n
        place = self._true + self.site.planned_mm
        u = self.sizes.levelled_mm(self.site.span_mm(a, b))
        return place[:, n + b] - place[:, n + a] + self._error(f"rise {a} {b}", u)

    # -- panels

    def hang(self, panel: int, shims_mm: Vector, *, anywhere: bool) -> None:
        """Lift a panel with these shims in its rings beyond the planned ones; it comes to rest."""
        _, up = self.site.columns(panel)
        self._true[:, up] += shims_mm + self._shim_error(panel, shims_mm)
        if anywhere:
            self._rest(panel, np.ones(self.installs, dtype=bool))

    def _shim_error(self, panel: int, steps_mm: Vector) -> Vector:
        error = self._error(f"shims {panel}", self.sizes.shim_mm, steps_mm.shape[1])
        return np.asarray(np.where(steps_mm != 0, error, 0.0))

    def _rest(self, panel: int, who: Flags) -> None:
        low, high = self._room_mm(panel)
        by = low + (high - low) * self.luck.uniform(self._next(f"rest {panel}"))
        self._move(panel, np.where(who, by, 0.0))

    def _room_mm(self, panel: int) -> tuple[Vector, Vector]:
        """How far left (<= 0) and right each install's panel can still go."""
        site = self.site
        across, _ = site.columns(panel)
        v = np.array([hanger.v_mm for hanger in site.job.panels[panel].hangers])
        pose = site.poses[panel]
        tilt, at = self._true @ pose.t, self._true @ pose.a
        lies = at[:, None] - tilt[:, None] * v - self._true[:, across] + self._off[:, [panel]]
        return (
            np.minimum(-site.play_mm - lies.min(axis=1), 0.0),
            np.maximum(site.play_mm - lies.max(axis=1), 0.0),
        )

    def _move(self, panel: int, by_mm: Vector) -> Vector:
        """Slide a panel, as far as its hangers let it: how far it went."""
        across, _ = self.site.columns(panel)
        moved = np.clip(by_mm, *self._room_mm(panel))
        self._true[:, across] += moved[:, None]
        self._off[:, panel] += moved
        return np.asarray(moved)

    def slide(self, panel: int, by_mm: Vector) -> Vector:
        """Push hung panels aside by so much, where it is not 0; how far they are said to go.

        That a panel stops short is felt, and how far it went is read by rule.
        """
        error = self._error(f"slide {panel}", self.sizes.slide_mm)
        pushed = np.where(by_mm != 0, by_mm + error, 0.0)
        moved = self._move(panel, pushed)
        way = np.sign(by_mm)
        went = way * (moved + self._error(f"slid {panel}", self.sizes.rule_mm))
        is_short = (moved != pushed) & (way * by_mm - went > SLIDE_MM / 2)
        return np.asarray(np.where(is_short, way * np.maximum(went, 0.0), by_mm))

    def slide_to_the_gap(
        self, panel: int, rows: Sequence[Vector], who: Flags | None = None
    ) -> None:
        """Push a panel until a rule shows what is planned to the neighbours that hang.

        ``rows`` [mm/mm]: of what is read to each of them, shape (2n,).
        """
        across, _ = self.site.columns(panel)
        if not rows:
            return
        push = np.array([row[across].sum() for row in rows])
        off = self._true @ np.array(rows).T
        off += self._error(f"spacing {panel}", self.sizes.rule_mm, len(rows))
        wanted = -(off @ push) / (push @ push)
        by = wanted + self._error(f"spaced {panel}", self.sizes.slide_mm)
        self._move(panel, by if who is None else np.where(who, by, 0.0))

    def raise_rings(self, panel: int, by_mm: Vector) -> None:
        """Take panels off, raise or lower what their rings bear on, and hang them again."""
        _, up = self.site.columns(panel)
        self._true[:, up] += by_mm + self._shim_error(panel, by_mm)
        self._rest(panel, np.any(by_mm != 0, axis=1))

    def read(self, key: RowKey, u_mm: float, who: Flags) -> Vector:
        """A reading on hung panels as its difference from plan [mm]; NaN where nobody reads."""
        value = self._true @ self.site.hung[key] + self._error(f"{key[0]} {key[1]}", u_mm)
        return np.where(who, value, np.nan)

    # -- the finish

    def residuals_mm(self) -> Vector:
        """Every criterion as it truly ends [mm], shape (N, m)."""
        n = self.site.n
        true = self._true.copy()
        true[:, n:] += self._error("floor", self.sizes.floor_mm)[:, None]
        return np.asarray(true @ self.site.goal.matrix.T)
