"""The lift of the heaviest panel in words: what each of a team would hold, and what that is not."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from holdtrue.core.lifting_team import TeamShare
from holdtrue.core.model import Arrangement, Job
from holdtrue.core.rope import sling_leg_N
from holdtrue.core.sources_hanging import ANGLE_MIN_DEG, RIGID_LEGS
from holdtrue.core.team_lift import TeamLift, team_lift
from holdtrue.core.units import G

_VERDICT = {
    "within": "within one person's limit for this lift",
    "above": "above one person's limit for this lift",
    "far above": "far above one person's limit for this lift",
}


SLING_ANGLES_DEG = (60.0, 45.0)
"""Angles from horizontal to show beside the flattest that is recommended. Our choice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LiftLines:
    """``rows``: name and words; ``statements`` are shown with them, always."""

    panel: str
    rows: tuple[tuple[str, str], ...]
    statements: tuple[str, ...]


def lift_lines(job: Job, arrangement: Arrangement, mass: Callable[[float], str]) -> LiftLines:
    """What lifting a job's heaviest panel asks of two to four people; ``mass`` writes kg."""
    lift = team_lift(job, arrangement)
    slings = ("With a hoist", _slings(lift.mass_kg, mass))
    if lift.problem:
        rows = (("Lift", f"not known: {lift.problem}"), slings)
        return LiftLines(panel=lift.panel, rows=rows, statements=_always())
    teams = tuple((f"{n} people", _words(share, lift, mass)) for n, share in lift.teams)
    return LiftLines(
        panel=lift.panel, rows=(*teams, slings), statements=(*lift.statements, *_always())
    )


def _slings(mass_kg: float, mass: Callable[[float], str]) -> str:
    """What each leg of a pair of slings feels: more, the flatter it is."""
    weight_N = mass_kg * float(G)
    legs = ", ".join(
        f"{mass(sling_leg_N(weight_N, legs=RIGID_LEGS, angle_deg=angle) / float(G))} at {angle:g}°"
        for angle in (*SLING_ANGLES_DEG, ANGLE_MIN_DEG)
    )
    return (
        f"each sling of two feels {legs} from horizontal; never flatter, and of three or more "
        "count two"
    )


def _words(share: TeamShare, lift: TeamLift, mass: Callable[[float], str]) -> str:
    return (
        f"{mass(share.share)} each of {mass(lift.mass_kg)}, index {share.index:.1f}: "
        f"{_VERDICT[share.verdict]} ({mass(lift.limit_kg)})"
    )


def _always() -> tuple[str, ...]:
    return ("Revised NIOSH lifting equation, lifts from the floor. It never says one is enough.",)
