"""The forecast against installs played with the recompute itself, and what it must obey."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from holdtrue.core.criteria import all_criteria
from holdtrue.core.forecast import Errors, forecast, played_mm
from holdtrue.core.order import driving_order
from holdtrue.core.plan import make_plan
from holdtrue.core.quality import Form, Vector, quadratic_form
from holdtrue.core.recompute import best_deviation_mm, recompute_mm
from holdtrue.domain.jobfile import parse_job

REFERENCE = Path(__file__).parents[1] / "reference"
DRAWS = 100_000
Point = tuple[float, float]


class Case:
    def __init__(self, name: str, placing: float) -> None:
        job = parse_job(json.loads((REFERENCE / f"{name}.job.json").read_text()))
        plan = make_plan(job)
        self.form = quadratic_form(job, plan.arrangement)
        self.goal = all_criteria(job, plan.arrangement)
        self.order = driving_order(plan)
        self.errors = Errors(
            placing=dict.fromkeys(self.order, (placing, 1.1 * placing)),
            reading=dict.fromkeys(self.order, (0.5 * placing, 0.4 * placing)),
        )
        self.planned: dict[str, Point] = dict(
            zip(self.form.seats, plan.arrangement.seats_mm, strict=True)
        )

    def ends_mm(
        self, errors: Errors, set_mm: dict[str, Point], covariance: Vector | None
    ) -> Vector:
        """By the product, its marks anywhere: those on a tape's graduation are played through the
        product itself (tests/domain/test_outlook.py)."""
        return played_mm(
            self.goal,
            self.form,
            order=self.order,
            set_mm=set_mm,
            set_covariance_mm2=covariance,
            marks_mm={},
            errors=errors,
        )

    def chance(self, errors: Errors, set_mm: dict[str, Point], covariance: Vector | None) -> float:
        return forecast(self.goal, self.ends_mm(errors, set_mm, covariance)).chance


def answer(form: Form, known: list[int], at: list[int]) -> Vector:
    """The recompute's answer at some coordinates to each known one, column by column."""
    zero = dict.fromkeys(known, 0.0)
    return np.array([best_deviation_mm(form, {**zero, k: 1.0})[at] for k in known]).T


def played(
    case: Case, errors: Errors, set_mm: dict[str, Point], covariance: Vector | None, seed: int
) -> float:
    """Share of installs that end inside: mark, place, read, recompute, seat by seat."""
    rng = np.random.default_rng(seed)
    form, n = case.form, len(case.form.seats)
    marks = recompute_mm(form, set_mm)
    start = np.array([x for x, _ in marks.values()] + [y for _, y in marks.values()])
    start -= form.planned_mm
    true, known = np.tile(start, (DRAWS, 1)), np.tile(start, (DRAWS, 1))
    of_set = [i for i, name in enumerate(form.seats) if name in set_mm]
    have = of_set + [n + i for i in of_set]
    if covariance is not None:
        true[:, have] += rng.multivariate_normal(np.zeros(len(have)), covariance, DRAWS)
    first: dict[int, int] = {}
    for name in (s for s in case.order if s not in set_mm):
        i = form.seats.index(name)
        panel, at = form.seat_panel[i], [i, n + i]
        if panel in errors.stick_panels and panel in first:
            before = [first[panel], n + first[panel]]
            aim = start[at] + true[:, before] - start[before]
            u = np.array([errors.stick, errors.stick])
        else:
            aim = known[:, have] @ answer(form, have, at).T if have else np.zeros((DRAWS, 2))
            u = np.array(errors.placing[name])
        true[:, at] = aim + rng.normal(size=(DRAWS, 2)) * u
        known[:, at] = true[:, at] + rng.normal(size=(DRAWS, 2)) * np.array(errors.reading[name])
        have = [*have, *at]
        first.setdefault(panel, i)
    inside = np.abs(true @ case.goal.matrix.T) <= case.goal.tolerance_mm
    return float(inside.all(axis=1).mean())


