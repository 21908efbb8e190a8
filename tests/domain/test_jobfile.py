"""What a job file means: its lengths, its faces, its defaults."""

from __future__ import annotations

from typing import Any

import pytest
from uncertainties import ufloat

from holdtrue.core.materials import MATERIALS
from holdtrue.core.model import KeepClear, Layout, Stud, Tolerance, Wall
from holdtrue.core.plan import make_plan
from holdtrue.domain.errors import InputError
from holdtrue.domain.jobfile import parse_job
from tests.domain.papers import changed, full, reference, smallest

KG_PER_LB = 0.45359237
G = 9.80665


# ---- defaults, each one


def test_what_a_smallest_job_leaves_unsaid() -> None:
    job = parse_job(smallest())
    (panel,) = job.panels
    assert job.unit == "mm"
    assert job.graduation_mm == 1.0
    assert job.wall == Wall(behind="hollow", studs=(), stud_clearance_mm=6.0)
    assert (job.wall.left_mm, job.wall.right_mm, job.wall.keep_clear) == (None, None, ())
    assert job.fasteners == ()
    assert job.tolerance == Tolerance()
    assert job.layout == Layout(kind="row", align="centre", height_of="centre", height_at_mm=1500.0)
    assert job.layout.offset_mm == 0.0
    assert job.layout.slope_mm_per_m == 0.0
    assert panel.measured_on == "back"
    assert (panel.depth_mm, panel.centre_depth_mm, panel.bumper_mm) == (0.0, None, None)
    assert (panel.cg_u_mm, panel.cg_v_mm) == (0.0, 0.0)
    assert (panel.mass_kg, panel.mass_u_kg) == (10.0, 0.0)
    assert [h.capacity_N for h in panel.hangers] == [None, None]


def test_tolerances_of_the_residuals_by_default() -> None:
    kinds = {
        "level": 1.5,
        "slack": 3.0,
        "bearing": 1.0,
        "gap": 1.5,
        "step": 1.5,
        "centre": 6.0,
        "height": 6.0,
        "taper": 1.5,
        "line": 3.0,
        "flush": 2.0,
    }
    tolerance = parse_job(smallest()).tolerance
    assert {kind: getattr(tolerance, kind) for kind in kinds} == kinds


@pytest.mark.parametrize(
    ("unit", "graduation"), [("mm", 1.0), ("cm", 1.0), ("m", 1.0), ("in", 1.5875), ("ft", 1.5875)]
)
def test_the_tape_by_default_is_that_of_the_unit(unit: str, graduation: float) -> None:
    document = {
        **smallest(),
        "unit": unit,
        "panels": [
            {**smallest()["panels"][0], "width": "500 mm", "height": "700 mm"}
            | {"hangers": [{"in": "100 mm", "down": "50 mm"}]}
        ],
        "layout": {"kind": "row", "height": {"at": "1500 mm"}},
    }
    assert parse_job(document).graduation_mm == graduation


def fastener(**values: Any) -> Any:
    document = {**smallest(), "fasteners": [{"name": "hook", "into": "hollow", **values}]}
    return parse_job(document).fasteners[0]


def test_what_a_fastener_leaves_unsaid() -> None:
    hook = fastener()
    assert (hook.drop_mm, hook.standoff_mm, hook.capacity_N) == (0.0, 0.0, None)
    assert (hook.basis, hook.basis_stated, hook.design_factor) == ("working", False, 1.0)
    assert hook.allowed_N is None


@pytest.mark.parametrize(
    ("values", "factor"),
    [
        ({}, 1.0),
        ({"basis": "working"}, 1.0),
        ({"basis": "ultimate"}, 4.0),
        ({"basis": "working", "design_factor": 2}, 2.0),
        ({"basis": "ultimate", "design_factor": "5"}, 5.0),
    ],
)
def test_the_design_factor_is_one_for_working_and_four_for_ultimate(
    values: dict[str, Any], factor: float
) -> None:
    hook = fastener(capacity="20 kg", **values)
    assert hook.design_factor == factor
    assert hook.allowed_N == pytest.approx(20 * G / factor)
    assert hook.basis_stated is ("basis" in values)


def test_a_stud_is_a_nominal_two_by_four_of_unknown_material_by_default() -> None:
    wall = parse_job({**smallest(), "wall": {"studs": [{"x": 100}]}}).wall
    assert wall.studs == (Stud(x_mm=100.0, width_mm=38.1, material="unknown"),)


def test_an_area_to_keep_clear_may_leave_out_why() -> None:
    area = {"x0": 1, "y0": 2, "x1": 3, "y1": 4}
    wall = parse_job({**smallest(), "wall": {"keep_clear": [area]}}).wall
    assert wall.keep_clear == (KeepClear(x0_mm=1, y0_mm=2, x1_mm=3, y1_mm=4, why="keep clear"),)


