"""What is behind a mark, to the edge, and what a hole must not hit."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holdtrue.core.model import Fastener, KeepClear, Stud, Wall
from holdtrue.core.wall import (
    Behind,
    behind_at,
    closed_areas,
    fastener_for,
    hole_findings,
    is_same_ground,
)

WOOD = Stud(x_mm=1000.0, width_mm=38.0, material="wood")
WALL = Wall(studs=(WOOD,), stud_clearance_mm=6.0)


@pytest.mark.parametrize(
    ("x", "into"),
    [
        (1000.0, "stud"),
        (1019.0, "stud"),
        (981.0, "stud"),
        (1019.001, "edge"),
        (980.999, "edge"),
        (1025.0, "edge"),
        (975.0, "edge"),
        (1025.001, "hollow"),
        (974.999, "hollow"),
        (0.0, "hollow"),
    ],
)
def test_bands_of_a_stud_to_their_edges(x: float, into: str) -> None:
    assert behind_at(WALL, x).into == into


@pytest.mark.parametrize("inches", range(-60, 61, 7))
def test_a_stud_edge_typed_in_inches_does_not_miss_itself(inches: int) -> None:
    wall = Wall(studs=(Stud(x_mm=inches * 25.4, width_mm=38.1),))
    assert behind_at(wall, (inches + 0.75) * 25.4).into == "stud"
    assert behind_at(wall, (inches - 0.75) * 25.4 - 6.0).into == "edge"


@pytest.mark.parametrize(
    ("material", "into"), [("wood", "stud"), ("unknown", "stud"), ("steel", "steel")]
)
def test_a_stud_is_what_it_is_made_of(material: str, into: str) -> None:
    wall = Wall(studs=(Stud(x_mm=0.0, width_mm=40.0, material=material),))  # type: ignore[arg-type]
    assert behind_at(wall, 5.0) == Behind(into=into, material=material)  # type: ignore[arg-type]
    assert behind_at(wall, 23.0) == Behind(into="edge", material=material)  # type: ignore[arg-type]


def test_no_clearance_means_no_edge() -> None:
    wall = Wall(studs=(WOOD,), stud_clearance_mm=0.0)
    assert behind_at(wall, 1019.0).into == "stud"
    assert behind_at(wall, 1019.01).into == "hollow"


@pytest.mark.parametrize("behind", ["hollow", "backed", "solid"])
def test_away_from_studs_it_is_what_the_wall_is(behind: str) -> None:
    wall = Wall(behind=behind, studs=(WOOD,))  # type: ignore[arg-type]
    assert behind_at(wall, 0.0) == Behind(into=behind)  # type: ignore[arg-type]


def test_a_solid_wall_has_no_studs() -> None:
    assert behind_at(Wall(behind="solid", studs=(WOOD,)), 1000.0) == Behind(into="solid")


def test_where_bands_overlap_the_nearest_stud_decides() -> None:
    doubled = Wall(
        studs=(
            Stud(x_mm=0.0, width_mm=38.0, material="wood"),
            Stud(x_mm=60.0, width_mm=38.0, material="steel"),
        ),
        stud_clearance_mm=30.0,
    )
    assert behind_at(doubled, 25.0) == Behind(into="edge", material="wood")
    assert behind_at(doubled, 35.0) == Behind(into="edge", material="steel")
    assert behind_at(doubled, 41.0) == Behind(into="steel", material="steel")


@given(st.floats(-5000, 5000), st.lists(st.integers(-5000, 5000), max_size=5))
def test_bands_agree_with_the_distance_to_every_stud(x: float, studs: list[int]) -> None:
    wall = Wall(studs=tuple(Stud(x_mm=at, width_mm=38.0) for at in studs))
    into = behind_at(wall, x).into
    beyond = min((abs(x - at) - 19.0 for at in studs), default=1e9)
    if abs(beyond) > 1e-6 and abs(beyond - 6.0) > 1e-6:
        assert into == ("stud" if beyond < 0 else "edge" if beyond < 6 else "hollow")


# ---- fasteners

LISTED = tuple(
    Fastener(name=name, into=into)  # type: ignore[arg-type]
    for name, into in [
        ("toggle", "hollow"),
        ("screw", "stud"),
        ("other toggle", "hollow"),
        ("self-tapper", "steel"),
        ("plug", "solid"),
    ]
)


@pytest.mark.parametrize(
    ("behind", "name"),
    [
        (Behind(into="hollow"), "toggle"),
        (Behind(into="stud", material="wood"), "screw"),
        (Behind(into="stud"), "screw"),
        (Behind(into="steel", material="steel"), "self-tapper"),
        (Behind(into="solid"), "plug"),
        (Behind(into="edge", material="wood"), "screw"),
        (Behind(into="edge"), "screw"),
        (Behind(into="edge", material="steel"), "self-tapper"),
        (Behind(into="backed"), None),
    ],
)
def test_the_first_fastener_listed_for_what_is_there(behind: Behind, name: str | None) -> None:
    chosen = fastener_for(behind, LISTED)
    assert (chosen.name if chosen else None) == name


# ---- conflicts

OUTLET = KeepClear(
    x0_mm=300.0, y0_mm=400.0, x1_mm=200.0, y1_mm=1200.0, why="cable up from an outlet"
)


@pytest.mark.parametrize(
    ("x", "y", "conflicts"),
    [
        (250.0, 800.0, True),
        (200.0, 400.0, True),
        (300.0, 1200.0, True),
        (199.999, 800.0, False),
        (300.001, 800.0, False),
        (250.0, 399.999, False),
        (250.0, 1200.001, False),
    ],
)
def test_a_hole_inside_a_keep_clear_area_bars_release_edges_included(
    x: float, y: float, conflicts: bool
) -> None:
    found = hole_findings("A1", x, y, Wall(keep_clear=(OUTLET,)))
    assert [(f.kind, f.seat, f.weight) for f in found] == (
        [("conflict", "A1", "bar")] if conflicts else []
    )
    assert all("cable up from an outlet" in f.text and "A1" in f.text for f in found)


@pytest.mark.parametrize(
    ("x", "end"),
    [
        (-500.0, "left"),
        (-500.1, "left"),
        (900.0, "right"),
        (950.0, "right"),
        (-499.9, None),
        (899.9, None),
    ],
)
def test_a_hole_at_or_beyond_a_wall_end_bars_release(x: float, end: str | None) -> None:
    found = hole_findings("B2", x, 1500.0, Wall(left_mm=-500.0, right_mm=900.0))
    assert [f.weight for f in found] == (["bar"] if end else [])
    assert all(f"{end} end" in f.text for f in found)


def test_a_wall_without_ends_has_none_to_cross() -> None:
    assert hole_findings("A1", 1e5, 1500.0, Wall()) == []


@given(st.floats(-1000, 1000), st.floats(0, 3000))
def test_a_hole_is_open_where_no_area_is_closed(x: float, y: float) -> None:
    wall = Wall(keep_clear=(OUTLET,), left_mm=-800.0, right_mm=900.0)
    is_closed = any(area.holds(x, y) for area in closed_areas(wall))
    assert is_closed == bool(hole_findings("A1", x, y, wall))


@pytest.mark.parametrize(
    ("behind", "x", "is_same"),
    [
        (Behind(into="hollow"), 300.0, True),
        (Behind(into="hollow"), 22.0, False),
        (Behind(into="hollow"), 10.0, False),
        (Behind(into="stud", material="wood"), 10.0, True),
        # a screw in a stud does not go to its edge, one at its edge may go in
        (Behind(into="stud", material="wood"), 22.0, False),
        (Behind(into="edge", material="wood"), 22.0, True),
        (Behind(into="edge", material="wood"), 10.0, True),
        (Behind(into="edge", material="wood"), 300.0, False),
        (Behind(into="edge", material="steel"), 10.0, False),
    ],
)
def test_ground_is_the_same_where_the_same_fastener_finds_as_much(
    behind: Behind, x: float, is_same: bool
) -> None:
    wall = Wall(studs=(Stud(x_mm=0.0, width_mm=38.1, material="wood"),))
    assert is_same_ground(wall, behind, x) is is_same
