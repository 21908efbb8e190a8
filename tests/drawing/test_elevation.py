"""The elevation is to scale and says the same things in words, signs and numbers."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holdtrue.core.model import Fastener, Hanger, Job, KeepClear, Layout, Panel, Plan, Stud, Wall
from holdtrue.core.plan import make_plan
from holdtrue.drawing import elevation

from .ruler import SVG, read


def whole_mm(mm: float) -> str:
    return f"{mm:.0f}"


def row_of(count: int, width_mm: float, wall: Wall, names: list[str] | None = None) -> Plan:
    hangers = (Hanger(u_mm=-width_mm / 4, v_mm=100.0), Hanger(u_mm=width_mm / 4, v_mm=90.0))
    panels = tuple(
        Panel(
            name=names[k] if names else "ABCDEFGHIJKL"[k],
            width_mm=width_mm,
            height_mm=400.0,
            depth_mm=30.0,
            mass_kg=5.0,
            hangers=hangers,
        )
        for k in range(count)
    )
    layout = Layout(kind="row", gaps_mm=(20.0,) * (count - 1), height_at_mm=1500.0)
    fasteners = (Fastener(name="hook", into="hollow", drop_mm=4.0),)
    return make_plan(
        Job(title="t", unit="mm", panels=panels, layout=layout, wall=wall, fasteners=fasteners)
    )


@pytest.mark.parametrize("name", ["tidewrack", "staithe"])
@pytest.mark.parametrize("width_px", [288.0, 358.0, 720.0])
def test_every_unset_seat_is_drawn_at_its_place_to_scale(
    name: str, width_px: float, request: pytest.FixtureRequest
) -> None:
    plan: Plan = request.getfixturevalue(name)
    drawn = read(elevation(plan, fmt=whole_mm, width_px=width_px))
    seats = drawn.seats()
    assert set(seats) == {s.seat for s in plan.seats}
    for s in plan.seats:
        state, (x_mm, y_mm) = seats[s.seat]
        assert state == "open"
        # coordinates carry two decimals
        assert x_mm == pytest.approx(s.x_mm, abs=0.02 / drawn.scale)
        assert y_mm == pytest.approx(s.y_mm, abs=0.02 / drawn.scale)


def test_panels_are_drawn_at_their_size_and_place(tidewrack: Plan) -> None:
    drawn = read(elevation(tidewrack, fmt=whole_mm))
    outlines = drawn.of_class("d-panel")
    assert len(outlines) == len(tidewrack.job.panels)
    for outline, panel, centre in zip(
        outlines, tidewrack.job.panels, tidewrack.arrangement.centres_mm, strict=True
    ):
        x, y, w, h = (float(outline.attrib[k]) for k in ("x", "y", "width", "height"))
        tolerance = 0.03 / drawn.scale
        assert w / drawn.scale == pytest.approx(panel.width_mm, abs=tolerance)
        assert h / drawn.scale == pytest.approx(panel.height_mm, abs=tolerance)
        assert drawn.mm(x + w / 2, y + h / 2) == pytest.approx(centre, abs=tolerance)


def test_studs_in_view_stand_where_they_are_with_their_width_and_material(tidewrack: Plan) -> None:
    drawn = read(elevation(tidewrack, fmt=whole_mm))
    for material in ("wood", "steel", "unknown"):
        strips = drawn.of_class(f"d-stud-{material}")
        wanted = [s for s in tidewrack.job.wall.studs if s.material == material]
        assert len(strips) == len(wanted)
        for strip, stud in zip(strips, wanted, strict=True):
            x_mm, _ = drawn.mm(float(strip.attrib["x1"]), 0.0)
            assert x_mm == pytest.approx(stud.x_mm, abs=0.02 / drawn.scale)
            width = float(strip.attrib["stroke-width"])
            assert width / drawn.scale == pytest.approx(stud.width_mm, abs=0.03 / drawn.scale)


@given(
    count=st.integers(1, 8),
    width_mm=st.floats(80.0, 1500.0),
    stud_x=st.floats(-400.0, 400.0),
    width_px=st.floats(280.0, 1200.0),
)
def test_any_stud_in_view_maps_linearly(
    count: int, width_mm: float, stud_x: float, width_px: float
) -> None:
    plan = row_of(count, width_mm, Wall(studs=(Stud(x_mm=stud_x, width_mm=38.0),)))
    drawn = read(elevation(plan, fmt=whole_mm, width_px=width_px))
    strips = drawn.of_class("d-stud-unknown")
    if (
        strips and float(strips[0].attrib["stroke-width"]) > 37.0 * drawn.scale
    ):  # not cut by the edge
        x_mm, _ = drawn.mm(float(strips[0].attrib["x1"]), 0.0)
        assert x_mm == pytest.approx(stud_x, abs=0.05 / drawn.scale)
    assert all(abs(float(e.attrib["x1"])) <= width_px + 1 for e in drawn.root.iter(f"{SVG}line"))


def test_a_stud_out_of_view_and_studs_in_a_solid_wall_are_not_drawn() -> None:
    far = row_of(2, 300.0, Wall(studs=(Stud(x_mm=5000.0, width_mm=38.0),)))
    assert not read(elevation(far, fmt=whole_mm)).of_class("d-stud")
    solid = row_of(2, 300.0, Wall(behind="solid", studs=(Stud(x_mm=0.0, width_mm=38.0),)))
    assert not read(elevation(solid, fmt=whole_mm)).of_class("d-stud")


def test_states_differ_by_shape_and_a_stop_outranks_the_rest(tidewrack: Plan) -> None:
    by_name = {s.seat: s for s in tidewrack.seats}
    drawn = read(
        elevation(
            tidewrack,
            fmt=whole_mm,
            set_mm={"A1": (by_name["A1"].x_mm, by_name["A1"].y_mm)},
            in_hand=["B1", "D2"],
            stopped=["D2"],
            locked=["D3"],
        )
    )
    states = {
        g.attrib["data-seat"]: g.attrib["data-state"]
        for g in drawn.root.iter()
        if "data-seat" in g.attrib
    }
    assert states["A1"] == "set"
    assert states["B1"] == "hand"
    assert states["D2"] == "stopped"
    assert states["D3"] == "locked"
    assert states["A2"] == "open"
    shapes = {
        state: tuple(child.tag for child in g)
        for g in drawn.root.iter()
        if (state := g.get("data-state"))
    }
    assert len(set(shapes.values())) == 5


def test_running_dimensions_carry_the_marks_numbers(tidewrack: Plan) -> None:
    drawn = read(
        elevation(
            tidewrack,
            fmt=whole_mm,
            in_hand=["B1"],
            marks_mm={"B1": (-566.0, 1812.0)},
            level_line_y_mm=1600.0,
        )
    )
    assert "566" in drawn.texts
    assert "212" in drawn.texts
    assert "B1 566 left of the reference line" in drawn.desc
    across = [
        e for e in drawn.of_class("d-dim-hand") if "y1" in e.attrib and e.get("y1") == e.get("y2")
    ]
    xs = [float(e.attrib[k]) for e in across for k in ("x1", "x2")]
    span_mm = (max(xs) - min(xs)) / drawn.scale
    assert span_mm == pytest.approx(566.0, abs=0.1 / drawn.scale)


def test_heights_count_from_the_floor_without_a_level_line(tidewrack: Plan) -> None:
    marks = {"B1": (-566.0, 1812.0)}
    drawn = read(elevation(tidewrack, fmt=whole_mm, in_hand=["B1"], marks_mm=marks))
    assert "1812" in drawn.texts


def test_a_set_seat_off_plan_is_magnified_and_the_scale_is_stated(tidewrack: Plan) -> None:
    a1 = tidewrack.seats[0]
    drawn = read(
        elevation(
            tidewrack,
            fmt=whole_mm,
            set_mm={"A1": (a1.x_mm + 3.0, a1.y_mm - 2.0)},
            magnify=20.0,
            width_px=720.0,
        )
    )
    _, (x_mm, y_mm) = drawn.seats()["A1"]
    assert x_mm - a1.x_mm == pytest.approx(60.0, abs=0.05 / drawn.scale)
    assert y_mm - a1.y_mm == pytest.approx(-40.0, abs=0.05 / drawn.scale)
    assert len(drawn.of_class("d-ghost")) == 1
    assert "deviations drawn 20 times larger" in drawn.texts


def test_a_keep_clear_area_is_cut_to_the_wall_in_view_and_says_why() -> None:
    area = KeepClear(x0_mm=-9000.0, y0_mm=100.0, x1_mm=0.0, y1_mm=700.0, why="pipe")
    plan = row_of(3, 400.0, Wall(keep_clear=(area,)))
    drawn = read(elevation(plan, fmt=whole_mm))
    box = next(e for e in drawn.of_class("d-keep") if e.tag == f"{SVG}rect")
    left, right = float(box.attrib["x"]), float(box.attrib["x"]) + float(box.attrib["width"])
    assert left >= 0
    assert drawn.mm(right, 0.0)[0] == pytest.approx(0.0, abs=0.03 / drawn.scale)
    assert "pipe" in drawn.texts


HOSTILE = ["<script>alert(1)</script>", '"&', "']]>", "\x00\x0b", "Ω" * 200, "</svg>", "字" * 40]


@pytest.mark.parametrize("name", HOSTILE)
def test_names_never_become_markup(name: str) -> None:
    area = KeepClear(x0_mm=-300.0, y0_mm=100.0, x1_mm=300.0, y1_mm=700.0, why=name)
    plan = row_of(1, 900.0, Wall(keep_clear=(area,)), names=[name])
    for markup in (
        elevation(plan, fmt=whole_mm, in_hand=[plan.seats[0].seat]),
        elevation(plan, fmt=lambda mm: name, in_hand=[name], printed=True),
    ):
        drawn = read(markup)
        assert "script" not in {e.tag.removeprefix(SVG) for e in drawn.root.iter()}
        assert not {k for e in drawn.root.iter() for k in e.attrib if k.startswith("on")}


@given(names=st.lists(st.text(min_size=1, max_size=30), min_size=1, max_size=4, unique=True))
def test_any_name_gives_well_formed_markup(names: list[str]) -> None:
    plan = row_of(len(names), 300.0, Wall(), names=names)
    assert read(elevation(plan, fmt=whole_mm, in_hand=names)).title


@pytest.mark.parametrize("printed", [True, False])
def test_no_drawing_uses_inline_styles(tidewrack: Plan, printed: bool) -> None:
    markup = elevation(tidewrack, fmt=whole_mm, in_hand=["B1"], printed=printed)
    drawn = read(markup)
    assert "style" not in {k for e in drawn.root.iter() for k in e.attrib}
    assert not list(drawn.root.iter(f"{SVG}style"))
    assert any(e.get("class") for e in drawn.root.iter()) is not printed


def test_the_name_and_description_are_tied_to_the_drawing_by_ids_of_its_own(
    tidewrack: Plan,
) -> None:
    one = elevation(tidewrack, fmt=whole_mm, in_hand=["A1"])
    other = elevation(tidewrack, fmt=whole_mm, in_hand=["A2"])
    ids = [
        {e.attrib["id"] for e in read(markup).root.iter() if "id" in e.attrib}
        for markup in (one, other)
    ]
    assert not ids[0] & ids[1]
    root = read(one).root
    assert root.attrib["role"] == "img"
    assert set(root.attrib["aria-labelledby"].split()) == ids[0]
    named = read(elevation(tidewrack, fmt=whole_mm, id_="plan")).root
    assert named.attrib["aria-labelledby"] == "plan-t plan-d"


def test_text_stays_readable_on_a_phone(tidewrack: Plan, staithe: Plan) -> None:
    for plan in (tidewrack, staithe):
        names = [plan.seats[0].seat, plan.seats[1].seat]
        drawn = read(elevation(plan, fmt=whole_mm, in_hand=names, width_px=358.0))
        dimensions = [t for t in drawn.of_class("d-text-hand") if t.text]
        assert dimensions
        assert all(float(t.attrib["font-size"]) >= 13.0 for t in dimensions)
        boxes = []
        for t in dimensions:
            size = float(t.attrib["font-size"])
            width = 0.55 * size * len(t.text or "")
            x = float(t.attrib["x"])
            shift = {"middle": width / 2, "end": width}.get(t.get("text-anchor", ""), 0.0)
            boxes.append((x - shift, float(t.attrib["y"]) - 0.7 * size, width, 0.8 * size))
        for i, a in enumerate(boxes):
            assert a[0] >= 0
            assert a[0] + a[2] <= 358.0
            for b in boxes[i + 1 :]:
                apart = a[0] + a[2] <= b[0] or b[0] + b[2] <= a[0]
                assert apart or a[1] + a[3] <= b[1] or b[1] + b[3] <= a[1]
