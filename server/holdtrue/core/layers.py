"""Least squares on a long wall: only neighbours know each other, so solve layer by layer.

Method: panels are put in layers, so that a criterion joins panels of one layer or of two next to
each other (breadth first from the first panel of each group of neighbours: an end of a row, a
corner of a grid). The normal equations are then block tridiagonal; every second layer is eliminated
at once, then every second of those left, and so on (cyclic reduction), which takes a time in
proportion to the number of layers. The few criteria that join whole groups (centre, height) come on
top as a correction of low rank. One step of refinement with the full matrix gives back what normal
equations lose.

The criteria determine every seat of a group (level and bearing its panels' own heights, slack its
own widths, gap, step, centre and height the rest), so the least-squares solution is the only one
and so the one of least norm. Groups with nothing set stay as planned.

Source: cyclic reduction, low-rank updates and refinement of semi-normal equations: G. H. Golub, C.
F. Van Loan, Matrix Computations, 4th ed., sec. 4.5, 2.1.4, 5.3.8 (from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from holdtrue.core.quality import Form, Vector

SETTLED = 1e-6
"""[-] Largest refinement over the largest deviation. It shrinks as the square of what is lost, so
this leaves about 1e-12."""

Integers = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class _Step:
    """One halving: how the layers taken out answer to those that stay."""

    inverse: Vector
    """Of the odd layers' blocks, shape (odd, s, s)."""
    lower: Vector
    """From each odd layer to the even one before it, shape (odd, s, s)."""
    upper: Vector
    """To the even one after it; the last is 0 where there is none."""


class Tridiagonal:
    """Solves N x = r for a symmetric block tridiagonal N, factored once."""

    def __init__(self, diagonal: Vector, beside: Vector) -> None:
        """``diagonal``: shape (K, s, s); ``beside``: from block k to k + 1, shape (K - 1, s, s)."""
        self.steps: list[_Step] = []
        while len(diagonal) > 1:
            diagonal, beside = self._halve(diagonal, beside)
        self.last: Vector = np.asarray(np.linalg.inv(diagonal[0]))

    def _halve(self, diagonal: Vector, beside: Vector) -> tuple[Vector, Vector]:
        odd = len(diagonal) // 2
        size = diagonal.shape[1]
        inverse: Vector = np.linalg.inv(diagonal[1::2]).astype(np.float64, copy=False)
        lower = beside[0::2].transpose(0, 2, 1)
        upper = np.zeros((odd, size, size))
        after = beside[1::2]
        upper[: len(after)] = after
        self.steps.append(_Step(inverse, lower, upper))
        down, up = inverse @ lower, inverse @ upper
        kept = diagonal[0::2].copy()
        kept[:odd] -= lower.transpose(0, 2, 1) @ down
        kept[1 : 1 + len(after)] -= (upper.transpose(0, 2, 1) @ up)[: len(after)]
        across = -lower.transpose(0, 2, 1) @ up
        return kept, across[: len(kept) - 1]

    def solve(self, right: Vector) -> Vector:
        """``right``: shape (K, s, c), c right-hand sides at once."""
        kept: list[tuple[_Step, Vector]] = []
        for step in self.steps:
            odd = step.inverse @ right[1::2]
            even = right[0::2].copy()
            even[: len(odd)] -= step.lower.transpose(0, 2, 1) @ odd
            after = (step.upper.transpose(0, 2, 1) @ odd)[: len(even) - 1]
            even[1 : 1 + len(after)] -= after
            kept.append((step, odd))
            right = even
        found = self.last @ right
        for step, odd in reversed(kept):
            count = len(odd)
            whole = np.empty((len(found) + count, *found.shape[1:]))
            whole[0::2] = found
            behind = np.zeros_like(odd)
            behind[: len(found) - 1] = found[1:]
            pull = step.lower @ found[:count] + step.upper @ behind
            whole[1::2] = odd - step.inverse @ pull
            found = whole
        return found


