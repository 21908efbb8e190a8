"""What hanging methods, estimated masses, mixed standoffs and bumpers ask for before release."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from holdtrue.core.loads import load_share, seat_force_N
from holdtrue.core.model import (
    CleatSpec,
    Fastener,
    Finding,
    Hang,
    Hanger,
    Job,
    Panel,
    Plan,
    Stud,
    Wall,
    WireSpec,
)
from holdtrue.core.plan import make_plan
from tests.core.jobs import panel, row

G = 9.80665
HOOK = Fastener(name="hook", into="hollow", capacity_N=500.0, basis_stated=True, standoff_mm=5.0)
SCREW = replace(HOOK, name="screw", into="stud", standoff_mm=15.0)


def planned(*panels: Panel, **values: Any) -> Plan:
    fasteners = values.pop("fasteners", (HOOK, SCREW))
    job: Job = replace(row(*panels), fasteners=fasteners, wall=Wall(**values))
    return make_plan(job)


def of(plan: Plan, kind: str) -> list[Finding]:
    return [finding for finding in plan.findings if finding.kind == kind]


# ---- wire


def on_wire(**spec: Any) -> Panel:
    given: dict[str, Any] = {
        "rings_mm": ((-200.0, 100.0), (200.0, 100.0)),
        "rise_mm": 200.0,
        "capacity_N": 1000.0,
        "basis_stated": True,
        "design_factor": 5.0,
    }
    wire = WireSpec(**given | spec)
    up = 100.0 + (wire.rise_mm or 0.0)
    return panel(
        height=800.0, seats=((0.0, up),), mass_kg=10.0, hang=Hang(method="wire", wire=wire)
    )


def test_a_wire_says_its_pull_and_that_it_gives_no_precision() -> None:
    # 200 across and 200 up on each side: 45 degrees, T = P/(2 sin 45)
    plan = planned(on_wire())
    pull, precision = of(plan, "wire")
    assert "its wire pulls 69.3 N and draws the rings inward by 49.0 N each" in pull.text
    assert "a wire gives no precision" in precision.text
    assert {finding.weight for finding in plan.findings} == {"note"}


def test_a_flat_wire_is_warned_of() -> None:
    plan = planned(on_wire(rise_mm=100.0))
    (flat,) = of(plan, "flat wire")
    assert "27 degrees from level; below 30" in flat.text
    assert of(planned(on_wire(rise_mm=120.0)), "flat wire") == []


def test_what_a_wire_carries_is_known_or_bars() -> None:
    (unknown,) = of(planned(on_wire(capacity_N=None)), "not known")
    assert (unknown.weight, unknown.seat) == ("bar", "A1")
    (basis,) = of(planned(on_wire(basis_stated=False)), "not known")
    assert "basis of its wire's figure" in basis.text


def test_a_wire_beyond_its_figure_bars_and_beyond_its_share_needs_a_reason() -> None:
    # T is 69.3 N
    (over,) = of(planned(on_wire(capacity_N=60.0)), "overload")
    assert over.weight == "bar"
    (share,) = of(planned(on_wire(capacity_N=300.0)), "overload")
    assert (share.weight, "allowed 60.0 N (figure / 5)" in share.text) == ("reason", True)


def test_a_ring_is_checked_against_the_wires_pull() -> None:
    (ring,) = of(planned(on_wire(ring_capacity_N=60.0)), "hanger overload")
    assert (ring.weight, "69.3 N on a ring" in ring.text) == ("bar", True)


def test_a_stretch_nobody_knows_is_said_not_to_be_known() -> None:
    spec = {"rise_mm": None, "length_mm": 565.7}
    (note,) = of(planned(replace(on_wire(**spec), hangers=on_wire().hangers)), "not known")
    assert (note.weight, "stretches is not known" in note.text) == ("note", True)


def test_a_wire_off_the_centre_of_gravity_hangs_crooked() -> None:
    (crooked,) = of(planned(replace(on_wire(), cg_u_mm=5.0)), "crooked")
    assert "not below its wire's middle" in crooked.text


# ---- cleat


def on_cleat(cg_u_mm: float = 0.0, **spec: Any) -> Panel:
    given: dict[str, Any] = {"screws_up_mm": 50.0, "out_mm": 10.0}
    return panel(
        width=800.0,
        seats=((-100.0, 250.0), (0.0, 250.0), (100.0, 250.0)),
        cg_u_mm=cg_u_mm,
        hang=Hang(method="cleat", cleat=CleatSpec(**given | spec)),
    )


def test_a_screw_that_is_lifted_is_named_and_counted_as_loaded() -> None:
    # three screws 100 mm apart, the weight under the right one: shares -1/6, 1/3, 5/6
    plan = planned(on_cleat(cg_u_mm=100.0))
    (lifted,) = of(plan, "lifts")
    assert lifted.seat == "A1"
    assert [seat.load_N / (10 * G) for seat in plan.seats] == pytest.approx([1 / 6, 1 / 3, 5 / 6])


@pytest.mark.parametrize(("cg_mm", "bears"), [(30.0, True), (40.0, False)])
def test_a_rail_bears_all_along_while_the_weight_is_in_its_middle_third(
    cg_mm: float, bears: bool
) -> None:
    # 210 mm of rail: the middle third reaches 35 mm to each side
    found = of(planned(on_cleat(cg_u_mm=cg_mm, rail_mm=210.0)), "crooked")
    assert (found == []) is bears
    if not bears:
        assert "only 195.0 mm of the rail's 210.0 mm bear" in found[0].text


def test_a_weight_beside_the_rail_bars() -> None:
    (off,) = of(planned(on_cleat(cg_u_mm=100.0, rail_mm=200.0)), "crooked")
    assert off.weight == "bar"


# ---- stand-offs


CORNERS = ((-200.0, 300.0), (-200.0, -300.0), (200.0, 300.0), (200.0, -300.0))


def on_posts() -> Panel:
    return panel(seats=CORNERS, hang=Hang(method="standoff"))


def test_stand_offs_say_how_their_posts_bend() -> None:
    # half of 98.1 N at 5 mm
    (note,) = of(planned(on_posts()), "posts")
    assert "up to 0.2 N m at the wall" in note.text


def test_stand_offs_of_two_kinds_twist_by_their_columns() -> None:
    studs = (Stud(x_mm=200.0, width_mm=38.1, material="wood"),)
    (twisted,) = of(planned(on_posts(), studs=studs), "twist")
    # 10 mm over 400 mm, on a panel 500 mm wide
    assert "(12.5 mm from edge to edge)" in twisted.text
    assert "10.0 mm behind A1, 10.0 mm behind A2" in twisted.text


# ---- mixed standoffs, bumpers, masses


def test_mixed_standoffs_twist_the_panel() -> None:
    studs = (Stud(x_mm=150.0, width_mm=38.1, material="wood"),)
    (twisted,) = of(planned(panel(), studs=studs), "twist")
    assert twisted.weight == "note"
    # 10 mm over the 300 mm between the hangers, on 500 mm of width
    assert "(16.7 mm from edge to edge): equalise at the wall, 10.0 mm behind A1" in twisted.text
    assert of(planned(panel()), "twist") == []


@pytest.mark.parametrize(
    ("bumper_mm", "says"),
    [
        (None, ""),
        (5.0, ""),
        (5.8, ""),
        (0.0, "5.8 mm further out than its lower edge; bumpers of 5.0 mm"),
        (17.0, "14.0 mm further in than its lower edge"),
    ],
)
def test_a_bumper_that_is_not_the_standoff_makes_the_panel_lean(
    bumper_mm: float | None, says: str
) -> None:
    # seats 600 mm above the lower edge of 700 mm: 7/6 of the difference
    found = of(planned(panel(bumper_mm=bumper_mm)), "lean")
    assert [says in finding.text for finding in found] == ([True] if says else [])


def test_an_estimated_mass_is_said_and_checked_on_the_safe_side() -> None:
    weighed, estimated = planned(panel()), planned(panel(mass_u_kg=0.6))
    (note,) = of(estimated, "mass")
    assert "10.0 kg ± 0.6" in note.text
    assert "11.2 kg" in note.text
    a, b = weighed.seats[0], estimated.seats[0]
    assert (b.load_N, b.pull_N) == (a.load_N, a.pull_N)
    assert seat_force_N(b) == pytest.approx(1.12 * seat_force_N(a))
    shares = [load_share(seat) for seat in (a, b)]
    assert shares[1] == pytest.approx(1.12 * (shares[0] or 0.0))


def test_an_estimated_mass_can_be_what_overloads_a_hanger() -> None:
    # each carries 49 N, 55 N on the safe side
    hangers = tuple(Hanger(u_mm=u, v_mm=250.0, capacity_N=50.0) for u in (-150.0, 150.0))
    weighed = replace(panel(), hangers=hangers)
    assert of(planned(weighed), "hanger overload") == []
    found = of(planned(replace(weighed, mass_u_kg=0.6)), "hanger overload")
    assert len(found) == 2
