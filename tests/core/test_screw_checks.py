"""Wood screws of a plan against the published formula, and when it counts at all.

Values: NDS 2018 formulas. Withdrawal in lb per inch of thread, G 0.42, No. 10: 95.5; lateral, both
members of the same wood, side 1/2 in, No. 10: 73.5 lb at G 0.42 (derived tables; the printed ones
round dowel bearing to 50 psi, so 1 lb is allowed). A hung work is a permanent load: times 0.9.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from holdtrue.core.errors import CoreError
from holdtrue.core.loads import load_basis, load_share, seat_allowed_N, seat_force_N
from holdtrue.core.model import Fastener, Hanger, Job, Layout, Panel, PlannedSeat, ScrewSpec, Wall
from holdtrue.core.model import Stud as WallStud
from holdtrue.core.plan import make_plan, seat_load_findings
from holdtrue.core.screw_checks import (
    FORMULA,
    gauge_for,
    past_cables_mm,
    screw_check,
    screw_window,
)
from holdtrue.core.screw_findings import cable_notes, screw_findings

IN = 25.4
LBF = 4.4482216152605
SPF = 0.42


def mm(length_mm: float) -> str:
    return f"{length_mm:.1f} mm"


def screw(**values: Any) -> Fastener:
    spec: dict[str, Any] = {"gauge": 10, "length_mm": 63.5, "lining_mm": 12.7, "gravity": SPF}
    spec |= values.pop("spec", {})
    return Fastener(name="wood screw", into="stud", screw=ScrewSpec(**spec), **values)


def seat(fastener: Fastener, **values: Any) -> PlannedSeat:
    given: dict[str, Any] = {
        "seat": "A1",
        "panel": 0,
        "hanger": 0,
        "x_mm": 0.0,
        "y_mm": 1500.0,
        "hole_y_mm": 1500.0,
        "fastener": fastener,
        "into": "stud",
        "material": "wood",
        "load_N": 50.0,
        "pull_N": 5.0,
    }
    return PlannedSeat(**given | values)


def weights(a_seat: PlannedSeat) -> list[str]:
    return [f.weight for f in (*seat_load_findings(a_seat), *screw_findings(a_seat, mm))]


def texts(a_seat: PlannedSeat) -> str:
    return " | ".join(f.text for f in (*seat_load_findings(a_seat), *screw_findings(a_seat, mm)))


# ---- the figures


def test_withdrawal_is_the_tables_per_inch_times_thread_times_permanent() -> None:
    check = screw_check(seat(screw()))
    assert check is not None
    # two thirds of 2 1/2 in are thread, less a tip of two diameters
    thread_in = 2.5 * 2 / 3 - 2 * 0.190
    assert check.allowed.withdrawal_N == pytest.approx(95.5 * thread_in * 0.9 * LBF, rel=1e-3)


def test_lateral_with_wood_on_the_stud_is_the_tables() -> None:
    beside = screw(
        standoff_mm=12.7,
        spec={
            "lining_mm": 0.0,
            "length_mm": 80.0,
            "side": "wood",
            "side_mm": 12.7,
            "side_gravity": SPF,
        },
    )
    check = screw_check(seat(beside))
    assert check is not None
    assert check.allowed.mode == "IIIs"
    assert check.allowed.lateral_N / 0.9 / LBF == pytest.approx(73.5, abs=1.0)


def test_a_steel_side_bears_more_than_wood() -> None:
    spec = {"lining_mm": 0.0, "length_mm": 63.5, "side_mm": 2.0}
    steel = screw_check(seat(screw(standoff_mm=2.0, spec={**spec, "side": "steel"})))
    wood = screw_check(seat(screw(standoff_mm=2.0, spec={**spec, "side": "wood"})))
    thick = {**spec, "side": "steel", "side_mm": 7.0}
    plate = screw_check(seat(screw(standoff_mm=7.0, spec=thick)))
    assert steel is not None
    assert wood is not None
    assert plate is not None
    assert steel.allowed.lateral_N > wood.allowed.lateral_N
    assert plate.allowed.lateral_N > steel.allowed.lateral_N


def test_load_and_pull_are_looked_at_apart_and_their_shares_added() -> None:
    check = screw_check(seat(screw()))
    assert check is not None
    assert check.shares.lateral == pytest.approx(50.0 / check.allowed.lateral_N)
    assert check.shares.withdrawal == pytest.approx(5.0 / check.allowed.withdrawal_N)
    one = seat_force_N(seat(screw())) / check.allowed_N
    assert one == pytest.approx(check.shares.together)


def test_a_sideways_pull_counts_across_the_screw() -> None:
    check = screw_check(seat(screw(), load_N=30.0, side_N=40.0, pull_N=0.0))
    assert check is not None
    assert check.shares.lateral == pytest.approx(50.0 / check.allowed.lateral_N)


def test_without_any_load_the_weaker_way_is_what_is_allowed() -> None:
    check = screw_check(seat(screw(), load_N=0.0, pull_N=0.0))
    assert check is not None
    assert check.allowed_N == min(check.allowed.lateral_N, check.allowed.withdrawal_N)


def test_wet_and_hot_wood_holds_less() -> None:
    dry = screw_check(seat(screw()))
    wet = screw_check(seat(screw(spec={"service": "wet"})))
    hot = screw_check(seat(screw(spec={"heat": "hot"})))
    assert dry is not None
    assert wet is not None
    assert hot is not None
    # NDS Tables 11.3.3 and 11.3.4
    assert wet.allowed.lateral_N == pytest.approx(0.7 * dry.allowed.lateral_N)
    assert hot.allowed.withdrawal_N == pytest.approx(0.7 * dry.allowed.withdrawal_N)


def test_diameters_may_be_measured_instead_of_a_gauge() -> None:
    measured = {"gauge": None, "diameter_mm": 0.190 * IN, "root_mm": 0.152 * IN}
    by_gauge, by_size = screw_check(seat(screw())), screw_check(seat(screw(spec=measured)))
    assert by_gauge is not None
    assert by_size is not None
    assert by_size.allowed_N == pytest.approx(by_gauge.allowed_N)
    with pytest.raises(CoreError, match="gauge"):
        gauge_for(ScrewSpec(length_mm=60.0))


def test_an_unknown_species_counts_as_the_lightest() -> None:
    known = screw_check(seat(screw(spec={"gravity": 0.35})))
    unknown = screw_check(seat(screw(spec={"gravity": None})))
    assert known == unknown


# ---- when it counts


@pytest.mark.parametrize(
    ("into", "material"),
    [
        ("stud", "unknown"),
        ("edge", "wood"),
        ("steel", "steel"),
        ("hollow", "unknown"),
        ("solid", "unknown"),
        ("backed", "unknown"),
    ],
)
def test_only_inside_a_stud_known_to_be_of_wood(into: Any, material: Any) -> None:
    a_seat = seat(screw(), into=into, material=material)
    assert screw_check(a_seat) is None
    assert seat_allowed_N(a_seat) is None
    assert load_share(a_seat) is None
    assert load_basis(a_seat) == "not known"
    assert "bar" in weights(a_seat)
    assert "only inside a stud confirmed as wood" in texts(a_seat)


def test_in_a_wood_stud_it_is_what_is_allowed_where_no_capacity_is_stated() -> None:
    a_seat = seat(screw())
    check = screw_check(a_seat)
    assert check is not None
    assert seat_allowed_N(a_seat) == check.allowed_N
    assert load_share(a_seat) == pytest.approx(check.shares.together)
    assert load_basis(a_seat) == FORMULA
    assert [w for w in weights(a_seat) if w != "note"] == []


def test_a_load_it_does_not_allow_bars_release() -> None:
    a_seat = seat(screw(), load_N=500.0)
    assert "bar" in weights(a_seat)
    assert "no reason releases this" in texts(a_seat)
    share = load_share(a_seat)
    assert share is not None
    assert share > 1


def test_what_length_the_load_needs_is_said_where_one_would_do() -> None:
    short = screw(spec={"length_mm": 45.0})
    check = screw_check(seat(short))
    assert check is not None
    # half of what it may sideways, four fifths of its withdrawal: only more thread helps
    load_N, pull_N = check.allowed.lateral_N * 0.5, check.allowed.withdrawal_N * 0.8
    a_seat = seat(short, load_N=load_N, pull_N=pull_N)
    window = screw_window(a_seat)
    assert window is not None
    assert window.needed_mm > 45.0
    assert f"its load needs a screw of {mm(window.needed_mm)}" in texts(a_seat)
    longer = screw(spec={"length_mm": window.needed_mm + 0.01})
    share = load_share(replace(a_seat, fastener=longer))
    assert share is not None
    assert share <= 1


def test_a_load_no_length_carries_is_said_to_be_one() -> None:
    assert "no length of a No. 10 screw in this stud carries it" in texts(
        seat(screw(), load_N=2000.0)
    )


def test_a_screw_too_short_for_the_formula_is_not_known_and_says_what_to_take() -> None:
    a_seat = seat(screw(spec={"length_mm": 30.0}))
    assert seat_allowed_N(a_seat) is None
    assert load_share(a_seat) is None
    assert "bar" in weights(a_seat)
    assert "take one at least 42 mm long" in texts(a_seat)
    stated = seat(screw(spec={"length_mm": 30.0}, capacity_N=200.0, basis_stated=True))
    assert "reason" in weights(stated)
    assert load_share(stated) is not None


def test_a_stated_capacity_prevails_and_more_than_the_formula_needs_a_reason() -> None:
    a_seat = seat(screw(capacity_N=400.0, basis_stated=True))
    assert seat_allowed_N(a_seat) == 400.0
    assert "reason" in weights(a_seat)
    assert "less than the 400.0 N stated" in texts(a_seat)
    modest = seat(screw(capacity_N=60.0, basis_stated=True))
    assert [w for w in weights(modest) if w != "note"] == []


# ---- cables in the stud


def test_a_screw_deeper_than_cables_must_keep_away_is_said_to_be() -> None:
    # 63.5 - 12.7 = 50.8 in the wood, 31.75 are allowed (NEC 300.4(A)(1), 1 1/4 in)
    assert past_cables_mm(screw()) == pytest.approx(19.05)
    (note,) = cable_notes(
        [seat(screw()), seat(screw(), seat="A2"), seat(screw(), into="steel")], mm
    )
    assert (note.weight, note.seat) == ("note", "A1")
    assert note.text.startswith("A1, A2: wood screw goes 19.1 mm deeper")
    assert "at most 44.5 mm long" in note.text
    assert past_cables_mm(screw(spec={"length_mm": 44.45})) == 0.0
    assert past_cables_mm(Fastener(name="hook", into="hollow")) == 0.0


def test_no_cable_is_said_to_be_where_no_stud_is() -> None:
    assert cable_notes([seat(screw(), into="hollow")], mm) == []
    assert cable_notes([seat(Fastener(name="hook", into="stud"))], mm) == []


# ---- in a plan


def test_a_plan_of_screws_says_what_its_studs_allow() -> None:
    a_panel = Panel(
        name="A",
        width_mm=500.0,
        height_mm=700.0,
        depth_mm=40.0,
        mass_kg=10.0,
        hangers=(Hanger(u_mm=-200.0, v_mm=250.0), Hanger(u_mm=200.0, v_mm=250.0)),
    )
    job = Job(
        title="screws",
        unit="mm",
        panels=(a_panel,),
        layout=Layout(kind="row", height_at_mm=1500.0),
        wall=Wall(
            studs=(
                WallStud(x_mm=-200.0, width_mm=38.1, material="wood"),
                WallStud(x_mm=200.0, width_mm=38.1),
            )
        ),
        fasteners=(screw(),),
    )
    plan = make_plan(job)
    known, unknown = plan.seats
    assert load_share(known) is not None
    assert load_share(unknown) is None
    assert {f.weight for f in plan.findings if f.seat == "A2"} >= {"bar", "reason"}


def test_a_fastener_that_is_no_described_screw_is_left_alone() -> None:
    plain = Fastener(name="hook", into="stud", capacity_N=100.0, basis_stated=True)
    assert screw_check(seat(plain)) is None
    assert screw_window(seat(plain)) is None
    assert screw_findings(seat(plain), mm) == []
