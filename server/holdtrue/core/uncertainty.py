"""How uncertainties of readings become those of what is computed from them.

Method: linear propagation. With sensitivities C (how much each result moves per unit of each
input) and covariance V of the inputs, the results have covariance C V C'. Least squares with known
covariance of the readings (Gauss-Markov) gives the best linear unbiased estimate and its
covariance; it is solved on whitened readings by orthogonal factors, not by normal equations.

Source: GUM (JCGM 100:2008), 4.2, 4.3, 5.1, 5.2, annexes G and H.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt

import numpy as np
from numpy.typing import ArrayLike, NDArray

from holdtrue.core.errors import CoreError
from holdtrue.core.ranges import in_range

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Means:
    """Means of repeated readings taken together: shape (k,), and their covariance, shape (k, k)."""

    values: Array
    covariance: Array


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Fit:
    """Parameters, shape (p,), covariance (p, p), residuals read - fitted (n,), their weighted sum
    of squares and the degrees of freedom n - p."""

    values: Array
    covariance: Array
    residuals: Array
    chi_squared: float
    freedom: int


def u_rectangular(half_width: float) -> float:
    """Standard uncertainty of a value that may lie anywhere within +- half_width: a / sqrt(3).

    Parameters: half_width, a [any], >= 0.
    Returns: standard uncertainty [the same].
    Raises: CoreError outside that range.
    Source: GUM 4.3.7.

    >>> round(u_rectangular(0.05), 3)
    0.029
    """
    return in_range("half width", half_width) / sqrt(3.0)


def u_arcsine(half_width: float) -> float:
    """Standard uncertainty of a value that swings between +- half_width: a / sqrt(2).

    Parameters: half_width, a [any], >= 0.
    Returns: standard uncertainty [the same].
    Raises: CoreError outside that range.
    Source: GUM H.1.3.4 (a temperature that cycles).

    >>> round(u_arcsine(0.5), 2)
    0.35
    """
    return in_range("half width", half_width) / sqrt(2.0)


def root_sum_square(parts: Sequence[float]) -> float:
    """Combined standard uncertainty of independent parts: sqrt(sum u_i^2).

    Parameters: parts, u, contributions in one unit [any], >= 0.
    Returns: standard uncertainty [the same].
    Raises: CoreError for a negative or not finite part.
    Source: GUM 5.1.2.

    >>> root_sum_square((3.0, 4.0))
    5.0
    """
    return sqrt(sum(in_range("uncertainty", part) ** 2 for part in parts))


def covariance_of(u: Sequence[float], correlation: ArrayLike | None = None) -> Array:
    """Covariance from standard uncertainties and their correlations: V_ij = r_ij u_i u_j.

    Parameters: u, standard uncertainties [any], >= 0, shape (n,); correlation, r [-], shape (n, n),
    symmetric, 1 on its diagonal, -1 to 1; independent where not given.
    Returns: covariance [products of the units], shape (n, n).
    Raises: CoreError for another shape or a value outside those ranges.
    Source: GUM 5.2.2.

    >>> covariance_of((1.0, 2.0), [[1.0, 0.5], [0.5, 1.0]]).tolist()
    [[1.0, 1.0], [1.0, 4.0]]
    """
    for value in u:
        in_range("uncertainty", value)
    spread = np.asarray(u, dtype=float)
    r = np.eye(len(u)) if correlation is None else np.asarray(correlation, dtype=float)
    is_whole = r.shape == (len(u), len(u)) and bool(np.all(np.isfinite(r)))
    if not is_whole or not (
        np.allclose(r, r.T) and np.allclose(np.diag(r), 1.0) and bool(np.all(np.abs(r) <= 1.0))
    ):
        raise CoreError("correlation", r.shape, "give a symmetric table with 1 on its diagonal")
    return np.asarray(r * np.outer(spread, spread))


def propagate(sensitivity: ArrayLike, covariance: ArrayLike) -> Array:
    """Covariance of results that depend linearly on inputs: C V C'.

    Parameters: sensitivity, C, change of each result per unit of each input [any], shape (m, n);
    covariance, V, of the inputs [any], shape (n, n).
    Returns: covariance of the results [any], shape (m, m).
    Raises: CoreError for values that are not finite; ValueError for shapes that do not fit.
    Source: GUM 5.2.2 and H.2.3.

    >>> propagate([[1.0, -1.0]], [[1.0, 1.0], [1.0, 1.0]]).tolist()
    [[0.0]]
    """
    c = np.atleast_2d(np.asarray(sensitivity, dtype=float))
    v = np.asarray(covariance, dtype=float)
    if not (np.all(np.isfinite(c)) and np.all(np.isfinite(v))):
        raise CoreError("propagation", "not finite", "give finite sensitivities and covariances")
    return np.asarray(c @ v @ c.T)


def correlation_of(covariance: ArrayLike) -> Array:
    """Correlations from a covariance: r_ij = V_ij / sqrt(V_ii V_jj).

    Parameters: covariance, V [any], shape (n, n), its diagonal > 0.
    Returns: correlations [-], shape (n, n).
    Raises: CoreError when a variance is not above 0.
    Source: GUM 5.2.2.

    >>> correlation_of([[1.0, 1.0], [1.0, 4.0]]).tolist()
    [[1.0, 0.5], [0.5, 1.0]]
    """
    v = np.asarray(covariance, dtype=float)
    variance = np.diag(v)
    if not bool(np.all(variance > 0)):
        raise CoreError("variance", variance.tolist(), "each must be above 0")
    spread = np.sqrt(variance)
    return np.asarray(v / np.outer(spread, spread))


def effective_freedom(parts: Sequence[float], freedoms: Sequence[float]) -> float:
    """Effective degrees of freedom of a combined uncertainty: u^4 / sum(u_i^4 / nu_i).

    Parameters: parts, contributions u_i in one unit [any], >= 0, not all 0, shape (n,); freedoms,
    nu_i [-], > 0, infinite allowed, shape (n,).
    Returns: degrees of freedom [-]; round DOWN to look up a table; infinite if all are.
    Raises: CoreError outside those ranges or for unequal counts.
    Source: Welch-Satterthwaite formula, GUM G.4.1.

    >>> round(effective_freedom((1.0, 1.0), (10.0, 10.0)), 6)
    20.0
    """
    if len(parts) != len(freedoms) or not all(freedom > 0 for freedom in freedoms):
        raise CoreError("degrees of freedom", tuple(freedoms), "give one above 0 for each part")
    total = root_sum_square(parts)
    if total == 0:
        raise CoreError("uncertainties", tuple(parts), "at least one must be above 0")
    shares = sum(
        (part / total) ** 4 / freedom for part, freedom in zip(parts, freedoms, strict=True)
    )
    return 1.0 / shares if shares > 0 else float("inf")


def means_of(readings: ArrayLike) -> Means:
    """Means and their covariance from rounds of simultaneous readings.

    V = (1/(n (n-1))) sum over rounds of (q - mean)(q - mean)'.

    Parameters: readings [any], one row per round, shape (n, k), n >= 2, finite.
    Returns: Means [the same].
    Raises: CoreError for fewer than two rounds or values that are not finite.
    Source: GUM 4.2.3, 5.2.3 eq. (17).

    >>> means_of([[1.0], [3.0]]).covariance.tolist()
    [[1.0]]
    """
    table = np.atleast_2d(np.asarray(readings, dtype=float))
    rounds = len(table)
    if rounds < 2 or not bool(np.all(np.isfinite(table))):
        raise CoreError("readings", rounds, "give at least two rounds of finite readings")
    values = table.mean(axis=0)
    off = table - values
    return Means(values=values, covariance=np.asarray(off.T @ off / (rounds * (rounds - 1))))


def gauss_markov(design: ArrayLike, read: ArrayLike, covariance: ArrayLike) -> Fit:
    """Best linear unbiased estimate of parameters x from readings y = A x + error.

    x = (A' V^-1 A)^-1 A' V^-1 y, covariance (A' V^-1 A)^-1.

    Parameters: design, A [any], shape (n, p), of rank p; read, y [any], shape (n,); covariance, V,
    of the readings [any], shape (n, n), positive definite.
    Returns: Fit [the readings' units].
    Raises: CoreError when the readings do not determine all parameters, V is not positive definite,
    or a value is not finite.
    Source: Gauss-Markov (Aitken) least squares; GUM H.3 for a straight line.

    >>> fit = gauss_markov([[1.0], [1.0]], [1.0, 3.0], [[1.0, 0.0], [0.0, 1.0]])
    >>> round(float(fit.values[0]), 9), round(float(fit.covariance[0, 0]), 9)
    (2.0, 0.5)
    """
    a, y, v = (np.asarray(value, dtype=float) for value in (design, read, covariance))
    if not all(bool(np.all(np.isfinite(value))) for value in (a, y, v)):
        raise CoreError("readings", "not finite", "give finite readings and uncertainties")
    try:
        root = np.linalg.cholesky(v)
    except np.linalg.LinAlgError as error:
        raise CoreError("covariance", v.shape, "must be positive definite") from error
    white_a, white_y = np.linalg.solve(root, a), np.linalg.solve(root, y)
    q, r = np.linalg.qr(white_a)
    diagonal = np.abs(np.diag(r))
    if a.shape[0] < a.shape[1] or diagonal.min() <= np.finfo(float).eps * max(a.shape) * max(
        diagonal.max(), 1.0
    ):
        raise CoreError("readings", a.shape, "they do not determine everything that is asked")
    values = np.linalg.solve(r, q.T @ white_y)
    inverse = np.linalg.inv(r)
    white = white_y - white_a @ values
    return Fit(
        values=np.asarray(values),
        covariance=np.asarray(inverse @ inverse.T),
        residuals=np.asarray(y - a @ values),
        chi_squared=float(white @ white),
        freedom=a.shape[0] - a.shape[1],
    )
