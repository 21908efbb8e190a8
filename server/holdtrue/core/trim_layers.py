"""Panels with neighbours on more sides than two, as in a grid: their fewest touches by layers.

Method: where a way that works is known, only cheaper ones are looked for. Of what can be done to a
panel all is left out with which even the cheapest way along the panels (``trim_chain``, forwards
and backwards, some criteria left aside) has as many lift-offs and touches. Then the panels are put
in layers: one first, those it has a criterion with next, and so on. No criterion of two panels
skips a layer, so all that can be done to one layer together is gone along as panels are in a chain:
exact. Nothing cheaper found means that there is nothing cheaper.

Source: dynamic programming as in ``trim_chain``; layers are those of a breadth-first search
(textbooks, from memory); checked against integer programming.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from holdtrue.core.quality import Vector
from holdtrue.core.trim_chain import TOUCH_COST, Chain, Ways, choice_cost
from holdtrue.core.trim_search import Choice

_SWEEPS = 3
_MOST_LISTED = 2_000_000
_MOST_KEPT = 6_000
"""Ways with one layer that are listed, and that are kept to be gone through. Our choice: a second
or two for two rows of four panels."""


def fewer_than(chain: Chain, found: Choice) -> tuple[Choice, bool]:
    """The fewest lift-offs, then touches, where ``found`` works.

    Parameters: chain of a part, small; found, a choice of it that comes inside, steps [-].
    Returns: Choice; whether nothing is fewer: False where there are too many ways to go through.
    Raises: nothing.
    Source: module head.
    """
    # movement does not count
    below = choice_cost(chain.means, found) // TOUCH_COST * TOUCH_COST
    ways, least = _narrowed(chain, below)
    if any(not len(one.cost) for one in ways):
        return found, True
    cheapest = min(float(costs.min()) for costs in least)
    over = [costs - cheapest for costs in least]
    starts = range(len(ways))
    for shared in (1, 2):
        layers = min(
            (_layers(chain, start, shared) for start in starts),
            key=lambda of: max(_size(ways, layer) for layer in of),
        )
        if max(_size(ways, layer) for layer in layers) > _MOST_LISTED:
            continue
        together = [_together(chain, ways, layer, over, below - cheapest) for layer in layers]
        if any(len(one.cost) > _MOST_KEPT for one in together):
            continue
        rows = [chain.rows_of(of, others) for of, others in pairwise(layers)]
        best = chain.along(together, 1.0, rows)
        if best is None or best.cost >= below:
            return found, True
        if best.is_inside:
            return best.choice, True
    return found, False


def _size(ways: Sequence[Ways], layer: Sequence[int]) -> float:
    return float(np.prod([len(ways[k].cost) for k in layer]))


def _narrowed(chain: Chain, below: float) -> tuple[list[Ways], list[Vector]]:
    """Of each panel, what a way cheaper than that may do to it, and the least all then costs."""
    ways, least = list(chain.ways), list[Vector]()
    for _ in range(_SWEEPS):
        least = _least_costs(chain, ways)
        if all(np.all(costs < below) for costs in least):
            break
        ways = [one.of(costs < below) for one, costs in zip(ways, least, strict=True)]
        least = [costs[costs < below] for costs in least]
        if any(not len(one.cost) for one in ways):
            break
    return ways, least


def _least_costs(chain: Chain, ways: Sequence[Ways]) -> list[Vector]:
    """Of each way with each panel, what the cheapest way along all panels costs with it."""
    fits = [
        chain.fits(one, following, rows, 1.0)
        for (one, following), rows in zip(pairwise(ways), chain.rows, strict=True)
    ]
    before = [ways[0].cost]
    for one, fit in zip(ways[1:], fits, strict=True):
        before.append(np.min(np.where(fit, before[-1][:, None], np.inf), axis=0) + one.cost)
    after = [np.zeros(len(ways[-1].cost))]
    for one, fit in zip(ways[:0:-1], fits[::-1], strict=True):
        after.append(np.min(np.where(fit, after[-1] + one.cost, np.inf), axis=1))
    return [there + back for there, back in zip(before, after[::-1], strict=True)]


def _layers(chain: Chain, start: int, shared: int) -> list[list[int]]:
    """Panels by how far they are from one of them, over pairs with so many criteria in common."""
    left = set(range(len(chain.ways)))
    layers, layer = list[list[int]](), [start]
    while left:
        left -= set(layer)
        layers.append(layer)
        layer = [
            k
            for k in sorted(left)
            if any(len(chain.rows_of([j], [k])) >= shared for j in layers[-1])
        ]
        if not layer and left:
            layer = [min(left)]
    return layers


def _together(
    chain: Chain,
    ways: Sequence[Ways],
    layer: Sequence[int],
    over: Sequence[Vector],
    spare: float,
) -> Ways:
    """All that can be done to the panels of a layer, as far as their own criteria allow it and it
    makes all less than ``spare`` dearer than the cheapest along the panels.

    ``over``: by how much each makes that dearer. Where a criterion between two panels was left
    aside in it, theirs add up.
    """
    found, dearer = ways[layer[0]], over[layer[0]]
    for at, k in enumerate(layer[1:], 1):
        one = ways[k]
        is_kept = chain.fits(found, one, chain.rows_of(layer[:at], [k]), 1.0)
        are_apart = all(_are_apart(chain, j, k) for j in layer[:at])
        added = (np.add if are_apart else np.maximum).outer(dearer, over[k])
        is_kept &= added < spare
        first, second = np.nonzero(is_kept)
        found = Ways(
            columns=np.concatenate([found.columns, one.columns]),
            steps=np.hstack([found.steps[first], one.steps[second]]),
            adds=found.adds[first] + one.adds[second],
            cost=found.cost[first] + one.cost[second],
        )
        dearer = added[first, second]
    return found


def _are_apart(chain: Chain, one: int, other: int) -> bool:
    """Along the panels something between them has nothing to do with each other."""
    low, high = sorted((one, other))
    return any(not len(rows) for rows in chain.rows[low:high])
