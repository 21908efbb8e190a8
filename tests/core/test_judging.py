"""What readings on hung panels say of the criteria, and when a tolerance is too near to tell."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from scipy.stats import norm

from holdtrue.core.criteria import all_criteria
from holdtrue.core.geometry import arrange
from holdtrue.core.hung import Hang, hung_rows
from holdtrue.core.judging import criteria_read, guarded_mm, is_near, likely_mm
from holdtrue.core.model import Job
from holdtrue.core.sources_trim import GUARD_U
from tests.core.jobs import any_job


@settings(max_examples=60)
@given(any_job(most=4))
def test_what_is_summed_of_readings_is_the_criterion_of_where_the_panels_hang(job: Job) -> None:
    """The sums of rows that are read against the rows made from the panels' poses."""
    arrangement = arrange(job)
    goal = all_criteria(job, arrangement)
    rows = criteria_read(job, arrangement, hung_rows(job, arrangement))
    judged = {"level", "gap", "step", "taper", "line"}
    of_goal = [
        (name, row)
        for *name, row in zip(goal.kinds, goal.labels, goal.matrix, strict=True)
        if name[0] in judged and np.any(row)
    ]
    for (kind, where), row in of_goal:
        assert rows[kind, where] == pytest.approx(row, abs=1e-9), (kind, where)
    assert {kind for kind, _ in rows} <= judged


def test_at_the_limit_as_many_are_inside_as_the_guard_band_says() -> None:
    """Against scipy's normal distribution."""
    rng = np.random.default_rng(1)
    u, tolerance = 0.3, 1.5
    limit = float(guarded_mm(tolerance, u))
    true = limit + rng.normal(0, u, 100_000)
    share = np.mean(np.abs(true) <= tolerance)
    assert share == pytest.approx(norm.cdf(GUARD_U), abs=0.005)


@pytest.mark.parametrize(("u", "limit"), [(0.0, 1.5), (0.2, 1.2), (0.5, 0.75), (9.0, 0.75)])
def test_the_guard_band_takes_half_a_tolerance_at_most(u: float, limit: float) -> None:
    assert guarded_mm(1.5, u) == pytest.approx(limit)


def test_near_is_on_either_side_of_the_tolerance_and_either_way() -> None:
    values = np.array([0.0, 0.8, 1.0, 1.5, 1.9, 2.2, -1.0, -2.2])
    near = is_near(values, 0.3, 1.5)
    assert near.tolist() == [False, False, True, True, True, False, True, False]


def test_a_likely_value_is_known_as_well_as_its_parts() -> None:
    """Law of propagation by hand: u^2 = 1 * 0.09 + 1 * 0.16 - 2 * 0.05."""
    covariance = np.array([[0.09, 0.05], [0.05, 0.16]])
    hang = Hang(deviation_mm=np.array([1.0, 0.25]), covariance_mm2=covariance)
    value, u = likely_mm(hang, np.array([1.0, -1.0]))
    assert (float(value), float(u)) == pytest.approx((0.75, 0.15**0.5))