@pytest.mark.parametrize("path", ["unit", "slope", "tape", "wall", "fasteners", "tolerance"])
def test_null_is_the_same_as_leaving_out(path: str) -> None:
    assert parse_job({**smallest(), path: None}) == parse_job(smallest())


@pytest.mark.parametrize("key", ["gap", "align", "offset"])
def test_null_in_a_layout_is_the_same_as_leaving_out(key: str) -> None:
    document = changed(smallest(), f"layout.{key}", None)
    assert parse_job(document) == parse_job(smallest())


def test_layout_gaps_are_zero_by_default() -> None:
    second = {**smallest()["panels"][0], "name": "B"}
    two = {**smallest(), "panels": [*smallest()["panels"], second]}
    assert parse_job(two).layout.gaps_mm == (0.0,)
    grid = changed(two, "layout", {"kind": "grid", "rows": [["A"], ["B"]], "height": {"at": 1500}})
    assert (parse_job(grid).layout.gap_x_mm, parse_job(grid).layout.gap_y_mm) == (0.0, 0.0)
    one_of_two = changed(grid, "layout.gap", {"y": 30})
    layout = parse_job(one_of_two).layout
    assert (layout.gap_x_mm, layout.gap_y_mm) == (0.0, 30.0)


# ---- everything said once


def test_everything_that_can_be_said_is_read() -> None:
    job = parse_job(full())
    a, b = job.panels
    assert (a.width_mm, a.height_mm, a.depth_mm, a.bumper_mm) == (500.0, 700.0, 40.0, 10.0)
    assert (a.measured_on, a.centre_depth_mm, a.cg_u_mm, a.cg_v_mm) == ("front", 20.0, 0.0, 0.0)
    # 700 kg/m3 over 500 x 700 x 18 mm, half the face
    assert a.mass_kg == pytest.approx(700 * 0.5 * 0.7 * 0.018 * 0.5)
    assert [(h.u_mm, h.v_mm) for h in a.hangers] == [(-150.0, 300.0), (150.0, 286.0)]
    assert a.hangers[0].capacity_N == pytest.approx(30 * G)
    assert b.mass_kg == 4.0
    layout = job.layout
    assert (layout.kind, layout.rows, layout.align) == ("grid", ((0,), (1,)), "top")
    assert (layout.gap_x_mm, layout.gap_y_mm, layout.offset_mm) == (20.0, 30.0, -35.0)
    assert (layout.height_of, layout.height_at_mm, layout.slope_mm_per_m) == ("bottom", 800.0, 2.0)
    assert (job.wall.left_mm, job.wall.right_mm, job.wall.stud_clearance_mm) == (-3000, 2000, 5)
    (toggle,) = job.fasteners
    assert (toggle.drop_mm, toggle.standoff_mm, toggle.design_factor) == (4.0, 2.0, 3.0)
    assert toggle.allowed_N == pytest.approx(20 * G / 3)
    assert (job.tolerance.level, job.tolerance.flush) == (1.0, 10.0)
    assert job.graduation_mm == 0.5


def test_the_same_job_in_inches_and_in_millimetres_is_the_same_plan() -> None:
    inches = reference("tidewrack.job.json")
    metric = changed(inches, "unit", "mm")

    def typed(value: Any) -> Any:
        """A bare length of the inch document as it must be typed in the metric one."""
        return f"{value} in" if isinstance(value, int | float) else value

    for p, panel in enumerate(inches["panels"]):
        for key in ("width", "height", "depth"):
            metric = changed(metric, f"panels[{p}].{key}", typed(panel[key]))
        for h, hanger in enumerate(panel["hangers"]):
            for key in ("in", "down"):
                text = hanger[key]
                plain = isinstance(text, str) and not text.endswith("mm")
                value = f"{text} in" if plain else typed(text)
                metric = changed(metric, f"panels[{p}].hangers[{h}].{key}", value)
    cg = inches["panels"][3]["centre_of_gravity"]
    metric = changed(
        metric, "panels[3].centre_of_gravity", {key: typed(value) for key, value in cg.items()}
    )
    layout = inches["layout"]
    metric = changed(metric, "layout.gap", [typed(gap) for gap in layout["gap"]])
    metric = changed(metric, "layout.height.at", typed(layout["height"]["at"]))
    for s, stud in enumerate(inches["wall"]["studs"]):
        metric = changed(metric, f"wall.studs[{s}].x", typed(stud["x"]))
    for f, one in enumerate(inches["fasteners"]):
        metric = changed(metric, f"fasteners[{f}].drop", f"{one['drop']} in")

    assert make_plan(parse_job(metric)).seats == make_plan(parse_job(inches)).seats


