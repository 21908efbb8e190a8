"""A level's own error out of two lines."""

from __future__ import annotations

from typing import Any

import pytest

from holdtrue.domain.levelcheck import level_error_mm_per_m


def read(over_mm: float, miss_mm: float, higher: str, **more: str) -> dict[str, Any]:
    return {"over": {"mm": over_mm}, "miss": {"mm": miss_mm}, "higher": higher, **more}


@pytest.mark.parametrize(("higher", "error"), [("high", 0.5), ("low", -0.5), ("same", 0.0)])
def test_half_of_what_the_lines_differ_by_is_the_levels(higher: str, error: float) -> None:
    assert level_error_mm_per_m(read(1000.0, 1.0, higher)) == pytest.approx(error)


def test_it_is_per_metre_whatever_the_length() -> None:
    assert level_error_mm_per_m(read(1219.2, 1.5875, "high")) == pytest.approx(0.65104, abs=1e-5)


def test_a_level_tilted_on_purpose_gives_its_tilt_back() -> None:
    """A level that calls a slope of 0.8 mm/m level draws one line up, the other down by as much."""
    tilt, length_mm = 0.8, 1800.0
    first, turned = tilt * length_mm / 1000, -tilt * length_mm / 1000

    assert level_error_mm_per_m(read(length_mm, first - turned, "high")) == pytest.approx(tilt)


def test_a_lasers_miss_is_its_tilt() -> None:
    """The right end of a line 3 m long that rises 0.4 mm/m lies 0.6 mm over the laser's middle, its
    left end 0.6 mm under: turned onto the same spot they miss by 1.2 mm."""
    tilt, length_mm = 0.4, 3000.0
    right_end, left_end = tilt * length_mm / 2000, -tilt * length_mm / 2000

    values = read(length_mm, right_end - left_end, "high", instrument="laser")

    assert level_error_mm_per_m(values) == pytest.approx(tilt)


def test_an_entry_that_names_no_instrument_is_of_a_spirit_level() -> None:
    assert level_error_mm_per_m(read(1000.0, 1.0, "low")) == -0.5
    assert level_error_mm_per_m(read(1000.0, 1.0, "low", instrument="spirit")) == -0.5
