"""Marks on the graduation, calm, and never worse than rounding must be."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from holdtrue.core.marks import Course, give_many, give_marks
from holdtrue.core.model import Job, Plan, Tolerance
from holdtrue.core.order import driving_order
from holdtrue.core.plan import make_plan
from holdtrue.core.quality import Form, finish_mm, quadratic_form, worst_share
from holdtrue.core.recompute import best_deviation_mm, fixed_from_set, recompute_mm
from tests.core.jobs import any_job, is_multiple, panel, row, some_seats

SEEDS = st.integers(0, 2**32)
AGREE_MM = 0.01
"""What two solvers of the form may differ by."""

Point = tuple[float, float]


def start(a_job: Job) -> tuple[Plan, Form]:
    plan = make_plan(a_job)
    return plan, quadratic_form(a_job, plan.arrangement)


def marks(
    a_job: Job,
    set_mm: Mapping[str, Point] | None = None,
    given_mm: Mapping[str, Point] | None = None,
) -> dict[str, Point]:
    plan, form = start(a_job)
    return give_marks(
        form,
        set_mm=set_mm or {},
        order=driving_order(plan),
        drop_mm={s.seat: s.fastener.drop_mm if s.fastener else 0.0 for s in plan.seats},
        graduation_mm=a_job.graduation_mm,
        given_mm=given_mm or {},
    )


# ---- on the graduation


@settings(max_examples=60)
@given(any_job(), SEEDS)
def test_every_new_mark_has_its_hole_on_the_graduation(a_job: Job, seed: int) -> None:
    _, form = start(a_job)
    set_mm = some_seats(form, seed, 2.0)
    drop, graduation = a_job.fasteners[0].drop_mm, a_job.graduation_mm
    given_marks = marks(a_job, set_mm)
    assert set(given_marks) == set(form.seats) - set(set_mm)
    for x, y in given_marks.values():
        assert is_multiple(x, graduation)
        assert is_multiple(y + drop, graduation)


@settings(max_examples=150)
@given(any_job())
def test_rounding_a_plan_keeps_every_panel_level(a_job: Job) -> None:
    """Planned height differences to the panel's first mark are kept within half a graduation.

    To the first one: between every two of three seats no rounding could promise it, since three
    heights a third of a graduation apart do not fit within half of one.
    """
    plan, _ = start(a_job)
    turn = {name: i for i, name in enumerate(driving_order(plan))}
    given_marks = marks(a_job)
    for k in range(len(a_job.panels)):
        seats = sorted((s for s in plan.seats if s.panel == k), key=lambda s: turn[s.seat])
        rise = [given_marks[seat.seat][1] - seat.y_mm for seat in seats]
        assert all(abs(r - rise[0]) <= a_job.graduation_mm / 2 + 1e-6 for r in rise)


@settings(max_examples=150)
@given(any_job())
def test_between_any_two_seats_of_a_panel_it_is_kept_wherever_it_can_be(a_job: Job) -> None:
    """Marks can only be a graduation apart: what the planned holes leave over lies on a circle of
    one graduation, and they fit within half of it just where its largest free arc is the other."""
    plan, _ = start(a_job)
    drop, grain = a_job.fasteners[0].drop_mm, a_job.graduation_mm
    given_marks = marks(a_job)
    for k in range(len(a_job.panels)):
        seats = [s for s in plan.seats if s.panel == k]
        over = sorted((s.y_mm + drop) % grain for s in seats)
        free = max(b - a for a, b in pairwise([*over, over[0] + grain]))
        off = [given_marks[s.seat][1] - s.y_mm for s in seats]
        if free > grain / 2 + 1e-6:
            assert max(off) - min(off) <= grain / 2 + 1e-6
        # with two seats it always can
        assert len(seats) != 2 or max(off) - min(off) <= grain / 2 + 1e-6


def test_in_a_run_of_equal_panels_every_gap_is_within_half_a_graduation() -> None:
    # seats every 300.4 mm: none of them can be met together with its neighbours
    a_job = row(*(panel(name, 250.4, 400.0, [(0.0, 100.0)]) for name in "ABCDEFGHIJKL"))
    form = start(a_job)[1]
    deviation = best_deviation_mm(form, fixed_from_set(form, marks(a_job)))
    assert finish_mm(form, deviation)["gap"] <= 0.5 + AGREE_MM


def test_a_mark_on_the_graduation_already_is_left_alone() -> None:
    a_job = row(panel("A", 500.0, 700.0, [(-150.0, 250.0), (150.0, 250.0)]))
    assert marks(a_job) == {"A1": (-150.0, 1750.0), "A2": (150.0, 1750.0)}


# ---- the course agrees with recompute


@settings(max_examples=60)
@given(any_job(), SEEDS)
def test_the_next_mark_before_rounding_is_the_recomputed_one(a_job: Job, seed: int) -> None:
    """What no residual sees is shared out by the ridge as by the least norm."""
    plan, form = start(a_job)
    set_mm = some_seats(form, seed, 2.0)
    order = [name for name in driving_order(plan) if name not in set_mm]
    assume(order)
    course = Course(form, set_mm, order)
    n, done = len(form.seats), dict(set_mm)
    for name in order:
        i = form.seats.index(name)
        best = np.array(course.next_best())
        planned = (float(form.planned_mm[i]), float(form.planned_mm[n + i]))
        wanted = np.array(recompute_mm(form, done)[name]) - planned
        assert best == pytest.approx(wanted, abs=AGREE_MM)
        here = (round(best[0]), round(best[1]))
        course.fix_next(here)
        done[name] = (planned[0] + here[0], planned[1] + here[1])


@settings(max_examples=60)
@given(any_job(), SEEDS, st.floats(-3, 3), st.floats(-3, 3))
def test_the_worst_with_a_mark_there_is_the_worst_after_recomputing_the_rest(
    a_job: Job, seed: int, dx: float, dy: float
) -> None:
    plan, form = start(a_job)
    set_mm = some_seats(form, seed, 2.0)
    order = [name for name in driving_order(plan) if name not in set_mm]
    assume(order)
    i, n = form.seats.index(order[0]), len(form.seats)
    fixed = fixed_from_set(form, set_mm) | {i: dx, n + i: dy}
    wanted = worst_share(form, best_deviation_mm(form, fixed))
    got = float(Course(form, set_mm, order).shares_with((dx, dy)).max())
    assert got == pytest.approx(wanted, abs=1e-3, rel=1e-3)


# ---- calm


def one_panel() -> Job:
    return row(panel("A", 500.0, 700.0, [(-150.0, 250.0), (150.0, 250.0)]))


PLAN = {"A1": (-150.0, 1750.0), "A2": (150.0, 1750.0)}


def test_marks_given_stay_while_nothing_happens() -> None:
    assert marks(one_panel(), given_mm=PLAN) == PLAN


def test_a_mark_stays_when_it_would_move_less_than_half_a_graduation() -> None:
    after = marks(one_panel(), {"A1": (-150.0, 1750.4)}, PLAN)
    assert after == {"A2": (150.0, 1750.0)}


def test_a_mark_moves_when_keeping_it_would_cost_a_tenth_of_a_tolerance() -> None:
    after = marks(one_panel(), {"A1": (-150.0, 1753.0)}, PLAN)
    # 3 mm over 300 is 5 mm over the width, tolerance 1.5: A2 must follow most of the way
    assert after["A2"][1] in (1752.0, 1753.0)


def test_only_the_coordinate_that_must_move_moves() -> None:
    after = marks(one_panel(), {"A1": (-150.3, 1753.0)}, PLAN)
    assert after["A2"][0] == 150.0
    assert after["A2"][1] > 1750.0


def test_a_mark_stays_when_moving_it_buys_nothing() -> None:
    # A1 is 1.2 mm to the left: A2 would move 0.9 mm right to keep the centre, which has 6 mm
    loose = replace(one_panel(), tolerance=Tolerance(slack=30.0))
    set_mm = {"A1": (-151.2, 1750.0)}
    assert marks(loose, set_mm) == {"A2": (151.0, 1750.0)}
    assert marks(loose, set_mm, PLAN) == {"A2": PLAN["A2"]}


@settings(max_examples=60)
@given(any_job(), SEEDS)
def test_a_mark_that_was_given_stays_or_moves_by_half_a_graduation_or_more(
    a_job: Job, seed: int
) -> None:
    plan, form = start(a_job)
    first = marks(a_job)
    name = driving_order(plan)[seed % len(form.seats)]
    dx, dy = np.random.default_rng(seed).normal(0.0, 1.0, 2)
    set_mm = {name: (first[name][0] + float(dx), first[name][1] + float(dy))}
    for seat, place in marks(a_job, set_mm, first).items():
        for now, before in zip(place, first[seat], strict=True):
            assert now == before or abs(now - before) >= a_job.graduation_mm / 2 - 1e-6


@settings(max_examples=40)
@given(any_job())
def test_asking_twice_gives_the_same_marks(a_job: Job) -> None:
    first = marks(a_job)
    assert marks(a_job, given_mm=first) == first
    assert marks(a_job) == first


def test_a_seat_whose_fastener_changed_gets_a_mark_of_its_own() -> None:
    given_marks = {"A1": (-150.0, 1750.25)}
    after = marks(one_panel(), given_mm=given_marks)
    # A1's given mark is off the graduation and stays; A2 was left out and is put on it
    assert after["A1"] == (-150.0, 1750.25)
    assert is_multiple(after["A2"][1], 1.0)


def test_a_residual_no_mark_can_mend_hides_no_other() -> None:
    """B is set far out of level: its step to C is lost, but A's marks still follow B's edge."""
    hangers = [(-150.0, 250.0), (150.0, 250.0)]
    job = row(*(panel(name, 500.0, 700.0, hangers) for name in "ABC"))
    plan, form = start(job)
    planned = dict(zip(form.seats, plan.arrangement.seats_mm, strict=True))
    order = ["C1", "C2", "B2", "B1", "A2", "A1"]
    set_mm = {name: planned[name] for name in ("C1", "C2", "B2")}
    marks = give_marks(form, set_mm=set_mm, order=order, drop_mm={}, graduation_mm=1.0, given_mm={})
    off = {**set_mm, "B1": (planned["B1"][0], planned["B1"][1] + 8.0)}
    moved = give_marks(form, set_mm=off, order=order, drop_mm={}, graduation_mm=1.0, given_mm=marks)
    assert moved["A2"][1] > marks["A2"][1] + 2.0
    assert moved["A1"][1] - moved["A2"][1] == pytest.approx(marks["A1"][1] - marks["A2"][1])


@settings(max_examples=40)
@given(any_job(), SEEDS)
def test_many_installs_are_marked_as_each_by_itself(a_job: Job, seed: int) -> None:
    plan, form = start(a_job)
    rng = np.random.default_rng(seed)
    order = driving_order(plan)
    names = [name for name in form.seats if rng.uniform() < 0.5]
    planned = dict(zip(form.seats, np.array(plan.arrangement.seats_mm)[:, :, None], strict=True))
    set_mm = {name: rng.normal(0.0, 2.0, (2, 5)) + planned[name] for name in names}
    drops = {name: rng.normal(0.0, 5.0, 5) for name in form.seats}
    before = {name: rng.normal(0.0, 2.0, (2, 5)) + planned[name] for name in order}
    for place in before.values():
        place[:, rng.uniform(size=5) < 0.3] = np.nan
    # nothing planned lies in the middle of two graduations, where a mark may go either way
    grain = 0.9871
    found = give_many(
        form, set_mm=set_mm, order=order, drop_mm=drops, graduation_mm=grain, given_mm=before,
        installs=(5,),
    )  # fmt: skip
    for k in range(5):
        alone = give_marks(
            form,
            set_mm={name: (place[0, k], place[1, k]) for name, place in set_mm.items()},
            order=order,
            drop_mm={name: float(drop[k]) for name, drop in drops.items()},
            graduation_mm=grain,
            given_mm={
                name: (place[0, k], place[1, k])
                for name, place in before.items()
                if not np.isnan(place[0, k])
            },
        )
        assert set(alone) == set(found)
        for name, place in alone.items():
            assert tuple(found[name][:, k]) == pytest.approx(place, abs=1e-9)


@settings(max_examples=40)
@given(any_job(), SEEDS)
def test_the_first_marks_are_those_of_all_of_them(a_job: Job, seed: int) -> None:
    plan, form = start(a_job)
    set_mm = some_seats(form, seed, 2.0)
    order = driving_order(plan)

    def given_to(most: int | None, grain: float) -> dict[str, tuple[float, ...]]:
        found = give_many(
            form, set_mm=set_mm, order=order, drop_mm={}, graduation_mm=grain, given_mm={},
            most=most,
        )  # fmt: skip
        return {name: tuple(place) for name, place in found.items()}

    everywhere = given_to(None, 1.0)
    assert list(given_to(2, 1.0).items()) == list(everywhere.items())[:2]
    # where marks may be anywhere the first is the recomputed one
    for name, place in given_to(1, 0.0).items():
        assert place == pytest.approx(recompute_mm(form, set_mm)[name], abs=AGREE_MM)
