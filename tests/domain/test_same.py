"""One answer for two questions only where every number is the same."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pytest

from holdtrue.domain import outlook
from holdtrue.domain.same import Same
from holdtrue.domain.standing import standing
from tests.domain.crew import at_fasteners, golden


@dataclass(frozen=True)
class Inner:
    size_mm: float


@dataclass(frozen=True)
class Outer:
    marks_mm: Any
    inner: Inner = Inner(1.0)
    names: Any = ("A1", "A2")
    panels: Any = frozenset({0, 1})


def outer() -> Outer:
    return Outer({"A1": np.array([1.0, 2.0]), "A2": np.array([3.0, 4.0])})


def test_the_same_numbers_are_the_same_question() -> None:
    assert Same(outer()) == Same(outer())
    assert hash(Same(outer())) == hash(Same(outer()))


@pytest.mark.parametrize(
    "other",
    [
        replace(outer(), marks_mm={"A1": np.array([1.0, 2.0])}),
        replace(outer(), marks_mm={"A1": np.array([1.0, 2.0]), "A2": np.array([3.0, 4.1])}),
        replace(outer(), marks_mm={"A1": np.array([1.0, 2.0]), "A3": np.array([3.0, 4.0])}),
        replace(outer(), marks_mm={"A1": np.array([[1.0, 2.0]]), "A2": np.array([3.0, 4.0])}),
        replace(outer(), inner=Inner(1.1)),
        replace(outer(), names=("A1",)),
        replace(outer(), panels={0}),
    ],
)
def test_another_number_anywhere_is_another_question(other: Outer) -> None:
    assert Same(other) != Same(outer())


def test_what_cannot_be_compared_is_refused() -> None:
    with pytest.raises(TypeError, match="bytearray"):
        Same(replace(outer(), names=bytearray()))


def test_the_forecast_that_is_kept_is_the_one_made_afresh() -> None:
    crew = at_fasteners(golden("tidewrack"))
    then = crew.state
    assert Same(standing(then)) == Same(standing(crew.state))
    kept = outlook.outlook(then), outlook.outlook(then), outlook.stick_panels(then)
    crew.walk(until="fasteners.measure:C1")
    seat = crew.state.seat("C1")
    crew.measure("C1", seat.x_mm + 2.0, seat.y_mm - 3.0)
    after = outlook.outlook(crew.state)
    outlook._looked.cache_clear()
    outlook._offered.cache_clear()
    assert kept == (outlook.outlook(then), outlook.outlook(then), outlook.stick_panels(then))
    assert after == outlook.outlook(crew.state)
    assert after != kept[0]
