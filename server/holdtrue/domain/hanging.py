"""Where the hung panels really hang: their seats' estimate, and what was read and trimmed on them.

Method: the readings and touches are gone through in the order they were made. A reading is one more
observation (``core.hung``); a touch moves what it touches. What is recorded "as planned" with one
tap is no reading. A level read again takes the place of the one before, unless the panel was
touched in between.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from math import sqrt
from typing import Any

import numpy as np

from holdtrue.core.hung import (
    Hang,
    HungKind,
    HungReading,
    estimate_hang,
    hang_on_seats,
    hung_rows,
    panel_columns,
    seats_beneath_mm,
    shimmed,
    slid,
)
from holdtrue.core.instruments import level_u_mm
from holdtrue.core.model import Panel
from holdtrue.core.quality import Vector
from holdtrue.core.recompute import fixed_from_set, places_mm
from holdtrue.core.slope import planned_rise_mm
from holdtrue.core.sources_play import SLIDE_U_MM, TRIM_U_MM
from holdtrue.core.sources_trim import RULE_U_MM
from holdtrue.domain.levelcheck import checked_level, read_rise_mm
from holdtrue.domain.rings import raised_mm
from holdtrue.domain.state import HungRead, JobState, Point, Trim
from holdtrue.domain.subjects import facing_panels

AHEAD = {"as_planned": 0.0, "p": 1.0, "q": -1.0}
LEVELS = ("panels.level", "close.next_day")
EDGE = "panels.edge"
READ_ON = (*LEVELS, "panels.facing", EDGE)


def is_reading_of(task: str, panel: str) -> bool:
    """Whether a task reads this hung panel, by itself or against a neighbour."""
    kind, _, subject = task.partition(":")
    return kind in READ_ON and panel in facing_panels(subject)


def value_mm(values: Mapping[str, Any], name: str) -> float:
    """A recorded length; 0 where none was typed."""
    value = values.get(name)
    return float(value["mm"]) if value else 0.0


def panel_of(state: JobState, name: str) -> Panel:
    return next(panel for panel in state.job.panels if panel.name == name)


def width_mm(state: JobState, panel: str) -> float:
    return panel_of(state, panel).width_mm


def level_off_mm(
    state: JobState, panel: str, values: Mapping[str, Any], *, read_at: int | None = None
) -> float:
    """How far a level read on a hung panel at that entry is off plan: its right end over the left.

    The level's own error over the panel's width is taken off; on a slope the plan is not level.
    """
    level = checked_level(state, read_at)
    true_mm = level.true_rise_mm(read_rise_mm(values), width_mm(state, panel))
    return true_mm - planned_rise_mm(state.job, panel_of(state, panel))


def hung_panels(state: JobState) -> tuple[int, ...]:
    """Panels whose hangers all sit on their fasteners, in driving order of their indexes."""
    return tuple(
        k
        for k, panel in enumerate(state.job.panels)
        if f"panels.engaged:{panel.name}" in state.records and _is_set(state, k)
    )


def _is_set(state: JobState, panel: int) -> bool:
    first, last = panel_columns(state.job, panel)
    return all(seat in state.set_seats for seat in state.form.seats[first:last])


def with_reading(state: JobState, read: HungRead, *, is_read: bool) -> tuple[HungRead, ...]:
    """The readings on hung panels with one more.

    It corrects an earlier one of the same, unless one more was asked for: then both count.
    """
    corrected = () if read.task in state.near else readings_of(state, read.task)
    kept = tuple(one for one in state.hung_read if one not in corrected)
    return (*kept, read) if is_read else kept


def readings_of(state: JobState, task: str) -> tuple[HungRead, ...]:
    """What was read for a task since its panels were last touched."""
    panels = facing_panels(task.partition(":")[2])
    touched = max((t.seq for t in state.trims if t.panel in panels), default=0)
    return tuple(
        one for one in state.hung_read if one.seq > touched and _place(one.task) == _place(task)
    )


def _place(task: str) -> tuple[str, str]:
    """What a reading is of: a level is a level, the next day's too."""
    kind, _, subject = task.partition(":")
    return "level" if kind in LEVELS else kind, subject


