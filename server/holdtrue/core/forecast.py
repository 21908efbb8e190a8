"""The chance that everything ends inside tolerance.

Method: every seat still to drive is placed on the best mark given what was read before it, plus its
placing error; then it is read, with a reading error, and the next mark answers to that reading
(certainty equivalence). All of this is linear, so every criterion is a mean plus a linear function
of independent Gaussian errors; its covariance is propagated exactly. The chance that all lie
inside together is the share of a fixed set of points of that Gaussian (a Kronecker lattice of
square roots of primes, carried to the normal law by Box and Muller's pairs): no randomness, the
same answer every time.

With a story stick a panel's later seats are marked from its first seat's real place instead: they
share its error and add only the stick's own.

Source: linear propagation, GUM (JCGM 100:2008) 5.1.2 and 5.2.2, JCGM 102:2011 6.2; lattice points,
H. Niederreiter, Bull. AMS 84 (1978) 957-1041 (from memory); pairs, G. E. P. Box, M. E. Muller, Ann.
Math. Statist. 29 (1958) 610 (from memory); certainty equivalence of linear-quadratic control
(H. Theil 1957; H. Simon 1956; from memory).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np

from holdtrue.core.quality import Form, Vector
from holdtrue.core.recompute import fixed_from_set

Point = tuple[float, float]

_RIDGE = 1e-7
_POINTS = 20_000
"""Mirrored, so twice as many: the chance holds within about 0.3 percentage points."""
_FEWEST = 4_000
_WORK = 4e8
"""Points times criteria times dimensions at most: long walls take fewer points."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Errors:
    """Standard uncertainties [mm] of the work still to do.

    ``placing``: seat to (across, up); ``reading``: seat to (across, up) of its reading afterwards;
    ``stick``: of a story stick's own marks; ``stick_panels``: indexes of panels it is used on.
    """

    placing: Mapping[str, Point]
    reading: Mapping[str, Point]
    stick: float = 0.0
    stick_panels: frozenset[int] = frozenset()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Forecast:
    """``chance`` that all criteria end inside; mean and covariance of each [mm], [mm2]."""

    chance: float
    mean_mm: Vector
    covariance_mm2: Vector
    each: tuple[float, ...]
    """Chance of each criterion alone."""
    limiting: int
    """Index of the criterion least likely to end inside."""


def forecast(
    goal: Form,
    form: Form,
    *,
    order: Sequence[str],
    set_mm: Mapping[str, Point],
    set_covariance_mm2: Vector | None,
    marks_mm: Mapping[str, Point],
    errors: Errors,
) -> Forecast:
    """Chance that every criterion of ``goal`` ends inside tolerance.

    Parameters: goal, the criteria judged; form, the criterion the marks are computed by; both with
    the same n seats; order: all seats in driving order; set_mm: set seats' estimated (x, y) [mm];
    set_covariance_mm2 [mm2], shape (2s, 2s), of (x of set seats in the form's order, then y), None
    for exactly known; marks_mm: marks given to the unset seats [mm]; errors.
    Returns: Forecast.
    Raises: KeyError for an unknown seat.
    Source: module head.
    """
    mean, spread = deviation_law(
        form,
        order=order,
        set_mm=set_mm,
        set_covariance_mm2=set_covariance_mm2,
        marks_mm=marks_mm,
        errors=errors,
    )
    r_mean = goal.matrix @ mean
    factor = goal.matrix @ spread
    covariance = factor @ factor.T
    size = min(factor.shape)
    count = min(_POINTS, max(_FEWEST, int(_WORK / max(1, size * len(factor)))))
    swing = normal_points(size, count) @ _root(covariance, size).T
    inside = np.abs(r_mean + swing) <= goal.tolerance_mm
    mirrored = np.abs(r_mean - swing) <= goal.tolerance_mm
    each = (inside.mean(axis=0) + mirrored.mean(axis=0)) / 2
    chance = (inside.all(axis=1).mean() + mirrored.all(axis=1).mean()) / 2
    return Forecast(
        chance=float(chance),
        mean_mm=r_mean,
        covariance_mm2=covariance,
        each=tuple(float(c) for c in each),
        limiting=int(np.argmin(each)),
    )


