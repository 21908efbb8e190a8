"""What the heaviest panel asks of a team, beside the lifting equation's printed example.

Source: NIOSH 94-110, example 1 (loading punch press stock; its numbers from memory, see the check
values): 44 lb, hands 23 in out, from 15 in to 64 in, rare, fair: at the destination LI 3.0 for one.
Worksheets round each multiplier to two places, so that the last digit may differ.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from holdtrue.core.geometry import arrange
from holdtrue.core.model import Job, Lift
from holdtrue.core.team_lift import TEAMS, TeamLift, team_lift
from tests.core.jobs import panel, row

IN = 25.4
LB = 0.45359237


def lifted(job: Job, **lift: object) -> TeamLift:
    job = replace(job, lift=Lift(**lift))  # type: ignore[arg-type]
    return team_lift(job, arrange(job))


def test_two_people_hold_half_of_the_printed_example() -> None:
    seen = lifted(
        row(panel(mass_kg=44 * LB)),
        out_mm=23 * IN,
        from_mm=15 * IN,
        to_mm=64 * IN,
        coupling="fair",
    )
    people, share = seen.teams[0]
    assert people == 2
    assert share.share == pytest.approx(22 * LB)
    assert 2 * share.index == pytest.approx(3.0, abs=0.25)
    assert share.verdict == "above"


def test_the_heaviest_panel_counts_with_its_uncertainty() -> None:
    a, b = panel("A", mass_kg=10.0, mass_u_kg=1.0), panel("B", mass_kg=11.0)
    seen = lifted(row(a, b))
    assert seen.panel == "A"
    assert seen.mass_kg == pytest.approx(12.0)


def test_what_the_job_does_not_say_comes_from_the_panels_size() -> None:
    # 700 mm high, its centre 1500 mm up: held at 350, then at 1500; 40 mm deep
    task = lifted(row(panel())).task
    assert task is not None
    assert (task.origin.up, task.destination.up) == (35.0, 150.0)
    assert (task.origin.out, task.destination.out) == (22.0, 22.0)
    assert task.coupling == "poor"


def test_it_never_says_that_one_is_enough() -> None:
    seen = lifted(row(panel(mass_kg=0.5)))
    assert min(people for people, _ in seen.teams) == min(TEAMS) == 2
    assert "outside the equation: this is a share, no clearance" in seen.statements[0]
    assert any("Not covered" in text for text in seen.statements)


def test_a_lift_outside_the_equation_gives_no_share_and_says_why() -> None:
    seen = lifted(row(panel(), height_at_mm=2500.0))
    assert seen.teams == ()
    assert seen.statements == ()
    assert "beyond 175" in seen.problem
    far = lifted(row(panel()), out_mm=700.0)
    assert far.teams == ()
    assert "outside the equation" in far.problem


def test_a_panel_held_below_the_floor_is_no_lift() -> None:
    seen = lifted(row(panel(), height_at_mm=-500.0))
    assert seen.task is None
    assert "below the floor" in seen.problem
