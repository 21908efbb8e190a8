"""Hangers measured again though there are holes, and two panels in each other's places.

What is in the wall stays where it is: a seat that was A1 is B1 once B hangs there, with its hole
and its readings, and the marks that are left answer to the hangers that come on them.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import TypeVar

from holdtrue.core.model import Panel
from holdtrue.domain import documents
from holdtrue.domain.planning import planned
from holdtrue.domain.prefill import planned_values
from holdtrue.domain.rings import SHIM
from holdtrue.domain.state import JobState, Recorded
from holdtrue.domain.subjects import panel_of_seat, swapped_seat, swapped_task

ALIKE_MM = 1.0
"""Panels whose sizes and hangers differ by no more can hang in each other's places as they are.
Our choice: two readings of a tape."""
_T = TypeVar("_T")
_BY_METHOD = {"wire": "work.wire:{panel}", "cleat": "work.rail:{panel}"}


def hangers_again(state: JobState, seats: Iterable[str]) -> JobState:
    """The hangers of these seats are to be measured again, although there are holes."""
    methods = {panel.name: panel.hang.method for panel in state.job.panels}
    again = {
        _BY_METHOD.get(methods[panel_of_seat(seat)], "work.hanger:{seat}").format(
            panel=panel_of_seat(seat), seat=seat
        )
        for seat in seats
    }
    return replace(
        state,
        reopened=state.reopened | again,
        records={task: record for task, record in state.records.items() if task not in again},
    )


def unlike_mm(one: Panel, other: Panel) -> dict[str, float] | None:
    """By how much two panels differ, where by more than a tape tells; None: not to be compared.

    Those hang by other means or another number of hangers.
    """
    if one.hang.method != other.hang.method or len(one.hangers) != len(other.hangers):
        return None
    hangers = [
        max(abs(a.u_mm - b.u_mm), abs(_down_mm(one, a.v_mm) - _down_mm(other, b.v_mm)))
        for a, b in zip(one.hangers, other.hangers, strict=True)
    ]
    found = {
        "width": abs(one.width_mm - other.width_mm),
        "height": abs(one.height_mm - other.height_mm),
        "hangers": max(hangers),
    }
    return {name: mm for name, mm in found.items() if mm > ALIKE_MM}


def _down_mm(panel: Panel, v_mm: float) -> float:
    return panel.height_mm / 2 - v_mm


def with_panels_swapped(state: JobState, one: str, other: str, entry: Recorded) -> JobState:
    """The plan with two panels in each other's places; unlike ones are measured again.

    Whoever said yes to it said yes to where the panels go now.
    """
    at = {panel.name: k for k, panel in enumerate(state.job.panels)}
    panels = state.job.panels[at[one]], state.job.panels[at[other]]
    document = documents.with_panels_swapped(state.document, at[one], at[other])
    state = _without_shims_on_the_floor(under_new_names(state, one, other))
    state = planned(state, document, entry)
    places = planned_values(state, "stand_back.yes")
    records = {
        task: replace(record, planned=places) if "places" in record.planned else record
        for task, record in state.records.items()
    }
    state = replace(state, records=records)
    if not unlike_mm(*panels):
        return state
    return hangers_again(state, [s for s in state.form.seats if panel_of_seat(s) in (one, other)])


def _without_shims_on_the_floor(state: JobState) -> JobState:
    """The shims of panels not lifted yet were worked out together, for where the panels were to go.

    All of them are laid anew: one laid by itself would ask for another one again, and so on.
    """
    records = {
        task: record
        for task, record in state.records.items()
        if not task.startswith(SHIM)
        or f"panels.lift:{panel_of_seat(task.removeprefix(SHIM))}" in state.records
    }
    return replace(state, records=records)


def under_new_names(state: JobState, one: str, other: str) -> JobState:
    """What is in the wall under the names of the panels that come there now."""

    def name(seat: str) -> str:
        return swapped_seat(seat, one, other)

    def named(values: Mapping[str, _T]) -> dict[str, _T]:
        return {name(seat): value for seat, value in values.items()}

    about = {one, other}
    seats = tuple(replace(row, seat=name(row.seat)) for row in state.current.seats)
    return replace(
        state,
        current=replace(state.current, seats=seats),
        records={
            swapped_task(task, one, other): replace(record, task=swapped_task(task, one, other))
            for task, record in state.records.items()
        },
        set_seats=named(state.set_seats),
        marked=named(state.marked),
        marks_mm=named(state.marks_mm),
        found=named(state.found),
        chosen=named(state.chosen),
        pilots=named(state.pilots),
        holes=named(state.holes),
        old_holes=tuple(replace(hole, seat=name(hole.seat)) for hole in state.old_holes),
        choices=tuple(replace(choice, seat=name(choice.seat)) for choice in state.choices),
        stops=tuple(replace(stop, seat=name(stop.seat)) for stop in state.stops),
        # asked for of a hanger that hangs elsewhere now
        moves={k: v for k, v in state.moves.items() if panel_of_seat(k) not in about},
        true_first=tuple(name(panel) for panel in state.true_first),
        by_hand=tuple(name(seat) for seat in state.by_hand),
    )
