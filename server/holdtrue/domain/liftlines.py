"""The lift of the heaviest panel in words: what each of a team would hold, and what that is not."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from holdtrue.core.lifting_team import TeamShare
from holdtrue.core.model import Arrangement, Job
from holdtrue.core.team_lift import TeamLift, team_lift

_VERDICT = {
    "within": "within one person's limit for this lift",
    "above": "above one person's limit for this lift",
    "far above": "far above one person's limit for this lift",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class LiftLines:
    """``rows``: name and words; ``statements`` are shown with them, always."""

    panel: str
    rows: tuple[tuple[str, str], ...]
    statements: tuple[str, ...]


def lift_lines(job: Job, arrangement: Arrangement, mass: Callable[[float], str]) -> LiftLines:
    """What lifting a job's heaviest panel asks of two to four people; ``mass`` writes kg."""
    lift = team_lift(job, arrangement)
    if lift.problem:
        return LiftLines(
            panel=lift.panel, rows=(("Lift", f"not known: {lift.problem}"),), statements=_always()
        )
    rows = tuple((f"{n} people", _words(share, lift, mass)) for n, share in lift.teams)
    return LiftLines(panel=lift.panel, rows=rows, statements=(*lift.statements, *_always()))


def _words(share: TeamShare, lift: TeamLift, mass: Callable[[float], str]) -> str:
    return (
        f"{mass(share.share)} each of {mass(lift.mass_kg)}, index {share.index:.1f}: "
        f"{_VERDICT[share.verdict]} ({mass(lift.limit_kg)})"
    )


def _always() -> tuple[str, ...]:
    return ("Revised NIOSH lifting equation, lifts from the floor. It never says one is enough.",)
