"""What lifting the heaviest panel asks of a team, by the lifting equation.

Method: the limit of one person for this lift is worked out with the team's own movement, and each
share of two to four people is put beside it. A team is outside the equation: the shares come with
that sentence, and nothing here is a clearance. The equation holds for lifts from the floor only;
one from a ladder is never done.

Where the job does not say otherwise: the panel stands on the floor and is held by both sides at
half its height (our choice), near the body, so that the hands are out by half its depth (NIOSH
estimate); it goes up by what its lower edge hangs above the floor; its bare edges are a poor hold;
lifts are rare. A mass estimated from layers counts with two standard uncertainties more.

Source: modules ``lifting`` and ``lifting_team`` (DHHS (NIOSH) Publication 94-110, revised 9/2021).
"""

from __future__ import annotations

from dataclasses import dataclass

from holdtrue.core.hang_loads import safe_factor
from holdtrue.core.lifting import End, Task, hands_out, weight_limit
from holdtrue.core.lifting_team import TeamShare, team_share
from holdtrue.core.model import Arrangement, Job, Panel
from holdtrue.core.slope import panel_stands
from holdtrue.core.sources_lifting import METRIC

MM_PER_CM = 10.0
"""[mm/cm]"""
TEAMS = (2, 3, 4)
"""[-] People a share is worked out for. Never one: the equation does not say one is enough."""
HOLD_SHARE = 0.5
"""[-] Of the panel's height, where it is held by both sides. Our choice, editable."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TeamLift:
    """The heaviest panel's lift; ``teams`` is empty, and ``problem`` says why, where the lift lies
    outside the equation. ``statements`` are to be shown with the shares, always."""

    panel: str
    mass_kg: float
    task: Task | None
    limit_kg: float
    teams: tuple[tuple[int, TeamShare], ...]
    problem: str = ""

    @property
    def statements(self) -> tuple[str, ...]:
        return self.teams[0][1].statements if self.teams else ()


def team_lift(job: Job, arrangement: Arrangement) -> TeamLift:
    """The lift of a job's heaviest panel, shared by two to four people.

    Parameters: job, masses [kg], lengths [mm], its ``lift``; arrangement of it [mm].
    Returns: TeamLift; masses [kg], the task's lengths [cm].
    Raises: nothing for a job as it was read; CoreError outside the lifting equation's ranges.
    Source: module head.
    """
    index = max(range(len(job.panels)), key=lambda k: _counted_kg(job.panels[k]))
    panel, mass_kg = job.panels[index], _counted_kg(job.panels[index])
    lower_mm = panel_stands(job, arrangement)[index].y_mm - panel.height_mm / 2
    task = _task(job, panel, lower_mm)
    limit_kg = weight_limit(task).counts if task else 0.0
    if limit_kg == 0:
        return TeamLift(
            panel=panel.name,
            mass_kg=mass_kg,
            task=task,
            limit_kg=0.0,
            teams=(),
            problem=_outside(task) if task else "the panel would be held below the floor",
        )
    teams = tuple((n, team_share(mass_kg, people=n, limit=limit_kg)) for n in TEAMS)
    return TeamLift(panel=panel.name, mass_kg=mass_kg, task=task, limit_kg=limit_kg, teams=teams)


def _counted_kg(panel: Panel) -> float:
    return panel.mass_kg * safe_factor(panel)


def _task(job: Job, panel: Panel, lower_mm: float) -> Task | None:
    """The movement of the lift; None where it would end below the floor."""
    said = job.lift
    hold_mm = panel.height_mm * HOLD_SHARE
    from_cm = (hold_mm if said.from_mm is None else said.from_mm) / MM_PER_CM
    to_cm = (lower_mm + hold_mm if said.to_mm is None else said.to_mm) / MM_PER_CM
    if to_cm < 0:
        return None
    if said.out_mm is None:
        depth_cm = panel.depth_mm / MM_PER_CM
        start_cm, end_cm = hands_out(depth_cm, up=from_cm), hands_out(depth_cm, up=to_cm)
    else:
        start_cm = end_cm = said.out_mm / MM_PER_CM
    return Task(
        origin=End(out=start_cm, up=from_cm, turn_deg=said.turn_deg),
        destination=End(out=end_cm, up=to_cm, turn_deg=said.turn_deg),
        lifts_per_min=said.per_minute,
        duration=said.duration,
        coupling=said.coupling,
    )


def _outside(task: Task) -> str:
    """Why the equation gives no limit: what to change."""
    highest = max(task.origin.up, task.destination.up)
    if highest > METRIC.vertical_max:
        return (
            f"hands would end {highest:.0f} cm above the floor, beyond {METRIC.vertical_max:.0f}: "
            "outside the equation; stand on a platform, more people, lower holds"
        )
    return "this lift lies outside the equation: bring it nearer, lower or slower"
