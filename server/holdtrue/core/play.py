"""An able crew at work, many installs at once: true places, what the crew believes, what it does.

Method: every install is a row of an array. The crew does the same tasks with the same instruments
in each, so what it knows (the covariance) is common to all rows and only the numbers differ: each
task is a few matrix products.

- A seat is aimed at the best mark given what is believed about the others (certainty equivalence),
  put on the tape's graduation; the placing error and the fastener's real drop come on top. With a
  story stick the later seats of a panel take the first one's place instead, with the stick's error
  and that of levelling it.
- It is read: across by tape, up from the level line, and by tape and level against the panel's
  other seats. Its estimate is those readings alone (Gauss-Markov).
- A hole is made again, once, when it leaves a criterion where nothing later can mend it. The old
  hole is patched, and the new one goes to the same seat with a fastener of another drop, so that it
  stays clear of the patch.
- With shims under every ring, they are set before the panel is lifted, by its seats' readings.
- A panel hangs anywhere within its play; it is read (level, gap at both ends, step), slid to its
  gap while being hung, then trimmed by the fewest touches that bring what is read inside the guard,
  and read again.

Source: as ``forecast`` and ``hung``; the way of working is the project's own.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

from holdtrue.core.crew import ErrorSizes, Habits, Site
from holdtrue.core.hung import update_gain
from holdtrue.core.quality import Vector
from holdtrue.core.sources_play import PACK_MM, ROUNDS, SLIDE_U_MM, TRIM_U_MM
from holdtrue.core.sources_trim import APART_FULL_MM, BIAS_FROM, SHIM_MOST_MM
from holdtrue.core.touch_table import best_touches, pack_steps, touch_table

Flags = NDArray[np.bool_]
Integers = NDArray[np.int64]


class Play:
    """N installs of one plan by one crew."""

    def __init__(
        self, site: Site, sizes: ErrorSizes, habits: Habits, installs: int, rng: Generator
    ) -> None:
        self.site, self.sizes, self.habits, self.installs = site, sizes, habits, installs
        self.rng = rng
        n, kinds = site.n, len(site.kinds)
        self.true = np.zeros((installs, 2 * n))
        """Deviations the panels hang by, and of seats without a panel yet [mm]."""
        self.believed = np.zeros((installs, 2 * n))
        self.covariance = np.zeros((2 * n, 2 * n))
        self.known: list[int] = []
        self.hung: list[int] = []
        self.kind = np.zeros((installs, n), dtype=np.int64)
        self.common = self._errors(sizes.common_drop_mm, kinds)
        self.learned = np.zeros((installs, kinds))
        """Sums of learned biases times weight, weights and counts, per kind."""
        self.weights = np.zeros((installs, kinds))
        self.counts = np.zeros((installs, kinds), dtype=np.int64)
        self.shims = np.full((installs, n), site.pack_shims if habits.pack else 0, dtype=np.int64)
        self.off_true = np.zeros((installs, len(site.job.panels)))
        """Where each panel hangs within its play, from the middle of its seats [mm]."""
        self.seats_across = np.zeros((installs, len(site.job.panels)))
        """Mean dx of each panel's seats as believed when it was hung [mm]."""
        self.touches, self.lift_offs, self.holes, self.packs = (
            np.zeros(installs, dtype=np.int64) for _ in range(4)
        )

    def run(self) -> Vector:
        """Play all installs.

        Returns: true residuals of every criterion [mm], shape (N, m).
        """
        for panel in self.site.panels:
            self._drive(panel)
            if self.habits.by_panel:
                self._hang(panel)
        if not self.habits.by_panel:
            for panel in self.site.panels:
                self._hang(panel)
        self.true[:, self.site.n :] += self._errors(self.sizes.floor_mm, 1)
        return np.asarray(self.true @ self.site.goal.matrix.T)

    def _errors(self, u_mm: float, *shape: int) -> Vector:
        return self.rng.standard_normal((self.installs, *shape)) * u_mm

    # ---- fasteners

    def _drive(self, panel: int) -> None:
        done: list[int] = []
        for seat in self.site.seats_of(panel):
            surprised = self.rng.uniform(size=self.installs) < self.sizes.surprise
            self.kind[:, seat] = np.where(
                surprised, self.site.surprise_kind(seat), self.site.kind_of(seat)
            )
            before = self._kept()
            self._set(seat, done, surprised)
            if self.habits.correct:
                self._correct(panel, seat, done, surprised, before)
            done.append(seat)
            self.known = sorted([*self.known, seat, self.site.n + seat])

    def _kept(self) -> tuple[Vector, Vector, Vector]:
        return self.true.copy(), self.believed.copy(), self.covariance.copy()

    def _set(self, seat: int, done: Sequence[int], surprised: Flags) -> None:
        aim = self._aim(seat, done, surprised)
        self._place(seat, done, aim)
        if self.habits.recompute:
            self._read_seat(seat, done)
            self._learn(seat, done, aim)

    def _aim(self, seat: int, done: Sequence[int], surprised: Flags) -> Vector:
        """Deviation (x, y) aimed at, shape (N, 2): best mark, on the graduation."""
        site, n = self.site, self.site.n
        if self.habits.stick and done:
            first = done[0]
            wanted = self.true[:, [first, n + first]].copy()
        else:
            wanted = np.zeros((self.installs, 2))
            if self.known and self.habits.recompute:
                wanted = self.believed[:, self.known] @ site.gain(seat, self.known).T
            wanted = self._on_graduation(seat, wanted)
        wanted[:, 1] += np.where(surprised, site.clearing_mm(seat), 0.0)
        return wanted

    def _on_graduation(self, seat: int, wanted: Vector) -> Vector:
        """Across, and the hole's height, are marked on the tape's graduation."""
        step = self.site.job.graduation_mm
        hole = self.site.drops_mm()[self.kind[:, seat]] + self._known_bias(seat)
        planned = self.site.form.planned_mm[[seat, self.site.n + seat]]
        add = np.column_stack([np.zeros(self.installs), hole]) + planned
        return np.asarray(np.rint((wanted + add) / step) * step - add)

    def _place(self, seat: int, done: Sequence[int], aim: Vector) -> None:
        """Where the loaded seat really comes to lie."""
        sizes, n = self.sizes, self.site.n
        is_carried = self.habits.stick and bool(done)
        u = sizes.stick_mm if is_carried else sizes.aim_mm
        miss = self._errors(u, 2)
        if is_carried:
            miss[:, 1] += self._errors(sizes.levelled_mm(self._span_mm(seat, done[0])))
        drop = self.common[np.arange(self.installs), self.kind[:, seat]] - self._known_bias(seat)
        miss[:, 1] -= drop + self._errors(sizes.own_drop_mm)
        self.true[:, [seat, n + seat]] = aim + miss

    def _span_mm(self, a: int, b: int) -> float:
        return float(self.site.x_mm[a] - self.site.x_mm[b])

    def _read_seat(self, seat: int, done: Sequence[int]) -> None:
        sizes, n = self.sizes, self.site.n
        columns = [seat, n + seat]
        again = np.sqrt(self.habits.readings)
        u = np.array([sizes.tape_mm, sizes.levelled_mm(float(self.site.x_mm[seat]))]) / again
        self.believed[:, columns] = self.true[:, columns] + self._errors(1.0, 2) * u
        self.covariance[columns, :] = self.covariance[:, columns] = 0.0
        self.covariance[columns, columns] = u**2
        for other in done:
            rows = np.zeros((2, 2 * n))
            rows[0, [seat, other]] = rows[1, [n + seat, n + other]] = 1.0, -1.0
            level = sizes.levelled_mm(self._span_mm(seat, other))
            self._read(rows, np.array([sizes.tape_mm, level]) / again)

    def _read(self, rows: Vector, u_mm: Vector) -> None:
        read = self.true @ rows.T + self._errors(1.0, len(rows)) * u_mm
        gain, self.covariance = update_gain(self.covariance, rows, u_mm)
        self.believed = self.believed + (read - self.believed @ rows.T) @ gain.T

    def _known_bias(self, seat: int) -> Vector:
        """What is known of the real drop of each install's fastener, shape (N,)."""
        at = np.arange(self.installs), self.kind[:, seat]
        if not self.habits.bias or not self.sizes.common_drop_mm:
            return np.zeros(self.installs)
        best = self.learned[at] / (self.weights[at] + self.sizes.common_drop_mm**-2)
        return np.asarray(np.where(self.counts[at] >= BIAS_FROM, best, 0.0))

    def _learn(self, seat: int, done: Sequence[int], aim: Vector) -> None:
        """One more observation of the kind's common bias."""
        if not self.habits.bias:
            return
        sizes, n = self.sizes, self.site.n
        found = self.believed[:, n + seat]
        if self.habits.stick and done:
            meant = self.believed[:, n + done[0]]
            level = sizes.levelled_mm(self._span_mm(seat, done[0]))
            variance = sizes.stick_mm**2 + 2.0 * level**2
        else:
            meant = aim[:, 1]
            variance = sizes.aim_mm**2 + float(self.covariance[n + seat, n + seat])
        weight = 1.0 / (variance + sizes.own_drop_mm**2)
        at = np.arange(self.installs), self.kind[:, seat]
        self.learned[at] += weight * (meant - found + self._known_bias(seat))
        self.weights[at] += weight
        self.counts[at] += 1

    def _correct(
        self,
        panel: int,
        seat: int,
        done: Sequence[int],
        surprised: Flags,
        before: tuple[Vector, Vector, Vector],
    ) -> None:
        bad = self._is_beyond_mending(panel, seat, done)
        if not bad.any():
            return
        good = self._kept()
        self.true, self.believed, self.covariance = (part.copy() for part in before)
        learned = self.learned.copy(), self.weights.copy(), self.counts.copy()
        self._set(seat, done, surprised)
        self.learned, self.weights, self.counts = learned
        # the new hole is of the same kind: it keeps clear of the old one as far as its seat moved
        own = [seat, self.site.n + seat]
        moved_mm = np.linalg.norm(self.true[:, own] - good[0][:, own], axis=1)
        bad &= moved_mm >= APART_FULL_MM
        keep = ~bad[:, None]
        self.true = np.where(keep, good[0], self.true)
        self.believed = np.where(keep, good[1], self.believed)
        self.holes += bad

    def _is_beyond_mending(self, panel: int, seat: int, done: Sequence[int]) -> Flags:
        site, habits = self.site, self.habits
        across, _ = site.columns(panel)
        set_now = [*done, seat]
        believed = self.believed
        if habits.stick:
            # the others will follow the first: judge the panel by it at once
            believed = believed.copy()
            for other in set(across) - set(set_now):
                first = done[0] if done else seat
                believed[:, [other, site.n + other]] = believed[:, [first, site.n + first]]
            set_now = across
        mine = [*set_now, *(site.n + i for i in set_now)]
        rows = site.rows_within([*self.known, *mine], [seat, site.n + seat])
        limit = habits.correct_share * (site.goal.tolerance_mm[rows] + self._reach_mm(rows, panel))
        return np.asarray(np.any(np.abs(believed @ site.goal.matrix[rows].T) > limit, axis=1))

    def _reach_mm(self, rows: Sequence[int], panel: int) -> Vector:
        """How far trimming this panel can move each criterion: slides aside, shims up."""
        if not self.habits.trim:
            return np.zeros(len(rows))
        across, up = self.site.columns(panel)
        matrix = self.site.goal.matrix[list(rows)]
        slide = np.abs(matrix[:, across].sum(axis=1)) * self.site.play_mm
        most_mm = SHIM_MOST_MM - (PACK_MM if self.habits.pack else 0.0)
        # a panel is levelled by its rings against each other, raised by all of them together
        against, together = np.abs(matrix[:, up]).sum(axis=1), np.abs(matrix[:, up].sum(axis=1))
        shim = np.where(together > 1e-9, together, against) * most_mm
        return np.asarray(np.where(self.site.is_aside[list(rows)], slide, shim))

    # ---- panels

    def _hang(self, panel: int) -> None:
        self.hung.append(panel)
        if not self.habits.trim:
            return
        across, _ = self.site.columns(panel)
        if self.habits.pack:
            self._set_packs(panel)
        self.seats_across[:, panel] = self.believed[:, across].mean(axis=1)
        self._slide(panel, self._rest_anywhere(panel))
        self.covariance[np.ix_(across, across)] += self.site.play_mm**2 / 3.0
        rows, u = self.site.reading_rows(panel, self.hung, self.sizes)
        u = u / np.sqrt(self.habits.readings)
        self._read(rows, u)
        self._to_the_gap(panel)
        for _ in range(ROUNDS):
            self._read(rows, u)
            self._trim(panel)
        self._read(rows, u)

    def _rest_anywhere(self, panel: int) -> Vector:
        low, high = self._room_mm(panel, self.true, self.off_true[:, panel])
        return low + (high - low) * self.rng.uniform(size=self.installs)

    def _room_mm(self, panel: int, deviation: Vector, off: Vector) -> tuple[Vector, Vector]:
        """How far left (<= 0) and right each install's panel can still go."""
        site = self.site
        across, _ = site.columns(panel)
        v = np.array([hanger.v_mm for hanger in site.job.panels[panel].hangers])
        pose = site.poses[panel]
        tilt, at = deviation @ pose.t, deviation @ pose.a
        from_middle = at[:, None] - tilt[:, None] * v - deviation[:, across]
        lies = from_middle + off[:, None]
        return (
            np.minimum(-site.play_mm - lies.min(axis=1), 0.0),
            np.maximum(site.play_mm - lies.max(axis=1), 0.0),
        )

    def _slide(self, panel: int, by: Vector) -> None:
        """Really move a panel, as far as its hangers let it."""
        low, high = self._room_mm(panel, self.true, self.off_true[:, panel])
        moved = np.clip(by, low, high)
        across, _ = self.site.columns(panel)
        self.true[:, across] += moved[:, None]
        self.off_true[:, panel] += moved

    def _push(self, panel: int, by: Vector) -> None:
        """Slide by what a rule says; the crew takes it that it went so far."""
        across, _ = self.site.columns(panel)
        self._slide(panel, by + np.where(by != 0, self._errors(SLIDE_U_MM), 0.0))
        self.believed[:, across] += by[:, None]

    def _to_the_gap(self, panel: int) -> None:
        """While hanging: to the middle of what its neighbours ask; a first panel to its place."""
        site = self.site
        across, _ = site.columns(panel)
        rows = [i for i in site.rows_within(self.known, across) if site.is_aside[i]]
        push = site.scaled[rows][:, across].sum(axis=1)
        rows = [i for i, p in zip(rows, push, strict=True) if abs(p) > 1e-12]
        push = push[np.abs(push) > 1e-12]
        if rows:
            wanted = -(self.believed @ site.scaled[rows].T) @ push / (push @ push)
        else:
            wanted = -(self.believed @ site.poses[panel].a)
        low, high = self._room_believed_mm(panel)
        self._push(
            panel, np.clip(np.rint(wanted / self.site.slide_mm) * self.site.slide_mm, low, high)
        )

    def _room_believed_mm(self, panel: int) -> tuple[Vector, Vector]:
        across, _ = self.site.columns(panel)
        off = self.believed[:, across].mean(axis=1) - self.seats_across[:, panel]
        return self._room_mm(panel, self.believed, off)

    def _set_packs(self, panel: int) -> None:
        site = self.site
        across, up = site.columns(panel)
        hung = [c for k in self.hung for part in site.columns(k) for c in part]
        rows = [i for i in site.rows_within(hung, up) if not site.is_aside[i]]
        steps = pack_steps(
            self.believed @ site.scaled[rows].T,
            shim_effect=site.scaled[rows][:, up].T * self.site.shim_mm,
            shims=self.shims[:, across],
            most_shims=site.most_shims,
        )
        self.packs += (steps != 0).sum(axis=1)
        self._shim(panel, steps)

    def _shim(self, panel: int, steps: Integers) -> None:
        across, up = self.site.columns(panel)
        self.shims[:, across] += steps
        self.believed[:, up] += steps * self.site.shim_mm
        self.true[:, up] += steps * self.site.shim_mm + (steps != 0) * self._errors(
            TRIM_U_MM, len(up)
        )

    def _trim(self, panel: int) -> None:
        site = self.site
        across, up = site.columns(panel)
        hung = [c for k in self.hung for part in site.columns(k) for c in part]
        rows = [i for i in site.rows_within(hung, [*across, *up]) if site.goal.kinds[i] != "slack"]
        low, high = self._room_believed_mm(panel)
        table = touch_table(len(up), site.pack_shims if self.habits.pack else 0, site.most_shims, 3)
        line = best_touches(
            table,
            self.believed @ site.scaled[rows].T,
            shim_effect=site.scaled[rows][:, up].T * self.site.shim_mm,
            slide_effect=site.scaled[rows][:, across].sum(axis=1) * self.site.slide_mm,
            shims=self.shims[:, across],
            most_shims=site.most_shims,
            slide_room=(
                np.floor(-low / self.site.slide_mm).astype(np.int64),
                np.floor(high / self.site.slide_mm).astype(np.int64),
            ),
            guard=self.habits.guard,
            aim=self.habits.aim,
        )
        self.touches += table.touches[line]
        self.lift_offs += table.needs_lift[line]
        self._shim(panel, table.shims[line])
        self._push(panel, np.asarray(table.slides[line] * self.site.slide_mm, dtype=np.float64))
