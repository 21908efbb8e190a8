"""Ways of working compared by playing installs.

Method: each way is played many times with the same stated error sizes and the same luck. What
counts is where the panels truly hang at the end: the share of installs with every criterion inside
(taper and line too), the worst of each kind, and what it took. Trims, shims laid before the lift
and holes made again are counted each by itself. What limits the best way is found by switching each
source of error off in turn, with all other luck the same.

Source: Monte Carlo propagation, JCGM 101:2008, 5.9 (share and quantiles of draws); the standard
error of a share is sqrt(p (1 - p) / N).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from math import sqrt

import numpy as np
from numpy.typing import NDArray

from holdtrue.core.model import Job, Plan
from holdtrue.core.plan import make_plan
from holdtrue.core.quality import Vector
from holdtrue.core.sources_play import TARGET_HOLES, TARGET_PAPER, TARGET_SHARE, TARGET_TRIMS
from holdtrue.domain.outlook import plan_sticks
from holdtrue.domain.shims import planned_with_shims
from holdtrue.simulation.errors import SOURCES, Draws, ErrorSizes, Luck, told, without
from holdtrue.simulation.fasteners import Fasteners
from holdtrue.simulation.habits import FULL, PAPER, Habits, Way
from holdtrue.simulation.learning import learn
from holdtrue.simulation.panels import Panels
from holdtrue.simulation.remaking import Remaking
from holdtrue.simulation.site import Site
from holdtrue.simulation.world import World


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Outcome:
    """What one way came to over all installs; counts as (mean, at 95 %)."""

    way: str
    installs: int
    share_inside: float
    share_inside_few_trims: float
    """Inside with at most ``TARGET_TRIMS`` trims."""
    worst_mm: Mapping[str, float]
    """Kind to its worst |residual| at 95 %."""
    trims: tuple[float, float]
    """Touches on hung panels."""
    lift_offs: tuple[float, float]
    shims: tuple[float, float]
    """Rings shimmed before the lift; no trim."""
    holes: tuple[float, float]
    """Made again, each a patch and paint."""
    pilots: tuple[float, float]
    """Given up for a stud nobody knew of: not the crew's doing, yet a small patch each."""
    limiting: tuple[tuple[str, float], ...]
    """Criteria most often outside, each with the share of installs, the worst first."""
    worst_shares: Vector
    """Worst criterion of each install in tolerances, sorted, shape (N,)."""

    @property
    def standard_error(self) -> float:
        p = self.share_inside_few_trims
        return sqrt(p * (1.0 - p) / self.installs)


class Play:
    """N installs of one job by one way."""

    def __init__(
        self, job: Job, habits: Habits, sizes: ErrorSizes, luck: Luck, sticks: frozenset[int]
    ) -> None:
        self.habits = habits
        self.site = Site(make_plan(planned_with_shims(job) if habits.shims else job))
        self.world = World(self.site, sizes, luck)
        self.seats = Fasteners(
            self.site, self.world, habits, sticks if habits.stick else frozenset()
        )
        self.remaking = Remaking(self.seats)
        self.panels = Panels(self.site, self.world, habits, self.seats)

    def run(self) -> Vector:
        """Play all installs: true residuals of every criterion [mm], shape (N, m)."""
        for panel in self.site.panels:
            self.seats.drive(panel, self._after_reading)
            if self.habits.by_panel:
                self.panels.hang_panel(panel)
        if not self.habits.by_panel:
            for panel in self.site.panels:
                self.panels.hang_panel(panel)
        return self.world.residuals_mm()

    def _after_reading(self, panel: int, seat: int) -> None:
        if self.habits.recompute and self.habits.learn:
            learn(self.seats)
        if self.habits.recompute and self.habits.correct:
            self.remaking.look(panel, seat)


