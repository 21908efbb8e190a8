"""Touches on one hung panel, for many installs at once.

Method: all sets of at most two shimmed rings and one slide are one table, sorted by lift-off,
touches and movement. Each install takes the first number of lift-offs and touches that brings its
criteria within the guard, and of those lines the first within the aim, else the one that leaves the
least worst criterion. ``trim`` does that for any work, one install at a time, within the whole
tolerance: this crew trims whatever is beyond the guard.

Source: as ``trim``.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations, pairwise, product

import numpy as np
from numpy.typing import NDArray

from holdtrue.core.quality import Vector

_LEAST_GAIN = 0.1
"""[-] A panel that cannot be brought within the guard is touched only for at least this much of a
tolerance. Our choice."""

Integers = NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TouchTable:
    """Lines of touches: steps up per seat, shape (c, seats), steps right, shape (c,)."""

    shims: Integers
    slides: Integers

    @property
    def touches(self) -> Integers:
        return np.asarray((self.shims != 0).sum(axis=1) + (self.slides != 0))

    @property
    def needs_lift(self) -> NDArray[np.bool_]:
        return np.asarray((self.shims != 0).any(axis=1))

    def classes(self) -> list[tuple[int, int]]:
        """Runs of lines with the same number of lift-offs and touches."""
        key = 10 * self.needs_lift + self.touches
        cuts = [0, *(np.flatnonzero(np.diff(key)) + 1).tolist(), len(key)]
        return list(pairwise(cuts))


def touch_table(seats: int, most_down: int, most_up: int, most_aside: int) -> TouchTable:
    """All sets of touches on one panel, the lightest first; the first line is no touch.

    Parameters: seats of the panel; most_down, most_up, steps a ring can be lowered and raised [-];
    most_aside, steps of a slide either way [-].
    Returns: TouchTable.
    Raises: nothing.
    Source: module head.
    """
    steps = [k for k in range(-most_down, most_up + 1) if k]
    aside = range(-most_aside, most_aside + 1)
    lines: list[tuple[tuple[int, ...], int]] = []
    for count in range(min(seats, 2) + 1):
        for where in combinations(range(seats), count):
            for size in product(steps, repeat=count):
                up = [0] * seats
                for seat, step in zip(where, size, strict=True):
                    up[seat] = step
                lines += [(tuple(up), right) for right in aside]
    lines.sort(key=_weight)
    return TouchTable(
        shims=np.array([up for up, _ in lines], dtype=np.int64).reshape(len(lines), seats),
        slides=np.array([right for _, right in lines], dtype=np.int64),
    )


def _weight(line: tuple[tuple[int, ...], int]) -> tuple[int, int, int]:
    up, right = line
    raised = sum(1 for step in up if step)
    return (int(raised > 0), raised + int(right != 0), sum(abs(step) for step in up) + abs(right))


def best_touches(
    table: TouchTable,
    shares: Vector,
    *,
    shim_effect: Vector,
    slide_effect: Vector,
    shims: Integers,
    most_shims: int,
    slide_room: tuple[Integers, Integers],
    guard: float,
    aim: float,
) -> Integers:
    """The line of the table each install takes.

    Parameters: table; shares, criteria as believed in tolerances [-], shape (N, m); shim_effect of
    one step [-], shape (seats, m); slide_effect of one step [-], shape (m,); shims in each ring now
    [-], shape (N, seats), of most_shims [-]; slide_room, steps left and right still free [-], two
    shapes (N,); guard, aim, shares as in ``trim`` [-].
    Returns: line indexes [-], shape (N,); 0 is no touch.
    Raises: nothing.
    Source: module head.
    """
    change = table.shims @ shim_effect + table.slides[:, None] * slide_effect
    now = np.max(np.abs(shares), axis=1, initial=0.0)
    taken = np.zeros(len(shares), dtype=np.int64)
    least = now - _LEAST_GAIN
    todo = np.flatnonzero(now > guard)
    for start, stop in table.classes():
        if not len(todo):
            break
        lines = slice(start, stop)
        after = shims[todo, None, :] + table.shims[lines]
        aside = table.slides[lines]
        can = (
            np.all((after >= 0) & (after <= most_shims), axis=2)
            & (aside >= -slide_room[0][todo, None])
            & (aside <= slide_room[1][todo, None])
        )
        worst = np.zeros((len(todo), stop - start))
        for i in range(shares.shape[1]):
            np.maximum(worst, np.abs(shares[todo, None, i] + change[lines, i]), out=worst)
        worst[~can] = np.inf
        within = worst <= aim
        pick = np.where(within.any(axis=1), within.argmax(axis=1), worst.argmin(axis=1))
        value = worst[np.arange(len(todo)), pick]
        better = (value <= guard) | (value < least[todo] - 1e-9)
        taken[todo[better]] = start + pick[better]
        least[todo[better]] = value[better]
        todo = todo[value > guard]
    return taken


def pack_steps(
    shares: Vector, *, shim_effect: Vector, shims: Integers, most_shims: int, sweeps: int = 3
) -> Integers:
    """Shims to change in each ring before a panel is lifted, least sum of squares.

    Ring by ring the best number given the others, a few times over.

    Parameters: shares, criteria as believed in tolerances [-], shape (N, m); shim_effect of one
    step [-], shape (seats, m); shims in each ring now [-], shape (N, seats), of most_shims [-];
    sweeps [-].
    Returns: steps [-], shape (N, seats).
    Raises: nothing.
    Source: coordinate descent; module head.
    """
    now = np.array(shares, dtype=np.float64)
    held = np.array(shims)
    for _ in range(sweeps):
        for seat, effect in enumerate(shim_effect):
            size = float(effect @ effect)
            if size == 0:
                continue
            wanted = held[:, seat] + np.rint(-(now @ effect) / size).astype(np.int64)
            wanted = np.clip(wanted, 0, most_shims)
            now += (wanted - held[:, seat])[:, None] * effect
            held[:, seat] = wanted
    return np.asarray(held - shims)
