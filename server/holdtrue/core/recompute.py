"""Recompute: where the seats that are not set should go now.

Method: of all deviations of the unset seats, take those that minimise the sum of squared residuals
(each divided by its tolerance) with the set seats fixed, and of those the smallest (minimum norm of
(dx, dy) in mm): the least-squares solution by singular values. For a quadratic criterion with
Gaussian errors this certainty-equivalent policy is the optimal one.

Source: minimum-norm least squares, G. H. Golub, C. F. Van Loan, Matrix Computations, 4th ed.,
sec. 5.5 (from memory); solved by numpy.linalg.lstsq.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from holdtrue.core.quality import Form, Vector

Point = tuple[float, float]


def best_deviation_mm(form: Form, fixed: Mapping[int, float]) -> Vector:
    """Deviations of all seats that minimise the form with some of them fixed.

    Parameters: form with n seats; fixed: index into d (0 .. 2n-1) to its deviation [mm], finite.
    Returns: d [mm], shape (2n,), the fixed ones as given.
    Raises: numpy.linalg.LinAlgError if the singular values do not converge (not seen in practice).
    Source: module head.
    """
    size = form.planned_mm.size
    deviation = np.zeros(size)
    is_free = np.ones(size, dtype=bool)
    for index, value in fixed.items():
        deviation[index] = value
        is_free[index] = False
    if fixed and is_free.any():
        matrix = form.scaled
        target = -matrix[:, ~is_free] @ deviation[~is_free]
        deviation[is_free] = np.linalg.lstsq(matrix[:, is_free], target, rcond=None)[0]
    return deviation


def fixed_from_set(form: Form, set_mm: Mapping[str, Point]) -> dict[int, float]:
    """Set places as fixed deviations.

    Parameters: form; set_mm: seat name to its measured (x, y) [mm].
    Returns: index into d to deviation [mm].
    Raises: KeyError for a seat the form does not have.
    Source: module head.
    """
    n = len(form.seats)
    index = {name: i for i, name in enumerate(form.seats)}
    fixed = {}
    for name, (x, y) in set_mm.items():
        i = index[name]
        fixed[i] = x - float(form.planned_mm[i])
        fixed[n + i] = y - float(form.planned_mm[n + i])
    return fixed


def recompute_mm(form: Form, set_mm: Mapping[str, Point]) -> dict[str, Point]:
    """Place of every seat: set ones as measured, the others at the optimum, not rounded.

    Parameters: form; set_mm: seat name to its measured (x, y) [mm].
    Returns: seat name to (x, y) [mm], all seats in order.
    Raises: KeyError for a seat the form does not have.
    Source: module head.
    """
    return places_mm(form, best_deviation_mm(form, fixed_from_set(form, set_mm)))


def places_mm(form: Form, deviation_mm: Vector) -> dict[str, Point]:
    """Plan plus deviation, per seat.

    Parameters: form; deviation_mm [mm], shape (2n,).
    Returns: seat name to (x, y) [mm].
    Raises: nothing.
    Source: module head.
    """
    n = len(form.seats)
    place = form.planned_mm + deviation_mm
    return {name: (float(place[i]), float(place[n + i])) for i, name in enumerate(form.seats)}
