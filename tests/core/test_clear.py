"""A hole made again: clear of every hole there is, on the graduation, and nothing better there."""

from __future__ import annotations

from collections.abc import Mapping
from math import dist

import numpy as np
import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize

from holdtrue.core.clear import OldHole, clear_place_mm, is_clear
from holdtrue.core.model import Job
from holdtrue.core.quality import Form
from holdtrue.core.recompute import best_deviation_mm, fixed_from_set
from tests.core.jobs import any_job, form_of, panel, row

Point = tuple[float, float]
SEEDS = st.integers(0, 10_000)
DROP = 4.0


def anywhere(hole: Point) -> bool:
    return True


def loss(form: Form, set_mm: Mapping[str, Point], seat: str, hole: Point) -> float:
    """The whole criterion with the seat's hole there and all else at its optimum."""
    held = {**set_mm, seat: (hole[0], hole[1] - DROP)}
    d = best_deviation_mm(form, fixed_from_set(form, held))
    return float(np.sum((form.scaled @ d) ** 2))


def new_hole(
    form: Form,
    set_mm: Mapping[str, Point],
    seat: str,
    holes: list[OldHole],
    graduation_mm: float = 1.0,
    fits: object = anywhere,
) -> Point:
    x, y = clear_place_mm(
        form,
        set_mm,
        seat,
        holes=holes,
        drop_mm=DROP,
        graduation_mm=graduation_mm,
        fits=fits,  # type: ignore[arg-type]
    )
    return (x, y + DROP)


class Case:
    """A job with one seat set off its plan, and another to be made again among old holes."""

    def __init__(self, job: Job, seed: int, count: int) -> None:
        self.form = form_of(job)[1]
        rng = np.random.default_rng(seed)
        n = len(self.form.seats)
        places = [
            (float(self.form.planned_mm[i]), float(self.form.planned_mm[n + i])) for i in range(n)
        ]
        self.seat, other = self.form.seats[0], self.form.seats[-1]
        self.set_mm = (
            {other: (places[-1][0] + rng.normal(), places[-1][1] + rng.normal())} if n > 1 else {}
        )
        x, y = places[0]
        self.holes = [
            OldHole(
                at_mm=(x + rng.normal(0, 8), y + DROP + rng.normal(0, 8)),
                apart_mm=float(rng.choice((6.0, 25.0))),
            )
            for _ in range(count)
        ]

    def loss(self, hole: Point) -> float:
        return loss(self.form, self.set_mm, self.seat, hole)


@settings(max_examples=60)
@given(any_job(most=3), SEEDS, st.integers(0, 5), st.sampled_from((1.0, 0.5, 1.5875, 5.0)))
def test_a_new_hole_keeps_off_all_others_and_stands_on_the_graduation(
    a_job: Job, seed: int, count: int, graduation: float
) -> None:
    case = Case(a_job, seed, count)
    hole = new_hole(case.form, case.set_mm, case.seat, case.holes, graduation)
    assert all(dist(hole, one.at_mm) >= one.apart_mm - 1e-6 for one in case.holes)
    for at in hole:
        assert at / graduation == pytest.approx(round(at / graduation), abs=1e-6)


@settings(max_examples=40)
@given(any_job(most=3), SEEDS, st.integers(1, 3))
def test_no_hole_on_the_graduation_costs_less(a_job: Job, seed: int, count: int) -> None:
    """Against every clear place within 40 mm, by the whole problem solved anew."""
    case = Case(a_job, seed, count)
    assume(case.set_mm)
    ours = new_hole(case.form, case.set_mm, case.seat, case.holes, 5.0)
    x, y = (round(at / 5.0) * 5.0 for at in case.holes[0].at_mm)
    around = [(x + 5.0 * i, y + 5.0 * j) for i in range(-8, 9) for j in range(-8, 9)]
    least = min(case.loss(hole) for hole in around if is_clear(hole, case.holes))
    # a tie counts in mm2 of the dearest direction
    dearest = np.linalg.norm(case.form.scaled, 2)
    assert case.loss(ours) <= least * (1 + 1e-6) + 2e-6 * dearest**2