def least_squares_by_layers(form: Form, deviation_mm: Vector, is_free: NDArray[np.bool_]) -> Vector:
    """Deviations that minimise the form, some of them held.

    Parameters: form with n seats; deviation_mm, the held ones, 0 elsewhere [mm], shape (2n,);
    is_free [-], shape (2n,).
    Returns: d [mm], shape (2n,).
    Raises: numpy.linalg.LinAlgError where this way does not settle: solve it another way.
    Source: module head.
    """
    layout = _layout(form)
    layered = _Layered(form, layout, is_free & layout.has_held(is_free))
    change = layered.first_change(deviation_mm)
    refined = layered.change(deviation_mm + change)
    size = np.max(np.abs(change), initial=0.0) + np.max(np.abs(deviation_mm))
    if not np.max(np.abs(refined), initial=0.0) <= SETTLED * size:
        raise np.linalg.LinAlgError("the layers do not settle")
    return np.asarray(deviation_mm + change + refined)


@dataclass(frozen=True, slots=True)
class _Layout:
    """What of a form does not depend on what is set; -1 fills the tables up."""

    columns: Integers
    """Coordinates of each layer, shape (K, s)."""
    rows: Integers
    """Criteria of each layer that reach no farther than the next, shape (K or fewer, r)."""
    wide: Integers
    """Criteria that reach farther."""
    scaled: Vector
    """The form's, with a last row and a last column of zeros for index -1."""
    group_of: Integers
    """Group of neighbours of each coordinate, shape (2n,)."""

    def has_held(self, is_free: NDArray[np.bool_]) -> NDArray[np.bool_]:
        """Which coordinates belong to a group with something held."""
        half = len(is_free) // 2
        groups = int(self.group_of.max()) + 1
        held = [
            np.bincount(self.group_of[part][~is_free[part]], minlength=groups) > 0
            for part in (slice(0, half), slice(half, None))
        ]
        if not np.array_equal(held[0], held[1]):
            raise np.linalg.LinAlgError("only dx or only dy of a group is held")
        return np.asarray(held[0][self.group_of])


@lru_cache(maxsize=4)
def _layout(form: Form) -> _Layout:
    """Worked out once per form, told apart by identity: a job is recomputed many times."""
    panel_of = np.array(form.seat_panel * 2)
    touches = _touches(form)
    layer, group = _layers(touches)
    low, high = _span(touches, layer)
    is_narrow = high - low <= 1
    return _Layout(
        columns=_table(layer[panel_of]),
        rows=_table(np.where(is_narrow, low, -1)),
        wide=np.flatnonzero(~is_narrow).astype(np.int64),
        scaled=np.pad(form.scaled, ((0, 1), (0, 1))),
        group_of=group[panel_of],
    )


