"""Keys added to job files since the first version: defaults, meaning, and every refusal.

Hanging methods, wood screws, outlets and cable zones, the lift, uncertainties.
"""

from __future__ import annotations

from math import nan
from typing import Any

import pytest

from holdtrue.core.model import Hang, Job, Lift, Outlet, ScrewSpec, Uncertainty
from holdtrue.core.plan import make_plan
from holdtrue.domain.errors import InputError
from holdtrue.domain.jobfile import parse_job
from tests.domain.papers import GONE, changed, says, smallest

RINGS = [{"in": 100, "down": 300}, {"in": 400, "down": 300}]
CORNERS = [{"in": x, "down": y} for x in (30, 470) for y in (30, 670)]


def hung(hang: Any, hangers: Any = None, **values: Any) -> dict[str, Any]:
    document = smallest()
    document["panels"][0] |= {"hang": hang, **values}
    if hangers is not None:
        document["panels"][0]["hangers"] = hangers
    return document


def wire(**values: Any) -> dict[str, Any]:
    given = {"method": "wire", "rise": 150, "capacity": "500 N", "basis": "ultimate"}
    return hung({k: v for k, v in (given | values).items() if v is not GONE}, RINGS)


def cleat(**values: Any) -> dict[str, Any]:
    level = [{"in": x, "down": 60} for x in (100, 250, 400)]
    return hung({"method": "cleat", "up": 40, **values}, level)


def with_screw(**values: Any) -> dict[str, Any]:
    fastener = {"name": "screw", "into": "stud", "standoff": 3}
    fastener |= {key: values.pop(key) for key in ("into", "standoff") if key in values}
    spec = {k: v for k, v in ({"gauge": 10, "length": 60} | values).items() if v is not GONE}
    return {**smallest(), "fasteners": [{**fastener, "screw": spec}]}


def with_wall(**wall: Any) -> dict[str, Any]:
    return {**smallest(), "wall": wall}


def everything() -> dict[str, Any]:
    """Every added length once."""
    document = wire(hooks=2, apart=100, rise=GONE, length=450)
    rail = {"method": "cleat", "up": 40, "out": 12, "rail": 400}
    cleated = cleat()["panels"][0] | {"name": "B", "hang": rail}
    document["panels"].append(cleated)
    document["wall"] = {
        "top": 2500,
        "outlets": [{"x": 1500, "y": 300, "width": 80, "height": 90}],
        "cable_zones": "prescribed",
    }
    document["fasteners"] = [
        {
            "name": "screw",
            "into": "stud",
            "standoff": 3,
            "placing": 1.5,
            "turn": 1.25,
            "screw": {
                "diameter": 5,
                "root": 3.5,
                "length": 60,
                "thread": 40,
                "lining": 12.5,
                "species": "spruce-pine-fir",
            },
        }
    ]
    document["uncertainty"] = {
        "tape": 0.4,
        "level": 0.2,
        "level_per_m": 0.3,
        "placing": 0.8,
        "stick": 0.25,
    }
    document["lift"] = {"out": 300, "from": 400, "to": 1500, "turn": 30, "per_minute": 1}
    return document


LENGTHS = [
    "panels[0].hang.apart",
    "panels[0].hang.length",
    "panels[1].hang.up",
    "panels[1].hang.out",
    "panels[1].hang.rail",
    "wall.top",
    "wall.outlets[0].x",
    "wall.outlets[0].y",
    "wall.outlets[0].width",
    "wall.outlets[0].height",
    "fasteners[0].placing",
    "fasteners[0].turn",
    "fasteners[0].screw.diameter",
    "fasteners[0].screw.root",
    "fasteners[0].screw.length",
    "fasteners[0].screw.thread",
    "fasteners[0].screw.lining",
    "uncertainty.tape",
    "uncertainty.level",
    "uncertainty.placing",
    "uncertainty.stick",
    "lift.out",
    "lift.from",
    "lift.to",
]
MAY_BE_NEGATIVE = {"wall.outlets[0].x", "wall.outlets[0].y"}


def refusal(document: object) -> InputError:
    with pytest.raises(InputError) as caught:
        parse_job(document)
    return caught.value


def test_everything_together_is_right() -> None:
    job = parse_job(everything())
    assert [panel.hang.method for panel in job.panels] == ["wire", "cleat"]
    assert len(make_plan(job).seats) == 5