def test_measured_on_the_back_is_measured_on_the_front_from_the_other_edge() -> None:
    back = reference("tidewrack.job.json")
    front = back
    for p, panel in enumerate(back["panels"]):
        if panel["measured_on"] == "back":
            front = changed(front, f"panels[{p}].measured_on", "front")
            for h, hanger in enumerate(panel["hangers"]):
                front = changed(
                    front,
                    f"panels[{p}].hangers[{h}]",
                    {"in_from_right": hanger["in"], "down": hanger["down"]},
                )
    front = changed(front, "panels[3].centre_of_gravity.in", 36 - 20)
    there, here = make_plan(parse_job(front)).seats, make_plan(parse_job(back)).seats
    for a, b in zip(there, here, strict=True):
        assert (a.seat, a.fastener) == (b.seat, b.fastener)
        assert (a.x_mm, a.y_mm, a.load_N) == pytest.approx((b.x_mm, b.y_mm, b.load_N))


def test_hangers_are_sorted_from_the_left_seen_from_the_front() -> None:
    hangers = [{"in": 100, "down": 10}, {"in": 400, "down": 20}, {"in": 250, "down": 30}]
    (panel,) = parse_job(changed(smallest(), "panels[0].hangers", hangers)).panels
    assert [(h.u_mm, h.v_mm) for h in panel.hangers] == [(-150, 330), (0, 320), (150, 340)]
    assert [h.source_index for h in panel.hangers] == [1, 2, 0]


def test_the_centre_of_gravity_is_entered_on_the_same_face() -> None:
    document = changed(smallest(), "panels[0].centre_of_gravity", {"in": 220, "down": 300})
    assert parse_job(document).panels[0].cg_u_mm == 30.0
    assert parse_job(document).panels[0].cg_v_mm == 50.0
    on_front = changed(document, "panels[0].measured_on", "front")
    assert parse_job(on_front).panels[0].cg_u_mm == -30.0


def test_a_hole_measured_with_a_sample_fastener_is_brought_down_by_its_drop() -> None:
    document = changed(smallest(), "fasteners", [{"name": "ring", "into": "stud", "drop": -2.5}])
    document = changed(document, "panels[0].hangers[0]", {"in": 100, "hole_down": 50, "of": "ring"})
    # the hanger at in = 100 on the back is the right one from the front
    assert parse_job(document).panels[0].hangers[1].v_mm == 350 - (50 - 2.5)


@pytest.mark.parametrize(
    ("mass", "kg"),
    [
        (10, 10.0),
        ("10", 10.0),
        ("31 lb", 31 * KG_PER_LB),
        ("19 1/2 lb", 19.5 * KG_PER_LB),
        ("12500 g", 12.5),
        ("440 oz", 27.5 * KG_PER_LB),
    ],
)
def test_masses(mass: object, kg: float) -> None:
    document = changed(smallest(), "panels[0].mass", mass)
    assert parse_job(document).panels[0].mass_kg == pytest.approx(kg)


@pytest.mark.parametrize(
    ("capacity", "newtons"),
    [
        (20, 20 * G),
        ("20 kg", 20 * G),
        ("45 lb", 45 * KG_PER_LB * G),
        ("200 N", 200.0),
        ("1.5 kN", 1500.0),
        ("45 lbf", 45 * KG_PER_LB * G),
    ],
)
def test_a_capacity_is_a_mass_whose_weight_counts_or_a_force(
    capacity: object, newtons: float
) -> None:
    assert fastener(capacity=capacity).capacity_N == pytest.approx(newtons)


def layered(*layers: dict[str, Any]) -> Any:
    document = changed(smallest(), "panels[0].layers", list(layers))
    del document["panels"][0]["mass"]
    return parse_job(document).panels[0]


def test_layers_add_up_with_their_uncertainties() -> None:
    # 0.5 m x 0.7 m of 4 mm glass and 12 mm plywood on half the face
    panel = layered(
        {"material": "Glass", "thickness": 4},
        {"material": "plywood", "thickness": "12 mm", "share": 0.5},
    )
    glass, plywood = MATERIALS["glass"], MATERIALS["plywood"]
    glass_kg = 0.35 * 0.004 * glass.density_kg_m3
    plywood_kg = 0.35 * 0.012 * 0.5 * plywood.density_kg_m3
    assert panel.mass_kg == pytest.approx(glass_kg + plywood_kg)
    rule_mm = 0.5 / 3**0.5
    expected = ufloat(1, glass.relative_u) * ufloat(glass_kg, glass_kg * rule_mm / 4) + ufloat(
        1, plywood.relative_u
    ) * ufloat(plywood_kg, plywood_kg * rule_mm / 12)
    assert panel.mass_u_kg == pytest.approx(expected.std_dev)


