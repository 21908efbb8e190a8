"""What to carry to the wall."""

from __future__ import annotations

from dataclasses import replace

from holdtrue.core.plan import make_plan
from holdtrue.domain.jobfile import parse_job
from holdtrue.domain.kit import to_carry
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