@pytest.mark.parametrize("path", LENGTHS)
@pytest.mark.parametrize("value", [nan, "12 furlongs", "", True, [1], "1/3 in", 100_001])
def test_what_is_no_length_is_refused_at_every_added_place(path: str, value: Any) -> None:
    assert refusal(changed(everything(), path, value)).path == path


@pytest.mark.parametrize("path", [path for path in LENGTHS if path not in MAY_BE_NEGATIVE])
def test_a_negative_size_is_refused_at_every_added_place(path: str) -> None:
    error = refusal(changed(everything(), path, -5))
    assert error.path == path
    assert "must" in error.remedy


@pytest.mark.parametrize(
    "path",
    [
        "panels[0].hang.hooc",
        "wall.outlets[0].why",
        "fasteners[0].screw.grip",
        "uncertainty.laser",
        "lift.people",
    ],
)
def test_keys_nobody_reads_are_refused(path: str) -> None:
    document = everything()
    places = path.replace("]", "").replace("[", ".").split(".")
    node: Any = document
    for step in places[:-1]:
        node = node[int(step)] if step.isdigit() else node[step]
    node[places[-1]] = 5
    says(refusal(document), path, 5, "unknown key")


@pytest.mark.parametrize(
    ("path", "method"),
    [("panels[1].hang.rise", "wire"), ("panels[0].hang.rail", "cleat")],
)
def test_keys_of_another_method_are_said_to_be_its(path: str, method: str) -> None:
    error = refusal(changed(everything(), path, 5))
    says(error, path, 5, f'belongs to the method "{method}": leave it out')


# ---- hanging methods


def test_a_panel_hangs_on_its_hangers_unless_said_otherwise() -> None:
    assert parse_job(smallest()).panels[0].hang == Hang()
    assert parse_job(hung({})).panels[0].hang == Hang()
    assert parse_job(hung({"method": "hangers"})).panels[0].hang == Hang()


def test_another_way_to_hang_is_refused() -> None:
    says(refusal(hung({"method": "glue"})), "panels[0].hang.method", "glue", "standoff")
    says(refusal(hung("wire")), "panels[0].hang", "wire", "must be an object")


def test_a_wires_seat_is_its_hook_under_load() -> None:
    (panel,) = parse_job(wire()).panels
    (hook,) = panel.hangers
    # rings 300 down on 700 mm: 50 above the middle; the hook 150 above them
    assert (hook.u_mm, hook.v_mm) == (0.0, 200.0)
    assert panel.hang.wire is not None
    assert panel.hang.wire.design_factor == 5.0
    assert panel.hang.wire.allowed_N == 100.0


def test_two_hooks_are_two_seats_at_one_height() -> None:
    left, right = parse_job(wire(hooks=2, apart=100)).panels[0].hangers
    assert (left.u_mm, right.u_mm, left.v_mm, right.v_mm) == (-50.0, 50.0, 200.0, 200.0)


def test_a_wires_length_gives_its_rise() -> None:
    # rings 300 apart, 500 mm of wire: 150 across, 250 along, 200 up
    (hook,) = parse_job(wire(rise=GONE, length=500)).panels[0].hangers
    assert hook.v_mm == pytest.approx(250.0)
    (lower,) = parse_job(wire(rise=GONE, length=500, stiffness="20 kN")).panels[0].hangers
    assert lower.v_mm > hook.v_mm


def test_a_working_load_of_a_wire_holds_its_factor_already() -> None:
    spec = parse_job(wire(basis="working")).panels[0].hang.wire
    assert spec is not None
    assert spec.allowed_N == 500.0


def test_the_weaker_ring_is_the_one_that_counts() -> None:
    document = wire()
    document["panels"][0]["hangers"] = [
        {**RINGS[0], "capacity": "90 N"},
        {**RINGS[1], "capacity": "70 N"},
    ]
    spec = parse_job(document).panels[0].hang.wire
    assert spec is not None
    assert spec.ring_capacity_N == 70.0


