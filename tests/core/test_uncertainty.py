"""Uncertainty: the examples of the GUM as published, then second routes, then what must hold.

GUM: JCGM 100:2008, annex H. EA: EA-4/02, supplement 2. Figures read in independent public tests and
in the documentation of a national metrology institute.
"""

from __future__ import annotations

from math import cos, floor, inf, sin, sqrt
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.optimize import curve_fit
from scipy.stats import t as student
from uncertainties import correlated_values, correlation_matrix, umath

from holdtrue.core.errors import CoreError
from holdtrue.core.uncertainty import (
    correlation_of,
    covariance_of,
    effective_freedom,
    gauss_markov,
    means_of,
    propagate,
    root_sum_square,
    u_arcsine,
    u_rectangular,
)

V = (5.007, 4.994, 5.005, 4.990, 4.999)
I_MA = (19.663, 19.639, 19.640, 19.685, 19.678)
PHI = (1.0456, 1.0438, 1.0468, 1.0428, 1.0433)

T_C = np.array(
    [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511]
)
B_C = np.array(
    [-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160]
)


def test_gum_h1_end_gauge() -> None:
    # H.1: l = ls + d - ls (d_alpha theta + alpha_s d_theta); contributions 25, 9.7, 0, 0, 2.9,
    # 16.6 nm; u 32 nm (unrounded 31.66); nu_eff 16.7; k99 2.92; U99 93 nm from the rounded u
    length_nm, theta, alpha = 50.000623e6, -0.1, 11.5e-6
    u_ls_nm = 75.0 / 3.0
    u_d_nm = root_sum_square((5.8, 3.9, 6.7))
    u_theta = root_sum_square((0.2, u_arcsine(0.5)))
    u = (
        *(u_ls_nm, u_d_nm, u_rectangular(2e-6), u_theta, u_rectangular(1e-6), u_rectangular(0.05)),
    )
    # partial derivatives by ls, d, alpha_s, theta, d_alpha, d_theta; d_alpha = d_theta = 0
    sensitivity = (1.0, 1.0, 0.0, 0.0, -length_nm * theta, -length_nm * alpha)
    variance = propagate([sensitivity], covariance_of(u))[0, 0]
    parts = [abs(c) * part for c, part in zip(sensitivity, u, strict=True)]

    assert (round(u_d_nm, 1), round(u_theta, 2)) == (9.7, 0.41)
    assert [round(p, 1) for p in parts[:5]] == [25.0, 9.7, 0.0, 0.0, 2.9]
    assert parts[5] == pytest.approx(16.6, abs=0.05)
    assert variance == pytest.approx(1002, abs=1)
    assert round(sqrt(variance)) == 32
    assert round(sqrt(variance), 2) == 31.66

    # printed 25.6 comes from the rounded 9.7; unrounded it is 25.4
    freedom_d = effective_freedom((5.8, 3.9, 6.7), (24, 5, 8))
    assert round(freedom_d * (9.7 / u_d_nm) ** 4, 1) == 25.6
    freedom = effective_freedom(parts, (18, freedom_d, inf, inf, 50, 2))
    assert round(freedom, 1) == pytest.approx(16.7, abs=0.11)
    assert floor(freedom) == 16
    coverage = float(student.ppf(0.995, floor(freedom)))
    assert round(coverage, 2) == 2.92
    assert round(round(sqrt(variance)) * round(coverage, 2)) == 93
    # Table G.2 at 95 % and 95.45 %; infinite freedom at 95.45 %
    others = [float(student.ppf((1 + p) / 2, 16)) for p in (0.95, 0.9545)]
    assert [round(t, 2) for t in others] == [2.12, 2.17]
    assert round(float(student.ppf((1 + 0.9545) / 2, 1e9)), 2) == 2.0
    # l = ls + d: 50.000838 mm
    assert round((length_nm + 215.0) * 1e-6, 6) == 50.000838


def impedance(values: Any) -> tuple[Any, Any, Any]:
    v, i, phi = values
    return v * umath.cos(phi) / i, v * umath.sin(phi) / i, v / i


