"""Shims laid in a panel's rings before it is lifted: how thick each, by where its seats were found.

Method: shims in a ring raise its panel there. Planned with some in every ring, a ring can be raised
or lowered by laying more or fewer. Every criterion that depends on heights alone is linear in the
shims and in the heights of the seats that are not set yet; those come after, at their best, so they
are eliminated (orthogonal projection). All thicknesses that exist (whole shims, from none to what a
ring takes) are gone through for a panel's rings together, and those with the least sum of squared
criteria, each over its tolerance, are laid; of equal ones those nearest to the plan. Panels set and
not lifted yet lean on each other, so they are gone through in turn, a few times over.

Source: the project's own rule; eliminating variables of a least-squares problem, G. H. Golub, C. F.
Van Loan, Matrix Computations, 4th ed., sec. 5.3 (from memory); block coordinate descent (from
memory).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np

from holdtrue.core.quality import Form, Vector
from holdtrue.core.sources_play import TRIM_U_MM

_SWEEPS = 3
"""[-] Times the panels are gone through. Our choice; more change nothing that can be seen."""
_TOGETHER = 3
"""[-] Rings whose shims are looked for together: of more, three by three."""
_TIE = 1e-6
"""[1/mm2] Weight of staying near the plan: far below any criterion, so it only decides ties."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PairRead:
    """Two seats, by their indexes, to be read against each other: uncertainties [mm]."""

    a: int
    b: int
    apart_u_mm: float
    rise_u_mm: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ShimsToLay:
    """What is still to be laid before the lift: ``rings`` as in ``lay_shims``, thickness planned in
    every ring [mm], shape (n,); ``pairs`` are read before, besides each seat by itself."""

    rings: Mapping[int, Sequence[int]]
    planned_mm: Vector
    step_mm: float
    most_mm: float
    pairs: Sequence[PairRead] = ()
    u_mm: float = TRIM_U_MM

    @property
    def seats(self) -> list[int]:
        return [seat for seats in self.rings.values() for seat in seats]

    def raised_mm(self, goal: Form, known_mm: Vector) -> Vector:
        """How far beyond the plan each ring raises its panel, seats known to be there.

        Parameters: goal; known_mm [mm], shape (..., 2n). Returns: [mm], shape (..., n).
        """
        planned = np.broadcast_to(self.planned_mm, (*known_mm.shape[:-1], len(goal.seats)))
        laid = lay_shims(
            goal,
            known_mm,
            unset=(),
            rings=self.rings,
            shims_mm=planned,
            step_mm=self.step_mm,
            most_mm=self.most_mm,
        )
        return np.asarray(laid - planned)


def lay_shims(
    goal: Form,
    deviation_mm: Vector,
    *,
    unset: Sequence[int],
    rings: Mapping[int, Sequence[int]],
    shims_mm: Vector,
    step_mm: float,
    most_mm: float,
) -> Vector:
    """Thickness of the shims in every ring, those of panels still on the floor at their best.

    Parameters: goal, the criteria, with n seats; deviation_mm of the seats as they bear with the
    shims there are [mm], shape (..., 2n), anything for unset ones; unset, indexes of seats that are
    not set; rings: panel to its seats whose shims are still to be laid; shims_mm in every ring now
    [mm], shape (..., n); step_mm of one shim [mm], > 0; most_mm that a ring takes [mm].
    Returns: shims [mm], shape (..., n), whole steps where laid anew.
    Raises: nothing.
    Source: module head.
    """
    n = len(goal.seats)
    matrix = _height_rows(goal, unset)
    laid = np.array(shims_mm, dtype=np.float64)
    planned = laid.copy()
    now = deviation_mm[..., n:] @ matrix.T
    steps = step_mm * np.arange(int(most_mm / step_mm + 1e-9) + 1)
    blocks = [
        list(seats[at : at + _TOGETHER])
        for seats in rings.values()
        for at in range(0, len(seats), _TOGETHER)
    ]
    for _ in range(_SWEEPS if len(blocks) > 1 else 1):
        for block in blocks:
            effect = matrix[:, block].T
            bare = now - laid[..., block] @ effect
            every = np.array(list(product(steps, repeat=len(block))))
            slope = 2.0 * (bare @ effect.T - _TIE * planned[..., block])
            curve = np.sum((every @ effect) ** 2, axis=1) + _TIE * np.sum(every**2, axis=1)
            best = every[np.argmin(slope @ every.T + curve, axis=-1)]
            now = bare + best @ effect
            laid[..., block] = best
    return laid


def _height_rows(goal: Form, unset: Sequence[int]) -> Vector:
    """Criteria of heights alone over dy of all seats, with the unset ones at their best."""
    n = len(goal.seats)
    rows = goal.scaled[~np.any(goal.matrix[:, :n] != 0, axis=1)][:, n:]
    free = rows[:, list(unset)]
    rest = rows - free @ (np.linalg.pinv(free) @ rows)
    rest[:, list(unset)] = 0.0
    return np.asarray(rest)