@pytest.mark.parametrize(
    ("document", "path", "remedy"),
    [
        (wire(length=400), "panels[0].hang.length", "one of the two"),
        (wire(rise=GONE), "panels[0].hang.length", "one of the two"),
        (wire(rise=GONE, length=300), "panels[0].hang.length", "give more than 300 mm"),
        (wire(rise=0.5), "panels[0].hang.rise", "at least 1 mm"),
        (wire(rise=GONE, length=300.001), "panels[0].hang.length", "hardly more than"),
        (wire(rise=GONE, length=300.0000000000001), "panels[0].hang.length", "hardly more"),
        (wire(rise=301), "panels[0].hang.rise", "1.0 mm above the panel's top edge"),
        (wire(rise=GONE, length=1000), "panels[0].hang.length", "above the panel's top edge"),
        (wire(hooks=2), "panels[0].hang.apart", "is missing"),
        (wire(hooks=2, apart=300), "panels[0].hang.apart", "less than the rings are apart"),
        (wire(apart=100), "panels[0].hang.apart", "belongs to two hooks"),
        (wire(hooks=3), "panels[0].hang.hooks", "between 1 and 2"),
        (wire(hooks=1.5), "panels[0].hang.hooks", "give 1 or 2"),
        (wire(basis="guessed"), "panels[0].hang.basis", "working"),
        (wire(design_factor=0.5), "panels[0].hang.design_factor", "between 1 and 10"),
        (wire(capacity=0), "panels[0].hang.capacity", "more than 0"),
        (hung({"method": "wire", "rise": 50}, RINGS[:1]), "panels[0].hangers", "two rings"),
        (
            hung(
                {"method": "wire", "rise": 50}, [{"in": 100, "down": 300}, {"in": 400, "down": 302}]
            ),
            "panels[0].hangers",
            "one height",
        ),
        (
            hung(
                {"method": "wire", "rise": 50}, [{"in": 100, "down": 700}, {"in": 400, "down": 700}]
            ),
            "panels[0].hangers",
            "above the bottom edge",
        ),
    ],
)
def test_a_wire_that_cannot_be_is_refused(document: Any, path: str, remedy: str) -> None:
    error = refusal(document)
    assert error.path == path
    assert remedy in error.remedy


def test_a_cleats_seats_are_its_screws() -> None:
    (panel,) = parse_job(cleat()).panels
    assert [hanger.u_mm for hanger in panel.hangers] == [-150.0, 0.0, 150.0]
    assert panel.hang.cleat is not None
    assert (panel.hang.cleat.screws_up_mm, panel.hang.cleat.out_mm) == (40.0, None)


@pytest.mark.parametrize(
    ("document", "path", "remedy"),
    [
        (hung({"method": "cleat"}), "panels[0].hangers", "one height"),
        (hung({"method": "cleat"}, [{"in": 250, "down": 60}]), "panels[0].hangers", "two screws"),
        (
            hung({"method": "cleat"}, [{"in": 100, "down": 60}, {"in": 400, "down": 60}]),
            "panels[0].hang.up",
            "is missing",
        ),
        (cleat(up=0), "panels[0].hang.up", "more than 0"),
        (cleat(rail=299), "panels[0].hang.rail", "shorter than its screws are apart"),
    ],
)
def test_a_cleat_that_cannot_be_is_refused(document: Any, path: str, remedy: str) -> None:
    error = refusal(document)
    assert error.path == path
    assert remedy in error.remedy


@pytest.mark.parametrize("order", [[0, 1, 2, 3], [3, 1, 0, 2], [2, 0, 3, 1]])
def test_stand_offs_run_down_the_left_then_down_the_right(order: list[int]) -> None:
    document = hung({"method": "standoff"}, [CORNERS[i] for i in order])
    (panel,) = parse_job(document).panels
    # measured on the back: what is on its right there is on the left seen from the front
    assert [(h.u_mm, h.v_mm) for h in panel.hangers] == [
        (-220.0, 320.0),
        (-220.0, -320.0),
        (220.0, 320.0),
        (220.0, -320.0),
    ]
    assert [CORNERS[order[h.source_index]]["down"] for h in panel.hangers] == [30, 670, 30, 670]


@pytest.mark.parametrize(
    ("hangers", "remedy"),
    [
        (CORNERS[:3], "four, one near each corner"),
        ([*CORNERS, {"in": 250, "down": 350}], "four, one near each corner"),
        ([{"in": x, "down": 30} for x in (30, 100, 300, 470)], "four, one near each corner"),
        ([*CORNERS[:3], {"in": 470, "down": 700}], "above the bottom edge"),
    ],
)
def test_stand_offs_are_four_near_the_corners(hangers: Any, remedy: str) -> None:
    error = refusal(hung({"method": "standoff"}, hangers))
    assert error.path == "panels[0].hangers"
    assert remedy in error.remedy


def test_a_centre_of_gravity_outside_the_stand_offs_is_refused() -> None:
    error = refusal(
        hung({"method": "standoff"}, CORNERS, centre_of_gravity={"in": 20, "down": 350})
    )
    assert "outside the stand-offs" in error.remedy


