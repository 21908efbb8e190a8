"""Panels on a slope are drawn turned, where their seats put them; and what is cut at a view."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holdtrue.core.model import Plan
from holdtrue.core.plan import make_plan
from holdtrue.core.slope import corners_mm, panel_stands
from holdtrue.drawing import as_built, elevation, mark_close_up
from holdtrue.drawing.view import Box

from .ruler import Read, read

Point = tuple[float, float]


def whole_mm(mm: float) -> str:
    return f"{mm:.0f}"


@pytest.fixture(scope="module")
def sloping(tidewrack: Plan) -> Plan:
    layout = replace(tidewrack.job.layout, slope_mm_per_m=40.0)
    return make_plan(replace(tidewrack.job, layout=layout))


def places(drawn: Read, path: str) -> list[Point]:
    """The corners of a path of straight lines, mm."""
    pairs = path.removesuffix("Z").removesuffix("z").replace("M", " ").replace("L", " ").split()
    numbers = [float(text) for text in pairs]
    return [drawn.mm(x, y) for x, y in zip(numbers[::2], numbers[1::2], strict=True)]


def planned(plan: Plan) -> list[tuple[Point, ...]]:
    stands = panel_stands(plan.job, plan.arrangement)
    return [corners_mm(p, s) for p, s in zip(plan.job.panels, stands, strict=True)]


def same(one: list[Point], other: tuple[Point, ...], drawn: Read) -> None:
    for a, b in zip(one, other, strict=True):
        assert a == pytest.approx(b, abs=0.02 / drawn.scale)


def test_the_wall_shows_every_panel_turned_on_its_seats(sloping: Plan) -> None:
    drawn = read(elevation(sloping, fmt=whole_mm, width_px=720.0))
    outlines = drawn.of_class("d-panel")
    for outline, corners in zip(outlines, planned(sloping), strict=True):
        same(places(drawn, outline.attrib["d"]), corners, drawn)


def test_the_plan_beside_what_was_built_is_turned_too(sloping: Plan) -> None:
    drawn = read(as_built(sloping, fmt=whole_mm, set_mm={}, magnify=1.0))
    outlines = drawn.of_class("d-panel-plan")
    for outline, corners in zip(outlines, planned(sloping), strict=True):
        # drawn turned, not sheared: 40 mm/m makes 0.8 per thousand of the size
        for a, b in zip(places(drawn, outline.attrib["d"]), corners, strict=True):
            assert a == pytest.approx(b, abs=1.0)


def test_close_up_the_panel_lies_under_its_own_mark(sloping: Plan) -> None:
    """Every corner of the piece that is drawn lies on or in the panel as it is planned."""
    row = next(s for s in sloping.seats if s.seat == "D1")
    drawn = read(mark_close_up(sloping, "D1", fmt=whole_mm))
    pieces = [places(drawn, one.attrib["d"]) for one in drawn.of_class("d-paper")]
    (own,) = [piece for piece in pieces if is_in((row.x_mm, row.y_mm), piece)]
    corners = planned(sloping)[row.panel]
    for corner in own:
        assert is_in(corner, list(corners), slack=0.03 / drawn.scale)


def is_in(point: Point, shape: list[Point], slack: float = 0.0) -> bool:
    """Inside or on a convex shape, whichever way round it is given."""
    sides = []
    for (ax, ay), (bx, by) in zip(shape, [*shape[1:], shape[0]], strict=True):
        length = ((bx - ax) ** 2 + (by - ay) ** 2) ** 0.5
        if length:
            cross = (bx - ax) * (point[1] - ay) - (by - ay) * (point[0] - ax)
            sides.append(cross / length)
    return all(s >= -slack for s in sides) or all(s <= slack for s in sides)


def area(shape: list[Point]) -> float:
    """Shoelace formula."""
    turns = zip(shape, [*shape[1:], *shape[:1]], strict=True)
    return abs(sum(ax * by - bx * ay for (ax, ay), (bx, by) in turns)) / 2


BOX = Box(x0_mm=-10.0, y0_mm=0.0, x1_mm=30.0, y1_mm=20.0)
MM = st.integers(-60, 60).map(float)


@given(MM, MM, st.integers(1, 80), st.integers(1, 80), MM, MM)
def test_what_of_a_shape_lies_in_a_box_is_found_point_by_point(
    x: float, y: float, width: int, height: int, at_x: float, at_y: float
) -> None:
    """The other route: a point lies in the cut just when it lies in the shape and in the box."""
    lean = 0.25
    shape = [
        (x - lean * height, y + height),
        (x + width - lean * height, y + height),
        (x + width, y),
        (x, y),
    ]
    cut = BOX.cut(shape)
    point = (at_x + 0.37, at_y + 0.61)  # on no edge
    is_in_box = BOX.x0_mm < point[0] < BOX.x1_mm and BOX.y0_mm < point[1] < BOX.y1_mm
    is_in_both = is_in_box and is_in(point, shape)
    # a shape that only touches the box is cut to a point or a line, and nothing lies in that
    assert (area(cut) > 1e-9 and is_in(point, cut)) == is_in_both
    for corner in cut:
        assert is_in(corner, shape, slack=1e-9)
        assert BOX.x0_mm <= corner[0] <= BOX.x1_mm
        assert BOX.y0_mm <= corner[1] <= BOX.y1_mm


def test_a_cut_side_runs_along_the_box_and_a_true_edge_does_not() -> None:
    cut = BOX.cut([(0.0, 30.0), (20.0, 30.0), (20.0, 5.0), (0.0, 5.0)])
    sides = [BOX.is_along(a, b) for a, b in zip(cut, [*cut[1:], cut[0]], strict=True)]
    assert sorted(sides) == [False, False, False, True]
