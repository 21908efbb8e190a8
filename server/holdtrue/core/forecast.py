"""The chance that everything ends inside tolerance.

Method: installs are played at a fixed set of points of their errors. Every seat still to drive gets
the mark the installer is shown (``marks``: the best given what was read before it, on the tape's
graduation, calm), plus its placing error; then it is read, with a reading error, and the next mark
answers to that reading (certainty equivalence). The chance is the share of points at which all
criteria end inside. The points are a Kronecker lattice of square roots of primes, carried to the
normal law by Box and Muller's pairs: no randomness, the same answer every time.

With a story stick a panel's later seats are marked from its first seat's real place instead: they
share its error and add only the stick's own.

Shims laid before the lift answer to what is known of the seats, pairs read against each other
included, in whole steps between limits.

Source: propagation of distributions, JCGM 101:2008 clause 7 (from memory); lattice points,
H. Niederreiter, Bull. AMS 84 (1978) 957-1041 (from memory); pairs, G. E. P. Box, M. E. Muller, Ann.
Math. Statist. 29 (1958) 610 (from memory); certainty equivalence of linear-quadratic control
(H. Theil 1957; H. Simon 1956; from memory); what a reading of a pair adds, as in ``hung``.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np

from holdtrue.core.marks import give_many
from holdtrue.core.quality import Form, Vector
from holdtrue.core.recompute import fixed_from_set
from holdtrue.core.shims import ShimsToLay

Point = tuple[float, float]

_POINTS = 20_000
"""The chance holds within about 0.3 percentage points."""
_SHIM_POINTS = 2_000
"""The same where shims are laid at each: within about one and a half."""
_FEWEST = 1_000
_WORK = 3e8
"""Points times criteria times seats times seats to drive at most: long walls take fewer points."""
_AHEAD = 2
"""Marks given at each turn: the next, and the one after it, which is then calm in its turn. More
change nothing that can be told from chance."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Grid:
    """How marks are given: on multiples of ``graduation_mm``, 0 for anywhere, each hole by
    ``drop_mm`` over its seat; the marks of seats that ``stay`` answer to nothing any more."""

    graduation_mm: float = 0.0
    drop_mm: Mapping[str, float] = field(default_factory=dict)
    stay: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True, kw_only=True)
class Errors:
    """Standard uncertainties [mm] of the work still to do.

    ``placing``: seat to (across, up); ``reading``: seat to (across, up) of its reading afterwards;
    ``stick``: of a story stick's own marks; ``stick_panels``: indexes of panels it is used on;
    ``shims``: those to be laid before the lift; ``grid``: what marks are rounded to.
    """

    placing: Mapping[str, Point]
    reading: Mapping[str, Point]
    stick: float = 0.0
    stick_panels: frozenset[int] = frozenset()
    shims: ShimsToLay | None = None
    grid: Grid = Grid()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Forecast:
    """``chance`` that all criteria end inside; ``each`` alone; ``limiting``: index of the one least
    likely to."""

    chance: float
    each: tuple[float, ...]
    limiting: int


def forecast(goal: Form, ends_mm: Vector) -> Forecast:
    """Chance that every criterion of ``goal`` ends inside tolerance.

    Parameters: goal, the criteria judged, of n seats; ends_mm, where the seats end at each point of
    a play, as deviations [mm], shape (count, 2n).
    Returns: Forecast, chances [-].
    Raises: nothing.
    Source: module head.
    """
    inside = np.abs(ends_mm @ goal.matrix.T) <= goal.tolerance_mm
    each = inside.mean(axis=0)
    return Forecast(
        chance=float(inside.all(axis=1).mean()),
        each=tuple(float(c) for c in each),
        limiting=int(np.argmin(each)),
    )


def played_mm(
    goal: Form,
    form: Form,
    *,
    order: Sequence[str],
    set_mm: Mapping[str, Point],
    set_covariance_mm2: Vector | None,
    marks_mm: Mapping[str, Point],
    errors: Errors,
) -> Vector:
    """Where the seats bear at the end, at each point.

    Parameters: goal, what shims are laid for; form, the criterion the marks are computed by; both
    with the same n seats; order: all seats in driving order; set_mm: set seats' estimated (x, y)
    [mm]; set_covariance_mm2 [mm2], shape (2s, 2s), of (x of set seats in the form's order, then y),
    None for exactly known; marks_mm: marks given to the unset seats [mm], none where there were
    none; errors [mm].
    Returns: deviations from plan [mm], shape (count, 2n).
    Raises: KeyError for an unknown seat.
    Source: module head.
    """
    play = _Play(form, order, set_mm, set_covariance_mm2, marks_mm, errors)
    while play.left:
        play.drive()
    return play.ends_mm(goal)


