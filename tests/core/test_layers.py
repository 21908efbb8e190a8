"""Recompute in layers and by normal equations against singular values."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holdtrue.core.layers import least_squares_by_layers
from holdtrue.core.model import Job, Layout, Tolerance
from holdtrue.core.quality import Form, Vector
from holdtrue.core.recompute import best_deviation_mm
from tests.core.jobs import any_job, form_of, job, panel, row

AGREE_MM = 1e-9
SEEDS = st.integers(0, 10_000)


def by_singular_values(form: Form, fixed: dict[int, float]) -> Vector:
    """The method's definition, as written in engine terms: least squares of least norm."""
    whole = np.zeros(form.planned_mm.size)
    free = [at for at in range(whole.size) if at not in fixed]
    for at, value in fixed.items():
        whole[at] = value
    if free:
        target = -form.scaled @ whole
        whole[free] = np.linalg.lstsq(form.scaled[:, free], target, rcond=None)[0]
    return whole


def by_layers(form: Form, fixed: dict[int, float]) -> Vector:
    held = np.zeros(form.planned_mm.size)
    is_free = np.ones(held.size, dtype=bool)
    for at, value in fixed.items():
        held[at], is_free[at] = value, False
    return least_squares_by_layers(form, held, is_free)


def some_set(form: Form, seed: int) -> dict[int, float]:
    rng = np.random.default_rng(seed)
    n = len(form.seats)
    chosen = rng.permutation(n)[: rng.integers(1, n + 1)]
    return {int(at): float(rng.normal(0, 2)) for i in chosen for at in (i, n + i)}


@settings(max_examples=150)
@given(any_job(most=8), SEEDS)
def test_both_ways_agree_with_singular_values(a_job: Job, seed: int) -> None:
    form = form_of(a_job)[1]
    fixed = some_set(form, seed)
    wanted = by_singular_values(form, fixed)
    assert by_layers(form, fixed) == pytest.approx(wanted, abs=AGREE_MM)
    assert best_deviation_mm(form, fixed) == pytest.approx(wanted, abs=AGREE_MM)


@pytest.mark.parametrize("panels", [31, 64, 100])
def test_a_long_row_agrees(panels: int) -> None:
    form = form_of(row(*(panel(f"P{k}") for k in range(panels))))[1]
    for fixed in (some_set(form, 1), {0: 1.5, len(form.seats): -2.0}):
        wanted = by_singular_values(form, fixed)
        assert best_deviation_mm(form, fixed) == pytest.approx(wanted, abs=AGREE_MM)


def test_a_large_grid_agrees() -> None:
    panels = [panel(f"P{k}") for k in range(42)]
    rows = tuple(tuple(range(7 * r, 7 * r + 7)) for r in range(6))
    layout = Layout(kind="grid", rows=rows, gap_x_mm=50, gap_y_mm=60, height_at_mm=1500)
    form = form_of(job(*panels, layout=layout))[1]
    fixed = some_set(form, 3)
    assert best_deviation_mm(form, fixed) == pytest.approx(
        by_singular_values(form, fixed), abs=AGREE_MM
    )


def test_groups_with_nothing_set_stay_as_planned() -> None:
    centres = tuple((900.0 * k, 1500.0) for k in range(40))
    panels = [panel(f"P{k}") for k in range(40)]
    form = form_of(job(*panels, layout=Layout(kind="free", centres_mm=centres)))[1]
    best = best_deviation_mm(form, {0: 2.0, 80: 1.0})
    assert np.flatnonzero(best).tolist() == [0, 1, 80, 81]


def test_where_only_a_height_is_held_it_is_solved_another_way() -> None:
    form = form_of(row(*(panel(f"P{k}") for k in range(40))))[1]
    with pytest.raises(np.linalg.LinAlgError, match="only dx or only dy"):
        by_layers(form, {85: 2.0})
    assert best_deviation_mm(form, {85: 2.0}) == pytest.approx(
        by_singular_values(form, {85: 2.0}), abs=AGREE_MM
    )


@pytest.mark.parametrize("count", [3, 40])
def test_tolerances_far_apart_are_solved_too(count: int) -> None:
    tolerance = Tolerance(level=1e-3, slack=1e3, gap=1e-3, step=1e3, centre=1e3)
    layout = Layout(kind="row", gaps_mm=(50.0,) * (count - 1), height_at_mm=1500.0)
    form = form_of(
        job(*(panel(f"P{k}") for k in range(count)), layout=layout, tolerance=tolerance)
    )[1]
    fixed = some_set(form, 5)
    ours, wanted = best_deviation_mm(form, fixed), by_singular_values(form, fixed)
    loss = [float(np.sum((form.scaled @ d) ** 2)) for d in (ours, wanted)]
    assert loss[0] <= loss[1] * (1 + 1e-9)
