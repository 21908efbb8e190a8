"""Where panels and seats are planned: by hand, and what must hold for any layout."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holdtrue.core.errors import CoreError
from holdtrue.core.geometry import arrange, bounding_box_mm, front_offset_mm
from holdtrue.core.model import Hanger, Job, Layout, Neighbours
from tests.core.jobs import any_job, job, panel, row

TALL = panel("A", 400.0, 1000.0, [(0.0, 300.0)])
WIDE = panel("B", 800.0, 600.0, [(-200.0, 250.0), (300.0, 240.0)])
SMALL = panel("C", 200.0, 200.0, [(0.0, 0.0)])


def centres(a_job: Job) -> list[tuple[float, float]]:
    return [(round(x, 9), round(y, 9)) for x, y in arrange(a_job).centres_mm]


# ---- the hangers of one panel


@pytest.mark.parametrize(
    ("face", "in_mm", "u_mm"),
    [
        ("front", 100.0, -150.0),
        ("back", 100.0, 150.0),
        ("back", 250.0, 0.0),
        ("front", 500.0, 250.0),
    ],
)
def test_in_counts_from_the_left_edge_of_the_face_measured(
    face: str, in_mm: float, u_mm: float
) -> None:
    offset = front_offset_mm(in_mm, 50.0, width_mm=500.0, height_mm=700.0, measured_on=face)
    assert offset == (u_mm, 300.0)


def test_there_is_no_third_face() -> None:
    with pytest.raises(CoreError, match="back"):
        front_offset_mm(0.0, 0.0, width_mm=1.0, height_mm=1.0, measured_on="side")


@given(st.floats(1, 5000), st.floats(0, 1), st.floats(0, 1))
def test_measured_on_the_back_is_measured_on_the_front_from_the_other_edge(
    width: float, across: float, down: float
) -> None:
    in_mm, size = across * width, {"width_mm": width, "height_mm": 900.0}
    back = front_offset_mm(in_mm, down * 900.0, measured_on="back", **size)
    front = front_offset_mm(width - in_mm, down * 900.0, measured_on="front", **size)
    assert back == pytest.approx(front, abs=1e-9)


# ---- rows


@pytest.mark.parametrize(
    ("align", "heights"),
    [
        ("top", [1500.0, 1700.0, 1900.0]),
        ("centre", [1500.0, 1500.0, 1500.0]),
        ("bottom", [1500.0, 1300.0, 1100.0]),
    ],
)
def test_a_row_stands_left_to_right_with_its_gaps(align: str, heights: list[float]) -> None:
    # widths 400 + 30 + 800 + 70 + 200 = 1500: the box runs from -750 to 750
    placed = centres(row(TALL, WIDE, SMALL, gaps=(30.0, 70.0), align=align))
    assert placed == list(zip([-550.0, 80.0, 650.0], heights, strict=True))


@pytest.mark.parametrize(
    ("of", "at", "middle"),
    [("centre", 1500.0, 1500.0), ("top", 2000.0, 1500.0), ("bottom", 900.0, 1400.0)],
)
def test_height_holds_the_centre_top_or_bottom_of_the_box(
    of: str, at: float, middle: float
) -> None:
    placed = row(TALL, WIDE, height_of=of, height_at_mm=at, offset_mm=-120.0)
    left, bottom, right, top = bounding_box_mm(placed.panels, arrange(placed).centres_mm)
    assert (bottom + top) / 2 == pytest.approx(middle)
    assert (left + right) / 2 == pytest.approx(-120.0)


def test_row_neighbours_are_side_by_side_and_one_group() -> None:
    arrangement = arrange(row(TALL, WIDE, SMALL))
    assert arrangement.neighbours == (
        Neighbours(p=0, q=1, how="beside"),
        Neighbours(p=1, q=2, how="beside"),
    )
    assert arrangement.groups == ((0, 1, 2),)


def test_seats_are_named_from_the_left_seen_from_the_front() -> None:
    arrangement = arrange(row(TALL, WIDE))
    assert arrangement.seat_names == ("A1", "B1", "B2")
    assert arrangement.seat_panel == (0, 1, 1)
    assert arrangement.seat_hanger == (0, 0, 1)
    # box 1250 wide, 1000 high around (0, 1500); B's centre 225, seats at u -200 and 300
    assert arrangement.seats_mm == ((-425.0, 1800.0), (25.0, 1750.0), (525.0, 1740.0))


# ---- columns


@pytest.mark.parametrize(
    ("align", "xs"),
    [("left", [-200.0, 0.0, -300.0]), ("centre", [0.0, 0.0, 0.0]), ("right", [200.0, 0.0, 300.0])],
)
def test_a_column_stands_top_to_bottom_with_its_gaps(align: str, xs: list[float]) -> None:
    # heights 1000 + 40 + 600 + 60 + 200 = 1900 around 1500: from 2450 down to 550
    layout = Layout(kind="column", gaps_mm=(40.0, 60.0), align=align, height_at_mm=1500.0)  # type: ignore[arg-type]
    a_job = job(TALL, WIDE, SMALL, layout=layout)
    assert centres(a_job) == list(zip(xs, [1950.0, 1110.0, 650.0], strict=True))
    assert arrange(a_job).neighbours == (
        Neighbours(p=0, q=1, how="above"),
        Neighbours(p=1, q=2, how="above"),
    )


# ---- grids


@pytest.mark.parametrize(
    ("align", "heights"),
    [
        # rows 1000 and 200 high, gap 50: box 1250 around 1500, from 2125 down to 875
        ("top", [1625.0, 1825.0, 975.0]),
        ("centre", [1625.0, 1625.0, 975.0]),
        ("bottom", [1625.0, 1425.0, 975.0]),
    ],
)
def test_a_grid_aligns_each_row_against_its_tallest_panel(align: str, heights: list[float]) -> None:
    layout = Layout(
        kind="grid",
        rows=((0, 1), (2,)),
        gap_x_mm=20.0,
        gap_y_mm=50.0,
        height_at_mm=1500.0,
        align=align,  # type: ignore[arg-type]
    )
    # upper row 400 + 20 + 800 = 1220 and the lower one 200, both centred on x = 0
    assert centres(job(TALL, WIDE, SMALL, layout=layout)) == list(
        zip([-410.0, 210.0, 0.0], heights, strict=True)
    )


def test_grid_neighbours_are_beside_in_a_row_and_above_where_they_overlap() -> None:
    layout = Layout(kind="grid", rows=((0, 1), (2,)), gap_x_mm=20.0, height_at_mm=1500.0)
    # C spans -100 to 100; A ends at -210, B starts at -190
    assert arrange(job(TALL, WIDE, SMALL, layout=layout)).neighbours == (
        Neighbours(p=0, q=1, how="beside"),
        Neighbours(p=1, q=2, how="above"),
    )


@pytest.mark.parametrize(("gap_x", "are_neighbours"), [(97.9, True), (98.0, False), (98.1, False)])
def test_an_overlap_of_up_to_one_millimetre_makes_no_neighbours(
    gap_x: float, are_neighbours: bool
) -> None:
    upper = [panel("A", 100.0, 100.0, [(0.0, 0.0)]), panel("B", 100.0, 100.0, [(0.0, 0.0)])]
    # a lower panel exactly 100 wide: overlap with each upper one is (100 - gap)/2
    lower = panel("C", 100.0, 100.0, [(0.0, 0.0)])
    layout = Layout(kind="grid", rows=((0, 1), (2,)), gap_x_mm=gap_x, height_at_mm=1500.0)
    above = [n for n in arrange(job(*upper, lower, layout=layout)).neighbours if n.how == "above"]
    assert bool(above) is are_neighbours


def test_a_panel_that_touches_none_above_is_a_group_of_its_own() -> None:
    lower = panel("C", 10.0, 10.0, [(0.0, 0.0)])
    upper = [panel("A", 100.0, 100.0, [(0.0, 0.0)]), panel("B", 100.0, 100.0, [(0.0, 0.0)])]
    layout = Layout(kind="grid", rows=((0, 1), (2,)), gap_x_mm=50.0, height_at_mm=1500.0)
    assert arrange(job(*upper, lower, layout=layout)).groups == ((0, 1), (2,))


# ---- free layouts, slopes, unknown kinds


def test_free_panels_hang_where_they_are_put_each_a_group_of_its_own() -> None:
    layout = Layout(kind="free", centres_mm=((-300.0, 1400.0), (500.0, 1600.0)))
    arrangement = arrange(job(TALL, WIDE, layout=layout))
    assert arrangement.centres_mm == ((-300.0, 1400.0), (500.0, 1600.0))
    assert arrangement.neighbours == ()
    assert arrangement.groups == ((0,), (1,))


def test_a_sloping_room_raises_every_seat_by_its_x() -> None:
    wide = replace(WIDE, hangers=tuple(replace(h, v_mm=250.0) for h in WIDE.hangers))
    level, sloping = row(wide), row(wide, slope_mm_per_m=3.0)
    before, after = arrange(level).seats_mm, arrange(sloping).seats_mm
    assert [a[1] - b[1] for a, b in zip(after, before, strict=True)] == pytest.approx([-0.6, 0.9])
    assert [a[0] for a in after] == [b[0] for b in before]


def test_a_layout_of_no_known_kind_is_refused() -> None:
    with pytest.raises(CoreError, match="row, column, grid or free"):
        arrange(job(TALL, layout=Layout(kind="heap")))  # type: ignore[arg-type]


# ---- what holds for any job


@given(any_job())
def test_every_seat_is_its_panels_centre_plus_its_hanger(a_job: Job) -> None:
    arrangement = arrange(a_job)
    for name, k, i, (x, y) in zip(
        arrangement.seat_names,
        arrangement.seat_panel,
        arrangement.seat_hanger,
        arrangement.seats_mm,
        strict=True,
    ):
        hanger, (cx, cy) = a_job.panels[k].hangers[i], arrangement.centres_mm[k]
        slope, vs = a_job.layout.slope_mm_per_m / 1000, [h.v_mm for h in a_job.panels[k].hangers]
        rise = slope * (cx + hanger.u_mm)
        aside = -slope * (hanger.v_mm - sum(vs) / len(vs))
        assert name == f"{a_job.panels[k].name}{i + 1}"
        assert (x, y) == pytest.approx((cx + hanger.u_mm + aside, cy + hanger.v_mm + rise))


@given(any_job())
def test_the_box_stands_where_the_layout_says(a_job: Job) -> None:
    layout = a_job.layout
    if layout.kind == "free":
        return
    left, bottom, right, top = bounding_box_mm(a_job.panels, arrange(a_job).centres_mm)
    held = {"centre": (bottom + top) / 2, "top": top, "bottom": bottom}[layout.height_of]
    assert (left + right) / 2 == pytest.approx(layout.offset_mm, abs=1e-6)
    assert held == pytest.approx(layout.height_at_mm, abs=1e-6)


@given(any_job(), st.integers(-2000, 2000))
def test_an_offset_moves_every_seat_sideways_and_nothing_else(a_job: Job, by: int) -> None:
    level = replace(a_job, layout=replace(a_job.layout, slope_mm_per_m=0.0))
    if level.layout.kind == "free":
        return
    moved = replace(level, layout=replace(level.layout, offset_mm=level.layout.offset_mm + by))
    for (x, y), (there_x, there_y) in zip(
        arrange(level).seats_mm, arrange(moved).seats_mm, strict=True
    ):
        assert (there_x - x, there_y - y) == pytest.approx((by, 0.0), abs=1e-6)


@given(any_job())
def test_turning_all_hangers_around_mirrors_the_seats_within_each_panel(a_job: Job) -> None:
    """What a plan would be if someone measured the back and called it the front."""
    level = replace(a_job, layout=replace(a_job.layout, slope_mm_per_m=0.0))
    mirrored = replace(
        level,
        panels=tuple(
            replace(
                p,
                hangers=tuple(Hanger(u_mm=-h.u_mm, v_mm=h.v_mm) for h in reversed(p.hangers)),
            )
            for p in level.panels
        ),
    )
    here, there = arrange(level), arrange(mirrored)
    assert there.centres_mm == here.centres_mm
    for k, (cx, _) in enumerate(here.centres_mm):
        seats = [s for s, at in zip(here.seats_mm, here.seat_panel, strict=True) if at == k]
        turned = [s for s, at in zip(there.seats_mm, there.seat_panel, strict=True) if at == k]
        for (x, y), (turned_x, turned_y) in zip(seats, reversed(turned), strict=True):
            assert (turned_x, turned_y) == pytest.approx((2 * cx - x, y), abs=1e-6)


@given(any_job())
def test_neighbours_face_each_other_at_the_gap_asked_for(a_job: Job) -> None:
    arrangement, layout = arrange(a_job), a_job.layout
    for number, pair in enumerate(arrangement.neighbours):
        p, q = a_job.panels[pair.p], a_job.panels[pair.q]
        (px, py), (qx, qy) = arrangement.centres_mm[pair.p], arrangement.centres_mm[pair.q]
        if pair.how == "beside":
            gap = (qx - q.width_mm / 2) - (px + p.width_mm / 2)
            wanted = layout.gap_x_mm if layout.kind == "grid" else layout.gaps_mm[number]
            assert math.isclose(gap, wanted, abs_tol=1e-6)
        elif layout.kind == "column":
            gap = (py - p.height_mm / 2) - (qy + q.height_mm / 2)
            assert math.isclose(gap, layout.gaps_mm[number], abs_tol=1e-6)
        else:
            # in a grid the tallest of each row keep the gap; the others stand back from it
            assert (py - p.height_mm / 2) - (qy + q.height_mm / 2) >= layout.gap_y_mm - 1e-6
