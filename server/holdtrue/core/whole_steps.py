"""Whole steps between their ends that bring every criterion inside: one set, or the least.

Method: branch and bound over the steps' ends. Each criterion narrows the ends by what all other
steps can do at most, to whole steps; what is left is barred if steps of any size cannot come inside
(``nearest``). Else the nearest steps are rounded; where that is not inside, one step's range is cut
in two. The one cut is one that took part in many dead ends: so a conflict between a few steps is
found out without going through all the others.

Source: branch and bound, A. H. Land, A. G. Doig, Econometrica 28 (1960) 497; weighting by dead
ends, F. Boussemart et al., ECAI (2004) 146 (both from memory); checked against integer programming
in the tests.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from holdtrue.core.nearest import nearest_steps
from holdtrue.core.quality import Vector

SLACK = 1e-9
"""[-] Rounding allowed at a limit."""
_SURE = 1e-7
"""[-] A sum of criteria must be outside by this to bar anything."""
_ROUND = 1e-7
_TINY = 1e-12
_NEW = 0.05
"""[-] What a step counts at least when the one to cut is chosen."""

Integers = NDArray[np.int64]


@dataclass(slots=True, eq=False)
class WholeSteps:
    """A search for whole steps.

    ``stand``, criteria before [-], shape (m,); ``effect`` of one step [-], shape (m, M); all
    criteria end within ``limit``. ``cost`` of one step [-], shape (M,): the least total is looked
    for; None: any will do. ``is_sure`` until it had to stop early.
    """

    stand: Vector
    effect: Vector
    limit: float
    most_nodes: int
    cost: Vector | None = None
    below: float = np.inf
    is_sure: bool = True
    best: Integers | None = None
    _blame: Vector = field(init=False)

    def __post_init__(self) -> None:
        self._blame = np.ones(self.effect.shape[1])

    def find(self, lowest: Vector, highest: Vector, start: Vector | None = None) -> Integers | None:
        """Steps within the limits, costing less than ``below``; None if there are none.

        Parameters: lowest, highest [-], shape (M,), whole numbers; start, to begin from [-].
        Returns: steps [-], shape (M,), or None; final where ``is_sure``.
        Raises: nothing.
        Source: module head.
        """
        todo = [(lowest.astype(np.float64), highest.astype(np.float64), start)]
        for _ in range(self.most_nodes):
            if not todo:
                return self.best
            low, high, near = todo.pop()
            cut = self._cut(low, high, near)
            if self.best is not None and self.cost is None:
                return self.best
            if cut is not None:
                todo += cut
        self.is_sure = not todo
        return self.best

    def _cut(
        self, low: Vector, high: Vector, start: Vector | None
    ) -> list[tuple[Vector, Vector, Vector | None]] | None:
        """Two smaller ranges, the better one last; None where nothing more is to be found here."""
        ends = self._tightened(low, high)
        if ends is None or self._least_cost(*ends) >= self.below - SLACK:
            return None
        low, high = ends
        x, weights = nearest_steps(
            self.stand, self.effect, limit=self.limit, lowest=low, highest=high, start=start
        )
        if weights is not None and self._is_barred(weights, low, high):
            return None
        whole = np.rint(x)
        is_in = bool(np.all(np.abs(self.stand + self.effect @ whole) <= self.limit + SLACK))
        if is_in:
            self._take(whole)
        at = self._place(x, whole, low, high, is_in)
        if at is None:
            return None
        place, top = at
        below, above = high.copy(), low.copy()
        below[place], above[place] = top, top + 1
        halves: list[tuple[Vector, Vector, Vector | None]] = [(low, below, x), (above, high, x)]
        return halves if x[place] - top > 0.5 else halves[::-1]

    def _take(self, whole: Vector) -> None:
        cost = 0.0 if self.cost is None else float(self.cost @ np.abs(whole))
        if cost < self.below - SLACK:
            self.below, self.best = cost, whole.astype(np.int64)

    def _least_cost(self, low: Vector, high: Vector) -> float:
        if self.cost is None:
            return 0.0
        return float(self.cost @ np.maximum(np.maximum(low, -high), 0.0))

    def _tightened(self, low: Vector, high: Vector) -> tuple[Vector, Vector] | None:
        """Ends narrowed by each criterion in turn until none narrows them; None: no steps left."""
        effect, reach = self.effect, self.limit + SLACK
        while True:
            ends = np.stack([effect * low, effect * high])
            least, most = ends.min(axis=0), ends.max(axis=0)
            down, up = self.stand + least.sum(axis=1), self.stand + most.sum(axis=1)
            out = (down > reach) | (up < -reach)
            if np.any(out):
                self._blame += np.any(effect[out] != 0, axis=0)
                return None
            with np.errstate(divide="ignore", invalid="ignore"):
                one = (reach - (down[:, None] - least)) / effect
                two = (-reach - (up[:, None] - most)) / effect
            upper = np.where(effect > _TINY, one, np.where(effect < -_TINY, two, np.inf))
            lower = np.where(effect > _TINY, two, np.where(effect < -_TINY, one, -np.inf))
            new_high = np.minimum(high, np.floor(upper.min(axis=0, initial=np.inf) + _ROUND))
            new_low = np.maximum(low, np.ceil(lower.max(axis=0, initial=-np.inf) - _ROUND))
            if np.any(new_low > new_high):
                self._blame += new_low > new_high
                return None
            if np.array_equal(new_low, low) and np.array_equal(new_high, high):
                return low, high
            low, high = new_low, new_high

    def _is_barred(self, weights: Vector, low: Vector, high: Vector) -> bool:
        """Whether the criteria so weighted and added are outside whatever the steps."""
        row = weights @ self.effect
        least = float(weights @ self.stand + np.minimum(row * low, row * high).sum())
        is_barred = least > self.limit + _SURE
        if is_barred:
            self._blame += np.abs(row) > _TINY
        return is_barred

    def _place(
        self, x: Vector, whole: Vector, low: Vector, high: Vector, is_in: bool
    ) -> tuple[int, float] | None:
        """Which step's range to cut, and the last value of its lower half."""
        is_open = high > low
        if not np.any(is_open):
            return None
        if is_in:
            # a cheaper set has one of these steps smaller
            least = np.maximum(np.maximum(low, -high), 0.0)
            over = np.where(
                is_open, (np.abs(whole) - least) * (1.0 if self.cost is None else self.cost), 0.0
            )
            place = int(np.argmax(over))
            if over[place] <= 0:
                return None
            return place, float(whole[place] - 1 if whole[place] > 0 else whole[place])
        off = np.abs(x - whole)
        weight = np.where(is_open & (off > SLACK), (off + _NEW) * self._blame, 0.0)
        place = int(np.argmax(weight))
        if weight[place] > 0:
            return place, float(np.floor(x[place]))
        place = int(np.flatnonzero(is_open)[0])
        return place, float(np.floor((low[place] + high[place]) / 2))