def test_gum_h2_simultaneous_resistance_and_reactance() -> None:
    # H.2: means 4.9990 (0.0032) V, 0.019661 (9.5e-6) A, 1.04446 (7.5e-4) rad, r -0.36, 0.86, -0.65;
    # R 127.732 (0.071), X 219.847 (0.295), Z 254.260 (0.236) ohm, r -0.588, -0.485, 0.993
    means = means_of(np.column_stack([V, np.array(I_MA) / 1000, PHI]))
    v, i, phi = (float(value) for value in means.values)
    assert (round(v, 4), round(i, 6), round(phi, 5)) == (4.999, 0.019661, 1.04446)
    u = np.sqrt(np.diag(means.covariance))
    assert u == pytest.approx([0.0032, 9.5e-6, 7.5e-4], rel=0.01)
    r = correlation_of(means.covariance)
    assert [round(float(r[a, b]), 2) for a, b in ((0, 1), (0, 2), (1, 2))] == [-0.36, 0.86, -0.65]

    sensitivity = [
        [cos(phi) / i, -v * cos(phi) / i**2, -v * sin(phi) / i],
        [sin(phi) / i, -v * sin(phi) / i**2, v * cos(phi) / i],
        [1 / i, -v / i**2, 0.0],
    ]
    covariance = propagate(sensitivity, means.covariance)
    values = (v * cos(phi) / i, v * sin(phi) / i, v / i)
    assert [round(value, 3) for value in values] == [127.732, 219.847, 254.260]
    # X is 0.2956, printed as 0.295
    assert np.sqrt(np.diag(covariance)) == pytest.approx([0.071, 0.295, 0.236], abs=0.0006)
    r = correlation_of(covariance)
    printed = [-0.588, -0.485, 0.993]
    assert [round(float(r[a, b]), 3) for a, b in ((0, 1), (0, 2), (1, 2))] == printed

    # from the rounded inputs: 0.070, 0.296, 0.24
    rounded = covariance_of(
        (0.0032, 9.5e-6, 7.5e-4), [[1.0, -0.36, 0.86], [-0.36, 1.0, -0.65], [0.86, -0.65, 1.0]]
    )
    from_rounded = np.sqrt(np.diag(propagate(sensitivity, rounded)))
    assert from_rounded == pytest.approx([0.070, 0.296, 0.24], abs=0.005)
    assert [round(float(u), 3) for u in from_rounded[:2]] == [0.070, 0.296]

    # a second route: the package uncertainties
    other = impedance(correlated_values(means.values, means.covariance))
    assert [value.nominal_value for value in other] == pytest.approx(values)
    assert np.sqrt(np.diag(covariance)) == pytest.approx([value.std_dev for value in other])
    assert r == pytest.approx(np.array(correlation_matrix(other)))


def test_gum_h3_straight_line() -> None:
    # H.3: intercept -0.1712 (0.0029), slope 0.00218 (0.00067), r -0.93; at 30 C -0.1494 (0.0041)
    design = np.column_stack([np.ones_like(T_C), T_C - 20.0])
    fit = gauss_markov(design, B_C, np.eye(len(T_C)))
    covariance = fit.covariance * fit.chi_squared / fit.freedom
    u = np.sqrt(np.diag(covariance))
    assert (round(float(fit.values[0]), 4), round(float(fit.values[1]), 5)) == (-0.1712, 0.00218)
    assert (round(float(u[0]), 4), round(float(u[1]), 5)) == (0.0029, 0.00067)
    assert round(float(correlation_of(covariance)[0, 1]), 2) == -0.93
    assert round(float(fit.values @ [1.0, 10.0]), 4) == -0.1494
    assert round(sqrt(propagate([[1.0, 10.0]], covariance)[0, 0]), 4) == 0.0041
    assert fit.freedom == 9

    # a second route: scipy
    def line(t: NDArray[np.float64], intercept: float, slope: float) -> NDArray[np.float64]:
        return np.asarray(intercept + slope * (t - 20.0))

    values, other = curve_fit(line, T_C, B_C)
    assert fit.values == pytest.approx(values, rel=1e-6)
    assert covariance == pytest.approx(np.asarray(other), rel=1e-5)