def test_hangers_one_above_the_other_stay_an_error_on_hangers() -> None:
    error = refusal(hung({"method": "hangers"}, CORNERS))
    assert "is the same x" in error.remedy


# ---- wood screws


def screw(**values: Any) -> ScrewSpec:
    spec = parse_job(with_screw(**values)).fasteners[0].screw
    assert spec is not None
    return spec


def test_what_a_screw_leaves_unsaid() -> None:
    assert parse_job(smallest()).fasteners == ()
    assert screw() == ScrewSpec(length_mm=60.0, gauge=10)
    assert screw(gauge="10").gauge == 10


@pytest.mark.parametrize(
    ("name", "gravity"),
    [("Douglas Fir-Larch", 0.50), ("douglas fir-larch", 0.50), ("Northern Species", 0.35)],
)
def test_a_species_is_looked_up(name: str, gravity: float) -> None:
    # NDS 2018 Table 12.3.3A
    assert screw(species=name).gravity == gravity


def test_hardware_that_touches_the_stud() -> None:
    spec = screw(side="steel", side_thickness=2)
    assert (spec.side, spec.side_mm, spec.side_gravity) == ("steel", 2.0, None)
    assert screw(side="wood", side_thickness=3, side_gravity=0.5).side_gravity == 0.5


@pytest.mark.parametrize(
    ("document", "path", "remedy"),
    [
        (with_screw(gauge=GONE), "fasteners[0].screw.gauge", "or diameter and root"),
        (with_screw(gauge=11), "fasteners[0].screw.gauge", "give one of 6, 7, 8"),
        (with_screw(gauge=10.5), "fasteners[0].screw.gauge", "give one of"),
        (with_screw(gauge=20), "fasteners[0].screw.gauge", "between 6 and 14"),
        (with_screw(diameter=5, root=4), "fasteners[0].screw.diameter", "not both"),
        (with_screw(root=3), "fasteners[0].screw.root", "belongs to a diameter"),
        (with_screw(gauge=GONE, diameter=5), "fasteners[0].screw.root", "is missing"),
        (with_screw(gauge=GONE, diameter=5, root=5), "fasteners[0].screw.root", "less than"),
        (
            with_screw(gauge=GONE, diameter=8, root=5),
            "fasteners[0].screw.diameter",
            "at most 6.9342 mm",
        ),
        (with_screw(length=GONE), "fasteners[0].screw.length", "is missing"),
        (with_screw(thread=61), "fasteners[0].screw.thread", "longer than the screw"),
        (with_screw(species="balsa"), "fasteners[0].screw.species", "Redwood"),
        (
            with_screw(species="Redwood", specific_gravity=0.4),
            "fasteners[0].screw.species",
            "not both",
        ),
        (with_screw(specific_gravity=0.2), "fasteners[0].screw.specific_gravity", "between 0.35"),
        (with_screw(service="damp"), "fasteners[0].screw.service", "dry, wet"),
        (with_screw(heat="oven"), "fasteners[0].screw.heat", "usual, warm, hot"),
        (with_screw(side="glass"), "fasteners[0].screw.side", "none, steel, wood"),
        (with_screw(side="steel"), "fasteners[0].screw.side_thickness", "is missing"),
        (with_screw(side_thickness=2), "fasteners[0].screw.side_thickness", "belongs to a side"),
        (
            with_screw(side="steel", side_thickness=2, lining=12),
            "fasteners[0].screw.lining",
            "touches the stud",
        ),
        (
            with_screw(side="steel", side_thickness=4),
            "fasteners[0].standoff",
            "at least side_thickness",
        ),
        (with_screw(into="hollow"), "fasteners[0].screw", "its formula holds for wood only"),
    ],
)
def test_a_screw_that_cannot_be_is_refused(document: Any, path: str, remedy: str) -> None:
    error = refusal(document)
    assert error.path == path
    assert remedy in error.remedy


# ---- outlets and cable zones


def test_what_a_wall_leaves_unsaid() -> None:
    wall = parse_job(with_wall(outlets=[{"x": 300, "y": 400}])).wall
    assert wall.outlets == (Outlet(x_mm=300.0, y_mm=400.0, width_mm=86.0, height_mm=86.0),)
    assert (wall.top_mm, wall.cable_zones) == (None, "outlets")