def seats_law(state: JobState) -> tuple[Vector, Vector]:
    """Deviations of all seats by their own readings, and their covariance; 0 for unset ones."""
    form, estimate = state.form, state.estimate
    deviation = np.zeros(form.planned_mm.size)
    covariance = np.zeros((deviation.size, deviation.size))
    if estimate is None:
        return deviation, covariance
    for at, value in fixed_from_set(form, estimate.place_mm).items():
        deviation[at] = value
    n, m = len(form.seats), len(estimate.seats)
    index = [form.seats.index(seat) for seat in estimate.seats]
    columns = np.array(index + [n + i for i in index])
    covariance[np.ix_(columns, columns)] = estimate.covariance_mm2[: 2 * m, : 2 * m]
    return deviation, covariance


def bearing_law(state: JobState) -> tuple[Vector, Vector]:
    """The same as panels bear on them with the shims that were laid in their rings."""
    deviation, covariance = seats_law(state)
    n = len(state.form.seats)
    for seat, up in raised_mm(state).items():
        if seat in state.set_seats:
            at = n + state.form.seats.index(seat)
            deviation[at] += up
            covariance[at, at] += TRIM_U_MM**2
    return deviation, covariance


def hanging(state: JobState, *, with_taps: bool = False) -> Hang | None:
    """The hung panels from all that is known; None while nothing was read or touched on them.

    ``with_taps``: what was tapped "as planned" counts too, as far as anybody looked: within its
    tolerance (rectangular, GUM 4.3.7).
    """
    hung = hung_panels(state)
    names = {state.job.panels[k].name for k in hung}
    known = [*state.hung_read, *(_taps(state) if with_taps else ())]
    reads = [r for r in known if names.issuperset(_panels(r))]
    trims = [t for t in state.trims if t.panel in names]
    if not reads and not trims:
        return None
    rows = hung_rows(state.job, state.plan.arrangement)
    deviation, covariance = bearing_law(state)
    for trim in trims:
        if trim.is_planned:
            # the plan has the hanger where it is now: begin with where it was
            deviation[len(deviation) // 2 + state.form.seats.index(trim.seat)] -= trim.by_mm
    beside = {name for r in reads if not _is_level(r) for name in _panels(r)}
    hang = hang_on_seats(
        state.job,
        deviation_mm=deviation,
        covariance_mm2=covariance,
        # a panel not read sideways is taken to hang in the middle of its play
        panels=[k for k in hung if state.job.panels[k].name in beside],
    )
    happened: list[HungRead | Trim] = [*reads, *trims]
    for one in sorted(happened, key=lambda one: one.seq):
        if isinstance(one, Trim):
            hang = _touched(state, hang, one, is_loose=one.panel in beside)
        else:
            read = [r for r in _observed(state, one) if (r.kind, r.where) in rows]
            hang = estimate_hang(state.job, rows, hang, read)
    return hang


def _taps(state: JobState) -> list[HungRead]:
    return [
        HungRead(task=r.task, values=r.values, planned=r.planned, seq=r.seq, is_tapped=True)
        for r in state.records.values()
        if r.outcome == "as_planned" and r.task.partition(":")[0] in (*LEVELS, "panels.facing")
    ]


def _is_level(read: HungRead) -> bool:
    return read.task.partition(":")[0] in LEVELS


def _panels(read: HungRead) -> tuple[str, ...]:
    return facing_panels(read.task.partition(":")[2])


def _observed(state: JobState, read: HungRead) -> Iterable[HungReading]:
    kind, _, subject = read.task.partition(":")
    known = state.job.uncertainty
    if kind == EDGE:
        off = edge_off_mm(read)
        return [HungReading(kind="edge", where=subject, value_mm=off, u_mm=known.tape)]
    if kind in LEVELS:
        if read.is_tapped:
            u = state.job.tolerance.level / sqrt(3.0)
            return [HungReading(kind="level", where=subject, value_mm=0.0, u_mm=u)]
        width = width_mm(state, subject)
        u = level_u_mm(width, fixed_mm=known.level, per_m_mm=known.level_per_m)
        off = level_off_mm(state, subject, read.values, read_at=read.seq)
        return [HungReading(kind="level", where=subject, value_mm=off, u_mm=u)]
    u = state.job.tolerance.gap / sqrt(3.0) if read.is_tapped else RULE_U_MM
    return [
        HungReading(kind=of, where=subject, value_mm=mm, u_mm=u)
        for of, mm in facing_off_mm(read).items()
    ]


def edge_off_mm(read: HungRead) -> float:
    """How far a panel's left edge was read off plan, to the right."""
    return value_mm(read.values, "across") - value_mm(read.planned, "across")


def facing_off_mm(read: HungRead) -> dict[HungKind, float]:
    """The ends of a gap and the step at it, as they were read off plan."""
    values, planned = read.values, read.planned
    return {
        "gap first": value_mm(values, "first") - value_mm(planned, "first"),
        "gap second": value_mm(values, "second") - value_mm(planned, "second"),
        "step": AHEAD[values["ahead"]] * value_mm(values, "by"),
    }


def _touched(state: JobState, hang: Hang, trim: Trim, *, is_loose: bool) -> Hang:
    """Moved by a touch; off the wall and on again, a panel may come to lie anywhere in its play."""
    panel = next(k for k, p in enumerate(state.job.panels) if p.name == trim.panel)
    if trim.means == "slide":
        return slid(state.job, hang, panel, trim.by_mm, SLIDE_U_MM)
    if trim.seat not in state.form.seats:
        return hang
    seat = state.form.seats.index(trim.seat)
    return shimmed(state.job, hang, seat, trim.by_mm, TRIM_U_MM, is_loose=is_loose)


def seats_under(state: JobState, hang: Hang) -> Vector:
    """Deviations of the seats as what was read on their panels puts them."""
    deviation, covariance = seats_law(state)
    slid_mm = {panel.name: 0.0 for panel in state.job.panels}
    for trim in state.trims:
        if trim.means == "slide":
            slid_mm[trim.panel] += trim.by_mm
    return seats_beneath_mm(
        state.job,
        hang.deviation_mm,
        seats_mm=deviation,
        covariance_mm2=covariance,
        panels=hung_panels(state),
        slid_mm=np.array(list(slid_mm.values())),
    )


def bearing_mm(state: JobState, hang: Hang | None) -> dict[str, Point]:
    """Set seats as their panels bear on them, for the marks of the rest and for the finish."""
    up = raised_mm(state)
    places = {seat: (x, y + up.get(seat, 0.0)) for seat, (x, y) in state.set_mm.items()}
    if hang is None:
        return places
    as_hung = places_mm(state.form, hang.deviation_mm)
    return places | {seat: as_hung[seat] for seat in hung_seats(state)}


def hung_seats(state: JobState) -> tuple[str, ...]:
    """Seats of the hung panels."""
    own = (slice(*panel_columns(state.job, k)) for k in hung_panels(state))
    return tuple(seat for seats in own for seat in state.form.seats[seats])


def law_of_set(state: JobState) -> tuple[dict[str, Point], Vector | None]:
    """Set seats as they bear, and their covariance in the form's order (x of all, then y)."""
    if state.estimate is None:
        return {}, None
    covariance = bearing_law(state)[1] if state.hang is None else state.hang.covariance_mm2
    n = len(state.form.seats)
    at = [i for i, seat in enumerate(state.form.seats) if seat in state.set_seats]
    pick = at + [n + i for i in at]
    return dict(state.bearing_mm), covariance[np.ix_(pick, pick)]
