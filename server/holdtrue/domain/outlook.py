"""The chance that the job ends inside every tolerance, as it stands, and what limits it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from holdtrue.core.choices import Standing, trimmed_chance
from holdtrue.core.forecast import forecast
from holdtrue.core.model import Plan
from holdtrue.core.story_stick import offered_panels, panels_for_sticks, stick_gains
from holdtrue.domain.standing import standing, standing_of_plan
from holdtrue.domain.state import JobState, Point


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
    is_settled: bool
    """Nothing is left to drive: what remains is not chance but what nobody has read."""


def outlook(state: JobState, *, sticks: bool = True) -> Outlook:
    """Forecast from what is known of the set seats and the marks given to the others.

    Without ``sticks`` those of panels that could still use one are left out of it.
    """
    return _outlook(standing(state), state.marks_mm, _able(state) if sticks else frozenset())


def chance_now(state: JobState) -> float:
    """That all ends inside without trimming: the one number of ``outlook``."""
    return _look(standing(state), state.marks_mm)[0]


def plan_outlook(plan: Plan) -> Outlook:
    """Forecast of a plan nothing of which is driven."""
    stands, marks = standing_of_plan(plan)
    return _outlook(stands, marks, panels_for_sticks(stands.form, {}))


def _able(state: JobState) -> frozenset[int]:
    """Panels of which two or more seats are still to be marked: a stick carries something over."""
    begun = dict.fromkeys((*state.set_seats, *state.marked), (0.0, 0.0))
    return panels_for_sticks(state.form, begun)


def _outlook(stands: Standing, marks_mm: Mapping[str, Point], able: frozenset[int]) -> Outlook:
    now = _look(stands, marks_mm)
    trimmed = trimmed_chance(stands)
    on = replace(stands.errors, stick_panels=stands.errors.stick_panels | able)
    sticks = replace(stands, errors=on)
    with_sticks = _look(sticks, marks_mm)[0] if able else now[0]
    better = trimmed_chance(sticks) if able else trimmed
    chance, limiting, alone = now
    return Outlook(
        chance=chance,
        trimmed=max(chance, trimmed),
        kind=stands.goal.kinds[limiting],
        where=stands.goal.labels[limiting],
        chance_of_it=alone,
        with_sticks=max(chance, with_sticks),
        trimmed_with_sticks=max(chance, trimmed, better),
        is_settled=len(stands.set_mm) == len(stands.form.seats),
    )


def _look(stands: Standing, marks_mm: Mapping[str, Point]) -> tuple[float, int, float]:
    seen = forecast(
        stands.goal,
        stands.form,
        order=stands.order,
        set_mm=stands.set_mm,
        set_covariance_mm2=stands.set_covariance_mm2,
        marks_mm=marks_mm,
        errors=stands.errors,
    )
    return seen.chance, seen.limiting, seen.each[seen.limiting]


def stick_panels(state: JobState) -> tuple[str, ...]:
    """Panels on which a story stick raises the chance, before anything is marked on them."""
    stands = standing(state)
    gains = stick_gains(
        stands.goal,
        stands.form,
        order=stands.order,
        set_mm=stands.set_mm,
        set_covariance_mm2=stands.set_covariance_mm2,
        marks_mm=state.marks_mm,
        errors=stands.errors,
        stick_u_mm=state.job.uncertainty.stick,
    )
    able = offered_panels(gains) & _able(state)
    panels = state.job.panels
    return tuple(panels[k].name for k in sorted(able) if panels[k].hang.method == "hangers")
