"""The smallest set of means that brings every criterion within its limits.

Method: a set of means (a support) is tried only if, with each of its means anywhere between its
limits, every criterion alone could come inside. To grow a set that cannot do so, take a criterion
it leaves outside: whatever works must also hold one of the means that move that criterion the right
way, so only those are added, each once. Sets are looked through by number of lift-offs, then by
number of touches; within a set all whole steps are gone through, criterion by criterion, leaving
out what can no longer come inside. Nothing that could work is left out: the result is exact.

Source: as ``trim``.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

import numpy as np
from numpy.typing import NDArray

from holdtrue.core.quality import Vector

_SLACK = 1e-9
"""[mm] Rounding allowed at a limit."""

Integers = NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Means:
    """M means over m criteria: ``effect`` of one step [mm], shape (m, M); the rest shape (M,)."""

    effect: Vector
    step_mm: Vector
    lowest: Integers
    highest: Integers
    panel: Integers
    needs_lift: NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Choice:
    """Means and their steps, none of them 0."""

    support: tuple[int, ...]
    steps: tuple[int, ...]


class Search:
    """Looks through sets of means; ``is_complete`` until it had to stop early."""

    def __init__(self, means: Means, most_touches: int, most_nodes: int) -> None:
        self.means = means
        self.most_touches = most_touches
        self.most_nodes = most_nodes
        self.is_complete = True
        ends = np.stack([means.effect * means.lowest, means.effect * means.highest])
        self.up = np.maximum(ends.max(axis=0), 0.0)
        self.down = np.minimum(ends.min(axis=0), 0.0)

    def fewest(self, now_mm: Vector, limit_mm: Vector) -> Choice | None:
        """Fewest lift-offs, then fewest touches, then least movement; None if nothing works."""
        lifting = len(set(self.means.panel[self.means.needs_lift].tolist()))
        for lifts in range(min(lifting, self.most_touches) + 1):
            for touches in range(lifts, self.most_touches + 1):
                found = self._look(now_mm, limit_mm, lifts, touches)
                if found is not None:
                    return found
        return None

    def closer(self, found: Choice, now_mm: Vector, limit_mm: Vector) -> Choice | None:
        """Within tighter limits by as many lift-offs and touches as found; None if it cannot be."""
        means = self.means
        lifts = {int(means.panel[j]) for j in found.support if means.needs_lift[j]}
        return self._look(now_mm, limit_mm, len(lifts), len(found.support))

    def any(self, now_mm: Vector, limit_mm: Vector) -> Choice | None:
        """Fewest touches, whatever has to be lifted off."""
        for touches in range(self.most_touches + 1):
            found = self._look(now_mm, limit_mm, self.most_touches, touches)
            if found is not None:
                return found
        return None

    def _look(self, now: Vector, limit: Vector, lifts: int, touches: int) -> Choice | None:
        walk = _Walk(self, now, limit, lifts, touches)
        walk.grow((), np.ones(len(self.means.step_mm), dtype=bool))
        self.is_complete &= walk.nodes <= self.most_nodes
        return walk.best


class _Walk:
    """One pass: sets of exactly ``touches`` means with at most ``lifts`` panels off."""

    def __init__(
        self, search: Search, now: Vector, limit: Vector, lifts: int, touches: int
    ) -> None:
        self.search, self.means = search, search.means
        self.stand, self.limit = now, limit + _SLACK
        self.lifts, self.touches = lifts, touches
        self.nodes = 0
        self.best: Choice | None = None
        self.best_mm = inf

    def grow(self, support: tuple[int, ...], is_open: NDArray[np.bool_]) -> None:
        """Try the set, or every way of adding one more mean to it."""
        self.nodes += 1
        if self.nodes > self.search.most_nodes:
            return
        chosen = list(support)
        high = self.stand + self.search.up[:, chosen].sum(axis=1)
        low = self.stand + self.search.down[:, chosen].sum(axis=1)
        left = self.touches - len(support)
        if left == 0:
            if np.all((low <= self.limit) & (high >= -self.limit)):
                self._try(support)
            return
        allowed = is_open & self._may_join(support)
        if not self._can_reach(low, high, allowed, left):
            return
        is_open = allowed.copy()
        for j in self._candidates(low, high, allowed):
            # sets with j and an earlier candidate were grown from that one
            is_open[j] = False
            self.grow((*support, int(j)), is_open.copy())

    def _may_join(self, support: tuple[int, ...]) -> NDArray[np.bool_]:
        means = self.means
        lifted = {int(means.panel[j]) for j in support if means.needs_lift[j]}
        if len(lifted) < self.lifts:
            return np.ones(len(means.panel), dtype=bool)
        return ~means.needs_lift | np.isin(means.panel, list(lifted))

    def _can_reach(self, low: Vector, high: Vector, allowed: NDArray[np.bool_], left: int) -> bool:
        """Whether the ``left`` strongest means left could bring each criterion inside, alone."""
        up = np.sort(self.search.up[:, allowed], axis=1)[:, -left:].sum(axis=1)
        down = np.sort(self.search.down[:, allowed], axis=1)[:, :left].sum(axis=1)
        return bool(np.all((low + down <= self.limit) & (high + up >= -self.limit)))

    def _candidates(self, low: Vector, high: Vector, allowed: NDArray[np.bool_]) -> list[int]:
        """Means of which one must join: those that help the criterion with the fewest helpers."""
        lower, raise_ = self.search.down < 0, self.search.up > 0
        helpers = [np.flatnonzero(allowed)]
        helpers += [np.flatnonzero(allowed & lower[i]) for i in np.flatnonzero(low > self.limit)]
        helpers += [np.flatnonzero(allowed & raise_[i]) for i in np.flatnonzero(high < -self.limit)]
        return [int(j) for j in min(helpers, key=len)]

    def _try(self, support: tuple[int, ...]) -> None:
        """All whole steps of a set, none 0: the least movement that brings all inside."""
        means = self.means
        values = self.stand[None, :]
        steps = np.zeros((1, 0), dtype=np.int64)
        moved = np.zeros(1)
        for place, j in enumerate(support):
            rest = list(support[place + 1 :])
            up, down = (reach[:, rest].sum(axis=1) for reach in (self.search.up, self.search.down))
            own = np.array([k for k in range(means.lowest[j], means.highest[j] + 1) if k != 0])
            values = (values[:, None, :] + own[None, :, None] * means.effect[:, j]).reshape(
                -1, len(self.stand)
            )
            steps = np.hstack(
                [np.repeat(steps, len(own), axis=0), np.tile(own, len(steps))[:, None]]
            )
            moved = np.repeat(moved, len(own)) + np.tile(np.abs(own) * means.step_mm[j], len(moved))
            keep = (moved < self.best_mm - _SLACK) & np.all(
                (values + down <= self.limit) & (values + up >= -self.limit), axis=1
            )
            values, steps, moved = values[keep], steps[keep], moved[keep]
            if not len(moved):
                return
        least = int(np.argmin(moved))
        self.best = Choice(support, tuple(int(k) for k in steps[least]))
        self.best_mm = float(moved[least])