@dataclass(frozen=True, slots=True, kw_only=True)
class Trial:
    """One way to be played, and what its installs are played with."""

    plan: Plan
    """Its job says of the instruments what the crew reckons with."""
    way: Way
    sizes: ErrorSizes
    """What the errors really are."""
    installs: int
    draws: Draws
    sticks: frozenset[int]
    """Panels a story stick is offered for."""
    without: str = ""
    """Source of error that is switched off; nobody in the crew knows."""

    @property
    def name(self) -> str:
        return f"without {self.without}" if self.without else self.way.name

    def play(self) -> Outcome:
        luck = Luck(self.draws, self.installs)
        play = Play(self.plan.job, self.way.habits, self.sizes, luck, self.sticks)
        return outcome(self.way.name, play, play.run())


def trials(
    plan: Plan, sizes: ErrorSizes, ways: Iterable[Way], *, installs: int, draws: Draws
) -> list[Trial]:
    """One trial of each way, all with the same luck."""
    known = make_plan(told(plan.job, sizes))
    sticks = plan_sticks(known)
    return [
        Trial(plan=known, way=way, sizes=sizes, installs=installs, draws=draws, sticks=sticks)
        for way in ways
    ]


def without_each(trial: Trial) -> list[Trial]:
    """The same trial without each source of error in turn, all other luck the same."""
    return [replace(trial, sizes=without(trial.sizes, name), without=name) for name in SOURCES]


def outcome(name: str, play: Play, residuals_mm: Vector) -> Outcome:
    """Shares, quantiles and counts of played installs."""
    goal = play.site.goal
    size = np.abs(residuals_mm)
    shares = size / goal.tolerance_mm
    inside = np.all(shares <= 1.0, axis=1)
    kinds = np.array(goal.kinds)
    outside = (shares > 1.0).mean(axis=0)
    order = np.argsort(-outside, kind="stable")
    panels, seats = play.panels, play.seats
    return Outcome(
        way=name,
        installs=len(size),
        share_inside=float(inside.mean()),
        share_inside_few_trims=float((inside & (panels.touches <= TARGET_TRIMS)).mean()),
        worst_mm={
            kind: float(np.quantile(size[:, kinds == kind].max(axis=1), 0.95))
            for kind in dict.fromkeys(goal.kinds)
        },
        trims=_mean_95(panels.touches),
        lift_offs=_mean_95(panels.lift_offs),
        shims=_mean_95(panels.laid),
        holes=_mean_95(seats.holes),
        pilots=_mean_95(seats.pilots),
        limiting=tuple((f"{goal.kinds[i]} {goal.labels[i]}", float(outside[i])) for i in order[:3]),
        worst_shares=np.sort(shares.max(axis=1)),
    )


def _mean_95(counts: NDArray[np.int64]) -> tuple[float, float]:
    return float(counts.mean()), float(np.quantile(counts, 0.95))


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """One part of the target."""

    what: str
    asked: str
    found: float
    is_met: bool


def verdict(outcomes: Sequence[Outcome]) -> tuple[Part, ...]:
    """Every part of what is asked for; the target is met when all are."""
    by_name = {one.way: one for one in outcomes}
    full, paper = by_name[FULL], by_name[PAPER]
    few, holes = full.share_inside_few_trims, full.holes[0]
    return (
        Part(
            what=f"inside with at most {TARGET_TRIMS} trims",
            asked=f"at least {TARGET_SHARE:.0%}",
            found=few,
            is_met=few >= TARGET_SHARE,
        ),
        Part(
            what="holes made again in a job, on average",
            asked=f"at most {TARGET_HOLES:g}",
            found=holes,
            is_met=holes <= TARGET_HOLES,
        ),
        Part(
            what="inside by the paper plan alone",
            asked=f"under {TARGET_PAPER:.0%}",
            found=paper.share_inside,
            is_met=paper.share_inside < TARGET_PAPER,
        ),
    )


def is_met(outcomes: Sequence[Outcome]) -> bool:
    """Whether all of what is asked for is there."""
    return all(part.is_met for part in verdict(outcomes))
