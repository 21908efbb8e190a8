"""Places of set seats: cases by hand, two other solvers, and draws."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import pairwise
from math import hypot, sqrt
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.optimize import least_squares
from uncertainties import ufloat

from holdtrue.core.errors import CoreError
from holdtrue.core.estimates import (
    Across,
    Estimate,
    Height,
    Level,
    Mark,
    Reading,
    Tape,
    estimate_seats,
    reading_u_mm,
)

PAIR = {"A1": Mark(x_mm=-150.0, y_mm=1500.0), "A2": Mark(x_mm=150.0, y_mm=1500.0)}
READ: list[Reading] = [
    Across(seat="A1", x_mm=-150.4),
    Across(seat="A2", x_mm=150.6),
    Height(seat="A1", above_mm=101.2, line_mm=1400.0),
    Height(seat="A2", above_mm=100.1, line_mm=1400.0),
]


def test_a_seat_without_readings_is_its_mark() -> None:
    found = estimate_seats({"A1": Mark(x_mm=10.0, y_mm=1500.0, placing_u_mm=0.7)}, [])
    assert found.place_mm == {"A1": (10.0, 1500.0)}
    assert found.u_mm("A1") == pytest.approx((0.7, 0.7))
    assert found.marks_used == {("A1", "x"), ("A1", "y")}
    assert found.misses == ()


def test_a_seat_read_directly_is_what_was_read() -> None:
    # its mark does not pull at it
    found = estimate_seats(PAIR, READ)
    assert found.place_mm["A1"] == pytest.approx((-150.4, 1501.2))
    assert found.place_mm["A2"] == pytest.approx((150.6, 1500.1))
    assert found.covariance_mm2 == pytest.approx(0.25 * np.eye(4))
    assert found.marks_used == frozenset()
    assert found.misses == (0.0,) * 4


def test_two_readings_of_one_height_are_averaged_by_weight() -> None:
    # by hand: 1502 with 0.5 and 1503 with 1.0 mm: (4 * 1502 + 1503)/5, u = 1/sqrt(5)
    readings: list[Reading] = [
        Height(seat="A1", above_mm=102.0, line_mm=1400.0, u_mm=0.5),
        Height(seat="A1", above_mm=103.0, line_mm=1400.0, u_mm=1.0),
    ]
    found = estimate_seats({"A1": PAIR["A1"]}, readings)
    assert found.place_mm["A1"][1] == pytest.approx(1502.2)
    assert found.u_mm("A1")[1] == pytest.approx(1 / sqrt(5))
    # the two differ by 1 mm, whose standard uncertainty is sqrt(1.25)
    assert [abs(miss) for miss in found.misses] == pytest.approx([1 / sqrt(1.25)] * 2)


def test_a_level_between_two_heights_by_hand() -> None:
    # y1 1501.2, y2 1500.1 (0.5 mm each), rise -0.5 (0.3 mm): the misclosure 0.6 mm is shared by
    # variances 0.25, 0.25, 0.09
    found = estimate_seats(PAIR, [*READ, Level(a="A1", b="A2", rise_mm=-0.5, u_mm=0.3)])
    share = 0.25 / (0.25 + 0.25 + 0.09)
    assert found.place_mm["A1"][1] == pytest.approx(1501.2 - 0.6 * share)
    assert found.place_mm["A2"][1] == pytest.approx(1500.1 + 0.6 * share)
    assert found.u_mm("A1")[1] == pytest.approx(sqrt(0.25 - 0.25 * share))


def test_a_level_carries_a_height_to_a_seat_not_read() -> None:
    # y2 by level alone leans on y1, not on its mark: u = sqrt(0.25 + 0.09), correlated
    readings: list[Reading] = [*READ[:3], Level(a="A1", b="A2", rise_mm=2.0, u_mm=0.3)]
    found = estimate_seats(PAIR, readings)
    assert found.place_mm["A2"][1] == pytest.approx(1503.2)
    assert found.u_mm("A2")[1] == pytest.approx(sqrt(0.34))
    assert found.covariance_mm2[2, 3] == pytest.approx(0.25)
    assert found.marks_used == frozenset()


def test_a_level_far_away_leaves_the_mark_its_say() -> None:
    # 3 m away the level alone is worse than a fastener placed on its mark
    marks = {"A1": PAIR["A1"], "C1": Mark(x_mm=2850.0, y_mm=1500.0)}
    readings: list[Reading] = [READ[2], Level(a="A1", b="C1", rise_mm=4.0)]
    found = estimate_seats(marks, readings)
    level_variance = 0.25 + 0.3**2 + 1.5**2
    expected = (1505.2 / level_variance + 1500.0) / (1 / level_variance + 1)
    assert ("C1", "y") in found.marks_used
    assert found.place_mm["C1"][1] == pytest.approx(expected, abs=1e-3)
    assert found.u_mm("C1")[1] < 1.0


def test_a_tape_alone_moves_both_marks_alike() -> None:
    # 302.5 mm read between marks 300 apart: variances 1, 1, 0.25 share 2.5 mm
    found = estimate_seats(PAIR, [Tape(a="A1", b="A2", distance_mm=302.5)])
    moved = 2.5 / 2.25
    assert found.place_mm["A1"] == pytest.approx((-150.0 - moved, 1500.0))
    assert found.place_mm["A2"] == pytest.approx((150.0 + moved, 1500.0))
    turned = estimate_seats(PAIR, [Tape(a="A2", b="A1", distance_mm=302.5)])
    assert turned.place_mm["A2"] == pytest.approx(found.place_mm["A2"])


@pytest.mark.parametrize("is_turned", [False, True])
@pytest.mark.parametrize("swapped", [False, True])
def test_a_level_s_own_error_is_taken_off(is_turned: bool, swapped: bool) -> None:
    # the level climbs to the right by 2 mm/m, over 300 mm by 0.6 mm: a true rise of 1.0 to the
    # right is read as 0.4, and as 1.6 with the level turned; to the left as -0.4 and -1.6
    read = 1.6 if is_turned else 0.4
    level = Level(
        a="A2" if swapped else "A1",
        b="A1" if swapped else "A2",
        rise_mm=-read if swapped else read,
        error_mm_per_m=2.0,
        is_turned=is_turned,
        u_mm=0.001,
    )
    exact: list[Reading] = [Across(seat="A1", x_mm=-150.0), Across(seat="A2", x_mm=150.0)]
    found = estimate_seats(PAIR, [*exact, READ[2], level])
    assert found.place_mm["A2"][1] - found.place_mm["A1"][1] == pytest.approx(1.0, abs=1e-3)


@pytest.mark.parametrize("count", [2, 5, 9])
def test_running_dimensions_do_not_add_up_and_chained_ones_do(count: int) -> None:
    """From the line each seat is known like one reading; from its neighbour like all before it
    together, root-sum-square (GUM 5.1.2): sqrt(k) u."""
    names = [f"A{i + 1}" for i in range(count)]
    marks = {
        name: Mark(x_mm=400.0 * i, y_mm=1500.0, placing_u_mm=100.0) for i, name in enumerate(names)
    }
    heights: list[Reading] = [Height(seat=n, above_mm=0.0, line_mm=1500.0) for n in names]
    first: list[Reading] = [Across(seat="A1", x_mm=0.0)]
    running = [Across(seat=n, x_mm=marks[n].x_mm) for n in names[1:]]
    chained = [Tape(a=a, b=b, distance_mm=400.0) for a, b in pairwise(names)]
    apart = estimate_seats(marks, [*heights, *first, *running])
    along = estimate_seats(marks, [*heights, *first, *chained])
    assert [apart.u_mm(n)[0] for n in names] == pytest.approx([0.5] * count, rel=1e-3)
    wanted = [0.5 * sqrt(i + 1) for i in range(count)]
    assert [along.u_mm(n)[0] for n in names] == pytest.approx(wanted, rel=1e-3)


def test_a_reading_far_off_is_suspect() -> None:
    wrong = Height(seat="A1", above_mm=126.6, line_mm=1400.0)
    found = estimate_seats(PAIR, [*READ, wrong, READ[2]])
    assert found.suspects[0] == 4
    assert estimate_seats(PAIR, [*READ, READ[2]]).suspects == ()


# Other solvers of the same problem

NAMES = ("A1", "A2", "B1", "B2")


def random_case(rng: np.random.Generator) -> tuple[dict[str, Mark], list[Reading]]:
    marks = {
        name: Mark(x_mm=400.0 * i - 600.0, y_mm=1500.0 + 100.0 * (i % 2))
        for i, name in enumerate(NAMES)
    }
    true = {
        name: (mark.x_mm + rng.normal(0, 3), mark.y_mm + rng.normal(0, 3))
        for name, mark in marks.items()
    }
    readings: list[Reading] = []
    for name, (x, y) in true.items():
        readings.append(Across(seat=name, x_mm=x + rng.normal(0, 0.5)))
        readings.append(Height(seat=name, above_mm=y - 1400 + rng.normal(0, 0.5), line_mm=1400.0))
    for a, b in (("A1", "A2"), ("A2", "B1"), ("A1", "B2")):
        (xa, ya), (xb, yb) = true[a], true[b]
        distance_mm = hypot(xb - xa, yb - ya) + rng.normal(0, 0.5)
        readings.append(Tape(a=a, b=b, distance_mm=distance_mm))
        readings.append(Level(a=a, b=b, rise_mm=yb - ya + rng.normal(0, 0.4), u_mm=0.4))
    return marks, readings


def shares(
    place: NDArray[np.float64], marks: Mapping[str, Mark], readings: Sequence[Reading]
) -> NDArray[np.float64]:
    """(Read - value)/u of each reading, written once more for the other solver."""
    names = list(marks)
    n = len(names)
    values = []
    for reading in readings:
        if isinstance(reading, Across):
            off = reading.x_mm - place[names.index(reading.seat)]
        elif isinstance(reading, Height):
            off = reading.line_mm + reading.above_mm - place[n + names.index(reading.seat)]
        else:
            a, b = names.index(reading.a), names.index(reading.b)
            if isinstance(reading, Tape):
                off = reading.distance_mm - hypot(place[b] - place[a], place[n + b] - place[n + a])
            else:
                off = reading.rise_mm - (place[n + b] - place[n + a])
        values.append(float(off) / reading_u_mm(reading, marks))
    return np.array(values)


@settings(max_examples=25)
@given(st.integers(0, 2**32 - 1).map(np.random.default_rng))
def test_scipy_finds_the_same_places(rng: np.random.Generator) -> None:
    marks, readings = random_case(rng)
    found = estimate_seats(marks, readings)
    start = np.array([m.x_mm for m in marks.values()] + [m.y_mm for m in marks.values()])

    def off(place: NDArray[np.float64]) -> NDArray[np.float64]:
        return shares(place, marks, readings)

    other = least_squares(off, start, xtol=1e-14, ftol=1e-14, gtol=1e-14)
    slope = np.asarray(other.jac, dtype=float)
    place = [found.place_mm[name] for name in NAMES]
    assert [p[0] for p in place] + [p[1] for p in place] == pytest.approx(other.x, abs=1e-4)
    assert found.covariance_mm2 == pytest.approx(np.linalg.inv(slope.T @ slope), abs=1e-4)


def test_uncertainties_finds_the_same_spread() -> None:
    # the weighted mean of two heights, propagated by the package uncertainties
    first, second = ufloat(1502.0, 0.5), ufloat(1503.0, 1.0)
    mean = (first * 4 + second) / 5
    readings: list[Reading] = [
        Height(seat="A1", above_mm=1502.0, u_mm=0.5),
        Height(seat="A1", above_mm=1503.0, u_mm=1.0),
    ]
    found = estimate_seats({"A1": PAIR["A1"]}, readings)
    assert found.place_mm["A1"][1] == pytest.approx(mean.nominal_value)
    assert found.u_mm("A1")[1] == pytest.approx(mean.std_dev)


def test_draws_spread_as_the_covariance_says() -> None:
    rng = np.random.default_rng(20260101)
    marks, readings = random_case(rng)
    found = estimate_seats(marks, readings)

    def again(reading: Reading) -> Reading:
        off = float(rng.normal(0, reading_u_mm(reading, marks)))
        match reading:
            case Across():
                return replace(reading, x_mm=found.place_mm[reading.seat][0] + off)
            case Height():
                above_mm = found.place_mm[reading.seat][1] - reading.line_mm + off
                return replace(reading, above_mm=above_mm)
        (xa, ya), (xb, yb) = found.place_mm[reading.a], found.place_mm[reading.b]
        if isinstance(reading, Tape):
            return replace(reading, distance_mm=hypot(xb - xa, yb - ya) + off)
        return replace(reading, rise_mm=yb - ya + off)

    def flat(estimate: Estimate) -> list[float]:
        place = [estimate.place_mm[name] for name in NAMES]
        return [p[0] for p in place] + [p[1] for p in place]

    draws = np.array(
        [flat(estimate_seats(marks, [again(r) for r in readings])) for _ in range(600)]
    )
    spread = np.std(draws - flat(found), axis=0)
    assert spread == pytest.approx(np.sqrt(np.diag(found.covariance_mm2)), rel=0.12)
    assert np.abs(np.mean(draws - flat(found), axis=0)).max() < 0.08


@given(
    st.floats(-500.0, 500.0),
    st.floats(-500.0, 500.0),
    st.integers(0, 2**32 - 1).map(np.random.default_rng),
)
@settings(max_examples=25)
def test_moving_the_wall_moves_the_places(dx: float, dy: float, rng: np.random.Generator) -> None:
    marks, readings = random_case(rng)
    found = estimate_seats(marks, readings)
    moved_marks = {
        name: replace(m, x_mm=m.x_mm + dx, y_mm=m.y_mm + dy) for name, m in marks.items()
    }
    moved: list[Reading] = []
    for reading in readings:
        if isinstance(reading, Across):
            moved.append(replace(reading, x_mm=reading.x_mm + dx))
        elif isinstance(reading, Height):
            moved.append(replace(reading, line_mm=reading.line_mm + dy))
        else:
            moved.append(reading)
    shifted = estimate_seats(moved_marks, moved)
    for name, (x, y) in found.place_mm.items():
        assert shifted.place_mm[name] == pytest.approx((x + dx, y + dy), abs=1e-6)
    assert shifted.covariance_mm2 == pytest.approx(found.covariance_mm2, abs=1e-6)
    # one more reading, where the seat is, never makes anything less certain
    there = Across(seat="B1", x_mm=found.place_mm["B1"][0])
    more = estimate_seats(marks, [*readings, there])
    assert np.all(np.diag(more.covariance_mm2) <= np.diag(found.covariance_mm2) + 1e-6)


@pytest.mark.parametrize("off_mm", [25.4, -100.0, 254.0])
def test_a_tape_started_from_the_wrong_end_is_named(off_mm: float) -> None:
    marks, readings = random_case(np.random.default_rng(7))
    for i, reading in enumerate(readings):
        if isinstance(reading, Tape):
            wrong: list[Reading] = list(readings)
            wrong[i] = replace(reading, distance_mm=reading.distance_mm + off_mm)
            found = estimate_seats(marks, wrong)
            assert i in found.suspects
            # where one other reading checks it, both miss alike: either may be the wrong one
            assert abs(found.misses[i]) > 0.9 * max(abs(miss) for miss in found.misses)


def test_distances_that_make_no_triangle_do_not_settle() -> None:
    marks = {
        "A1": Mark(x_mm=-150.0, y_mm=970.0, placing_u_mm=100.0),
        "A2": Mark(x_mm=150.0, y_mm=1040.0, placing_u_mm=0.5),
        "B1": Mark(x_mm=200.0, y_mm=1040.0),
    }
    readings = [
        Tape(a="A1", b="A2", distance_mm=330.0, u_mm=0.01),
        Tape(a="A2", b="B1", distance_mm=66.0, u_mm=0.01),
        Tape(a="A1", b="B1", distance_mm=127.0),
    ]
    with pytest.raises(CoreError, match="contradict"):
        estimate_seats(marks, readings)


@pytest.mark.parametrize(
    ("marks", "readings"),
    [
        ({}, []),
        (PAIR, [Across(seat="Z9", x_mm=0.0)]),
        (PAIR, [Tape(a="A1", b="A1", distance_mm=5.0)]),
        (PAIR, [Tape(a="A1", b="A2", distance_mm=-5.0)]),
        (PAIR, [Across(seat="A1", x_mm=float("nan"))]),
        (PAIR, [Height(seat="A1", above_mm=0.0, line_mm=float("inf"))]),
        (PAIR, [Level(a="A1", b="A2", rise_mm=0.0, error_mm_per_m=float("nan"))]),
        (PAIR, [Across(seat="A1", x_mm=0.0, u_mm=0.0)]),
        ({"A1": Mark(x_mm=0.0, y_mm=0.0, placing_u_mm=0.0)}, []),
        ({"A1": Mark(x_mm=float("nan"), y_mm=0.0)}, []),
        (
            {"A1": PAIR["A1"], "A2": PAIR["A1"]},
            [Tape(a="A1", b="A2", distance_mm=5.0)],
        ),
    ],
)
def test_what_cannot_be_estimated_is_refused(marks: Any, readings: Any) -> None:
    with pytest.raises(CoreError):
        estimate_seats(marks, readings)