@settings(max_examples=30)
@given(any_job(most=3), SEEDS, st.floats(2.0, 30.0))
def test_on_a_fine_graduation_it_is_the_best_place_on_the_circle(
    a_job: Job, seed: int, apart: float
) -> None:
    """Against scipy, started from many sides, on the whole problem."""
    case = Case(a_job, seed, 0)
    assume(case.set_mm)
    n, at = len(case.form.seats), case.form.seats.index(case.seat)
    best = case.form.planned_mm + best_deviation_mm(
        case.form, fixed_from_set(case.form, case.set_mm)
    )
    old = (float(best[at]) + 0.3 * apart, float(best[n + at]) + DROP - 0.2 * apart)
    holes = [OldHole(at_mm=old, apart_mm=apart)]
    ours = new_hole(case.form, case.set_mm, case.seat, holes, 0.25)
    assert dist(ours, old) >= apart - 1e-6

    def on_circle(turn: np.ndarray[tuple[int], np.dtype[np.float64]]) -> float:
        return case.loss((old[0] + apart * np.cos(turn[0]), old[1] + apart * np.sin(turn[0])))

    least = min(
        float(minimize(on_circle, np.array([start]), method="Nelder-Mead").fun)
        for start in np.linspace(0, 6, 7)
    )
    # the circle is left by two graduations at most, whatever that costs in the dearest direction
    dearest = np.linalg.norm(case.form.scaled[:, [at, n + at]], 2)
    assert case.loss(ours) ** 0.5 <= least**0.5 + 2 * 0.25 * dearest


def level_pair() -> tuple[Form, dict[str, Point], Point]:
    """Panel A with A1 set on its plan; A2, and where its hole would be."""
    form = form_of(row(panel("A"), panel("B")))[1]
    n = len(form.seats)
    set_mm = {"A1": (float(form.planned_mm[0]), float(form.planned_mm[n]))}
    return form, set_mm, (float(form.planned_mm[1]), float(form.planned_mm[n + 1]) + DROP)


def test_a_pilot_is_drilled_out_again_where_that_costs_less() -> None:
    form, set_mm, (x, y) = level_pair()
    pilot = OldHole(at_mm=(x, y + 1.0), apart_mm=6.0, is_usable=True)
    assert new_hole(form, set_mm, "A2", [pilot]) == pytest.approx((x, y + 1.0))
    # an opened hole is not
    opened = OldHole(at_mm=(x, y + 1.0), apart_mm=6.0)
    assert dist(new_hole(form, set_mm, "A2", [opened]), opened.at_mm) >= 6.0 - 1e-6


def test_a_pilot_too_near_another_hole_is_not_drilled_out() -> None:
    form, set_mm, (x, y) = level_pair()
    pilot = OldHole(at_mm=(x, y + 1.0), apart_mm=6.0, is_usable=True)
    opened = OldHole(at_mm=(x + 10.0, y), apart_mm=25.0)
    found = new_hole(form, set_mm, "A2", [pilot, opened])
    assert dist(found, opened.at_mm) >= 25.0 - 1e-6
    assert dist(found, pilot.at_mm) >= 6.0 - 1e-6


def test_a_hole_stays_where_its_fastener_finds_what_it_is_for() -> None:
    form, set_mm, (x, y) = level_pair()
    hole = OldHole(at_mm=(x, y), apart_mm=25.0)
    found = new_hole(form, set_mm, "A2", [hole], fits=lambda at: abs(at[0] - x) <= 0.5)
    assert abs(found[0] - x) <= 0.5
    assert abs(found[1] - y) == pytest.approx(25.0, abs=1.0)
    # where it fits nowhere, the distance still counts
    nowhere = new_hole(form, set_mm, "A2", [hole], fits=lambda at: False)
    assert dist(nowhere, (x, y)) >= 25.0 - 1e-6


@given(st.floats(-30, 30), st.floats(-30, 30), st.booleans())
@example(0.0, 0.0, True)
@example(0.0, 0.0, False)
@example(25.0, 0.0, False)
def test_a_hole_is_clear_at_its_distance_or_in_the_very_same_hole(
    x: float, y: float, is_usable: bool
) -> None:
    off = (x**2 + y**2) ** 0.5
    assume(abs(off - 25.0) > 1e-5 or off == 25.0)
    assume(off == 0 or off > 1e-5)
    one = OldHole(at_mm=(0.0, 0.0), apart_mm=25.0, is_usable=is_usable)
    assert is_clear((x, y), [one]) == (off >= 25.0 or (is_usable and off == 0))