def test_ea_mass() -> None:
    # EA-4/02 S2: 45 mg at k 2; +- 15 mg; s 25 mg of 3; +- 10 mg; +- 10 mg: 29.2 mg, U 58 mg
    # (unrounded 29.26 and 58.5)
    parts = (22.5, u_rectangular(15.0), 25.0 / sqrt(3.0), u_rectangular(10.0), u_rectangular(10.0))
    assert root_sum_square(parts) == pytest.approx(29.26, abs=0.005)
    assert 2 * root_sum_square(parts) == pytest.approx(58.5, abs=0.05)


MATRICES = st.integers(0, 2**32 - 1).map(np.random.default_rng)


@given(MATRICES, st.integers(2, 5), st.integers(0, 6))
def test_least_squares_is_unbiased_orthogonal_and_best(
    rng: np.random.Generator, parameters: int, spare: int
) -> None:
    readings = parameters + spare
    design = rng.normal(size=(readings, parameters))
    root = np.eye(readings) + 0.2 * rng.normal(size=(readings, readings))
    covariance = root @ root.T
    truth = rng.normal(size=parameters)
    if np.linalg.cond(design) > 1e4 or np.linalg.cond(covariance) > 1e6:
        return
    exact = gauss_markov(design, design @ truth, covariance)
    assert exact.values == pytest.approx(truth, abs=1e-8)
    assert exact.chi_squared == pytest.approx(0.0, abs=1e-12)

    noisy = gauss_markov(design, design @ truth + root @ rng.normal(size=readings), covariance)
    weights = np.linalg.inv(covariance)
    assert design.T @ weights @ noisy.residuals == pytest.approx(np.zeros(parameters), abs=1e-6)
    assert noisy.covariance == pytest.approx(np.linalg.inv(design.T @ weights @ design), rel=1e-5)
    # no other unbiased linear estimate is less uncertain: plain least squares is one
    plain = propagate(np.linalg.pinv(design), covariance)
    excess = plain - noisy.covariance
    assert float(np.linalg.eigvalsh(excess).min()) >= -1e-7 * float(np.abs(plain).max())


@given(st.lists(st.floats(0.01, 100.0), min_size=1, max_size=6))
def test_independent_parts_add_in_squares(u: list[float]) -> None:
    covariance = covariance_of(u)
    assert sqrt(propagate([[1.0] * len(u)], covariance)[0, 0]) == pytest.approx(root_sum_square(u))
    total = effective_freedom(u, [5.0] * len(u))
    assert 5.0 * (1 - 1e-9) <= total <= 5.0 * len(u) * (1 + 1e-9)


def test_infinite_freedom_stays_infinite() -> None:
    assert effective_freedom((1.0, 2.0), (inf, inf)) == inf


@pytest.mark.parametrize(
    "call",
    [
        lambda: u_rectangular(-1.0),
        lambda: u_arcsine(float("nan")),
        lambda: root_sum_square((1.0, -1.0)),
        lambda: covariance_of((1.0, 1.0), [[1.0, 0.5], [0.4, 1.0]]),
        lambda: covariance_of((1.0, 1.0), [[1.0, 1.5], [1.5, 1.0]]),
        lambda: covariance_of((1.0, 1.0), [[1.0]]),
        lambda: covariance_of((1.0,), [[float("nan")]]),
        lambda: propagate([[float("inf")]], [[1.0]]),
        lambda: correlation_of([[0.0]]),
        lambda: effective_freedom((1.0,), (0.0,)),
        lambda: effective_freedom((1.0,), (1.0, 2.0)),
        lambda: effective_freedom((0.0,), (1.0,)),
        lambda: means_of([[1.0, 2.0]]),
        lambda: means_of([[1.0], [float("nan")]]),
        lambda: gauss_markov([[1.0, 1.0]], [1.0], [[1.0]]),
        lambda: gauss_markov([[1.0, 1.0], [1.0, 1.0]], [1.0, 2.0], np.eye(2)),
        lambda: gauss_markov([[1.0], [1.0]], [1.0, 2.0], [[1.0, 2.0], [2.0, 1.0]]),
        lambda: gauss_markov([[1.0]], [float("nan")], [[1.0]]),
    ],
)
def test_what_cannot_be_computed_is_refused(call: Any) -> None:
    with pytest.raises(CoreError):
        call()
