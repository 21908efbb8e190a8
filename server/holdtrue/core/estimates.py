"""Where the set seats really are: one estimate from all readings, with its covariance.

Method: every reading is one observation with its instrument's standard uncertainty: a seat's height
over the level line, its distance from the reference line, the distance between two seats by tape,
their height difference by level (the level's own error taken off first). Together they are a
least-squares problem, linear but for the tape between seats, which is taken as linear about the
current estimate and repeated until it settles (Gauss-Newton). Readings are independent.

A coordinate read directly is known by readings alone. One that is not, and that the other readings
leave less certain than a fastener placed on its mark, also has its mark as an observation, with the
placing uncertainty of its fastener kind; a seat set "as planned" without any reading is its mark.

Source: Gauss-Markov least squares, module ``uncertainty``; Gauss-Newton, and a reading's miss over
the uncertainty of that miss, textbooks on adjustment of observations (from memory).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import hypot, sqrt

import numpy as np
from numpy.typing import NDArray

from holdtrue.core.errors import CoreError
from holdtrue.core.instruments import corrected_rise_mm, level_u_mm
from holdtrue.core.ranges import above_zero, finite, in_range
from holdtrue.core.sources import PLACING_U_MM
from holdtrue.core.sources_measure import (
    MAX_STEPS,
    SETTLED_MM,
    SUSPECT_U,
    TAPE_U_MM,
    UNCHECKED_SHARE,
    VAGUE_MM,
)
from holdtrue.core.uncertainty import Array, Fit, gauss_markov

Point = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """Where a set seat was meant to be, and how well fasteners of its kind land there."""

    x_mm: float
    y_mm: float
    placing_u_mm: float = PLACING_U_MM


@dataclass(frozen=True, slots=True, kw_only=True)
class Height:
    """Height of a seat over the level line; ``line_mm`` is the line's height over the floor."""

    seat: str
    above_mm: float
    line_mm: float = 0.0
    u_mm: float = TAPE_U_MM


@dataclass(frozen=True, slots=True, kw_only=True)
class Across:
    """Distance of a seat from the reference line, right of it positive."""

    seat: str
    x_mm: float
    u_mm: float = TAPE_U_MM


@dataclass(frozen=True, slots=True, kw_only=True)
class Tape:
    """Straight distance between two seats."""

    a: str
    b: str
    distance_mm: float
    u_mm: float = TAPE_U_MM


@dataclass(frozen=True, slots=True, kw_only=True)
class Level:
    """Height of seat b over seat a by level, as read; signs as in ``instruments``.

    ``error_mm_per_m`` is the level's own, from its reversal. ``u_mm``: by the distance of the two
    marks where not given.
    """

    a: str
    b: str
    rise_mm: float
    error_mm_per_m: float = 0.0
    is_turned: bool = False
    u_mm: float | None = None


Reading = Height | Across | Tape | Level


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Estimate:
    """Places of the set seats and how well they are known.

    ``covariance_mm2``: shape (2n, 2n), x of all seats, then y of all seats. ``misses``: per
    reading, (read - estimated) / standard uncertainty of that difference [-], 0 where nothing
    checks it. ``marks_used``: coordinates that lean on their mark, as ("B2", "y").
    """

    seats: tuple[str, ...]
    place_mm: Mapping[str, Point]
    covariance_mm2: Array
    misses: tuple[float, ...]
    marks_used: frozenset[tuple[str, str]]

    def u_mm(self, seat: str) -> Point:
        """Standard uncertainties of a seat's x and y."""
        i = self.seats.index(seat)
        variance = np.diag(self.covariance_mm2)
        return sqrt(variance[i]), sqrt(variance[i + len(self.seats)])

    @property
    def suspects(self) -> tuple[int, ...]:
        """Indexes of readings to take again, the worst first."""
        found = [i for i, miss in enumerate(self.misses) if abs(miss) > SUSPECT_U]
        return tuple(sorted(found, key=lambda i: -abs(self.misses[i])))


