"""The chance that the job ends inside every tolerance, as it stands, and what limits it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from holdtrue.core.criteria import all_criteria
from holdtrue.core.forecast import Errors, forecast
from holdtrue.core.quality import Vector
from holdtrue.domain.estimating import placing_u_mm
from holdtrue.domain.state import JobState


@dataclass(frozen=True, slots=True, kw_only=True)
class Outlook:
    """``chance`` without trimming; ``kind`` and ``where`` name what is least likely to hold."""

    chance: float
    kind: str
    where: str
    chance_of_it: float
    with_sticks: float
    """The chance if a story stick is used on every panel still to be marked."""
    stick_panels: tuple[str, ...]
    """Panels on which a story stick raises the chance."""

    @property
    def percent(self) -> int:
        return round(100 * self.chance)

    @property
    def percent_with_sticks(self) -> int:
        return round(100 * self.with_sticks)


def errors_of(state: JobState, stick_panels: Iterable[int] = ()) -> Errors:
    """Placing and reading errors of the work still to do."""
    tape = state.job.uncertainty.tape
    placing = {}
    for seat in state.current.seats:
        u = placing_u_mm(state.job, seat.fastener)
        placing[seat.seat] = (u, u)
    return Errors(
        placing=placing,
        reading=dict.fromkeys(state.form.seats, (tape, tape)),
        stick=state.job.uncertainty.stick,
        stick_panels=frozenset(stick_panels),
    )


def outlook(state: JobState) -> Outlook:
    """Forecast from what is known of the set seats and the marks given to the others."""
    goal = all_criteria(state.job, state.plan.arrangement)
    able = _stickable(state)

    def look(panels: Iterable[int]) -> tuple[float, int, float]:
        seen = forecast(
            goal,
            state.form,
            order=state.order,
            set_mm=state.set_mm,
            set_covariance_mm2=_covariance(state),
            marks_mm=state.marks_mm,
            errors=errors_of(state, panels),
        )
        return seen.chance, seen.limiting, seen.each[seen.limiting]

    chance, limiting, alone = look(())
    with_sticks = look(able)[0] if able else chance
    helped = able if with_sticks > chance else ()
    return Outlook(
        chance=chance,
        kind=goal.kinds[limiting],
        where=goal.labels[limiting],
        chance_of_it=alone,
        with_sticks=max(chance, with_sticks),
        stick_panels=tuple(state.job.panels[k].name for k in helped),
    )


def _stickable(state: JobState) -> tuple[int, ...]:
    """Panels with two or more seats still to mark."""
    arrangement = state.plan.arrangement
    count: dict[int, int] = {}
    for name, panel in zip(arrangement.seat_names, arrangement.seat_panel, strict=True):
        if name not in state.set_seats and name not in state.marked:
            count[panel] = count.get(panel, 0) + 1
    return tuple(panel for panel, open_ in count.items() if open_ > 1)


def _covariance(state: JobState) -> Vector | None:
    """Covariance of the set seats in the form's order (the estimate keeps its own)."""
    estimate = state.estimate
    if estimate is None:
        return None
    ordered = [name for name in state.form.seats if name in state.set_seats]
    n = len(ordered)
    at = [estimate.seats.index(name) for name in ordered]
    pick = at + [i + n for i in at]
    return estimate.covariance_mm2[pick][:, pick]
