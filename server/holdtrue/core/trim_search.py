"""The smallest set of means that brings every criterion within its limits.

Method: criteria that a set of means (a support) leaves outside, each of its means anywhere between
its ends, must be helped: whatever works also holds one of the means that move such a criterion the
right way. So of the criterion with the fewest helpers each is added in turn, each once. Left out is
only what cannot work: where the strongest means still allowed cannot bring a criterion inside;
where more criteria without a common helper need one than touches, or lift-offs, are left; where
steps of any size of all that is still allowed cannot come inside together (``nearest``). What bars
these is a sum of criteria that must hold too: it is kept, and helps to bar others.

Numbers of lift-offs are gone through from the fewest; for the first that works the fewest touches
are found. A support works when whole steps of it come inside (``whole_steps``). Before, a set that
works is found by leaving out one means after the other: the answer where the search has to stop
early. If it did not, the number of lift-offs and touches is the least: exact.

Source: as ``trim``.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf

import numpy as np
from numpy.typing import NDArray

from holdtrue.core.nearest import nearest_steps
from holdtrue.core.quality import Vector
from holdtrue.core.whole_steps import SLACK, Integers, WholeSteps

_SURE = 1e-7
_TINY = 1e-12
_ROOT_NODES = 1_000
_LEAF_NODES = 200
_THIN_NODES = 60
_FIRM_NODES = 200
"""Sets looked at for a better one of as many touches. Our choice."""

Flags = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Means:
    """M means over m criteria: ``effect`` of one step [mm], shape (m, M); the rest shape (M,)."""

    effect: Vector
    step_mm: Vector
    lowest: Integers
    highest: Integers
    panel: Integers
    needs_lift: Flags

    @property
    def ends(self) -> tuple[Vector, Vector]:
        """The least and the most each means alone adds to each criterion [mm], shape (m, M)."""
        both = np.stack([self.effect * self.lowest, self.effect * self.highest])
        return np.minimum(both.min(axis=0), 0.0), np.maximum(both.max(axis=0), 0.0)

    def of(self, rows: Integers, columns: Integers) -> Means:
        """Some of the means over some of the criteria."""
        return Means(
            effect=self.effect[np.ix_(rows, columns)],
            step_mm=self.step_mm[columns],
            lowest=self.lowest[columns],
            highest=self.highest[columns],
            panel=self.panel[columns],
            needs_lift=self.needs_lift[columns],
        )

    def lifted(self, support: Sequence[int]) -> set[int]:
        """Panels taken off for these means."""
        return {int(self.panel[j]) for j in support if self.needs_lift[j]}


@dataclass(frozen=True, slots=True)
class Choice:
    """Means and their steps, none of them 0."""

    support: tuple[int, ...]
    steps: tuple[int, ...]


class Search:
    """Looks through sets of means; ``is_complete`` until it had to stop early."""

    def __init__(self, means: Means, now_mm: Vector, limit_mm: Vector, most_nodes: int) -> None:
        self.means = means
        self.most_nodes = most_nodes
        self.is_complete = True
        effect = means.effect / limit_mm[:, None]
        self.effect = np.where(np.abs(effect) < _TINY, 0.0, effect)
        """In shares of the limits, as all that follows."""
        self.stand = now_mm / limit_mm
        self.rows, self.base = self.effect, self.stand
        """The criteria, and sums of them that barred something."""
        self._reach()

    def _reach(self) -> None:
        ends = np.stack([self.rows * self.means.lowest, self.rows * self.means.highest])
        self.down = np.minimum(ends.min(axis=0), 0.0)
        self.up = np.maximum(ends.max(axis=0), 0.0)

    # -- what can be done at all -------------------------------------------------------------------

    def any_size(self, of: Flags, limit: float, start: Vector | None) -> Vector | None:
        """Steps of any size of these means that come inside, or nearly; None where none can."""
        low, high = self._ends(of)
        x, weights = nearest_steps(
            self.stand, self.effect, limit=limit, lowest=low, highest=high, start=start
        )
        if weights is None:
            return x
        row, base = weights @ self.effect, float(weights @ self.stand)
        row = np.where(np.abs(row) < _TINY, 0.0, row)
        if base + np.minimum(row * low, row * high).sum() <= limit + _SURE:
            return x
        self.rows, self.base = np.vstack([self.rows, row]), np.append(self.base, base)
        self._reach()
        return None

    def whole(
        self, of: Flags, limit: float, start: Vector | None, most_nodes: int
    ) -> Integers | None:
        """Whole steps of these means that come inside."""
        work = WholeSteps(self.stand, self.effect, limit, most_nodes)
        found = work.find(*self._ends(of), start)
        self.is_complete &= work.is_sure or found is not None
        return found

    def least(self, of: Flags, limit: float, below_mm: float) -> tuple[Integers | None, float]:
        """The least movement of these means that comes inside, if it is below that."""
        work = WholeSteps(
            self.stand, self.effect, limit, _LEAF_NODES, cost=self.means.step_mm, below=below_mm
        )
        return work.find(*self._ends(of)), work.below

    def _ends(self, of: Flags) -> tuple[Vector, Vector]:
        return np.where(of, self.means.lowest, 0.0), np.where(of, self.means.highest, 0.0)

    # -- the fewest, and the best of them ----------------------------------------------------------

    def fewest(self, least: tuple[int, int] = (0, 0)) -> Choice | None:
        """Fewest lift-offs, then fewest touches; None if nothing works.

        ``least``: lift-offs and touches that no way does with fewer of.
        """
        found = self._thinned()
        if found is None:
            return None
        lifts, touches = len(self.means.lifted(found.support)), len(found.support)
        if (lifts, touches) <= least:
            return found
        nodes = self.most_nodes
        for count in range(least[0], lifts + 1):
            walk = _Walk(self, count, touches - 1 if count == lifts else inf, nodes)
            best, nodes = walk.run(), walk.nodes
            if best is not None or not nodes:
                self.is_complete &= nodes > 0
                return best or found
        return found

    def firmest(self, found: Choice, shares: Sequence[float]) -> Choice:
        """As few, within the first of these shares of the limits that can be had; least movement.

        ``is_complete`` is left as it is: that there are no fewer is known before.
        """
        was = self.is_complete
        lifts, touches = len(self.means.lifted(found.support)), len(found.support)
        walks = (
            _Walk(self, lifts, touches, _FIRM_NODES, limit=share, is_firm=True).run()
            for share in shares
        )
        firmest = next((best for best in walks if best is not None), found)
        self.is_complete = was
        return firmest

    def _thinned(self) -> Choice | None:
        """A set that works, made smaller as long as what is left works: panels, then means."""
        of = np.ones(len(self.means.panel), dtype=bool)
        near = self.any_size(of, 1.0, None)
        found = None if near is None else self.whole(of, 1.0, near, _ROOT_NODES)
        if found is None:
            return None
        was = self.is_complete
        size = np.abs(found) * self.means.step_mm
        lifting = self.means.needs_lift
        panels = sorted(
            set(self.means.panel[lifting].tolist()),
            key=lambda k: float(size[lifting & (self.means.panel == k)].sum()),
        )
        drops = [lifting & (self.means.panel == k) for k in panels]
        drops += [np.arange(len(size)) == j for j in np.argsort(size, kind="stable")]
        for drop in drops:
            of, found = self._without(of & ~drop, of, found)
        self.is_complete = was
        return chosen(found)

    def _without(self, of: Flags, before: Flags, found: Integers) -> tuple[Flags, Integers]:
        if not np.any(found[~of]):
            return of, found
        near = self.any_size(of, 1.0, found.astype(np.float64))
        fewer = None if near is None else self.whole(of, 1.0, near, _THIN_NODES)
        return (before, found) if fewer is None else (of, fewer)


def chosen(steps: Integers) -> Choice:
    """The means that are used.

    Parameters: steps of all means [-], shape (M,).
    Returns: Choice.
    Raises: nothing.
    Source: definition.
    """
    support = tuple(int(j) for j in np.flatnonzero(steps))
    return Choice(support, tuple(int(steps[j]) for j in support))


class _Walk:
    """One pass: sets with at most ``lifts`` panels off, and at most ``touches`` means.

    Each set found makes ``touches`` smaller; where it ``is_firm``, movement is what becomes less.
    """

    def __init__(
        self,
        search: Search,
        lifts: int,
        touches: float,
        nodes: int,
        *,
        limit: float = 1.0,
        is_firm: bool = False,
    ) -> None:
        self.search, self.means = search, search.means
        self.lifts, self.touches, self.nodes = lifts, touches, nodes
        self.limit, self.is_firm = limit, is_firm
        self.best: Choice | None = None
        self.best_mm = inf

    def run(self) -> Choice | None:
        self.grow((), np.ones(len(self.means.panel), dtype=bool), None)
        return self.best

    def grow(self, support: tuple[int, ...], is_open: Flags, near: Vector | None) -> None:
        """Take the set if it works, else try every way of adding one more mean to it."""
        if not self.nodes or len(support) > self.touches:
            return
        self.nodes -= 1
        lifted = self.means.lifted(support)
        allowed = is_open & self._may_join(lifted)
        within = allowed.copy()
        within[list(support)] = True
        if near is None or np.any(near[~within]):
            near = self.search.any_size(within, self.limit, near)
        if near is None:
            return
        is_open = allowed.copy()
        for j in self._to_add(support, allowed, lifted):
            # sets with j and an earlier one were grown from that one
            is_open[j] = False
            self.grow((*support, j), is_open.copy(), near)

    def _may_join(self, lifted: set[int]) -> Flags:
        if len(lifted) < self.lifts:
            return np.ones(len(self.means.panel), dtype=bool)
        return ~self.means.needs_lift | np.isin(self.means.panel, list(lifted))

    def _to_add(self, support: tuple[int, ...], allowed: Flags, lifted: set[int]) -> list[int]:
        """Means of which one must join; none where the set works, or nothing makes it work."""
        left = self.touches - len(support)
        while True:
            helpers = self._helpers(support, allowed, left)
            if helpers is None or self._is_beyond(helpers, lifted, left):
                return []
            if helpers:
                return [int(j) for j in min(helpers, key=len)]
            of = np.zeros(len(allowed), dtype=bool)
            of[list(support)] = True
            near = self.search.any_size(of, self.limit, None)
            if near is None:
                continue  # by a sum of criteria that is known now, and has its helpers
            if self._takes(of, near) or left < 1:
                return []
            return [int(j) for j in np.flatnonzero(allowed)]

    def _helpers(
        self, support: tuple[int, ...], allowed: Flags, left: float
    ) -> list[Integers] | None:
        """Of each criterion the set leaves outside, what helps; None where all of it cannot."""
        search, reach, chosen = self.search, self.limit + SLACK, list(support)
        low = search.base + search.down[:, chosen].sum(axis=1)
        high = search.base + search.up[:, chosen].sum(axis=1)
        most = int(min(left, float(np.sum(allowed))))
        down = np.sort(search.down[:, allowed], axis=1)[:, :most].sum(axis=1)
        up = np.sort(search.up[:, allowed], axis=1)[:, ::-1][:, :most].sum(axis=1)
        if np.any(low + down > reach) or np.any(high + up < -reach):
            return None
        lowered, raised = np.flatnonzero(low > reach), np.flatnonzero(high < -reach)
        return [np.flatnonzero(allowed & (search.down[i] < 0)) for i in lowered] + [
            np.flatnonzero(allowed & (search.up[i] > 0)) for i in raised
        ]

    def _is_beyond(self, helpers: list[Integers], lifted: set[int], left: float) -> bool:
        """Whether more criteria without a common helper need one than touches, or lift-offs."""
        if _apart([set(j.tolist()) for j in helpers]) > left:
            return True
        off = [
            set(self.means.panel[j].tolist()) for j in helpers if np.all(self.means.needs_lift[j])
        ]
        return _apart([panels for panels in off if not panels & lifted]) > self.lifts - len(lifted)

    def _takes(self, of: Flags, near: Vector) -> bool:
        """Whether whole steps of the set come inside."""
        if self.is_firm:
            steps, mm = self.search.least(of, self.limit, self.best_mm)
            if steps is not None:
                self.best, self.best_mm = chosen(steps), mm
            return steps is not None
        steps = self.search.whole(of, self.limit, near, _LEAF_NODES)
        if steps is not None:
            self.best = chosen(steps)
            self.touches = len(self.best.support) - 1
        return steps is not None


def _apart(sets: list[set[int]]) -> int:
    """At least so many are needed to have one of each set: sets that share nothing."""
    count, seen = 0, set[int]()
    for one in sorted(sets, key=len):
        if not one & seen:
            seen |= one
            count += 1
    return count
