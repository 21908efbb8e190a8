"""A seat read twice: both readings count."""

from __future__ import annotations

from math import sqrt

import numpy as np
import pytest

from holdtrue.domain.errors import ConflictError
from holdtrue.domain.estimating import readings
from tests.domain.crew import Crew, at_fasteners, panel, row

ONE = row(panel("A"))


def measured(x: str = "200", above: str = "104") -> Crew:
    crew = at_fasteners(ONE)
    crew.walk(until="fasteners.measure:A1")
    raw = {"x": x, "x.side": "left", "above": above}
    crew.record("fasteners.measure:A1", raw, is_sure=True)
    return crew


def again(crew: Crew, x: str, above: str) -> None:
    crew.record("fasteners.again:A1", {"x": x, "x.side": "left", "above": above})


def test_two_readings_give_their_mean_and_know_it_better() -> None:
    """Closed form: the mean of two independent readings has u / sqrt(2) (GUM 4.2.3)."""
    crew = measured("200", "104")
    before = crew.state
    assert before.estimate is not None
    assert before.estimate.u_mm("A1") == pytest.approx((0.5, 0.5))
    again(crew, "201", "105")
    state = crew.state
    assert state.estimate is not None
    x, y = before.set_mm["A1"]
    assert state.set_mm["A1"] == pytest.approx((x - 0.5, y + 0.5))
    assert state.estimate.u_mm("A1") == pytest.approx((0.5 / sqrt(2), 0.5 / sqrt(2)))


def test_it_goes_with_the_other_readings_as_in_least_squares() -> None:
    """Second route: numpy's lstsq on whitened rows, heights only, with the level between seats."""
    crew = measured("200", "104")
    crew.walk(until="fasteners.measure:A2")
    crew.record(
        "fasteners.measure:A2", {"x": "200", "x.side": "right", "above": "103"}, is_sure=True
    )
    again(crew, "200", "105")
    crew.record("fasteners.cross:A1-A2", {"higher": "left", "by": "2.5"})
    state = crew.state
    listed = [one for one in readings(state) if type(one).__name__ in ("Height", "Level")]
    rows, read, u = [], [], []
    for one in listed:
        if type(one).__name__ == "Height":
            rows.append([1.0, 0.0] if one.seat == "A1" else [0.0, 1.0])  # type: ignore[union-attr]
            read.append(one.line_mm + one.above_mm)  # type: ignore[union-attr]
        else:
            rows.append([-1.0, 1.0])
            read.append(one.rise_mm)  # type: ignore[union-attr]
        u.append(one.u_mm)
    weights = 1 / np.array(u)
    found = np.linalg.lstsq(np.array(rows) * weights[:, None], np.array(read) * weights, rcond=None)
    assert len(listed) == 4
    assert [state.set_mm[name][1] for name in ("A1", "A2")] == pytest.approx(found[0], abs=1e-6)


def test_a_seat_that_is_not_set_is_not_read_again() -> None:
    crew = at_fasteners(ONE)
    crew.walk(until="fasteners.measure:A1")
    with pytest.raises(ConflictError, match="first finish"):
        again(crew, "200", "104")


def test_a_fastener_given_up_takes_both_readings_with_it() -> None:
    crew = measured()
    again(crew, "201", "105")
    crew.free("A1", why="wrong_hole")
    assert "fasteners.again:A1" not in crew.state.records
    crew.walk(until="fasteners.measure:A1")
    crew.record(
        "fasteners.measure:A1", {"x": "200", "x.side": "left", "above": "104"}, is_sure=True
    )
    assert crew.state.estimate is not None
    assert crew.state.estimate.u_mm("A1") == pytest.approx((0.5, 0.5))