def estimate_seats(marks: Mapping[str, Mark], readings: Sequence[Reading]) -> Estimate:
    """Places of all set seats from their marks and readings.

    Minimises the sum of ((reading - its value at the places) / u)^2, marks included where the
    method says so.

    Parameters: marks: each set seat's name to its mark [mm], placing_u > 0; readings: all readings
    of those seats [mm], u > 0.
    Returns: Estimate [mm], [mm2].
    Raises: CoreError for a seat without a mark, no seat, a reading of a seat to itself or outside
    its range, two seats at one place with a tape between them, or places that do not settle.
    Source: module head.

    >>> found = estimate_seats({"A1": Mark(x_mm=0.0, y_mm=1500.0)}, [
    ...     Height(seat="A1", above_mm=101.0, line_mm=1400.0),
    ...     Height(seat="A1", above_mm=103.0, line_mm=1400.0)])
    >>> [round(value, 3) for value in (*found.place_mm["A1"], *found.u_mm("A1"))]
    [0.0, 1502.0, 1.0, 0.354]
    """
    seats = tuple(marks)
    _check(marks, readings)
    n = len(seats)
    meant = np.array([marks[s].x_mm for s in seats] + [marks[s].y_mm for s in seats])
    placing = np.array([marks[s].placing_u_mm for s in seats] * 2)
    index = {seat: i for i, seat in enumerate(seats)}
    u = np.array([reading_u_mm(reading, marks) for reading in readings])
    leaning = _leaning(_rows(readings, index, meant)[0], u, placing, readings, index)
    place = meant.copy()
    for _ in range(MAX_STEPS):
        rows, predicted = _rows(readings, index, place)
        read = np.array([_read_mm(reading, index, place) for reading in readings])
        fit = gauss_markov(
            np.vstack([rows, np.eye(2 * n)[leaning]]),
            np.concatenate([read - predicted, (meant - place)[leaning]]),
            np.diag(np.concatenate([u, placing[leaning]]) ** 2),
        )
        place = place + fit.values
        if np.max(np.abs(fit.values)) < SETTLED_MM:
            break
    else:
        raise CoreError("readings", len(readings), "they contradict each other: take them again")
    return Estimate(
        seats=seats,
        place_mm={s: (float(place[i]), float(place[n + i])) for i, s in enumerate(seats)},
        covariance_mm2=fit.covariance,
        misses=_misses(fit, rows, u),
        marks_used=frozenset((seats[i % n], "x" if i < n else "y") for i in leaning),
    )


def reading_u_mm(reading: Reading, marks: Mapping[str, Mark]) -> float:
    """Standard uncertainty of a reading: its own, or a level's by the distance of the two marks.

    Parameters: reading; marks: seat name to mark [mm].
    Returns: standard uncertainty [mm].
    Raises: KeyError for a seat without a mark.
    Source: ``instruments.level_u_mm``.

    >>> marks = {"A1": Mark(x_mm=0.0, y_mm=0.0), "A2": Mark(x_mm=800.0, y_mm=0.0)}
    >>> round(reading_u_mm(Level(a="A1", b="A2", rise_mm=0.0), marks), 3)
    0.5
    """
    if isinstance(reading, Level) and reading.u_mm is None:
        return level_u_mm(marks[reading.b].x_mm - marks[reading.a].x_mm)
    assert reading.u_mm is not None
    return reading.u_mm


def reading_rows(
    marks: Mapping[str, Mark], readings: Sequence[Reading]
) -> tuple[Array, Array, Array]:
    """What readings say near their seats' marks: rows over all coordinates.

    Parameters: marks: seats' names to their marks [mm], n of them; readings of them [mm].
    Returns: rows A [mm/mm], shape (k, 2n), x of all seats, then y of all seats; what would be read
    with the seats on their marks [mm], shape (k,); standard uncertainties [mm], shape (k,).
    Raises: KeyError for a seat without a mark; CoreError for two seats at one place.
    Source: module head.
    """
    place = np.array([mark.x_mm for mark in marks.values()] + [m.y_mm for m in marks.values()])
    index = {seat: i for i, seat in enumerate(marks)}
    rows, values = _rows(readings, index, place)
    return rows, values, np.array([reading_u_mm(reading, marks) for reading in readings])


