"""The back is the mirror of the front, and the drawing says which face it shows."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holdtrue.core.model import Hanger, Panel, Plan
from holdtrue.drawing import panel_back
from holdtrue.drawing.back import Side, What

from .ruler import read

WHATS: tuple[What, ...] = ("from_edge", "spacing", "diagonals", "down", "all")


def whole_mm(mm: float) -> str:
    return f"{mm:.0f}"


@given(
    width_mm=st.floats(100.0, 3000.0),
    height_mm=st.floats(100.0, 3000.0),
    shares=st.lists(st.floats(-0.45, 0.45), min_size=1, max_size=5),
    v_share=st.floats(-0.4, 0.4),
)
def test_back_and_front_views_mirror_each_other(
    width_mm: float, height_mm: float, shares: list[float], v_share: float
) -> None:
    hangers = tuple(
        Hanger(u_mm=s * width_mm, v_mm=v_share * height_mm) for s in sorted(set(shares))
    )
    views = {}
    for face in ("back", "front"):
        panel = Panel(
            name="A",
            width_mm=width_mm,
            height_mm=height_mm,
            depth_mm=20.0,
            mass_kg=5.0,
            hangers=hangers,
            measured_on="back" if face == "back" else "front",
        )
        views[face] = read(panel_back(panel, fmt=whole_mm, which="diagonals"))
        assert any(f"seen from the {face}" in t for t in views[face].texts)
    tolerance = 0.05 / views["back"].scale
    for k, hanger in enumerate(hangers):
        name = f"A{k + 1}"
        _, (back_x, back_y) = views["back"].seats()[name]
        _, (front_x, front_y) = views["front"].seats()[name]
        assert front_x == pytest.approx(width_mm / 2 + hanger.u_mm, abs=tolerance)
        assert back_x + front_x == pytest.approx(width_mm, abs=2 * tolerance)
        assert back_y == pytest.approx(front_y, abs=tolerance)


def test_numbers_from_the_edge_are_what_the_job_file_gave(tidewrack: Plan) -> None:
    # tidewrack A, back: in 4 1/2 in and 25 5/8 in; from the right edge 30 in less
    panel = tidewrack.job.panels[0]
    left = read(panel_back(panel, fmt=lambda mm: f"{mm / 25.4:.3f}", which="from_edge"))
    assert {"4.500", "25.625"} <= set(left.texts)
    right = read(
        panel_back(panel, fmt=lambda mm: f"{mm / 25.4:.3f}", which="from_edge", from_side="right")
    )
    assert {"25.500", "4.375"} <= set(right.texts)
    down = read(panel_back(panel, fmt=lambda mm: f"{mm / 25.4:.3f}", which="down"))
    assert {"7.000", "7.125"} <= set(down.texts)
    spacing = read(panel_back(panel, fmt=lambda mm: f"{mm / 25.4:.3f}", which="spacing"))
    assert "21.125" in spacing.texts


def test_the_left_hanger_of_the_front_stands_right_on_the_back(tidewrack: Plan) -> None:
    seats = read(panel_back(tidewrack.job.panels[0], fmt=whole_mm)).seats()
    assert seats["A1"][1][0] > seats["A2"][1][0]


@pytest.mark.parametrize("which", WHATS)
@pytest.mark.parametrize("side", ["left", "right"])
def test_typed_values_replace_the_plans(staithe: Plan, which: What, side: Side) -> None:
    keys = ["in:0", "spacing:0", "diagonal:1", "down:0"]
    drawn = read(
        panel_back(
            staithe.job.panels[0],
            fmt=whole_mm,
            which=which,
            from_side=side,
            in_hand=None,
            values=dict.fromkeys(keys, 77777.0),
        )
    )
    assert "77777" in drawn.texts
    assert "77777" not in drawn.desc


def test_blank_numbers_are_question_marks(staithe: Plan) -> None:
    drawn = read(panel_back(staithe.job.panels[0], fmt=whole_mm, which="spacing", blank=True))
    assert drawn.texts.count("?") == 2


def test_only_the_hanger_in_hand_is_dimensioned(staithe: Plan) -> None:
    drawn = read(panel_back(staithe.job.panels[0], fmt=whole_mm, which="from_edge", in_hand=0))
    assert drawn.seats()["N1"][0] == "hand"
    assert drawn.seats()["N2"][0] == "hanger"
    # N, back: the front's first hanger is the back's third, 790 in from the back's left edge
    numbers = [t for t in drawn.texts if t.isdigit()]
    assert numbers == ["790"]


def test_hostile_panel_names_stay_text(staithe: Plan) -> None:
    panel = Panel(
        name='<g onload="x">&',
        width_mm=500.0,
        height_mm=400.0,
        depth_mm=20.0,
        mass_kg=1.0,
        hangers=(Hanger(u_mm=0.0, v_mm=0.0),),
    )
    drawn = read(panel_back(panel, fmt=whole_mm))
    assert any('<g onload="x">&' in t for t in drawn.texts)
    assert not any("onload" in e.attrib for e in drawn.root.iter())


def test_spacings_are_named_as_their_seats_stand_from_the_front(staithe: Plan) -> None:
    drawn = panel_back(staithe.job.panels[0], fmt=whole_mm, which="spacing", is_live=True)
    assert re.findall(r'data-live="([^"]*)"', drawn) == ["spacing:N2-N3", "spacing:N1-N2"]
    assert "data-live" not in panel_back(staithe.job.panels[0], fmt=whole_mm, which="spacing")
