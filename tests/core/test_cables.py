"""Zones in which cables may run, and the holes that lie in them.

Figures: BS 7671:2018 522.6.202 (150 mm of the wall's top and of a corner; straight up, down and
sideways from any accessory).
"""

from __future__ import annotations

from math import inf

import pytest

from holdtrue.core.cables import cable_zones, zone_notes
from holdtrue.core.model import Outlet, Wall
from holdtrue.core.wall import hole_findings

SOCKET = Outlet(x_mm=300.0, y_mm=400.0, width_mm=80.0, height_mm=90.0)
WALL = {"left_mm": -2000.0, "right_mm": 2500.0, "top_mm": 2400.0}


def said(x_mm: float, y_mm: float, **wall: object) -> list[str]:
    given = Wall(**{"outlets": (SOCKET,), **wall})  # type: ignore[arg-type]
    return [finding.text for finding in hole_findings("A1", x_mm, y_mm, given)]


def test_cables_run_straight_up_down_and_sideways_from_an_outlet() -> None:
    up, across = cable_zones(Wall(outlets=(SOCKET,)))

    assert (up.x0_mm, up.x1_mm, up.y0_mm, up.y1_mm) == (260.0, 340.0, -inf, inf)
    assert (across.y0_mm, across.y1_mm, across.x0_mm, across.x1_mm) == (355.0, 445.0, -inf, inf)


@pytest.mark.parametrize("x_mm", [260.0, 300.0, 340.0])
def test_a_hole_above_an_outlet_is_a_conflict_that_names_seat_and_reason(x_mm: float) -> None:
    (text,) = said(x_mm, 1800.0)
    assert text == (
        "A1: the hole lies where cables may run, straight up or down from outlet 1 "
        "(BS 7671:2018 522.6.202)"
    )


@pytest.mark.parametrize("y_mm", [355.0, 445.0])
def test_a_hole_beside_an_outlet_is_one_too(y_mm: float) -> None:
    assert "straight sideways from outlet 1" in said(-1500.0, y_mm)[0]


@pytest.mark.parametrize(("x_mm", "y_mm"), [(259.9, 1800.0), (340.1, 454.0), (0.0, 354.9)])
def test_beside_the_strips_there_is_no_conflict(x_mm: float, y_mm: float) -> None:
    assert said(x_mm, y_mm) == []


def test_a_conflict_bars_release() -> None:
    wall = Wall(outlets=(SOCKET,))
    (finding,) = hole_findings("A1", 300.0, 1800.0, wall)
    assert (finding.kind, finding.weight, finding.seat) == ("conflict", "bar", "A1")


@pytest.mark.parametrize(
    ("x_mm", "y_mm", "where"),
    [
        (0.0, 2250.0, "top"),
        (-1850.0, 1500.0, "left end"),
        (2350.0, 1500.0, "right end"),
    ],
)
def test_prescribed_zones_lie_along_the_top_and_the_ends(
    x_mm: float, y_mm: float, where: str
) -> None:
    (text,) = said(x_mm, y_mm, cable_zones="prescribed", **WALL)
    assert f"within 150 mm of the wall's {where} (BS 7671:2018 522.6.202)" in text
    assert said(x_mm, y_mm, **WALL) == []


@pytest.mark.parametrize(("x_mm", "y_mm"), [(0.0, 2249.9), (-1849.9, 1500.0), (2349.9, 1500.0)])
def test_the_prescribed_zones_end_at_150_mm(x_mm: float, y_mm: float) -> None:
    assert said(x_mm, y_mm, cable_zones="prescribed", **WALL) == []


def test_what_of_the_prescribed_zones_is_not_checked_is_said() -> None:
    notes = zone_notes(Wall(cable_zones="prescribed", left_mm=0.0))
    assert [note.weight for note in notes] == ["note", "note"]
    assert ["top" in notes[0].text, "right end" in notes[1].text] == [True, True]
    assert zone_notes(Wall(cable_zones="prescribed", **WALL)) == []  # type: ignore[arg-type]
    assert zone_notes(Wall()) == []
