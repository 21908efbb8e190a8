"""Panels one after the other, as in a row or a column: their fewest touches by going along them.

Method: dynamic programming. All that can be done to one panel is listed, as far as the criteria of
that panel alone allow it. Going along the panels in their order, for each of these the cheapest way
of doing something to all panels before it is kept, so that the criteria between neighbours hold.
Lift-offs count first, touches next, movement last.

Criteria of panels farther apart are looked at afterwards: where what was found keeps them too it is
the best there is, exactly. Where not, what the first panel adds to a criterion it has with a far
one (the line of a whole row) is gone through, each amount in turn. Where the rest (the middle of
all) is not kept even then, no way is cheaper; where nothing was found there is nothing.

Source: R. Bellman, Dynamic Programming, 1957 (from memory); checked against integer programming.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from holdtrue.core.quality import Vector
from holdtrue.core.trim_search import Choice, Flags, Means, chosen
from holdtrue.core.whole_steps import SLACK, Integers

LIFT_COST, TOUCH_COST = 1e8, 1e4
"""[mm] What a lift-off and a touch count for: more than all movement there can be."""
_TINY = 1e-12
_MOST_LISTED = 200_000
_MOST_KEPT = 3_000
"""Ways with one panel that are listed, and that are kept to be gone through. Our choice: a few
megabytes, a second."""
_AT_ONCE = 512
"""Of these, with the panel before: keeps it to a few megabytes."""


@dataclass(frozen=True, slots=True)
class Chained:
    """The cheapest way along all panels."""

    choice: Choice
    lifts: int
    touches: int
    cost: float
    """All of that in one number."""
    is_inside: bool
    """It keeps every criterion, also those of panels farther apart."""


@dataclass(frozen=True, slots=True, eq=False)
class Ways:
    """What can be done to one panel: steps of its means; what each adds to the criteria."""

    columns: Integers
    steps: Integers
    adds: Vector
    cost: Vector

    def of(self, which: Flags | slice) -> Ways:
        return Ways(self.columns, self.steps[which], self.adds[which], self.cost[which])


class Chain:
    """The panels of one part of a trimming problem; ``is_small`` where there is time for them."""

    def __init__(self, means: Means, now_mm: Vector, limit_mm: Vector) -> None:
        """Parameters: means; now_mm, criteria as they stand [mm]; limit_mm of each [mm]."""
        self.means = means
        self.stand = now_mm / limit_mm
        """In shares of the limits, as all that follows."""
        effect = means.effect / limit_mm[:, None]
        effect = np.where(np.abs(effect) < _TINY, 0.0, effect)
        panels = np.unique(means.panel)
        is_of = means.panel == panels[:, None]
        at = np.array([np.any(effect[:, own] != 0, axis=1) for own in is_of])
        count = at.sum(axis=0)
        self.at, self.is_of_two = at, count == 2
        """Which panels each criterion is of, and whether of two."""
        self.own_rows = [np.flatnonzero((count == 1) & here) for here in at]
        self.rows = [np.flatnonzero((count == 2) & here & there) for here, there in pairwise(at)]
        """Between each panel and the next."""
        ends = [i for i in np.flatnonzero((count == 2) & at[0]) if i not in set(self.rows[0])]
        self.far = {int(i): int(np.flatnonzero(at[:, i])[1]) for i in ends}
        """Criteria the first panel has with one farther away, as the line of a whole row."""
        self.ways: list[Ways] = []
        self.is_small = True
        for own, rows in zip(is_of, self.own_rows, strict=True):
            columns = np.flatnonzero(own)
            sizes = means.highest[columns] - means.lowest[columns] + 1
            if np.prod(sizes.astype(float)) > _MOST_LISTED:
                self.is_small = False
                return
            ways = self._within(self._listed(columns, effect), rows, 1.0)
            self.ways.append(ways)
            self.is_small &= len(ways.cost) <= _MOST_KEPT

    def _listed(self, columns: Integers, effect: Vector) -> Ways:
        means = self.means
        ranges = [np.arange(means.lowest[j], means.highest[j] + 1) for j in columns]
        steps = np.stack([grid.ravel() for grid in np.meshgrid(*ranges, indexing="ij")], axis=1)
        is_lifted = np.any(steps[:, means.needs_lift[columns]] != 0, axis=1)
        cost = (
            LIFT_COST * is_lifted
            + TOUCH_COST * np.count_nonzero(steps, axis=1)
            + np.abs(steps) @ means.step_mm[columns]
        )
        return Ways(columns, steps, steps @ effect[:, columns].T, cost)

    def _within(self, ways: Ways, rows: Integers, limit: float) -> Ways:
        is_in = np.abs(self.stand[rows] + ways.adds[:, rows]) <= limit + SLACK
        return ways.of(np.all(is_in, axis=1))

    def best(self, limit: float = 1.0) -> Chained | None:
        """The cheapest way within this share of the limits; None where there is none.

        Parameters: limit [-], above 0 to 1.
        Returns: Chained, or None.
        Raises: nothing.
        Source: module head.
        """
        ways = [
            self._within(one, rows, limit)
            for one, rows in zip(self.ways, self.own_rows, strict=True)
        ]
        found = self.along(ways, limit, self.rows)
        if found is None or found.is_inside or not self.far:
            return found
        # what the first panel adds to a criterion it has with a far one, each in turn
        ends = ways[0].adds[:, list(self.far)]
        tried = (
            self.along(
                self._with_first(ways, np.all(ends == added, axis=1), limit), limit, self.rows
            )
            for added in np.unique(ends, axis=0)
        )
        return min((one for one in tried if one is not None), key=lambda c: c.cost, default=None)

    def _with_first(self, ways: list[Ways], is_taken: Flags, limit: float) -> list[Ways]:
        """Those of the first panel, and of a far one what then keeps their common criterion."""
        left = [ways[0].of(is_taken), *ways[1:]]
        for i, far in self.far.items():
            sums = self.stand[i] + left[0].adds[0, i] + left[far].adds[:, i]
            left[far] = left[far].of(np.abs(sums) <= limit + SLACK)
        return left

    def rows_of(self, some: Sequence[int], others: Sequence[int]) -> Integers:
        """Criteria that one of some panels has with one of others alone."""
        of_both = np.any(self.at[list(some)], axis=0) & np.any(self.at[list(others)], axis=0)
        return np.flatnonzero(self.is_of_two & of_both)

    def fits(self, one: Ways, following: Ways, rows: Integers, limit: float) -> Flags:
        """Which ways with one panel keep these criteria with which ways with another."""
        fits = np.ones((len(one.cost), len(following.cost)), dtype=bool)
        for i in rows:
            both = one.adds[:, i, None] + following.adds[None, :, i]
            fits &= np.abs(self.stand[i] + both) <= limit + SLACK
        return fits

    def along(
        self, ways: Sequence[Ways], limit: float, between: Sequence[Integers]
    ) -> Chained | None:
        """The cheapest way that keeps the criteria ``between`` each panel, or several taken
        together, and the next."""
        cost, before = ways[0].cost, list[Integers]()
        for (one, following), rows in zip(pairwise(ways), between, strict=True):
            if not len(cost) or not len(following.cost):
                return None
            came_from = np.zeros(len(following.cost), dtype=np.int64)
            least = following.cost.copy()
            for at in range(0, len(least), _AT_ONCE):
                some = slice(at, at + _AT_ONCE)
                fits = self.fits(one, following.of(some), rows, limit)
                total = np.where(fits, cost[:, None], np.inf)
                came_from[some] = np.argmin(total, axis=0)
                least[some] += np.min(total, axis=0)
            before.append(came_from)
            cost = least
        if not len(cost) or not np.isfinite(cost.min()):
            return None
        return self._back(ways, before, cost, limit)

    def _back(
        self, ways: Sequence[Ways], before: list[Integers], cost: Vector, limit: float
    ) -> Chained:
        path = [int(np.argmin(cost))]
        for came_from in reversed(before):
            path.append(int(came_from[path[-1]]))
        steps = np.zeros(len(self.means.panel), dtype=np.int64)
        stand = self.stand.copy()
        for one, at in zip(ways, reversed(path), strict=True):
            steps[one.columns] = one.steps[at]
            stand += one.adds[at]
        choice = chosen(steps)
        return Chained(
            choice=choice,
            lifts=len(self.means.lifted(choice.support)),
            touches=len(choice.support),
            cost=float(cost.min()),
            is_inside=bool(np.all(np.abs(stand) <= limit + SLACK)),
        )


def choice_cost(means: Means, choice: Choice) -> float:
    """What a choice comes to: lift-offs first, touches next, movement last.

    Parameters: means; choice of them.
    Returns: cost [mm].
    Raises: nothing.
    Source: module head.
    """
    moved = sum(
        abs(step) * float(means.step_mm[j])
        for j, step in zip(choice.support, choice.steps, strict=True)
    )
    lifts = len(means.lifted(choice.support))
    return LIFT_COST * lifts + TOUCH_COST * len(choice.support) + moved
