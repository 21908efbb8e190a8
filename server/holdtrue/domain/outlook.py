"""The chance that the job ends inside every tolerance, as it stands, and what limits it.

Answers are kept for the same numbers: a page that is opened again plays no install anew.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

from holdtrue.core.choices import Standing, played, trimmed_chance
from holdtrue.core.forecast import Forecast, forecast
from holdtrue.core.model import Plan
from holdtrue.core.sources_trim import SHIMS_LEAST_GAIN
from holdtrue.core.story_stick import offered_panels, panels_for_sticks, stick_gains
from holdtrue.domain.same import Same
from holdtrue.domain.shims import planned_shims, planned_with_shims
from holdtrue.domain.standing import standing, standing_of_plan
from holdtrue.domain.state import JobState

_MOST_KEPT = 256


@dataclass(frozen=True, slots=True, kw_only=True)
class Outlook:
    """``chance`` without trimming, ``trimmed`` with; ``kind`` and ``where``: what is least likely
    to hold."""

    chance: float
    trimmed: float
    kind: str
    where: str
    chance_of_it: float
    with_sticks: float
    """The chance if a story stick is used on every panel still to be marked."""
    trimmed_with_sticks: float
    with_shims: float
    """With shims laid before each lift besides, where a panel can still be planned with some."""
    trimmed_with_shims: float
    is_settled: bool
    """Nothing is left to drive: what remains is not chance but what nobody has read."""

    @property
    def are_shims_offered(self) -> bool:
        gain = self.with_shims - self.with_sticks
        gain_trimmed = self.trimmed_with_shims - self.trimmed_with_sticks
        return max(gain, gain_trimmed) >= SHIMS_LEAST_GAIN


def outlook(state: JobState, *, sticks: bool = True) -> Outlook:
    """Forecast from what is known of the set seats and the marks given to the others.

    Without ``sticks`` those of panels that could still use one are left out of it.
    """
    able = _able(state) if sticks else frozenset()
    return _outlook(standing(state), able, shims=not is_begun(state))


def chance_now(state: JobState) -> float:
    """That all ends inside without trimming: the one number of ``outlook``."""
    return _look(standing(state))[0].chance


def plan_outlook(plan: Plan) -> Outlook:
    """Forecast of a plan nothing of which is driven."""
    stands = standing_of_plan(plan)
    return _outlook(stands, panels_for_sticks(stands.form, {}), shims=True)


def is_begun(state: JobState) -> bool:
    """A hole is where it is, given up or not: shims can no longer be planned in."""
    return bool(state.old_holes) or any(state.is_drilled(seat) for seat in state.form.seats)


def _able(state: JobState) -> frozenset[int]:
    """Panels of which two or more seats are still to be marked: a stick carries something over."""
    begun = dict.fromkeys((*state.set_seats, *state.marked), (0.0, 0.0))
    return panels_for_sticks(state.form, begun)


def _outlook(stands: Standing, able: frozenset[int], *, shims: bool) -> Outlook:
    now, trimmed = _look(stands)
    on = replace(stands.errors, stick_panels=stands.errors.stick_panels | able)
    sticks = replace(stands, errors=on)
    with_sticks, better = _look(sticks) if able else (now, trimmed)
    laid = _with_shims(sticks) if shims else sticks
    with_shims, best = (with_sticks, better) if laid is sticks else _look(laid)
    return Outlook(
        chance=now.chance,
        trimmed=max(now.chance, trimmed),
        kind=stands.goal.kinds[now.limiting],
        where=stands.goal.labels[now.limiting],
        chance_of_it=now.each[now.limiting],
        with_sticks=max(now.chance, with_sticks.chance),
        trimmed_with_sticks=max(now.chance, trimmed, better),
        with_shims=max(now.chance, with_sticks.chance, with_shims.chance),
        trimmed_with_shims=max(now.chance, trimmed, better, best),
        is_settled=len(stands.set_mm) == len(stands.form.seats),
    )


def _with_shims(stands: Standing) -> Standing:
    """The same with shims in every ring that takes some: marks that much lower, all else alike."""
    job = planned_with_shims(stands.job)
    if job == stands.job:
        return stands
    errors = replace(stands.errors, shims=planned_shims(job, stands.arrangement))
    return replace(stands, job=job, errors=errors)


def _look(stands: Standing) -> tuple[Forecast, float]:
    """The forecast, and its chance once trimmed."""
    return _looked(Same(stands))


@lru_cache(maxsize=_MOST_KEPT)
def _looked(asked: Same[Standing]) -> tuple[Forecast, float]:
    stands = asked.value
    ends = played(stands)
    return forecast(stands.goal, ends), trimmed_chance(stands, ends)


def stick_panels(state: JobState) -> tuple[str, ...]:
    """Panels on which a story stick raises the chance, before anything is marked on them."""
    able = _offered(Same(standing(state))) & _able(state)
    return tuple(state.job.panels[k].name for k in sorted(able))


def plan_sticks(plan: Plan) -> frozenset[int]:
    """The same of a plan nothing of which is driven, as indexes."""
    return _offered(Same(standing_of_plan(plan)))


@lru_cache(maxsize=_MOST_KEPT)
def _offered(asked: Same[Standing]) -> frozenset[int]:
    stands = asked.value
    gains = stick_gains(
        stands.goal,
        stands.form,
        order=stands.order,
        set_mm=stands.set_mm,
        set_covariance_mm2=stands.set_covariance_mm2,
        marks_mm=stands.marks_mm,
        # shims are not laid yet: that forecast is too rough for small gains
        errors=replace(stands.errors, shims=None),
        stick_u_mm=stands.job.uncertainty.stick,
    )
    panels = stands.job.panels
    return frozenset(k for k in offered_panels(gains) if panels[k].hang.method == "hangers")
