"""Recompute: where the seats that are not set should go now.

Method: of all deviations of the unset seats, take those that minimise the sum of squared residuals
(each divided by its tolerance) with the set seats fixed, and of those the smallest (minimum norm of
(dx, dy) in mm): the least-squares solution. For a quadratic criterion with
Gaussian errors this certainty-equivalent policy is the optimal one.

The criteria determine every seat (see ``layers``), so the normal equations have one solution; one
step of refinement gives back the digits they lose. On long walls, where that takes the cube of the
seats, the same answer is found layer by layer. Where refinement does not settle, singular values
give the answer of least norm.

Source: minimum-norm least squares, G. H. Golub, C. F. Van Loan, Matrix Computations, 4th ed.,
sec. 5.5, refinement of semi-normal equations 5.3.8 (from memory).
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from holdtrue.core.layers import SETTLED, least_squares_by_layers
from holdtrue.core.quality import Form, Vector

Point = tuple[float, float]

_SMALL = 120
"""[-] Coordinates up to which normal equations in one piece are quicker than in layers (see the
benchmark)."""

_FAINT = 1e-5
"""[-] A pivot below this share of the largest stands for a direction the residuals leave open."""


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
        try:
            if size > _SMALL:
                return least_squares_by_layers(form, deviation, is_free)
            return _by_normal_equations(form, deviation, is_free)
        except np.linalg.LinAlgError:
            # rare: only dx or only dy held, or tolerances many orders of magnitude apart
            return _by_singular_values(form, deviation, is_free)
    return deviation


def _by_normal_equations(form: Form, deviation: Vector, is_free: NDArray[np.bool_]) -> Vector:
    """With a step of refinement, which must be small; several times quicker than the next."""
    scaled = form.scaled
    matrix, target = scaled[:, is_free], -(scaled @ deviation)
    normal = matrix.T @ matrix
    pivots = np.linalg.cholesky(normal).diagonal()
    if pivots.min() <= _FAINT * pivots.max():
        raise np.linalg.LinAlgError("the residuals leave something open")
    # one factorisation for both; what its inverse loses the refinement gives back, or is refused
    inverse = np.linalg.inv(normal) @ matrix.T
    rough = inverse @ target
    refined = inverse @ (target - matrix @ rough)
    if not np.abs(refined).max() <= SETTLED * (np.abs(rough).max() + np.abs(deviation).max()):
        raise np.linalg.LinAlgError("the normal equations do not settle")
    found = deviation.copy()
    found[is_free] = rough + refined
    return found


def _by_singular_values(form: Form, deviation: Vector, is_free: NDArray[np.bool_]) -> Vector:
    matrix = form.scaled
    target = -matrix[:, ~is_free] @ deviation[~is_free]
    found = deviation.copy()
    found[is_free] = np.linalg.lstsq(matrix[:, is_free], target, rcond=None)[0]
    return found


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
