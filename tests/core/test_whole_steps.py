"""Steps of any size against linear programming, whole ones against going through all of them."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from holdtrue.core import whole_steps
from holdtrue.core.nearest import nearest_steps
from holdtrue.core.quality import Vector
from holdtrue.core.whole_steps import WholeSteps

SEEDS = st.integers(0, 100_000)


@dataclass(frozen=True)
class Case:
    now: Vector
    effect: Vector
    low: Vector
    high: Vector


def a_case(seed: int) -> Case:
    rng = np.random.default_rng(seed)
    rows, count = int(rng.integers(1, 7)), int(rng.integers(1, 5))
    return Case(
        now=rng.normal(0, 2, rows),
        effect=rng.normal(0, 1, (rows, count)) * (rng.random((rows, count)) < 0.7),
        low=-rng.integers(0, 4, count).astype(float),
        high=rng.integers(0, 4, count).astype(float),
    )


def least_worst(case: Case) -> float:
    """The least largest criterion steps of any size come to, by linear programming."""
    rows, count = case.effect.shape
    ones = -np.ones((rows, 1))
    found = linprog(
        np.array([0.0] * count + [1.0]),
        A_ub=np.vstack([np.hstack([case.effect, ones]), np.hstack([-case.effect, ones])]),
        b_ub=np.concatenate([-case.now, case.now]),
        bounds=[*zip(case.low, case.high, strict=True), (0.0, None)],
    )
    assert found.fun is not None
    return float(found.fun)


@settings(max_examples=300)
@given(SEEDS)
def test_steps_of_any_size_come_inside_where_linear_programming_says_so(seed: int) -> None:
    case = a_case(seed)
    worst = least_worst(case)
    x, weights = nearest_steps(case.now, case.effect, limit=1.0, lowest=case.low, highest=case.high)
    assert np.all((x >= case.low) & (x <= case.high))
    if worst < 1.0 - 1e-6:
        assert weights is None
        assert np.all(np.abs(case.now + case.effect @ x) <= 1.0 + 1e-9)
    elif worst > 1.0 + 1e-6:
        assert weights is not None


@settings(max_examples=300)
@given(SEEDS)
def test_what_bars_them_is_a_sum_of_criteria_outside_whatever_is_done(seed: int) -> None:
    case = a_case(seed)
    _, weights = nearest_steps(case.now, case.effect, limit=1.0, lowest=case.low, highest=case.high)
    if weights is None or least_worst(case) <= 1.0 + 1e-6:
        return
    assert np.sum(np.abs(weights)) == pytest.approx(1.0)
    row = weights @ case.effect
    assert weights @ case.now + np.minimum(row * case.low, row * case.high).sum() > 1.0


@settings(max_examples=300)
@given(SEEDS, st.booleans())
def test_whole_steps_are_found_where_there_are_some_and_the_least_of_them(
    seed: int, is_least: bool
) -> None:
    case = a_case(seed)
    cost = np.random.default_rng(seed).uniform(0.3, 1.0, len(case.low)) if is_least else None
    ranges = [range(int(a), int(b) + 1) for a, b in zip(case.low, case.high, strict=True)]
    there_are = [
        np.array(steps)
        for steps in product(*ranges)
        if np.all(np.abs(case.now + case.effect @ steps) <= 1.0)
    ]
    work = WholeSteps(case.now, case.effect, 1.0, 10_000, cost=cost)
    found = work.find(case.low, case.high)
    assert work.is_sure
    if found is None:
        assert not there_are
        return
    assert np.all(np.abs(case.now + case.effect @ found) <= 1.0 + 1e-9)
    assert np.all((found >= case.low) & (found <= case.high))
    if cost is not None:
        least = min(float(cost @ np.abs(steps)) for steps in there_are)
        assert cost @ np.abs(found) == pytest.approx(least)


def test_it_says_when_it_had_to_stop_early() -> None:
    case = next(
        one
        for one in map(a_case, range(10_000))
        if WholeSteps(one.now, one.effect, 1.0, 1).find(one.low, one.high) is None
        and WholeSteps(one.now, one.effect, 1.0, 999).find(one.low, one.high) is not None
    )
    hurried = WholeSteps(case.now, case.effect, 1.0, 1)
    assert hurried.find(case.low, case.high) is None
    assert not hurried.is_sure


def test_nothing_cheaper_than_asked_for_is_none() -> None:
    work = WholeSteps(np.array([2.0]), np.array([[-0.5]]), 1.0, 99, cost=np.array([1.0]), below=2.0)
    assert work.find(np.array([0.0]), np.array([9.0])) is None
    assert work.is_sure


@settings(max_examples=50)
@given(SEEDS)
def test_a_bad_guess_of_the_nearest_steps_costs_time_only(seed: int) -> None:
    case = a_case(seed)

    def nowhere(now: Vector, effect: Vector, **given: Vector) -> tuple[Vector, Vector]:
        return given["lowest"], np.zeros(len(now))

    wanted = WholeSteps(case.now, case.effect, 1.0, 10_000).find(case.low, case.high)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(whole_steps, "nearest_steps", nowhere)
        found = WholeSteps(case.now, case.effect, 1.0, 10_000).find(case.low, case.high)
    assert (found is None) == (wanted is None)
