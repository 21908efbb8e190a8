"""A trimming problem in parts that have nothing to do with each other, and the answer to each.

Method: a criterion that stays inside whatever is done, or that nothing moves, has no say. What is
left falls into parts: criteria that no means has in common; a panel that is taken off for one part
is off for another too, so what needs that stays together. Each part is solved by itself
(``trim_search``).

Where a part cannot be brought inside: no criterion that is inside may leave, none that is outside
may become worse; the worst of these, as a share of its limit, is made as small as it gets, then as
many as it takes are brought inside, the nearest first; and that with the fewest lift-offs and
touches.

Source: as ``trim``.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from holdtrue.core.quality import Vector
from holdtrue.core.sources_trim import NEAR_SHARE
from holdtrue.core.trim_chain import Chain, Chained
from holdtrue.core.trim_layers import fewer_than
from holdtrue.core.trim_search import Choice, Flags, Means, Search
from holdtrue.core.whole_steps import Integers, WholeSteps

INSIDE_MM = 1e-9
"""Rounding allowed at a limit."""
_NODES = 3_000
"""Sets of steps looked at before a share is taken to be out of reach. Our choice."""


def parts(means: Means, now_mm: Vector, limit_mm: Vector) -> Iterator[tuple[Integers, Integers]]:
    """The parts of a problem in which something is outside.

    Parameters: means; now_mm, criteria as they stand [mm], shape (m,); limit_mm [mm], shape (m,).
    Returns: of each part its criteria and its means, as indexes [-].
    Raises: nothing.
    Source: module head.
    """
    least, most = means.ends
    is_moved = np.any(most - least > INSIDE_MM, axis=1)
    is_safe = (now_mm + most.sum(axis=1) <= limit_mm) & (now_mm + least.sum(axis=1) >= -limit_mm)
    has_say = is_moved & ~is_safe
    joined = (np.abs(means.effect) > INSIDE_MM) & has_say[:, None]
    panels = [means.needs_lift & (means.panel == k) for k in np.unique(means.panel)]
    links = np.vstack([joined, *panels])
    left = has_say & (np.abs(now_mm) > limit_mm + INSIDE_MM)
    while np.any(left):
        columns = _connected(links, int(np.flatnonzero(left)[0]))
        rows = np.any(joined[:, columns], axis=1)
        left &= ~rows
        yield np.flatnonzero(rows), np.flatnonzero(columns)


def _connected(links: Flags, row: int) -> Flags:
    """Columns linked to a row, directly or by others."""
    columns: Flags = links[row]
    while True:
        more: Flags = np.any(links[np.any(links[:, columns], axis=1)], axis=0)
        if np.array_equal(more, columns):
            return columns
        columns = more


@dataclass(frozen=True, slots=True)
class PartTrim:
    """What to do about one part, by its own means."""

    choice: Choice
    is_proven: bool
    """Nothing better was left unlooked at."""


def part_trim(
    means: Means, now_mm: Vector, limit_mm: Vector, *, shares: Sequence[float], most_nodes: int
) -> PartTrim:
    """All inside with the fewest lift-offs and touches; else the best there is.

    Parameters: means; now_mm, criteria as they stand [mm], shape (m,); limit_mm [mm], shape (m,);
    shares of the limits to come within if that takes no more, in their order [-]; most_nodes [-].
    Returns: PartTrim.
    Raises: nothing.
    Source: module head.
    """
    found = _inside(means, now_mm, limit_mm, shares, most_nodes)
    if found.choice is not None:
        return PartTrim(found.choice, found.is_sure)
    near = _Near(means, now_mm, limit_mm)
    again = _inside(means, now_mm, near.limits_mm(), (1.0,), most_nodes)
    is_proven = found.is_sure and near.is_sure and again.is_sure
    return PartTrim(again.choice or Choice((), ()), is_proven)


@dataclass(frozen=True, slots=True)
class _Found:
    """The best that comes inside; None where nothing does. ``is_sure``: nothing is better."""

    choice: Choice | None
    is_sure: bool


def _inside(
    means: Means, now_mm: Vector, limit_mm: Vector, shares: Sequence[float], most_nodes: int
) -> _Found:
    """Along the panels where that settles it; else by search, no lower than that."""
    chain = Chain(means, now_mm, limit_mm)
    best = chain.best() if chain.is_small else None
    if best is None and chain.is_small:
        return _Found(None, is_sure=True)
    if best is not None and best.is_inside:
        firm = _firm(chain, best, shares)
        if firm is not None:
            return _Found(firm.choice, is_sure=True)
    search = Search(means, now_mm, limit_mm, most_nodes)
    if best is not None and best.is_inside:
        return _Found(search.firmest(best.choice, shares), is_sure=True)
    found = search.fewest((best.lifts, best.touches) if best else (0, 0))
    if found is None:
        return _Found(None, search.is_complete)
    is_sure = search.is_complete
    if not is_sure and chain.is_small:
        found, is_sure = fewer_than(chain, found)
    return _Found(search.firmest(found, shares), is_sure)


def _firm(chain: Chain, best: Chained, shares: Sequence[float]) -> Chained | None:
    """As few, within the first of these shares that can be had; None where that stays open."""
    for share in shares:
        tried = chain.best(share)
        if tried is not None and (tried.lifts, tried.touches) == (best.lifts, best.touches):
            return tried if tried.is_inside else None
    return best


class _Near:
    """How near the criteria of one part come to their limits where not all can be inside."""

    def __init__(self, means: Means, now_mm: Vector, limit_mm: Vector) -> None:
        self.means, self.now_mm, self.limit_mm = means, now_mm, limit_mm
        self.is_sure = True

    def limits_mm(self) -> Vector:
        """Limits that can be had: the given ones where possible, else as near as it gets."""
        size = np.abs(self.now_mm) / self.limit_mm
        outside = np.flatnonzero(size > 1.0)
        low, high = 1.0, float(size.max())
        while high - low > NEAR_SHARE:
            middle = (low + high) / 2.0
            reached = self._reached(np.where(size > 1.0, np.minimum(size, middle), 1.0))
            if reached is None:
                low = middle
            else:
                high = max(low, min(middle, float(reached.max())))
        limits = np.where(size > 1.0, np.minimum(size, high), 1.0)
        for i in outside[np.argsort(size[outside], kind="stable")]:
            tried = limits.copy()
            tried[i] = 1.0
            if self._reached(tried) is not None:
                limits = tried
        return np.asarray(limits * self.limit_mm)

    def _reached(self, limits: Vector) -> Vector | None:
        """The shares that some whole steps within these limits come to."""
        scale = self.limit_mm * limits
        chain = Chain(self.means, self.now_mm, scale)
        along = chain.best() if chain.is_small else None
        if chain.is_small and (along is None or along.is_inside):
            if along is None:
                return None
            return self._shares(list(along.choice.support), np.array(along.choice.steps, float))
        work = WholeSteps(self.now_mm / scale, self.means.effect / scale[:, None], 1.0, _NODES)
        lowest, highest = (np.asarray(e, float) for e in (self.means.lowest, self.means.highest))
        steps = work.find(lowest, highest)
        self.is_sure &= work.is_sure or steps is not None
        if steps is None:
            return None
        return self._shares(slice(None), steps)

    def _shares(self, used: slice | list[int], steps: Vector | Integers) -> Vector:
        added = self.means.effect[:, used] @ steps
        return np.asarray(np.abs(self.now_mm + added) / self.limit_mm)
