"""Choices after a deviation: each does what it says; its chance is that of the changed problem."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import replace
from math import dist, sqrt
from pathlib import Path

import numpy as np
import pytest
from hypothesis import strategies as st
from scipy.optimize import brentq
from scipy.stats import chi2, norm

from holdtrue.core.bias import DropReading, learned_biases
from holdtrue.core.choices import (
    Choice,
    Standing,
    carry_on,
    correct_fastener,
    move_hanger,
    played,
    trim_later,
    trimmed_chance,
    true_first,
)
from holdtrue.core.clear import OldHole
from holdtrue.core.criteria import all_criteria
from holdtrue.core.errors import CoreError
from holdtrue.core.forecast import Errors, forecast
from holdtrue.core.model import Fastener, Job
from holdtrue.core.order import driving_order
from holdtrue.core.plan import make_plan
from holdtrue.core.quality import quadratic_form
from holdtrue.core.recompute import best_deviation_mm, fixed_from_set, recompute_mm
from holdtrue.core.story_stick import offered_panels, panels_for_sticks, stick_gains
from holdtrue.core.trim_kit import Kit
from holdtrue.domain.jobfile import parse_job
from tests.core.jobs import form_of, panel, row

REFERENCE = Path(__file__).parents[1] / "reference"
SEEDS = st.integers(0, 10_000)
Point = tuple[float, float]


def tidewrack() -> Job:
    return parse_job(json.loads((REFERENCE / "tidewrack.job.json").read_text()))


def standing(
    job: Job, off_mm: Mapping[str, Point], *, placing: float = 0.3, reading: float = 0.15
) -> Standing:
    """A job with some seats set off their plan."""
    plan = make_plan(job)
    form = quadratic_form(job, plan.arrangement)
    planned = dict(zip(form.seats, plan.arrangement.seats_mm, strict=True))
    return Standing(
        job=job,
        arrangement=plan.arrangement,
        goal=all_criteria(job, plan.arrangement),
        form=form,
        order=driving_order(plan),
        set_mm={s: (planned[s][0] + x, planned[s][1] + y) for s, (x, y) in off_mm.items()},
        set_covariance_mm2=np.eye(2 * len(off_mm)) * reading**2,
        errors=Errors(
            placing=dict.fromkeys(form.seats, (placing, placing)),
            reading=dict.fromkeys(form.seats, (reading, reading)),
        ),
        kit=Kit(at_mm={("shim", seat): 2.0 for seat in form.seats}),
    )


CROOKED = {"C1": (0.0, 0.0), "C2": (0.0, 2.5)}


def test_carrying_on_is_the_recompute() -> None:
    at = standing(tidewrack(), CROOKED)
    choice = carry_on(at)
    places = recompute_mm(at.form, at.set_mm)
    assert choice.marks_mm == {s: places[s] for s in at.order if s not in at.set_mm}
    d = best_deviation_mm(at.form, fixed_from_set(at.form, at.set_mm))
    values = np.abs(at.goal.matrix @ d)
    assert choice.worst_share == pytest.approx(float(np.max(values / at.goal.tolerance_mm)))
    assert choice.finish_mm["level"] == pytest.approx(
        max(v for k, v in zip(at.goal.kinds, values, strict=True) if k == "level")
    )
    assert choice.worst_label == "taper B|C"
    assert choice.chance == forecast(at.goal, played(at)).chance


def test_a_crooked_panel_trued_first_makes_everything_better() -> None:
    at = standing(tidewrack(), CROOKED)
    carried, trued = carry_on(at), true_first(at, 2)
    assert trued is not None
    assert trued.worst_share < 1.0 < carried.worst_share
    assert trued.chance > carried.chance + 0.1
    assert {touch.panel for touch in trued.touches} == {2}
    assert all(touch.kind == "shim" for touch in trued.touches)


@pytest.mark.parametrize("off", [{"C1": (0.0, 0.0)}, {"C1": (0.0, 0.0), "C2": (0.0, 0.3)}])
def test_only_a_set_panel_that_is_off_is_trued(off: dict[str, Point]) -> None:
    assert true_first(standing(tidewrack(), off), 2) is None


def test_a_panel_nothing_can_raise_is_not_trued() -> None:
    at = standing(tidewrack(), CROOKED)
    assert true_first(replace(at, kit=Kit(shim_mm=0.0)), 2) is None


def test_trimming_later_finishes_inside_and_raises_the_chance() -> None:
    at = standing(tidewrack(), CROOKED)
    later, carried = trim_later(at), carry_on(at)
    assert later.worst_share <= 1.0 + 1e-9
    assert later.touches
    assert later.chance > carried.chance + 0.2
    assert later.marks_mm == carried.marks_mm
    assert trimmed_chance(at, played(at)) == later.chance


def test_trimming_later_cannot_mend_what_nothing_moves() -> None:
    at = standing(tidewrack(), {"C1": (0.0, 0.0), "C2": (6.0, 0.0)})
    assert trim_later(at).chance < 0.01
    assert trim_later(at).worst_label == "slack C1-C2"


def test_trimming_later_without_means_is_no_better_than_carrying_on() -> None:
    at = standing(tidewrack(), CROOKED, placing=0.1)
    none = replace(at, kit=Kit(shim_mm=0.0, slide_mm=0.0))
    assert trim_later(none).touches == ()
    assert trim_later(none).worst_share == carry_on(none).worst_share
    assert trim_later(none).chance <= 0.05


def test_a_hanger_is_moved_by_what_its_seat_is_off() -> None:
    job = row(panel("A"), panel("B"))
    at = standing(job, {"A1": (0.0, 0.0), "A2": (2.0, -3.0)})
    choice = move_hanger(at, "A2")
    assert choice.hanger_move_mm == pytest.approx((2.0, -3.0), abs=1e-6)
    assert choice.worst_share == pytest.approx(0.0, abs=1e-6)
    assert choice.chance > carry_on(at).chance
    assert set(choice.marks_mm) == {"B1", "B2"}


def test_a_hanger_moved_badly_helps_less() -> None:
    at = standing(tidewrack(), CROOKED)
    assert move_hanger(at, "C2", u_mm=0.1).chance > move_hanger(at, "C2", u_mm=2.0).chance


def test_only_a_set_seats_hanger_is_moved() -> None:
    with pytest.raises(KeyError, match="A1"):
        move_hanger(standing(tidewrack(), CROOKED), "A1")


# ---- a hole made again

HOOK = Fastener(name="hook", into="hollow", drop_mm=6.0)
LONG = Fastener(name="long hook", into="hollow", drop_mm=40.0)
PLACING = {"hook": 0.3, "long hook": 0.3}


def anywhere(hole: Point) -> bool:
    return True


def corrected(at: Standing, fasteners: tuple[Fastener, ...], *holes: OldHole) -> Choice:
    choice = correct_fastener(
        at, "C2", holes=holes, fasteners=fasteners, placing_u_mm=PLACING, fits=anywhere
    )
    assert choice is not None
    return choice


def old_hole(at: Standing, apart_mm: float = 25.0) -> OldHole:
    x, y = at.set_mm["C2"]
    return OldHole(at_mm=(x, y + 6.0), apart_mm=apart_mm)


def test_a_fastener_of_another_drop_puts_the_seat_right() -> None:
    at = standing(tidewrack(), CROOKED)
    choice = corrected(at, (HOOK, LONG), old_hole(at))
    assert choice.fastener == "long hook"
    assert choice.hole_mm is not None
    assert choice.hole_mm[1] - choice.marks_mm["C2"][1] == pytest.approx(40.0)
    # to within the tape's sixteenths
    assert choice.worst_share < carry_on(at).worst_share
    assert choice.chance > carry_on(at).chance


def test_the_same_kind_of_fastener_keeps_its_distance_at_a_price() -> None:
    at = standing(tidewrack(), CROOKED)
    x, y = at.set_mm["C2"]
    choice = corrected(at, (HOOK,), old_hole(at))
    assert choice.hole_mm is not None
    assert 25.0 <= dist(choice.hole_mm, (x, y + 6.0)) <= 25.0 + at.job.graduation_mm
    near = corrected(at, (HOOK,))
    assert near.hole_mm is not None
    # no hole to keep off: back to where the plan wants it, to the nearest sixteenth
    assert dist(near.hole_mm, (x, y + 3.5)) <= at.job.graduation_mm
    assert near.chance > choice.chance


def test_a_second_correction_keeps_off_the_first_hole_too() -> None:
    at = standing(tidewrack(), CROOKED)
    first = old_hole(at)
    again = corrected(at, (HOOK,), first)
    assert again.hole_mm is not None
    third = corrected(at, (HOOK,), first, OldHole(at_mm=again.hole_mm, apart_mm=25.0))
    assert third.hole_mm is not None
    assert dist(third.hole_mm, first.at_mm) >= 25.0 - 1e-6
    assert dist(third.hole_mm, again.hole_mm) >= 25.0 - 1e-6
    assert third.worst_share >= again.worst_share - 1e-9


def test_no_fastener_no_correction() -> None:
    at = standing(tidewrack(), CROOKED)
    choice = correct_fastener(at, "C2", holes=(), fasteners=(), placing_u_mm=PLACING, fits=anywhere)
    assert choice is None


def test_a_blocked_seat_that_is_not_set_can_be_corrected_too() -> None:
    at = standing(tidewrack(), {"C1": (0.0, 0.0)})
    i = at.form.seats.index("C2")
    x, y = (float(at.form.planned_mm[i + k]) for k in (0, len(at.form.seats)))
    choice = corrected(at, (LONG,), OldHole(at_mm=(x, y + 6.0), apart_mm=6.0))
    assert dist(choice.marks_mm["C2"], (x, y)) <= at.job.graduation_mm


# ---- story sticks


def sticks(at: Standing, stick_u_mm: float) -> dict[int, float]:
    gains = stick_gains(
        at.goal,
        at.form,
        order=at.order,
        set_mm=at.set_mm,
        set_covariance_mm2=at.set_covariance_mm2,
        marks_mm=carry_on(at).marks_mm,
        errors=at.errors,
        stick_u_mm=stick_u_mm,
    )
    assert offered_panels(gains) == {
        g.panel for g in gains if g.chance_with - g.chance_without > 0.002
    }
    return {gain.panel: gain.gain for gain in gains}


def test_a_good_stick_is_offered_and_a_bad_one_is_not() -> None:
    at = standing(tidewrack(), {"C1": (0.0, 0.0)}, placing=0.6)
    good = sticks(at, 0.1)
    # C has one seat left: nothing to carry over
    assert set(good) == {0, 1, 3}
    assert all(gain > 0.01 for gain in good.values())
    assert all(gain <= 0 for gain in sticks(at, 3.0).values())


def test_where_hardly_anything_ends_inside_no_stick_is_weighed() -> None:
    """No panel can gain more than the chance there is; each would cost a forecast of its own."""
    at = standing(tidewrack(), {}, placing=30.0)
    assert sticks(at, 0.1) == {}


def test_panels_on_one_hanger_have_no_use_for_a_stick() -> None:
    form = form_of(row(panel("A", seats=[(0, 200)]), panel("B")))[1]
    assert panels_for_sticks(form, {}) == {1}
    assert panels_for_sticks(form, {"B1": (0.0, 0.0)}) == frozenset()


# ---- learned drops


def miss(name: str, mm: float, u: float = 0.5) -> DropReading:
    return DropReading(fastener=name, miss_mm=mm, u_mm=u)


def test_a_bias_is_the_weighted_mean() -> None:
    found = learned_biases([miss("hook", -2.0, 0.5), miss("hook", -1.0, 1.0), miss("screw", 0.5)])
    assert found["hook"].bias_mm == pytest.approx((2.0 * 4 + 1.0) / 5)
    assert found["hook"].u_mm == pytest.approx(5**-0.5)
    assert (found["hook"].is_offered, found["screw"].is_offered) == (True, False)


def test_what_is_known_beforehand_draws_it_to_nothing() -> None:
    readings = [miss("hook", -1.0), miss("hook", -1.0)]
    free, drawn = learned_biases(readings), learned_biases(readings, prior_u_mm=0.3)
    assert 0 < drawn["hook"].bias_mm < free["hook"].bias_mm
    assert drawn["hook"].u_mm < free["hook"].u_mm


def test_a_bias_within_its_uncertainty_is_not_offered() -> None:
    assert not learned_biases([miss("hook", -0.3), miss("hook", -0.2)])["hook"].is_offered


def test_the_true_bias_lies_within_its_uncertainty_as_often_as_it_should() -> None:
    rng = np.random.default_rng(6)
    hits = 0
    for _ in range(400):
        readings = [miss("hook", float(m), 0.8) for m in rng.normal(-1.2, 0.8, 5)]
        found = learned_biases(readings)["hook"]
        hits += abs(found.bias_mm - 1.2) <= 2 * found.u_mm
    assert hits / 400 == pytest.approx(0.954, abs=0.03)


@pytest.mark.parametrize("freedom", [2, 3, 5, 8, 20])
def test_scatter_is_called_by_chance_as_often_as_two_standard_uncertainties_are(
    freedom: int,
) -> None:
    """scipy's chi-square beyond the limit that is used: 2.3 % where the normal law has 2.3 %."""

    def is_called(squares: float) -> bool:
        # two readings at either side and the rest in the middle: 2 (half / u)^2
        half = sqrt(squares / 2) * 0.7
        misses = [-1.0 - half, -1.0 + half, *[-1.0] * (freedom - 1)]
        return learned_biases([miss("hook", mm, 0.7) for mm in misses])["hook"].is_scattered

    limit = brentq(lambda x: is_called(x) - 0.5, 0.1, 200.0)
    assert chi2.sf(limit, freedom) == pytest.approx(norm.sf(2.0), abs=0.003)


def test_the_scatter_found_is_the_standard_deviation_of_the_readings() -> None:
    found = learned_biases([miss("hook", mm, 0.5) for mm in (-3.0, 0.0, 1.0, -4.0)])["hook"]
    assert found.scatter_mm == pytest.approx(float(np.std([-3.0, 0.0, 1.0, -4.0], ddof=1)))
    assert found.assumed_mm == pytest.approx(0.5)
    assert found.is_scattered
    assert not learned_biases([miss("hook", -9.0), miss("hook", 9.0)])["hook"].is_scattered
    assert learned_biases([miss("hook", -9.0)])["hook"].scatter_mm == pytest.approx(0.5)


@pytest.mark.parametrize(("mm", "u"), [(float("nan"), 0.5), (1.0, 0.0), (1.0, float("inf"))])
def test_readings_that_say_nothing_are_refused(mm: float, u: float) -> None:
    with pytest.raises(CoreError):
        learned_biases([miss("hook", mm, u)])
