"""Criteria and readings against panels turned and moved as rigid bodies."""

from __future__ import annotations

from math import cos, sin

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from holdtrue.core.criteria import all_criteria
from holdtrue.core.geometry import arrange
from holdtrue.core.hung import hung_rows, shared_mm
from holdtrue.core.model import Arrangement, Job, Layout
from holdtrue.core.quality import Vector, quadratic_form
from tests.core.jobs import any_job, form_of, job, panel, row

SEEDS = st.integers(0, 10_000)
# small enough that turning is linear: what is left of second order stays far below AGREE_MM
TURN_RAD = 3e-6
AGREE_MM = 1e-6


class Rigid:
    """Every panel of a job moved by its own (a, b) [mm] and turned by t [rad] about its centre."""

    def __init__(self, a_job: Job, arrangement: Arrangement, seed: int) -> None:
        rng = np.random.default_rng(seed)
        count = len(a_job.panels)
        self.job, self.arrangement = a_job, arrangement
        self.a, self.b = rng.normal(0, 2, count), rng.normal(0, 2, count)
        lone = np.array([len(p.hangers) == 1 for p in a_job.panels])
        # a panel on one hanger hangs plumb whatever its seat does
        self.t = np.where(lone, 0.0, rng.normal(0, TURN_RAD, count))

    def moved(self, k: int, u: float, v: float) -> tuple[float, float]:
        """How far the point (u, v) of panel k goes."""
        t = float(self.t[k])
        return (
            float(self.a[k]) + u * cos(t) - v * sin(t) - u,
            float(self.b[k]) + u * sin(t) + v * cos(t) - v,
        )

    def deviations(self) -> Vector:
        points = [
            self.moved(k, hanger.u_mm, hanger.v_mm)
            for k, p in enumerate(self.job.panels)
            for hanger in p.hangers
        ]
        return np.array([x for x, _ in points] + [y for _, y in points])

    def corner(self, k: int, right: float, up: float) -> tuple[float, float]:
        """How far a corner goes; right and up are +1 or -1."""
        p = self.job.panels[k]
        return self.moved(k, right * p.width_mm / 2, up * p.height_mm / 2)


def by_name(a_job: Job, label: str) -> tuple[int, int]:
    names = [p.name for p in a_job.panels]
    first, _, second = label.replace("..", "|").partition("|")
    return names.index(first), names.index(second)


@given(any_job(), SEEDS)
def test_rows_are_what_the_panels_edges_do(a_job: Job, seed: int) -> None:
    arrangement = arrange(a_job)
    rigid = Rigid(a_job, arrangement, seed)
    goal = all_criteria(a_job, arrangement)
    values = goal.matrix @ rigid.deviations()
    how = {(pair.p, pair.q): pair.how for pair in arrangement.neighbours}
    for kind, label, value in zip(goal.kinds, goal.labels, values, strict=True):
        if kind == "level":
            k = [p.name for p in a_job.panels].index(label)
            wanted = rigid.corner(k, 1, 1)[1] - rigid.corner(k, -1, 1)[1]
        elif kind in ("slack", "bearing"):
            wanted = 0.0
        elif kind in ("centre", "height"):
            continue
        else:
            p, q = by_name(a_job, label)
            wanted = expected(rigid, kind, p, q, how.get((p, q), ""))
        assert value == pytest.approx(wanted, abs=AGREE_MM), (kind, label)


def expected(rigid: Rigid, kind: str, p: int, q: int, how: str) -> float:
    is_row = rigid.job.layout.kind in ("row", "grid")
    if kind == "line":
        # the fall of the outer ends: left end of the first against right end of the last
        if is_row:
            return rigid.corner(p, -1, 1)[1] - rigid.corner(q, 1, 1)[1]
        return rigid.corner(p, -1, 1)[0] - rigid.corner(q, -1, -1)[0]
    if kind == "step":
        if how == "beside":
            return rigid.corner(p, 1, 1)[1] - rigid.corner(q, -1, 1)[1]
        return rigid.corner(p, -1, -1)[0] - rigid.corner(q, -1, 1)[0]
    first, second = ends(rigid, p, q, how)
    if kind == "gap":
        return (first + second) / 2
    return first - second if how == "beside" else second - first


