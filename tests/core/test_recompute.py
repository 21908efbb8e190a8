"""Recompute against other ways to the same optimum, and against what an optimum must be."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.linalg import null_space
from scipy.optimize import lsq_linear, minimize

from holdtrue.core.model import Job, Layout
from holdtrue.core.quality import Form, Vector, residuals_mm
from holdtrue.core.recompute import (
    best_deviation_mm,
    fixed_from_set,
    places_mm,
    recompute_mm,
)
from tests.core.jobs import any_job, deviations, form_of, job, panel, row, some_seats

SEEDS = st.integers(0, 2**32)
AGREE_MM = 1e-5


def solved(a_job: Job, seed: int) -> tuple[Form, dict[int, float], Vector]:
    form = form_of(a_job)[1]
    fixed = fixed_from_set(form, some_seats(form, seed, 2.0))
    return form, fixed, best_deviation_mm(form, fixed)


def free_of(form: Form, fixed: dict[int, float]) -> list[int]:
    return [i for i in range(form.planned_mm.size) if i not in fixed]


# ---- two more routes to the optimum


def by_normal_equations(form: Form, fixed: dict[int, float]) -> Vector:
    """Stationarity with multipliers for the fixed ones: one square system, least-norm solution."""
    size, held = form.planned_mm.size, sorted(fixed)
    hessian = form.scaled.T @ form.scaled
    pick = np.zeros((len(held), size))
    pick[range(len(held)), held] = 1.0
    system = np.block([[hessian, pick.T], [pick, np.zeros((len(held), len(held)))]])
    right = np.concatenate([np.zeros(size), [fixed[i] for i in held]])
    return np.asarray(np.linalg.lstsq(system, right, rcond=1e-12)[0][:size])


@settings(max_examples=60)
@given(any_job(), SEEDS)
def test_the_same_residuals_by_the_normal_equations(a_job: Job, seed: int) -> None:
    form, fixed, best = solved(a_job, seed)
    other = by_normal_equations(form, fixed)
    assert residuals_mm(form, best) == pytest.approx(residuals_mm(form, other), abs=1e-4)


@settings(max_examples=40)
@given(any_job(most=3), SEEDS)
def test_the_same_criterion_by_a_bounded_solver(a_job: Job, seed: int) -> None:
    """A trust-region solver with bounds a metre away, on the free seats alone."""
    form, fixed, best = solved(a_job, seed)
    free, held = free_of(form, fixed), sorted(fixed)
    if not free:
        return
    target = -form.scaled[:, held] @ np.array([fixed[i] for i in held])
    other = lsq_linear(form.scaled[:, free], target, bounds=(-1000, 1000), tol=1e-14)
    assert np.sum((form.scaled @ best) ** 2) == pytest.approx(2 * other.cost, rel=1e-6, abs=1e-9)


def test_the_same_places_by_a_general_minimiser() -> None:
    a_job = row(panel("A"), panel("B", seats=[(-180.0, 200.0), (0.0, 210.0), (150.0, 205.0)]))
    form = form_of(a_job)[1]
    fixed = {0: 1.2, 5: -2.0, 6: 0.7}
    free, held = free_of(form, fixed), sorted(fixed)

    def whole(values: Vector) -> Vector:
        d = np.zeros(form.planned_mm.size)
        d[held], d[free] = [fixed[i] for i in held], values
        return d

    def criterion(values: Vector) -> float:
        return float(np.sum((form.scaled @ whole(values)) ** 2))

    found = minimize(criterion, np.zeros(len(free)), method="BFGS", options={"gtol": 1e-10})
    best = best_deviation_mm(form, fixed)
    assert criterion(best[free]) <= criterion(found.x) + 1e-12
    assert residuals_mm(form, best) == pytest.approx(residuals_mm(form, whole(found.x)), abs=1e-4)


# ---- what an optimum must be


@settings(max_examples=60)
@given(any_job(), SEEDS)
def test_the_residuals_are_orthogonal_to_everything_still_free(a_job: Job, seed: int) -> None:
    form, fixed, best = solved(a_job, seed)
    scaled = form.scaled
    slope = scaled[:, free_of(form, fixed)].T @ (scaled @ best)
    scale = np.linalg.norm(scaled, 2) * (1.0 + np.linalg.norm(scaled @ best))
    assert np.max(np.abs(slope), initial=0.0) <= 1e-9 * scale


@settings(max_examples=60)
@given(any_job(), SEEDS, st.floats(1e-3, 10))
def test_no_other_place_of_the_free_seats_is_better(a_job: Job, seed: int, by: float) -> None:
    form, fixed, best = solved(a_job, seed)
    moved = best + deviations(form, seed + 1, by)
    for index, value in fixed.items():
        moved[index] = value
    least = np.sum((form.scaled @ best) ** 2)
    assert least <= np.sum((form.scaled @ moved) ** 2) * (1 + 1e-9) + 1e-12


@settings(max_examples=60)
@given(any_job(), SEEDS)
def test_what_the_residuals_leave_open_stays_as_near_to_plan_as_it_can(
    a_job: Job, seed: int
) -> None:
    """Minimum norm: the free part has nothing along directions that change no residual."""
    form, fixed, best = solved(a_job, seed)
    free = free_of(form, fixed)
    if free:
        idle = null_space(form.scaled[:, free], rcond=1e-10)
        assert np.max(np.abs(idle.T @ best[free]), initial=0.0) <= AGREE_MM


def test_with_two_seats_to_choose_from_the_way_is_shared() -> None:
    # A lone panel whose two hangers stand at one height: centre is the mean of both dx, slack their
    # difference. Bearing heights: only level and height, so all four are determined here ...
    form = form_of(row(panel("A")))[1]
    assert null_space(form.scaled).shape[1] == 0
    # ... but with three hangers the middle one shares the slack of both sides
    three = form_of(row(panel("A", seats=[(-100.0, 0.0), (0.0, 0.0), (100.0, 0.0)])))[1]
    best = best_deviation_mm(three, {0: 1.0, 2: -1.0})
    assert best[1] == pytest.approx(0.0, abs=1e-12)


# ---- limits


@given(any_job())
def test_nothing_set_leaves_the_plan(a_job: Job) -> None:
    arrangement, form = form_of(a_job)
    assert recompute_mm(form, {}) == dict(
        zip(arrangement.seat_names, arrangement.seats_mm, strict=True)
    )


@given(any_job(), SEEDS)
def test_everything_set_stays_as_measured(a_job: Job, seed: int) -> None:
    form = form_of(a_job)[1]
    places = places_mm(form, deviations(form, seed, 3.0))
    for name, place in recompute_mm(form, places).items():
        assert place == pytest.approx(places[name], abs=1e-9)


@settings(max_examples=40)
@given(any_job(), SEEDS)
def test_set_seats_stay_and_every_seat_has_a_place(a_job: Job, seed: int) -> None:
    form = form_of(a_job)[1]
    set_mm = some_seats(form, seed, 2.0)
    places = recompute_mm(form, set_mm)
    assert tuple(places) == form.seats
    for name, place in set_mm.items():
        assert places[name] == pytest.approx(place, abs=1e-9)


@settings(max_examples=40)
@given(any_job(), SEEDS)
def test_a_seat_set_where_the_optimum_is_changes_nothing(a_job: Job, seed: int) -> None:
    """Principle of optimality: the rest of an optimal plan is optimal for what is left.

    Only where it is unique: what no residual sees is shared out by the least norm, and fixing a
    part of it shares the rest anew.
    """
    form = form_of(a_job)[1]
    set_mm = some_seats(form, seed, 2.0)
    places = recompute_mm(form, set_mm)
    unset = [name for name in form.seats if name not in set_mm]
    if not unset:
        return
    again = recompute_mm(form, {**set_mm, unset[0]: places[unset[0]]})
    before, after = (
        residuals_mm(form, best_deviation_mm(form, fixed_from_set(form, some)))
        for some in (set_mm, {**set_mm, unset[0]: again[unset[0]]})
    )
    assert after == pytest.approx(before, abs=1e-4)


@given(SEEDS, st.floats(-4, 4))
def test_the_optimum_is_linear_in_what_is_set(seed: int, factor: float) -> None:
    form = form_of(row(panel("A"), panel("B")))[1]
    fixed = fixed_from_set(form, some_seats(form, seed, 2.0))
    once = best_deviation_mm(form, fixed)
    scaled = best_deviation_mm(form, {i: factor * value for i, value in fixed.items()})
    assert scaled == pytest.approx(factor * once, abs=1e-6)


def test_free_panels_do_not_feel_each_other() -> None:
    layout = Layout(kind="free", centres_mm=((0.0, 1500.0), (900.0, 1500.0)))
    form = form_of(job(panel("A"), panel("B"), layout=layout))[1]
    best = best_deviation_mm(form, {0: 2.0, 4: -3.0})
    assert best[[2, 3, 6, 7]] == pytest.approx(np.zeros(4), abs=1e-12)


def test_a_tighter_tolerance_pulls_its_residual_down() -> None:
    loose = row(panel("A"), panel("B"))
    tight = replace(loose, tolerance=replace(loose.tolerance, step=0.1))
    sizes = []
    for a_job in (loose, tight):
        form = form_of(a_job)[1]
        values = residuals_mm(form, best_deviation_mm(form, {4: 3.0, 5: 1.0, 6: 2.0}))
        sizes.append(abs(values[form.kinds.index("step")]))
    assert sizes[1] < sizes[0]


def test_a_seat_the_job_does_not_have_is_refused() -> None:
    with pytest.raises(KeyError, match="Z9"):
        recompute_mm(form_of(row(panel("A")))[1], {"Z9": (0.0, 0.0)})
