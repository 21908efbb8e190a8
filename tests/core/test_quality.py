"""The quadratic form, checked by hanging rigid panels on the seats and measuring them.

The second route knows nothing of the form's rows: it finds each panel's pose from where its seats
are, turns and moves the panel's true outline, and measures gaps, height differences and levels
between the outlines' edges. It agrees to first order, so deviations are micrometres here.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import least_squares

from holdtrue.core.geometry import arrange
from holdtrue.core.model import Arrangement, Job, Layout, Panel, Tolerance
from holdtrue.core.quality import (
    Form,
    Vector,
    finish_mm,
    pose_rows,
    quadratic_form,
    residuals_mm,
    worst_share,
)
from tests.core.jobs import any_job, deviations, form_of, job, panel, row

SMALL_MM = 1e-3
ROUNDING_MM = 1e-6


# ---- the second route: rigid bodies


@dataclass(frozen=True)
class Hung:
    """A panel as it hangs: a centre and a turn."""

    panel: Panel
    centre: Vector
    angle: float

    def point(self, u_mm: float, v_mm: float) -> Vector:
        c, s = np.cos(self.angle), np.sin(self.angle)
        return np.asarray(self.centre + np.array([c * u_mm - s * v_mm, s * u_mm + c * v_mm]))

    def edge(self, side: str) -> Vector:
        """Middle of an edge."""
        w, h = self.panel.width_mm / 2, self.panel.height_mm / 2
        return self.point(
            *{"left": (-w, 0), "right": (w, 0), "top": (0, h), "bottom": (0, -h)}[side]
        )


def hang(a_panel: Panel, seats: Vector) -> Hung:
    """The rigid panel on its seats: height and turn fit the seats' heights, x the seats' mean x."""
    at = np.array([(h.u_mm, h.v_mm) for h in a_panel.hangers])

    def misses(pose: Vector) -> Vector:
        hung = Hung(a_panel, np.array([0.0, pose[0]]), pose[1] if len(at) > 1 else 0.0)
        return np.array([hung.point(u, v)[1] for u, v in at]) - seats[:, 1]

    start = np.array([float(np.mean(seats[:, 1] - at[:, 1])), 0.0])
    if len(at) == 1:
        y, angle = start
    else:
        scale = [1.0, 1e-3]
        y, angle = least_squares(misses, start, x_scale=scale, xtol=1e-15, ftol=1e-15, gtol=1e-15).x
    loose = Hung(a_panel, np.array([0.0, y]), angle)
    x = np.mean(seats[:, 0] - np.array([loose.point(u, v)[0] for u, v in at]))
    return Hung(a_panel, np.array([x, y]), angle)


def measured(a_job: Job, arrangement: Arrangement, form: Form, off: Vector) -> dict[str, float]:
    """Every residual by measuring, named "kind label"."""
    n = len(form.seats)
    place = (form.planned_mm + off).reshape(2, n).T
    panels, first = [], 0
    found: dict[str, float] = {}
    for a_panel in a_job.panels:
        seats = place[first : first + len(a_panel.hangers)]
        hung = hang(a_panel, seats)
        panels.append(hung)
        found |= _own(hung, seats)
        first += len(seats)
    for pair in arrangement.neighbours:
        p, q = panels[pair.p], panels[pair.q]
        found |= _between(p, q, pair.how, *(arrangement.centres_mm[k] for k in (pair.p, pair.q)))
    for group in arrangement.groups:
        name = "+".join(a_job.panels[k].name for k in group)
        miss = np.mean([panels[k].centre - arrangement.centres_mm[k] for k in group], axis=0)
        found[f"centre {name}"], found[f"height {name}"] = miss
    return found


def _own(hung: Hung, seats: Vector) -> dict[str, float]:
    name, hangers = hung.panel.name, hung.panel.hangers
    at = np.array([hung.point(h.u_mm, h.v_mm) for h in hangers])
    found = {}
    if len(hangers) > 1:
        found[f"level {name}"] = (hung.edge("right") - hung.edge("left"))[1]
    for i in range(len(hangers) - 1):
        spacing = seats[i + 1, 0] - seats[i, 0] - (at[i + 1, 0] - at[i, 0])
        found[f"slack {name}{i + 1}-{name}{i + 2}"] = spacing
    if len(hangers) > 2:
        for i in range(len(hangers)):
            found[f"bearing {name}{i + 1}"] = seats[i, 1] - at[i, 1]
    return found


def _between(
    p: Hung, q: Hung, how: str, planned_p: tuple[float, float], planned_q: tuple[float, float]
) -> dict[str, float]:
    sides, along, across = (
        (("right", "left"), 0, 1) if how == "beside" else (("bottom", "top"), 1, 0)
    )
    true_p = Hung(p.panel, np.array(planned_p), 0.0)
    true_q = Hung(q.panel, np.array(planned_q), 0.0)
    now = q.edge(sides[1]) - p.edge(sides[0])
    planned = true_q.edge(sides[1]) - true_p.edge(sides[0])
    apart, aside = (now - planned)[along], (now - planned)[across]
    # right of each other x grows from p to q; one above the other y falls from p to q
    gap = apart if how == "beside" else -apart
    name = f"{p.panel.name}|{q.panel.name}"
    return {f"gap {name}": gap, f"step {name}": -aside}


def by_name(form: Form, values: Vector) -> dict[str, float]:
    names = [f"{kind} {label}" for kind, label in zip(form.kinds, form.labels, strict=True)]
    assert len(set(names)) == len(names)
    return dict(zip(names, values.tolist(), strict=True))


def second_order_mm(a_job: Job, off: Vector) -> float:
    """What the first order leaves out: the square of the largest turn, at the largest panel's
    far corner; more where a pair is steep, since it turns while it evens out."""
    pairs = [pair for panel in a_job.panels for pair in pairwise(panel.hangers)]
    if not pairs:
        return 0.0
    turn = 2 * float(np.max(np.abs(off))) / min(abs(p.u_mm - q.u_mm) for p, q in pairs)
    steepest = max(abs((p.v_mm - q.v_mm) / (p.u_mm - q.u_mm)) for p, q in pairs)
    largest = max(np.hypot(panel.width_mm, panel.height_mm) for panel in a_job.panels)
    return float(turn**2 * (1 + steepest) * largest)


@settings(max_examples=40)
@given(any_job(most=4), st.integers(0, 2**32))
def test_every_residual_is_what_measuring_the_hung_panels_gives(a_job: Job, seed: int) -> None:
    # a slope moves the seats but not the centres the second route compares with
    level = replace(a_job, layout=replace(a_job.layout, slope_mm_per_m=0.0))
    arrangement, form = form_of(level)
    off = deviations(form, seed, SMALL_MM)
    got = by_name(form, residuals_mm(form, off))
    wanted = measured(level, arrangement, form, off)
    assert got.keys() == wanted.keys()
    left_out = second_order_mm(level, off)
    for name, value in wanted.items():
        assert got[name] == pytest.approx(value, abs=ROUNDING_MM + left_out), name


# ---- by hand


def test_a_pose_is_the_least_squares_line_of_a_published_example() -> None:
    # JCGM 100:2008 (GUM), annex H.3: calibration of a thermometer, a line through corrections b at
    # temperatures t with t0 = 20: intercept -0.1712, slope 0.00218; predicted at 30: -0.1494
    t = "21.521 22.012 22.512 23.003 23.507 23.999 24.513 25.002 25.503 26.010 26.511"
    b = "-0.171 -0.169 -0.166 -0.159 -0.164 -0.165 -0.156 -0.157 -0.159 -0.161 -0.160"
    u = [float(x) - 20.0 for x in t.split()]
    line = panel(seats=[(x, 0.0) for x in u])
    n = len(u)
    rows = pose_rows(line, 0, n)
    d = np.concatenate([np.zeros(n), [float(y) for y in b.split()]])
    intercept, slope = float(rows.b @ d), float(rows.t @ d)
    assert intercept == pytest.approx(-0.1712, abs=0.00005)
    assert slope == pytest.approx(0.00218, abs=0.000005)
    assert intercept + 10 * slope == pytest.approx(-0.1494, abs=0.00005)


@given(st.integers(0, 2**32), st.sets(st.integers(-50, 50), min_size=2, max_size=6))
def test_a_pose_is_what_numpy_fits(seed: int, at: set[int]) -> None:
    u = [20.0 * x for x in sorted(at)]
    n = len(u)
    rows = pose_rows(panel(seats=[(x, 10.0) for x in u]), 0, n)
    d = np.random.default_rng(seed).normal(size=2 * n)
    slope, height = np.polyfit(u, d[n:], 1)
    assert float(rows.t @ d) == pytest.approx(slope, abs=1e-9)
    assert float(rows.b @ d) == pytest.approx(height, abs=1e-9)
    assert float(rows.a @ d) == pytest.approx(d[:n].mean() + 10.0 * slope, abs=1e-9)


def test_one_hanger_cannot_tilt_a_panel() -> None:
    rows = pose_rows(panel(seats=[(30.0, 40.0)]), 1, 3)
    assert not rows.t.any()
    assert rows.a.tolist() == [0, 1, 0, 0, 0, 0]
    assert rows.b.tolist() == [0, 0, 0, 0, 1, 0]


def test_residuals_of_two_panels_worked_by_hand() -> None:
    # A: hangers at u -150, 150, v 250, width 500; B the same; a gap of 50 between them
    a_job = row(panel("A"), panel("B"))
    _, form = form_of(a_job)
    # A2 is 3 mm low: A turns by -3/300 rad and its centre falls 1.5 mm
    off = np.array([0, 0, 0, 0, 0, -3.0, 0, 0])
    assert by_name(form, residuals_mm(form, off)) == pytest.approx(
        {
            "level A": -5.0,
            # the hangers keep their distance, they are at one height
            "slack A1-A2": 0.0,
            "level B": 0.0,
            "slack B1-B2": 0.0,
            # turned clockwise under its hangers, A's centre lies 250 * 0.01 to the left
            "gap A|B": 2.5,
            # A's right edge: -1.5 - 0.01 * 250
            "step A|B": -4.0,
            "centre A+B": -1.25,
            "height A+B": -0.75,
        }
    )


def test_which_residuals_a_job_has() -> None:
    lone = row(panel("A", seats=[(0.0, 100.0)]))
    assert form_of(lone)[1].kinds == ("centre", "height")
    three = row(panel("A", seats=[(-100.0, 0.0), (0.0, 5.0), (90.0, 0.0)]))
    assert form_of(three)[1].labels == ("A", "A1-A2", "A2-A3", "A1", "A2", "A3", "A", "A")
    assert form_of(three)[1].kinds == (
        *("level", "slack", "slack", "bearing", "bearing", "bearing", "centre", "height"),
    )


def test_each_row_carries_its_own_tolerance() -> None:
    tolerance = Tolerance(
        level=0.1, slack=0.2, bearing=0.3, gap=0.4, step=0.5, centre=0.6, height=0.7
    )
    wide = panel("A", seats=[(-100.0, 0.0), (0.0, 5.0), (90.0, 0.0)])
    form = form_of(replace(row(wide, panel("B")), tolerance=tolerance))[1]
    for kind, allowed in zip(form.kinds, form.tolerance_mm, strict=True):
        assert allowed == getattr(tolerance, kind)
    assert form.scaled == pytest.approx(form.matrix / form.tolerance_mm[:, None])


def test_in_a_free_layout_every_panel_answers_for_itself() -> None:
    layout = Layout(kind="free", centres_mm=((0.0, 1500.0), (900.0, 1500.0)))
    form = form_of(job(panel("A"), panel("B"), layout=layout))[1]
    assert "gap" not in form.kinds
    assert [
        label for kind, label in zip(form.kinds, form.labels, strict=True) if kind == "centre"
    ] == [
        "A",
        "B",
    ]


# ---- what the residuals are blind to


@settings(max_examples=40)
@given(any_job(), st.floats(-5, 5), st.floats(-5, 5))
def test_moving_everything_alike_is_seen_by_centre_and_height_alone(
    a_job: Job, dx: float, dy: float
) -> None:
    form = form_of(a_job)[1]
    n = len(form.seats)
    values = residuals_mm(form, np.concatenate([np.full(n, dx), np.full(n, dy)]))
    for kind, value in zip(form.kinds, values, strict=True):
        wanted = {"centre": dx, "height": dy}.get(kind, 0.0)
        assert value == pytest.approx(wanted, abs=1e-6)


@settings(max_examples=40)
@given(any_job(), st.integers(0, 2**32))
def test_finish_and_worst_share_are_the_largest_of_their_kind(a_job: Job, seed: int) -> None:
    form = form_of(a_job)[1]
    off = deviations(form, seed, 1.0)
    values = np.abs(residuals_mm(form, off))
    finish = finish_mm(form, off)
    assert list(finish) == [
        kind
        for kind in ("level", "slack", "bearing", "gap", "step", "centre", "height")
        if kind in form.kinds
    ]
    for kind, worst in finish.items():
        assert worst == max(v for v, k in zip(values, form.kinds, strict=True) if k == kind)
    assert worst_share(form, off) == pytest.approx(max(values / form.tolerance_mm))


def test_planned_places_stand_x_first_then_y() -> None:
    a_job = row(panel("A"), panel("B"))
    arrangement = arrange(a_job)
    form = quadratic_form(a_job, arrangement)
    assert form.planned_mm.tolist() == [
        *(x for x, _ in arrangement.seats_mm),
        *(y for _, y in arrangement.seats_mm),
    ]