def _check(marks: Mapping[str, Mark], readings: Sequence[Reading]) -> None:
    if not marks:
        raise CoreError("seats", 0, "give at least one set seat")
    for seat, mark in marks.items():
        finite(f"mark of {seat}", mark.x_mm, unit="mm")
        finite(f"mark of {seat}", mark.y_mm, unit="mm")
        above_zero(f"placing uncertainty of {seat}", mark.placing_u_mm, unit="mm")
    for reading in readings:
        seats = (reading.a, reading.b) if isinstance(reading, Tape | Level) else (reading.seat,)
        for seat in seats:
            if seat not in marks:
                raise CoreError("seat", seat, "give the mark of every seat that is read")
        if len(set(seats)) < len(seats):
            raise CoreError("reading", seats[0], "give two different seats")
        if reading.u_mm is not None:
            above_zero("uncertainty of a reading", reading.u_mm, unit="mm")
        _check_value(reading)


def _check_value(reading: Reading) -> None:
    match reading:
        case Height():
            finite("height over the line", reading.above_mm, unit="mm")
            finite("height of the line", reading.line_mm, unit="mm")
        case Across():
            finite("distance from the reference line", reading.x_mm, unit="mm")
        case Tape():
            in_range("distance", reading.distance_mm, unit="mm")
        case Level():
            finite("rise", reading.rise_mm, unit="mm")
            finite("level's error", reading.error_mm_per_m, unit="mm/m")


def _rows(
    readings: Sequence[Reading], index: Mapping[str, int], place: Array
) -> tuple[Array, Array]:
    """Derivatives of each reading by all coordinates, and its value, at a place."""
    n = len(index)
    rows = np.zeros((len(readings), 2 * n))
    values = np.zeros(len(readings))
    for row, reading in enumerate(readings):
        if isinstance(reading, Height | Across):
            i = index[reading.seat] + (n if isinstance(reading, Height) else 0)
            rows[row, i], values[row] = 1.0, place[i]
            continue
        a, b = index[reading.a], index[reading.b]
        if isinstance(reading, Level):
            rows[row, n + b], rows[row, n + a] = 1.0, -1.0
            values[row] = place[n + b] - place[n + a]
            continue
        dx, dy = place[b] - place[a], place[n + b] - place[n + a]
        distance = hypot(dx, dy)
        if distance == 0:
            raise CoreError("seats", f"{reading.a}, {reading.b}", "two seats at one place")
        rows[row, [b, a]] = dx / distance, -dx / distance
        rows[row, [n + b, n + a]] = dy / distance, -dy / distance
        values[row] = distance
    return rows, values


def _read_mm(reading: Reading, index: Mapping[str, int], place: Array) -> float:
    """What was read, in the terms of ``_rows``; a level's error goes by the distance there is."""
    match reading:
        case Height():
            return reading.line_mm + reading.above_mm
        case Across():
            return reading.x_mm
        case Tape():
            return reading.distance_mm
        case Level():
            return corrected_rise_mm(
                reading.rise_mm,
                span_mm=float(place[index[reading.b]] - place[index[reading.a]]),
                error_mm_per_m=reading.error_mm_per_m,
                is_turned=reading.is_turned,
            )


def _misses(fit: Fit, rows: Array, u: Array) -> tuple[float, ...]:
    """Residual of each reading over its standard uncertainty: Var(r) = u^2 - A C A'."""
    variance = u**2 - np.einsum("ij,jk,ik->i", rows, fit.covariance, rows)
    is_checked = variance > UNCHECKED_SHARE * u**2
    spread = np.sqrt(np.where(is_checked, variance, 1.0))
    residuals = fit.residuals[: len(u)]
    return tuple(float(miss) for miss in np.where(is_checked, residuals / spread, 0.0))


def _leaning(
    rows: Array, u: Array, placing: Array, readings: Sequence[Reading], index: Mapping[str, int]
) -> NDArray[np.intp]:
    """Coordinates that also have their mark as an observation."""
    n = len(index)
    white = rows / u[:, None]
    known = white.T @ white + np.eye(2 * n) / VAGUE_MM**2
    alone_u = np.sqrt(np.diag(np.linalg.inv(known)))
    direct = {
        index[reading.seat] + (n if isinstance(reading, Height) else 0)
        for reading in readings
        if isinstance(reading, Height | Across)
    }
    return np.array(
        [i for i in range(2 * n) if i not in direct and alone_u[i] > placing[i]], dtype=np.intp
    )