def ends(rigid: Rigid, p: int, q: int, how: str) -> tuple[float, float]:
    """How much wider the gap gets at its top and bottom, or left and right, end."""
    panels, centres = rigid.job.panels, rigid.arrangement.centres_mm
    (xp, yp), (xq, yq) = centres[p], centres[q]
    if how == "beside":
        at = shared_mm(yp, panels[p].height_mm, yq, panels[q].height_mm)
        half_p, half_q = panels[p].width_mm / 2, panels[q].width_mm / 2
        first, second = (
            rigid.moved(q, -half_q, y - yq)[0] - rigid.moved(p, half_p, y - yp)[0] for y in at
        )
        return first, second
    right, left = shared_mm(xp, panels[p].width_mm, xq, panels[q].width_mm)
    half_p, half_q = panels[p].height_mm / 2, panels[q].height_mm / 2
    first, second = (
        rigid.moved(p, x - xp, -half_p)[1] - rigid.moved(q, x - xq, half_q)[1]
        for x in (left, right)
    )
    return first, second


@given(any_job(), SEEDS)
def test_readings_are_what_the_panels_edges_do(a_job: Job, seed: int) -> None:
    arrangement = arrange(a_job)
    rigid = Rigid(a_job, arrangement, seed)
    d = rigid.deviations()
    rows = hung_rows(a_job, arrangement)
    for pair in arrangement.neighbours:
        label = f"{a_job.panels[pair.p].name}|{a_job.panels[pair.q].name}"
        first, second = ends(rigid, pair.p, pair.q, pair.how)
        assert rows["gap first", label] @ d == pytest.approx(first, abs=AGREE_MM)
        assert rows["gap second", label] @ d == pytest.approx(second, abs=AGREE_MM)


def test_the_form_comes_first_and_the_rest_after_it() -> None:
    arrangement, form = form_of(row(panel("A"), panel("B"), panel("C")))
    goal = all_criteria(row(panel("A"), panel("B"), panel("C")), arrangement)
    assert np.array_equal(goal.matrix[: len(form.kinds)], form.matrix)
    assert goal.kinds[len(form.kinds) :] == ("taper", "taper", "line")
    assert goal.labels[-1] == "A..C"


def test_a_gap_is_judged_in_the_middle_of_what_the_edges_share() -> None:
    """Tops aligned, 700 and 400 high: 150 mm above the middle of the first panel, whose edge,
    turned by 1 mm in 300, is there 0.5 mm further left than at its middle."""
    a_job = row(panel("A"), panel("B", height=400.0, seats=[(-150, 100), (150, 100)]), align="top")
    arrangement, form = form_of(a_job)
    goal = all_criteria(a_job, arrangement)
    at = goal.kinds.index("gap")
    d = np.zeros(8)
    d[4:6] = -0.5, 0.5
    d[:2] = -250.0 / 300.0
    assert form.matrix[at] @ d == pytest.approx(0.0)
    assert goal.matrix[at] @ d == pytest.approx(0.5)


def test_nothing_is_added_to_panels_that_hang_alone() -> None:
    layout = Layout(kind="free", centres_mm=((0.0, 1500.0), (900.0, 1500.0)))
    a_job = job(panel("A"), panel("B"), layout=layout)
    arrangement = arrange(a_job)
    assert all_criteria(a_job, arrangement).kinds == quadratic_form(a_job, arrangement).kinds


def test_panels_on_one_hanger_have_no_taper() -> None:
    a_job = row(panel("A", seats=[(0, 200)]), panel("B", seats=[(0, 200)]))
    assert "taper" not in all_criteria(a_job, arrange(a_job)).kinds


def test_edges_that_share_nothing_meet_in_the_middle() -> None:
    assert shared_mm(0.0, 100.0, 300.0, 100.0) == (150.0, 150.0)