class _Layered:
    """The normal equations of one problem in layers."""

    def __init__(self, form: Form, layout: _Layout, is_free: NDArray[np.bool_]) -> None:
        self.form, self.scaled = form, layout.scaled
        self.columns = np.where(np.append(is_free, False)[layout.columns], layout.columns, -1)
        self.system = self._factored(layout.rows)
        self.wide = self.scaled[layout.wide][:, self.columns]
        self.answer: Vector = np.zeros((*self.columns.shape, 0))
        self.small: Vector = np.zeros((0, 0))

    def _factored(self, rows: Integers) -> Tridiagonal:
        """The normal equations of the criteria that join one layer or two next to each other."""
        layers, size = self.columns.shape
        after = np.vstack([self.columns[1:], np.full((1, size), -1)])
        both = np.hstack([self.columns, after])[: len(rows)]
        block = self.scaled[rows[:, :, None], both[:, None, :]]
        normal = np.zeros((layers, 2 * size, 2 * size))
        normal[: len(rows)] = block.transpose(0, 2, 1) @ block
        diagonal = normal[:, :size, :size].copy()
        diagonal[1:] += normal[:-1, size:, size:]
        layer, place = np.nonzero(self.columns < 0)
        diagonal[layer, place, place] = 1.0
        return Tridiagonal(diagonal, normal[:-1, :size, size:])

    def first_change(self, deviation_mm: Vector) -> Vector:
        """The change that takes these deviations to the optimum; prepares for further ones."""
        right = self._right(deviation_mm)[:, :, None]
        found = self.system.solve(np.concatenate([right, self.wide.transpose(1, 2, 0)], axis=2))
        self.answer = found[:, :, 1:]
        self.small = np.eye(len(self.wide)) + self._over(self.answer)
        return self._with_wide(found[:, :, 0])

    def change(self, deviation_mm: Vector) -> Vector:
        """The same again."""
        return self._with_wide(self.system.solve(self._right(deviation_mm)[:, :, None])[:, :, 0])

    def _right(self, deviation_mm: Vector) -> Vector:
        miss = -(self.form.matrix @ deviation_mm) / self.form.tolerance_mm
        return np.asarray((np.append(miss, 0.0) @ self.scaled)[self.columns])

    def _over(self, values: Vector) -> Vector:
        """The criteria over whole groups, of values in layers."""
        flat = values.reshape(self.columns.size, *values.shape[2:])
        return np.asarray(self.wide.reshape(len(self.wide), self.columns.size) @ flat)

    def _with_wide(self, found: Vector) -> Vector:
        found = found - self.answer @ np.linalg.solve(self.small, self._over(found))
        change = np.zeros(self.form.planned_mm.size + 1)
        change[self.columns] = found
        return change[:-1]


def _touches(form: Form) -> NDArray[np.bool_]:
    """Which panels each criterion joins, shape (m, panels)."""
    panel_of = np.array(form.seat_panel * 2)
    touches = np.zeros((len(form.matrix), int(panel_of.max()) + 1), dtype=bool)
    row, column = np.nonzero(form.matrix)
    touches[row, panel_of[column]] = True
    return touches


def _layers(touches: NDArray[np.bool_]) -> tuple[Integers, Integers]:
    """Each panel's layer, and its group of neighbours."""
    pairs = touches[touches.sum(axis=1) == 2]
    first, second = pairs.argmax(axis=1), pairs.shape[1] - 1 - pairs[:, ::-1].argmax(axis=1)
    beside: list[set[int]] = [set() for _ in range(touches.shape[1])]
    for p, q in zip(first.tolist(), second.tolist(), strict=True):
        beside[p].add(q)
        beside[q].add(p)
    layer = np.full(touches.shape[1], -1, dtype=np.int64)
    group = np.full(touches.shape[1], -1, dtype=np.int64)
    base, found = 0, 0
    for start in range(touches.shape[1]):
        if layer[start] >= 0:
            continue
        waves = _waves([start], beside)
        for depth, wave in enumerate(waves):
            layer[wave], group[wave] = base + depth, found
        base, found = base + len(waves), found + 1
    return layer, group


def _waves(start: list[int], beside: Sequence[set[int]]) -> list[list[int]]:
    """Panels by their distance from the first ones."""
    seen, waves = set(start), [start]
    while True:
        wave = sorted({q for p in waves[-1] for q in beside[p]} - seen)
        if not wave:
            return waves
        seen.update(wave)
        waves.append(wave)


def _span(touches: NDArray[np.bool_], layer: Integers) -> tuple[Integers, Integers]:
    """Lowest and highest layer each criterion joins."""
    high = np.where(touches, layer, -1).max(axis=1)
    low = np.where(touches, layer, layer.max() + 1).min(axis=1)
    return np.asarray(low), np.asarray(high)


def _table(layer: Integers) -> Integers:
    """Indexes of each layer's members, one line per layer, filled up with -1."""
    count = int(layer.max(initial=-1)) + 1
    order = np.argsort(layer, kind="stable")
    order = order[layer[order] >= 0]
    of = layer[order]
    sizes = np.bincount(of, minlength=count)
    table = np.full((count, int(sizes.max(initial=0))), -1, dtype=np.int64)
    starts = np.concatenate([[0], np.cumsum(sizes)[:-1]])
    table[of, np.arange(len(of)) - starts[of]] = order
    return table