@pytest.mark.slow
@pytest.mark.parametrize("name", ["tidewrack", "staithe"])
@pytest.mark.parametrize("placing", [0.2, 0.3, 0.45])
def test_it_agrees_with_100_000_played_installs(name: str, placing: float) -> None:
    case = Case(name, placing)
    ours = case.chance(case.errors, {}, None)
    assert 0.005 < ours < 0.999
    assert ours == pytest.approx(played(case, case.errors, {}, None, 1), abs=0.01)


@pytest.mark.slow
@pytest.mark.parametrize("name", ["tidewrack", "staithe"])
def test_it_agrees_with_a_story_stick(name: str) -> None:
    case = Case(name, 0.5)
    panels = frozenset(case.form.seat_panel)
    errors = replace(case.errors, stick=0.1, stick_panels=panels)
    ours = case.chance(errors, {}, None)
    assert 0.05 < ours < 0.999
    assert ours == pytest.approx(played(case, errors, {}, None, 2), abs=0.01)


@pytest.mark.slow
def test_it_agrees_once_seats_are_set_and_known_only_roughly() -> None:
    case = Case("tidewrack", 0.2)
    done = [s for s in case.form.seats if s in case.order[:3]]
    off = dict(zip(done, [(0.4, -0.3), (-0.2, 0.1), (0.3, 0.25)], strict=True))
    set_mm = {s: (case.planned[s][0] + x, case.planned[s][1] + y) for s, (x, y) in off.items()}
    root = np.random.default_rng(4).normal(0, 0.06, (6, 6))
    covariance = root @ root.T + np.eye(6) * 0.01
    ours = case.chance(case.errors, set_mm, covariance)
    assert 0.05 < ours < 0.999
    assert ours == pytest.approx(played(case, case.errors, set_mm, covariance, 3), abs=0.01)


def test_everything_set_and_known_is_certain() -> None:
    case = Case("tidewrack", 1.0)
    assert case.chance(case.errors, case.planned, None) == 1.0
    off = {s: (x + 9.0 * (s == "A1"), y) for s, (x, y) in case.planned.items()}
    assert case.chance(case.errors, off, None) == 0.0


def test_smaller_errors_never_lower_the_chance_much() -> None:
    chances = []
    for placing in (1.6, 0.8, 0.4, 0.2, 0.1):
        case = Case("tidewrack", placing)
        chances.append(case.chance(case.errors, {}, None))
    assert chances == sorted(chances)
    assert chances[-1] > 0.99


def test_the_same_question_has_the_same_answer() -> None:
    case = Case("staithe", 0.3)
    assert case.chance(case.errors, {}, None) == case.chance(case.errors, {}, None)


def test_the_mean_is_where_the_best_marks_are_and_what_is_known_exactly_stays() -> None:
    case = Case("tidewrack", 0.3)
    set_mm = {"C1": (case.planned["C1"][0] + 2.0, case.planned["C1"][1] - 1.0)}
    marks = recompute_mm(case.form, set_mm)
    ends = case.ends_mm(case.errors, set_mm, None)
    places = np.array([x for x, _ in marks.values()] + [y for _, y in marks.values()])
    # of 20 000 points, spread by half a millimetre or so
    assert ends.mean(axis=0) == pytest.approx(places - case.form.planned_mm, abs=0.02)
    held = case.form.seats.index("C1")
    assert not np.any(np.ptp(ends[:, [held, len(case.form.seats) + held]], axis=0))


def test_the_limiting_criterion_is_the_one_least_likely_inside() -> None:
    case = Case("tidewrack", 1.0)
    found = forecast(case.goal, case.ends_mm(case.errors, {}, None))
    assert found.each[found.limiting] == min(found.each)
    assert found.chance <= min(found.each)
    assert case.goal.kinds[found.limiting] == "taper"


def test_an_unknown_seat_is_refused() -> None:
    case = Case("tidewrack", 1.0)
    case.order = ("Z9",)
    with pytest.raises(KeyError, match="Z9"):
        case.ends_mm(case.errors, {}, None)