@pytest.mark.parametrize(
    ("wall", "path", "remedy"),
    [
        ({"outlets": [{"x": 300}]}, "wall.outlets[0].y", "is missing"),
        ({"outlets": {"x": 300}}, "wall.outlets", "must be a list"),
        ({"outlets": [{"x": 1, "y": 2, "width": 0}]}, "wall.outlets[0].width", "more than 0"),
        ({"cable_zones": "all"}, "wall.cable_zones", "outlets, prescribed"),
        ({"top": 0}, "wall.top", "more than 0"),
    ],
)
def test_outlets_and_zones_that_cannot_be_are_refused(wall: Any, path: str, remedy: str) -> None:
    error = refusal(with_wall(**wall))
    assert error.path == path
    assert remedy in error.remedy


def test_a_hole_in_a_cable_zone_bars_release() -> None:
    # A1 hangs at x -150
    plan = make_plan(parse_job(with_wall(outlets=[{"x": -150, "y": 300}])))
    (conflict,) = [finding for finding in plan.findings if finding.kind == "conflict"]
    assert (conflict.seat, conflict.weight) == ("A1", "bar")


# ---- uncertainties, placing, the lift


def job_with(**values: Any) -> Job:
    return parse_job({**smallest(), **values})


def test_uncertainties_by_default() -> None:
    assert job_with().uncertainty == Uncertainty(
        tape=0.5, level=0.3, level_per_m=0.5, placing=1.0, stick=0.3
    )
    some = job_with(uncertainty={"tape": "1/32 in", "level_per_m": "0.2"}).uncertainty
    assert some.tape == pytest.approx(25.4 / 32)
    assert (some.level_per_m, some.level) == (0.2, 0.3)


@pytest.mark.parametrize(
    ("values", "path"),
    [
        ({"tape": 0}, "uncertainty.tape"),
        ({"level_per_m": -1}, "uncertainty.level_per_m"),
        ({"level_per_m": 11}, "uncertainty.level_per_m"),
        ({"level_per_m": "0,5"}, "uncertainty.level_per_m"),
        ({"stick": "none"}, "uncertainty.stick"),
    ],
)
def test_uncertainties_that_cannot_be_are_refused(values: Any, path: str) -> None:
    assert refusal({**smallest(), "uncertainty": values}).path == path


@pytest.mark.parametrize(("turn", "mm"), [("1/16 in", 1.5875), (0.8, 0.8), ("4 mm", 4.0)])
def test_what_one_turn_of_a_fastener_raises(turn: Any, mm: float) -> None:
    hook = {"name": "hook", "into": "hollow"}
    document = {**smallest(), "fasteners": [{**hook, "turn": turn}]}
    assert parse_job(document).fasteners[0].turn_mm == mm
    assert parse_job({**smallest(), "fasteners": [hook]}).fasteners[0].turn_mm is None


@pytest.mark.parametrize(
    ("turn", "remedy"), [(0, "must be more than 0"), ("5 mm", "give at most 4 mm a turn")]
)
def test_a_turn_that_trims_nothing_is_refused(turn: Any, remedy: str) -> None:
    hook = {"name": "hook", "into": "hollow", "turn": turn}
    error = refusal({**smallest(), "fasteners": [hook]})
    assert (error.path, error.value) == ("fasteners[0].turn", turn)
    assert remedy in error.remedy


def test_a_fastener_kinds_own_placing() -> None:
    document = {**smallest(), "fasteners": [{"name": "hook", "into": "hollow", "placing": 2}]}
    assert parse_job(document).fasteners[0].placing_u_mm == 2.0
    document["fasteners"][0].pop("placing")
    assert parse_job(document).fasteners[0].placing_u_mm is None
    document["fasteners"][0]["placing"] = 0
    assert refusal(document).path == "fasteners[0].placing"


def test_a_lift_by_default_and_as_said() -> None:
    assert job_with().lift == Lift()
    said = {"out": 300, "to": "5 ft", "turn": 45, "per_minute": 2, "duration": "moderate"}
    assert job_with(lift={**said, "coupling": "good"}).lift == Lift(
        out_mm=300.0,
        to_mm=1524.0,
        turn_deg=45.0,
        per_minute=2.0,
        duration="moderate",
        coupling="good",
    )


@pytest.mark.parametrize(
    ("values", "path"),
    [
        ({"turn": 181}, "lift.turn"),
        ({"per_minute": 16}, "lift.per_minute"),
        ({"duration": "all day"}, "lift.duration"),
        ({"coupling": "magnetic"}, "lift.coupling"),
    ],
)
def test_lifts_that_cannot_be_are_refused(values: Any, path: str) -> None:
    assert refusal({**smallest(), "lift": values}).path == path
