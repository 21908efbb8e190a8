"""Outlets and the strips in which cables may run, to scale on the wall."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

from holdtrue.core.model import Outlet, Plan, Wall
from holdtrue.core.plan import make_plan
from holdtrue.drawing import elevation, mark_close_up
from tests.drawing.ruler import SVG, read

OUTLET = Outlet(x_mm=-200.0, y_mm=900.0, width_mm=80.0, height_mm=90.0)


def whole_mm(mm: float) -> str:
    return f"{mm:.0f}"


@pytest.fixture
def served(plan_named: Callable[[str], Plan]) -> Plan:
    plan = plan_named("staithe")
    return make_plan(replace(plan.job, wall=Wall(outlets=(OUTLET,), left_mm=-3000.0)))


def test_an_outlet_and_its_two_strips_are_drawn_where_they_are(served: Plan) -> None:
    drawn = read(elevation(served, fmt=whole_mm))
    upright, across = (e for e in drawn.of_class("d-keep") if e.tag == f"{SVG}rect")
    left, _ = drawn.mm(float(upright.attrib["x"]), 0.0)
    right, _ = drawn.mm(float(upright.attrib["x"]) + float(upright.attrib["width"]), 0.0)
    assert (left, right) == pytest.approx((-240.0, -160.0), abs=0.1 / drawn.scale)
    _, top = drawn.mm(0.0, float(across.attrib["y"]))
    _, bottom = drawn.mm(0.0, float(across.attrib["y"]) + float(across.attrib["height"]))
    assert (bottom, top) == pytest.approx((855.0, 945.0), abs=0.1 / drawn.scale)


def test_every_strip_says_what_runs_there(served: Plan) -> None:
    svg = elevation(served, fmt=whole_mm)
    assert "cables may run: straight up or down from outlet 1" in svg
    assert "cables may run: straight sideways from outlet 1" in svg


def test_what_lies_outside_the_drawing_is_left_out(plan_named: Callable[[str], Plan]) -> None:
    plan = plan_named("staithe")
    far = replace(OUTLET, x_mm=90_000.0, y_mm=50_000.0)
    svg = elevation(make_plan(replace(plan.job, wall=Wall(outlets=(far,)))), fmt=whole_mm)
    assert "cables may run" not in svg
    assert ">outlet<" not in svg


def test_the_close_up_shows_them_too(served: Plan) -> None:
    near = replace(OUTLET, x_mm=served.seats[0].x_mm, y_mm=served.seats[0].hole_y_mm)
    plan = make_plan(replace(served.job, wall=Wall(outlets=(near,))))
    assert "cables may run" in mark_close_up(plan, plan.seats[0].seat, fmt=whole_mm)
