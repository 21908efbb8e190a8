"""What to carry to the wall."""

from __future__ import annotations

from dataclasses import replace

from holdtrue.core.plan import make_plan
from holdtrue.domain.jobfile import parse_job
from holdtrue.domain.kit import bits, tape, to_carry
from holdtrue.domain.liftlines import lift_lines
from tests.domain.papers import changed, smallest
from tests.walking import golden

PLAN = make_plan(parse_job(golden()))


def test_every_seat_gets_its_fastener_and_one_in_four_a_spare() -> None:
    carried = {item.fastener.name: item for item in to_carry(PLAN) if item.fastener}

    hooks = carried["hook on a toggle"]
    assert (hooks.count, hooks.spares) == (8, 2)
    assert sum(item.count for item in carried.values()) == len(PLAN.seats)


def test_one_spare_at_least_also_of_what_is_not_planned() -> None:
    carried = {item.fastener.name: item for item in to_carry(PLAN) if item.fastener}

    assert (carried["wood screw #10"].count, carried["wood screw #10"].spares) == (1, 1)
    anchor = carried["steel-stud anchor"]
    assert (anchor.count, anchor.spares, anchor.seats) == (0, 1, ())


def test_seats_without_a_fastener_are_named_not_forgotten() -> None:
    bare = replace(PLAN, seats=tuple(replace(seat, fastener=None) for seat in PLAN.seats))

    (last,) = (item for item in to_carry(bare) if item.fastener is None)

    assert (last.count, last.spares) == (9, 0)
    assert last.seats[:2] == ("A1", "A2")


def test_a_lift_by_hoist_says_what_each_sling_feels() -> None:
    """Rigging charts: factors 1.155, 1.414 and 2.000 on half the load at 60, 45 and 30 degrees."""
    job = parse_job(changed(smallest(), "panels[0].mass", "100 kg"))
    lines = lift_lines(job, make_plan(job).arrangement, lambda kg: f"{kg:.1f} kg")
    (words,) = [words for name, words in lines.rows if name == "With a hoist"]
    assert "57.7 kg at 60°, 70.7 kg at 45°, 100.0 kg at 30°" in words


def test_the_tape_is_told_by_its_class_over_the_longest_reading() -> None:
    """Directive 2014/32/EU, 2 m: class II 0.7 mm and its hook 0.2, class III 1.4 and 0.3."""
    plan = make_plan(parse_job(smallest()))
    longest_mm = max(seat.hole_y_mm for seat in plan.seats)
    assert 1000 < longest_mm < 2000
    assert "class II may be 0.9\xa0mm off, class III 1.7\xa0mm" in tape(
        plan, lambda mm: f"{mm:g} mm"
    )


def test_lead_holes_are_told_for_screws_whose_wood_is_known() -> None:
    """NDS: 70 % of the root diameter (0.152 in for #10) from G 0.5, none needed below."""

    def told(**wood: float) -> tuple[str, ...]:
        screw = {"gauge": 10, "length": 60} | wood
        document = smallest() | {"fasteners": [{"name": "screw", "into": "stud", "screw": screw}]}
        return bits(make_plan(parse_job(document)))[1:]

    assert told(specific_gravity=0.5) == ("screw: lead hole 2.7\xa0mm in its wood",)
    assert told(specific_gravity=0.42) == ("screw: no lead hole in its wood",)
    assert told() == ()