def test_two_layers_of_one_material_are_off_together() -> None:
    """Independent route: the package uncertainties, with one density for both sheets."""
    panel = layered({"material": "MDF", "thickness": 18}, {"material": "mdf", "thickness": 12})
    mdf = MATERIALS["mdf"]
    density = ufloat(mdf.density_kg_m3, mdf.density_kg_m3 * mdf.relative_u)
    sheets = [ufloat(mm, 0.5 / 3**0.5) * 1e-3 for mm in (18, 12)]
    mass = density * 0.35 * (sheets[0] + sheets[1])
    assert panel.mass_kg == pytest.approx(mass.nominal_value)
    assert panel.mass_u_kg == pytest.approx(mass.std_dev)


def test_a_material_outside_the_table_takes_its_density_and_is_never_taken_as_weighed() -> None:
    panel = layered({"material": "honeycomb", "thickness": 20, "density": 80})
    known = layered({"material": "honeycomb", "thickness": 20, "density": 80, "density_u": 0.2})
    assert panel.mass_kg == known.mass_kg == pytest.approx(0.35 * 0.02 * 80)
    assert 0.05 * panel.mass_kg < panel.mass_u_kg < 0.06 * panel.mass_kg
    assert 0.2 * panel.mass_kg < known.mass_u_kg < 0.21 * panel.mass_kg


def test_a_known_density_needs_no_uncertainty_of_ours() -> None:
    document = changed(
        smallest(), "panels[0].layers", [{"material": "mdf", "thickness": 18, "density_u": 0.1}]
    )
    del document["panels"][0]["mass"]
    with pytest.raises(InputError) as refused:
        parse_job(document)
    assert refused.value.path == "panels[0].layers[0].density_u"


def test_a_weighed_mass_prevails_over_layers() -> None:
    document = changed(smallest(), "panels[0].layers", [{"material": "mdf", "thickness": 18}])
    assert parse_job(document).panels[0].mass_kg == 10.0


def two_panels(**layout: Any) -> dict[str, Any]:
    second = {**smallest()["panels"][0], "name": "B"}
    return {**smallest(), "panels": [*smallest()["panels"], second], "layout": layout}


@pytest.mark.parametrize("kind", ["row", "column"])
def test_gaps_are_one_for_all_or_a_list(kind: str) -> None:
    for gap, gaps in ((30, (30.0,)), ([45], (45.0,)), (["2 in"], (50.8,))):
        layout = parse_job(two_panels(kind=kind, gap=gap, height={"at": 1500})).layout
        assert layout.gaps_mm == gaps


def test_one_gap_in_a_grid_counts_both_ways() -> None:
    layout = parse_job(
        two_panels(kind="grid", gap=30, rows=[["B", "A"]], height={"at": 1500})
    ).layout
    assert (layout.gap_x_mm, layout.gap_y_mm) == (30.0, 30.0)
    assert layout.rows == ((1, 0),)


def test_a_free_layout_takes_each_panels_centre_and_no_height() -> None:
    document = two_panels(kind="free")
    document["panels"][0]["centre"] = {"x": -400, "y": 1500}
    document["panels"][1]["centre"] = {"x": "400 mm", "y": 1600}
    assert parse_job(document).layout.centres_mm == ((-400.0, 1500.0), (400.0, 1600.0))


def test_drop_offset_x_and_y_may_be_negative() -> None:
    document = changed(full(), "fasteners[0].drop", -4)
    document = changed(document, "layout.offset", "-22 1/8 in")
    document = changed(document, "wall.keep_clear[0]", {"x0": -9, "y0": -8, "x1": -7, "y1": -6})
    job = parse_job(document)
    assert job.fasteners[0].drop_mm == -4.0
    assert job.layout.offset_mm == -561.975
    assert job.wall.keep_clear[0].y0_mm == -8.0


def test_zero_depth_gap_and_clearance_are_fine() -> None:
    for path in ("panels[0].depth", "layout.gap.x", "wall.stud_clearance", "fasteners[0].standoff"):
        parse_job(changed(full(), path, 0))


def test_text_is_trimmed() -> None:
    assert parse_job(changed(smallest(), "title", "  One panel ")).title == "One panel"


def test_as_many_seats_as_are_taken() -> None:
    hangers = [{"in": 2 * i, "down": 10} for i in range(200)]
    panels = [{**smallest()["panels"][0], "name": name, "hangers": hangers} for name in "AB"]
    job = parse_job({**smallest(), "panels": panels})
    assert sum(len(panel.hangers) for panel in job.panels) == 400