class _Play:
    """One install at every point: a place is of shape (2, count), all deviations (2n, count)."""

    def __init__(
        self,
        form: Form,
        order: Sequence[str],
        set_mm: Mapping[str, Point],
        set_covariance_mm2: Vector | None,
        marks_mm: Mapping[str, Point],
        errors: Errors,
    ) -> None:
        self.form, self.order, self.errors = form, order, errors
        self.index = {name: i for i, name in enumerate(form.seats)}
        self.left = [name for name in order if name not in set_mm]
        self.done = [name for name in form.seats if name in set_mm]
        shims = errors.shims
        self.pairs = list(shims.pairs) if shims else []
        size = 2 * len(self.done) + 4 * len(self.left) + 2 * len(self.pairs)
        size += len(shims.seats) if shims else 0
        self.count = _SHIM_POINTS if shims else self._count()
        self.luck = iter(normal_points(size, self.count).T)
        self.given: dict[str, Vector] = {
            name: np.broadcast_to(np.array(at)[:, None], (2, self.count))
            for name, at in marks_mm.items()
        }
        self.known = np.zeros((2 * len(form.seats), self.count))
        for at, value in fixed_from_set(form, set_mm).items():
            self.known[at] = value
        self.true = self.known.copy()
        held = [self._rows(name)[k] for k in (0, 1) for name in self.done]
        z = self._drawn([1.0] * len(held))
        if held and set_covariance_mm2 is not None:
            self.true[held] += _root(set_covariance_mm2) @ z
        self._read_pairs()

    def _count(self) -> int:
        work = len(self.form.kinds) * len(self.form.seats) * max(1, len(self.left))
        return min(_POINTS, max(_FEWEST, int(_WORK / work)))

    def _rows(self, name: str) -> list[int]:
        return [self.index[name], len(self.index) + self.index[name]]

    def _drawn(self, u_mm: Sequence[float]) -> Vector:
        """Errors of these standard uncertainties, shape (k, count)."""
        return np.array([u * next(self.luck) for u in u_mm]).reshape(len(u_mm), self.count)

    def drive(self) -> None:
        """Place the next seat on its mark, and read it."""
        name = self.left[0]
        rows = self._rows(name)
        aim, placing = self._aim(name)
        del self.left[0]
        self.true[rows] = aim + self._drawn(placing)
        self.known[rows] = self.true[rows] + self._drawn(self.errors.reading[name])
        self.done.append(name)
        self._read_pairs()

    def _aim(self, name: str) -> tuple[Vector, Point]:
        """Where the next seat is meant to be, as a deviation, and how well it is placed there."""
        rows, errors = self._rows(name), self.errors
        if name in errors.grid.stay:
            return self._off(name), errors.placing[name]
        panel = self.form.seat_panel[rows[0]]
        if panel in errors.stick_panels:
            own = (s for s in self.order if self.form.seat_panel[self.index[s]] == panel)
            first = next((seat for seat in own if seat in self.done), None)
            if first is not None:
                return self.true[self._rows(first)], (errors.stick, errors.stick)
        self.given |= self._marks()
        return self._off(name), errors.placing[name]

    def _marks(self) -> dict[str, Vector]:
        """The next marks, by what is known; where marks may be anywhere, simply the best."""
        grid = self.errors.grid
        fixed = {name: self._place(name) for name in self.done}
        stay = {name: self.given[name] for name in self.left if name in grid.stay}
        return give_many(
            self.form,
            set_mm=fixed | stay,
            order=self.left,
            drop_mm=grid.drop_mm,
            graduation_mm=grid.graduation_mm,
            given_mm=self.given if grid.graduation_mm else {},
            installs=(self.count,),
            most=_AHEAD,
        )

    def _place(self, name: str) -> Vector:
        """Where a set seat is thought to be."""
        rows = self._rows(name)
        return self.known[rows] + self.form.planned_mm[rows, None]

    def _off(self, name: str) -> Vector:
        """A seat's mark as a deviation."""
        return self.given[name] - self.form.planned_mm[self._rows(name), None]

    def _read_pairs(self) -> None:
        """Read what can be read now of ``pairs`` against each other; all is known better from then
        on.

        What is known is off by e; a reading of a pair that differs from it by s mends it by K s,
        K = Cov(e, s) / Var(s).
        """
        n = len(self.index)
        done = {self.index[name] for name in self.done}
        ready = [pair for pair in self.pairs if pair.a in done and pair.b in done]
        self.pairs = [pair for pair in self.pairs if pair not in ready]
        for pair in ready:
            for shift, u in ((0, pair.apart_u_mm), (n, pair.rise_u_mm)):
                off = self.known - self.true
                seen = off[shift + pair.b] - off[shift + pair.a] + self._drawn([u])[0]
                self.known -= np.outer(off @ seen / (seen @ seen), seen)

    def ends_mm(self, goal: Form) -> Vector:
        """Where the seats bear, with shims laid if any are, shape (count, 2n)."""
        shims, n = self.errors.shims, len(self.index)
        if shims is not None:
            self.true[n:] += shims.raised_mm(goal, self.known.T).T
            self.true[[n + ring for ring in shims.seats]] += self._drawn(
                [shims.u_mm] * len(shims.seats)
            )
        return np.asarray(self.true.T)


def _root(covariance: Vector) -> Vector:
    """A root S of a covariance: S S^T = covariance."""
    values, vectors = np.linalg.eigh(covariance)
    return np.asarray(vectors * np.sqrt(np.clip(values, 0.0, None)))


@lru_cache(maxsize=4)
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
