"""Shims before the lift: against going through everything, and what they never do."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holdtrue.core.choices import played, trimmed_chance
from holdtrue.core.criteria import all_criteria
from holdtrue.core.forecast import Errors, forecast
from holdtrue.core.geometry import arrange
from holdtrue.core.model import Job
from holdtrue.core.plan import make_plan
from holdtrue.core.quality import Form, Vector
from holdtrue.core.shims import ShimsToLay, lay_shims
from holdtrue.domain.standing import standing_of_plan
from tests.core.jobs import panel, row

STEP, MOST = 0.5, 4.0
SEEDS = st.integers(0, 10_000)


def two_panels() -> Job:
    return row(panel("A"), panel("B"))


def goal_of(job: Job) -> Form:
    return all_criteria(job, arrange(job))


def heights_only(goal: Form) -> Vector:
    """Criteria over dy alone, in tolerances."""
    n = len(goal.seats)
    return np.asarray(goal.scaled[~np.any(goal.matrix[:, :n] != 0, axis=1)][:, n:])


def laid(
    goal: Form, off: Vector, unset: list[int], rings: dict[int, list[int]], planned: float = 2.0
) -> Vector:
    now = np.full(len(goal.seats), planned)
    return lay_shims(goal, off, unset=unset, rings=rings, shims_mm=now, step_mm=STEP, most_mm=MOST)


@settings(max_examples=40)
@given(SEEDS)
def test_one_panels_rings_are_the_best_of_all_there_are(seed: int) -> None:
    goal = goal_of(two_panels())
    off = np.random.default_rng(seed).normal(0.0, 1.5, 8)
    found = laid(goal, off, [], {0: [0, 1]})

    rows = heights_only(goal)
    steps = np.arange(0.0, MOST + STEP / 2, STEP)
    costs = {
        pair: float(np.sum((rows @ (off[4:] + np.array([pair[0] - 2, pair[1] - 2, 0, 0]))) ** 2))
        for pair in product(steps, repeat=2)
    }
    assert costs[float(found[0]), float(found[1])] == pytest.approx(min(costs.values()), abs=1e-4)
    assert found[2:].tolist() == [2.0, 2.0]


@settings(max_examples=40)
@given(SEEDS)
def test_seats_that_come_later_count_at_their_best(seed: int) -> None:
    """What a later panel can follow is no reason for a shim; being out of level is."""
    goal = goal_of(two_panels())
    off = np.random.default_rng(seed).normal(0.0, 1.0, 8)
    off[[4, 5]] = off[4]
    # both seats as high: level as planned, and the other panel comes up to it
    assert np.ptp(laid(goal, off, [2, 3], {0: [0, 1]})[:2]) == 0.0
    off[5] += 1.0
    left, right = laid(goal, off, [2, 3], {0: [0, 1]})[:2]
    assert left - right == 1.0


@settings(max_examples=40)
@given(SEEDS)
def test_laying_makes_nothing_worse_and_keeps_to_whole_shims(seed: int) -> None:
    goal = goal_of(two_panels())
    off = np.random.default_rng(seed).normal(0.0, 3.0, 8)
    found = laid(goal, off, [], {0: [0, 1], 1: [2, 3]})
    rows = heights_only(goal)
    before, after = (float(np.sum((rows @ up) ** 2)) for up in (off[4:], off[4:] + found - 2.0))
    assert after <= before + 1e-4
    assert np.allclose(found / STEP, np.round(found / STEP))
    assert np.all((found >= 0.0) & (found <= MOST))


def test_what_lies_as_planned_is_laid_as_planned() -> None:
    goal = goal_of(two_panels())
    assert laid(goal, np.zeros(8), [], {0: [0, 1], 1: [2, 3]}).tolist() == [2.0] * 4


def test_many_installs_are_laid_as_each_by_itself() -> None:
    goal = goal_of(two_panels())
    off = np.random.default_rng(4).normal(0.0, 2.0, (6, 8))
    rings = {0: [0, 1], 1: [2, 3]}
    together = lay_shims(
        goal, off, unset=[], rings=rings, shims_mm=np.full((6, 4), 2.0), step_mm=STEP, most_mm=MOST
    )
    for one, alone in zip(together, off, strict=True):
        assert one.tolist() == laid(goal, alone, [], rings).tolist()


def test_a_long_rail_of_rings_is_gone_through_three_by_three() -> None:
    wide = panel("A", 1200, 700, [(u, 250) for u in (-500, -300, -100, 100, 300, 500)])
    goal = goal_of(row(wide))
    off = np.zeros(12)
    off[8] = 1.5
    found = laid(goal, off, [], {0: list(range(6))})
    assert found[2] < 2.0
    rows = heights_only(goal)
    assert np.abs(rows @ (off[6:] + found - 2.0)).max() <= 1.0


# ---- shims in the forecast


def errors_of(job: Job, shims: ShimsToLay | None) -> Errors:
    seats = arrange(job).seat_names
    each = dict.fromkeys(seats, (1.0, 1.0))
    return Errors(placing=each, reading=dict.fromkeys(seats, (0.2, 0.2)), shims=shims)


def to_lay() -> ShimsToLay:
    return ShimsToLay(
        rings={0: [0, 1], 1: [2, 3]},
        planned_mm=np.full(4, 2.0),
        step_mm=STEP,
        most_mm=MOST,
        u_mm=0.1,
    )


def test_the_forecast_with_shims_is_what_a_monte_carlo_ends_like() -> None:
    """Seats driven at random on their marks, read, shimmed by what was read."""
    job = two_panels()
    goal = goal_of(job)
    plan = make_plan(job)
    stands = standing_of_plan(plan)
    plain, with_shims = (
        forecast(goal, played(replace(stands, errors=errors_of(job, shims)))).chance
        for shims in (None, to_lay())
    )
    assert 0.05 < plain < with_shims < 0.99
    assert with_shims == pytest.approx(_played(stands.form, goal, stands.order), abs=0.02)


def _played(form: Form, goal: Form, order: Sequence[str]) -> float:
    rng = np.random.default_rng(8)
    installs, n = 8_000, len(form.seats)
    true, known = np.zeros((installs, 2 * n)), np.zeros((installs, 2 * n))
    ridge = 1e-9 * np.eye(2 * n)
    weight = form.scaled.T @ form.scaled + ridge
    left = [form.seats.index(name) for name in order]
    while left:
        seat = left[0]
        free = [c for i in left for c in (i, n + i)]
        fixed = [c for c in range(2 * n) if c not in free]
        best = -np.linalg.solve(weight[np.ix_(free, free)], weight[np.ix_(free, fixed)])
        aim = known[:, fixed] @ best.T
        for column, at in zip((seat, n + seat), aim[:, :2].T, strict=True):
            true[:, column] = at + rng.normal(0.0, 1.0, installs)
            known[:, column] = true[:, column] + rng.normal(0.0, 0.2, installs)
        left.pop(0)
    raised = to_lay().raised_mm(goal, known)
    true[:, n:] += raised + rng.normal(0.0, 0.1, (installs, n))
    return float(np.all(np.abs(true @ goal.matrix.T) <= goal.tolerance_mm, axis=1).mean())


def test_trimmed_after_shims_is_no_worse_than_untrimmed() -> None:
    stands = standing_of_plan(make_plan(two_panels()))
    with_shims, without = (
        replace(stands, errors=errors_of(two_panels(), shims)) for shims in (to_lay(), None)
    )
    assert trimmed_chance(with_shims, played(with_shims)) > trimmed_chance(without, played(without))
