"""Ways of working compared by playing installs.

Method: each way is played many times with the same stated error sizes (``play``); what counts is
where the panels truly hang at the end: the share of installs with every criterion inside (taper and
line too), the worst of each kind, and what it took in trims and in holes made again.

Source: Monte Carlo propagation, JCGM 101:2008, 5.9 (share and quantiles of draws); the standard
error of a share is sqrt(p (1 - p) / N).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from math import sqrt

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

from holdtrue.core.crew import ErrorSizes, Habits, Site
from holdtrue.core.model import Plan
from holdtrue.core.play import Play
from holdtrue.core.quality import Vector
from holdtrue.core.sources_play import TARGET_HOLES, TARGET_PAPER, TARGET_SHARE, TARGET_TRIMS


@dataclass(frozen=True, slots=True)
class Way:
    """A way of working, named for a table."""

    name: str
    habits: Habits


_FIRST = Habits(correct=True, trim=True)
_FULL = Habits(correct=True, trim=True, by_panel=True, stick=True, bias=True, readings=2)

WAYS: tuple[Way, ...] = (
    Way("paper plan", Habits(recompute=False)),
    Way("recompute", Habits()),
    Way("+ holes corrected", Habits(correct=True)),
    Way("+ trim, fasteners first", _FIRST),
    Way("+ trim, panel by panel", replace(_FIRST, by_panel=True)),
    Way("+ story stick", replace(_FIRST, by_panel=True, stick=True)),
    Way("+ drops learned", replace(_FIRST, by_panel=True, stick=True, bias=True)),
    Way("+ read twice (all of it)", _FULL),
    Way("all, fasteners first", replace(_FULL, by_panel=False)),
    Way("all but the story stick", replace(_FULL, stick=False)),
    Way("all but drops learned", replace(_FULL, bias=False)),
    Way("all, rings packed by hand", replace(_FULL, pack=True)),
)
"""Each "+" adds to the line above it; the line that has all of it is the one the target is for: all
that the tool offers. What crews do beside it, like shims laid in the rings before a lift, is played
for comparison only."""

PAPER, FULL = "paper plan", "+ read twice (all of it)"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Outcome:
    """What one way came to over all installs."""

    way: str
    installs: int
    share_inside: float
    share_inside_few_trims: float
    """Inside with at most ``TARGET_TRIMS`` trims."""
    worst_mm: Mapping[str, float]
    """Kind to its worst |residual| at 95 %."""
    trims: tuple[float, float]
    """Touches on hung panels, mean and 95 %; so for those below."""
    packed: tuple[float, float]
    """Rings whose shims were changed before the panel was lifted; no trim."""
    lift_offs: tuple[float, float]
    corrected: tuple[float, float]
    limiting: tuple[tuple[str, float], ...]
    """Criteria most often outside, each with the share of installs, the worst first."""
    worst_shares: Vector
    """Worst criterion of each install in tolerances, sorted, shape (N,)."""

    @property
    def standard_error(self) -> float:
        p = self.share_inside
        return sqrt(p * (1.0 - p) / self.installs)


def play_way(plan: Plan, way: Way, sizes: ErrorSizes, *, installs: int, rng: Generator) -> Outcome:
    """Play one way of working.

    Parameters: plan; way; sizes, standard uncertainties [mm]; installs [-], >= 1; rng, where
    the errors are drawn from.
    Returns: Outcome; the same for a generator in the same state.
    Raises: nothing.
    Source: module head.
    """
    site = Site(plan)
    play = Play(site, sizes, way.habits, installs, rng)
    return outcome(way.name, site, play, play.run())


def outcome(name: str, site: Site, play: Play, residuals_mm: Vector) -> Outcome:
    """Shares, quantiles and counts of played installs.

    Parameters: name of the way; site; play, already run; residuals_mm, true [mm], shape (N, m).
    Returns: Outcome.
    Raises: nothing.
    Source: module head.
    """
    size = np.abs(residuals_mm)
    shares = size / site.goal.tolerance_mm
    inside = np.all(shares <= 1.0, axis=1)
    kinds = np.array(site.goal.kinds)
    outside = (shares > 1.0).mean(axis=0)
    order = np.argsort(-outside, kind="stable")
    return Outcome(
        way=name,
        installs=len(size),
        share_inside=float(inside.mean()),
        share_inside_few_trims=float((inside & (play.touches <= TARGET_TRIMS)).mean()),
        worst_mm={
            kind: float(np.quantile(size[:, kinds == kind].max(axis=1), 0.95))
            for kind in dict.fromkeys(site.goal.kinds)
        },
        trims=_mean_95(play.touches),
        packed=_mean_95(play.packs),
        lift_offs=_mean_95(play.lift_offs),
        corrected=_mean_95(play.holes),
        limiting=tuple(
            (f"{site.goal.kinds[i]} {site.goal.labels[i]}", float(outside[i])) for i in order[:3]
        ),
        worst_shares=np.sort(shares.max(axis=1)),
    )


def _mean_95(counts: NDArray[np.int64]) -> tuple[float, float]:
    return float(counts.mean()), float(np.quantile(counts, 0.95))


def compare_ways(
    plan: Plan,
    sizes: ErrorSizes,
    *,
    installs: int,
    draws: Callable[[], Generator],
    ways: Sequence[Way] = WAYS,
    told: Callable[[str], None] | None = None,
) -> tuple[Outcome, ...]:
    """Play every way.

    Parameters: plan; sizes [mm]; installs of each way [-]; draws makes a generator, one for
    each way, alike so that all meet the same luck as far as they do the same; ways; told is called
    with each way's name before it is played.
    Returns: Outcome per way.
    Raises: nothing.
    Source: module head.
    """
    found = []
    for way in ways:
        if told:
            told(way.name)
        found.append(play_way(plan, way, sizes, installs=installs, rng=draws()))
    return tuple(found)


def target_met(outcomes: Sequence[Outcome]) -> bool:
    """Whether the way that has all of it does what is asked for.

    Parameters: outcomes, that way's among them.
    Returns: whether enough installs [-] end inside with few enough trims and holes made again [-],
    and few on paper alone.
    Raises: StopIteration where that way was not played.
    Source: the project's own target.
    """
    full = next(outcome for outcome in outcomes if outcome.way == FULL)
    paper = next(outcome for outcome in outcomes if outcome.way == PAPER)
    return (
        full.share_inside_few_trims >= TARGET_SHARE
        and full.corrected[0] <= TARGET_HOLES
        and paper.share_inside < TARGET_PAPER
    )
