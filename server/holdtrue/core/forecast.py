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

Shims laid before the lift answer to what is known of the seats, in whole steps between limits: that
is not linear, so they are laid at each point of the set.

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
from holdtrue.core.shims import PairRead, ShimsToLay

Point = tuple[float, float]

_RIDGE = 1e-7
_POINTS = 20_000
"""Mirrored, so twice as many: the chance holds within about 0.3 percentage points."""
_SHIM_POINTS = 1_000
"""The same where shims are laid at each: the chance holds within about 1.5 percentage points."""
_FEWEST = 4_000
_WORK = 4e8
"""Points times criteria times dimensions at most: long walls take fewer points."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Errors:
    """Standard uncertainties [mm] of the work still to do.

    ``placing``: seat to (across, up); ``reading``: seat to (across, up) of its reading afterwards;
    ``stick``: of a story stick's own marks; ``stick_panels``: indexes of panels it is used on;
    ``shims``: those to be laid before the lift.
    """

    placing: Mapping[str, Point]
    reading: Mapping[str, Point]
    stick: float = 0.0
    stick_panels: frozenset[int] = frozenset()
    shims: ShimsToLay | None = None


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
    law = known_law(
        form,
        order=order,
        set_mm=set_mm,
        set_covariance_mm2=set_covariance_mm2,
        marks_mm=marks_mm,
        errors=errors,
    )
    r_mean = goal.matrix @ law.mean_mm
    if errors.shims is None:
        ends = _plain_ends(goal, law)
    else:
        ends = shimmed_points(goal, law, errors.shims, _SHIM_POINTS)[0] @ goal.matrix.T
    inside = np.abs(ends) <= goal.tolerance_mm
    each = inside.mean(axis=0)
    factor = goal.matrix @ law.spread_mm
    return Forecast(
        chance=float(inside.all(axis=1).mean()),
        mean_mm=r_mean if errors.shims is None else ends.mean(axis=0),
        covariance_mm2=factor @ factor.T if errors.shims is None else np.cov(ends.T),
        each=tuple(float(c) for c in each),
        limiting=int(np.argmin(each)),
    )


def _plain_ends(goal: Form, law: Law) -> Vector:
    """Every criterion at each point [mm], mirrored: shape (2 count, m)."""
    factor = goal.matrix @ law.spread_mm
    size = min(factor.shape)
    count = min(_POINTS, max(_FEWEST, int(_WORK / max(1, size * len(factor)))))
    swing = normal_points(size, count) @ _root(factor @ factor.T, size).T
    mean = goal.matrix @ law.mean_mm
    return np.concatenate([mean + swing, mean - swing])


def shimmed_points(goal: Form, law: Law, shims: ShimsToLay, count: int) -> tuple[Vector, Vector]:
    """Where the seats bear at each point with shims laid, and where they are thought to.

    Parameters: goal; law of the seats [mm]; shims to lay; count of points before mirroring [-].
    Returns: deviations as they are and as known [mm], both of shape (2 count, 2n).
    Raises: nothing.
    Source: module head.
    """
    n, rings = len(goal.seats), shims.seats
    both = np.vstack([law.spread_mm, law.known_mm])
    size = min(both.shape)
    points = normal_points(size + len(rings), count)
    swing = points[:, :size] @ _root(both @ both.T, size).T
    swing = np.concatenate([swing, -swing])
    true, known = law.mean_mm + swing[:, : 2 * n], law.mean_mm + swing[:, 2 * n :]
    raised = shims.raised_mm(goal, known)
    own = points[:, size:] * shims.u_mm
    true[:, n:] += raised
    known[:, n:] += raised
    true[:, [n + ring for ring in rings]] += np.concatenate([own, -own])
    return true, known


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Law:
    """Of the final deviations, over independent standard normal z: true = mean + spread z, and what
    is known of them by then = mean + known z; mean [mm], shape (2n,), both others (2n, k)."""

    mean_mm: Vector
    spread_mm: Vector
    known_mm: Vector


def known_law(
    form: Form,
    *,
    order: Sequence[str],
    set_mm: Mapping[str, Point],
    set_covariance_mm2: Vector | None,
    marks_mm: Mapping[str, Point],
    errors: Errors,
) -> Law:
    """Law of the final deviations, and of what is known once all is read, before shims are laid.

    Parameters: form, order, set_mm [mm], set_covariance_mm2 [mm2], marks_mm [mm] and errors as for
    ``forecast``.
    Returns: Law.
    Raises: KeyError for an unknown seat.
    Source: module head.
    """
    n = len(form.seats)
    index = {name: i for i, name in enumerate(form.seats)}
    to_drive = [name for name in order if name not in set_mm]
    set_names = [name for name in form.seats if name in set_mm]
    held = [index[name] for name in set_names] + [n + index[name] for name in set_names]
    pairs = dict(enumerate(errors.shims.pairs)) if errors.shims else {}
    first_pair = len(held) + 4 * len(to_drive)
    k = first_pair + 2 * len(pairs)
    mean, true, known = np.zeros(2 * n), np.zeros((2 * n, k)), np.zeros((2 * n, k))
    for at, value in fixed_from_set(form, set_mm).items():
        mean[at] = value
    if held and set_covariance_mm2 is not None:
        true[held, : len(held)] = _root(set_covariance_mm2, len(held))
    gains = _gains(form, to_drive, held)
    at_z = len(held)
    first_of: dict[int, int] = {}
    left = {index[name] for name in to_drive}
    _read_pairs(true, known, pairs, left, first_pair)
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
        left.remove(i)
        _read_pairs(true, known, pairs, left, first_pair)
    return Law(mean_mm=mean, spread_mm=true, known_mm=known)


def _read_pairs(
    true: Vector, known: Vector, pairs: dict[int, PairRead], left: set[int], first: int
) -> None:
    """Read what can be read now of ``pairs`` against each other; it is known better from then on.

    What is known is off by e; a reading r of a pair with the row a, off by u z, mends it by
    K (r - a known), K = Cov(e) a / (a Cov(e) a + u^2).
    """
    n = len(true) // 2
    ready = [place for place, pair in pairs.items() if pair.a not in left and pair.b not in left]
    for place in ready:
        pair = pairs.pop(place)
        for way, (shift, u) in enumerate(((0, pair.apart_u_mm), (n, pair.rise_u_mm))):
            off = known - true
            seen = off[shift + pair.b] - off[shift + pair.a]
            gain = off @ seen / (seen @ seen + u**2)
            known -= np.outer(gain, seen)
            known[:, first + 2 * place + way] += gain * u


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