def deviation_law(
    form: Form,
    *,
    order: Sequence[str],
    set_mm: Mapping[str, Point],
    set_covariance_mm2: Vector | None,
    marks_mm: Mapping[str, Point],
    errors: Errors,
) -> tuple[Vector, Vector]:
    """Law of the final true deviations: mean + spread @ z, z independent standard normal.

    Parameters: form, order, set_mm [mm], set_covariance_mm2 [mm2], marks_mm [mm] and errors as for
    ``forecast``.
    Returns: mean [mm], shape (2n,); spread [mm], shape (2n, k).
    Raises: KeyError for an unknown seat.
    Source: module head.
    """
    n = len(form.seats)
    index = {name: i for i, name in enumerate(form.seats)}
    to_drive = [name for name in order if name not in set_mm]
    set_names = [name for name in form.seats if name in set_mm]
    held = [index[name] for name in set_names] + [n + index[name] for name in set_names]
    k = len(held) + 4 * len(to_drive)
    mean, true, known = np.zeros(2 * n), np.zeros((2 * n, k)), np.zeros((2 * n, k))
    for at, value in fixed_from_set(form, set_mm).items():
        mean[at] = value
    if held and set_covariance_mm2 is not None:
        true[held, : len(held)] = _root(set_covariance_mm2, len(held))
    gains = _gains(form, to_drive, held)
    at_z = len(held)
    first_of: dict[int, int] = {}
    for name in to_drive:
        i = index[name]
        rows = [i, n + i]
        panel = form.seat_panel[i]
        place = marks_mm[name]
        mean[rows] = np.array(place) - form.planned_mm[rows]
        if panel in errors.stick_panels and panel in first_of:
            j = first_of[panel]
            true[rows] = true[[j, n + j]]
            placing: Point = (errors.stick, errors.stick)
        else:
            true[rows] = gains[name] @ known
            placing = errors.placing[name]
        reading = errors.reading[name]
        for row, e, u in zip(rows, placing, reading, strict=True):
            true[row, at_z] += e
            known[row] = true[row]
            known[row, at_z + 1] += u
            at_z += 2
        first_of.setdefault(panel, i)
    return mean, true


def _root(covariance: Vector, rank: int) -> Vector:
    """A root S of a covariance, S S^T = covariance, its largest directions first: (m, rank)."""
    values, vectors = np.linalg.eigh(covariance)
    strongest = np.argsort(values)[::-1][:rank]
    return np.asarray(vectors[:, strongest] * np.sqrt(np.clip(values[strongest], 0.0, None)))


@cache
def normal_points(dimensions: int, count: int) -> Vector:
    """Points spread evenly over the standard normal law.

    Parameters: dimensions, count [-], >= 1.
    Returns: points [-], shape (count, dimensions), read only.
    Raises: nothing.
    Source: module head.
    """
    pairs = (dimensions + 1) // 2
    steps = np.sqrt(_primes(2 * pairs)) % 1.0
    unit = (np.arange(1, count + 1)[:, None] * steps + 0.5) % 1.0
    radius = np.sqrt(-2.0 * np.log(1.0 - unit[:, :pairs]))
    angle = 2.0 * np.pi * unit[:, pairs:]
    both = np.stack([radius * np.cos(angle), radius * np.sin(angle)], axis=2)
    points = both.reshape(count, 2 * pairs)[:, :dimensions]
    points.flags.writeable = False
    return np.asarray(points)


def _primes(count: int) -> Vector:
    """The first primes."""
    limit = 20 + 20 * count
    is_prime = np.ones(limit, dtype=bool)
    is_prime[:2] = False
    for number in range(2, int(limit**0.5) + 1):
        if is_prime[number]:
            is_prime[number * number :: number] = False
    return np.flatnonzero(is_prime)[:count].astype(float)


def _gains(form: Form, to_drive: Sequence[str], held: Sequence[int]) -> dict[str, Vector]:
    """Seat to its gain (2, 2n): the best mark's answer to the deviations known before it."""
    n = len(form.seats)
    index = {name: i for i, name in enumerate(form.seats)}
    columns = [at for name in reversed(to_drive) for at in (index[name], n + index[name])]
    size = len(columns)
    matrix = form.scaled
    q, r = np.linalg.qr(np.vstack([matrix[:, columns], _RIDGE * np.eye(size)]))
    from_held = q[: len(form.kinds)].T @ matrix[:, list(held)]
    gains: dict[str, Vector] = {}
    for place, name in enumerate(reversed(to_drive)):
        a, b = 2 * place, 2 * place + 2
        gain = np.zeros((2, 2 * n))
        gain[:, columns[b:]] = -r[a:b, b:]
        gain[:, list(held)] = -from_held[a:b]
        gains[name] = np.linalg.solve(r[a:b, a:b], gain)
    return gains
