"""What the card tells the next venue: numbers relative to the work, nothing of the old wall.

No venue, no person, no height above a floor, no distance from a mark, and not the title either:
the card opens from a code on a crate. What is typed as free text (notes, reasons) stays out for
the same reason; panels and fasteners are called what the lead called them.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from itertools import pairwise
from math import ceil

from holdtrue.core.geometry import bounding_box_mm
from holdtrue.core.model import Met, Panel, Plan, Wall
from holdtrue.core.plan import seat_force_N
from holdtrue.core.slope import seat_shifts_mm
from holdtrue.core.statics import weight_N
from holdtrue.domain import events
from holdtrue.domain.checklist import seats_of
from holdtrue.domain.fold import undone_seqs
from holdtrue.domain.ordering import panels_in_order
from holdtrue.domain.prefill import planned_gap_mm
from holdtrue.domain.readings import LEAST_PEOPLE
from holdtrue.domain.rings import laid_mm
from holdtrue.domain.state import JobState, Recorded

PAUSE = timedelta(minutes=30)
"""A longer silence in the log counts as a pause, not as work; our choice."""
SETTING_UP_MIN, SEAT_MIN, PANEL_MIN = 60, 20, 20
"""Minutes to survey a wall, to drive a seat and to hang a panel, until a log says better; our
choice."""
PLATFORMS = {"floor": "the floor", "platform": "a platform", "two_ladders": "two ladders"}
SECURED = {"lock": "security locks", "anti_lift": "anti-lift fixings", "seismic": "seismic fixings"}


@dataclass(frozen=True, slots=True, kw_only=True)
class SeatLoad:
    seat: str
    load_N: float
    pull_N: float
    force_N: float


@dataclass(frozen=True, slots=True, kw_only=True)
class FastenerUse:
    """One kind of fastener: how many seats it carries, and what it asks of the wall."""

    name: str
    seats: int
    into: tuple[Met, ...]
    allowed_N: float | None
    drop_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PairBuilt:
    """Two neighbouring seats of one panel, planned and as measured at the last install."""

    seats: tuple[str, str]
    spacing_mm: float
    planned_spacing_mm: float
    rise_mm: float
    """Right seat above the left one, seen from the front."""
    planned_rise_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class TrimMade:
    """``where``: the seat, or the panel where it concerns the whole of it."""

    where: str
    way: str
    by_mm: float
    means: str


@dataclass(frozen=True, slots=True, kw_only=True)
class GapPlanned:
    first: str
    second: str
    is_beside: bool
    gap_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Card:
    revision: int
    dated: str
    """Time of the last entry about the work, ISO."""
    is_installed: bool
    panels: tuple[Panel, ...]
    plan: Plan
    """The work alone, its middle on the reference line, on a wall without a past."""
    clear_mm: tuple[float, float]
    mass_kg: float
    weight_N: float
    seat_loads: tuple[SeatLoad, ...]
    fasteners: tuple[FastenerUse, ...]
    unassigned: int
    """Seats for which no fastener is listed."""
    secured: tuple[str, ...]
    gaps: tuple[GapPlanned, ...]
    people: int
    people_basis: str
    minutes: int
    minutes_basis: str
    hanging: tuple[str, ...]
    built: tuple[PairBuilt, ...]
    trims: tuple[TrimMade, ...]
    shims: tuple[tuple[str, float], ...]
    """Ring and thickness laid in it before the lift [mm]."""

    @property
    def packing(self) -> tuple[str, ...]:
        """Reverse of hanging."""
        return tuple(reversed(self.hanging))

    @property
    def worst(self) -> SeatLoad:
        return max(self.seat_loads, key=lambda seat: seat.force_N)


def card(state: JobState, entries: Sequence[Recorded]) -> Card:
    """The card of a job as it stands."""
    panels = state.job.panels
    left, low, right, high = bounding_box_mm(panels, state.plan.arrangement.centres_mm)
    mass_kg = sum(panel.mass_kg for panel in panels)
    people, people_basis = _people(state)
    minutes, minutes_basis = _minutes(state, entries)
    return Card(
        revision=state.revision,
        dated=_dated(entries),
        is_installed=state.review.state in ("handed_over", "accepted", "conceded"),
        panels=panels,
        plan=alone(state.plan),
        clear_mm=(right - left, high - low),
        mass_kg=mass_kg,
        weight_N=weight_N(mass_kg),
        seat_loads=tuple(
            SeatLoad(seat=s.seat, load_N=s.load_N, pull_N=s.pull_N, force_N=seat_force_N(s))
            for s in state.current.seats
        ),
        fasteners=_fasteners(state),
        unassigned=sum(seat.fastener is None for seat in state.current.seats),
        secured=_secured(state),
        gaps=_gaps(state),
        people=people,
        people_basis=people_basis,
        minutes=minutes,
        minutes_basis=minutes_basis,
        hanging=panels_in_order(state),
        built=tuple(_built(state)),
        trims=tuple(
            TrimMade(
                where=t.seat or t.panel,
                way=t.way,
                by_mm=abs(t.by_mm),
                means=f"{t.means}, already moved" if t.is_planned else t.means,
            )
            for t in state.trims
        ),
        shims=tuple((seat, mm) for seat, mm in sorted(laid_mm(state).items()) if mm > 0),
    )


def hardware(panel: Panel, fmt: Callable[[float], str]) -> str:
    """What is on the panel's back to hang it by, and in the wall to take it."""
    count = len(panel.hangers)
    match panel.hang.method:
        case "wire" if panel.hang.wire:
            (left, _), (right, _) = panel.hang.wire.rings_mm
            hooks = "one hook" if count == 1 else f"two hooks {fmt(panel.hang.wire.hooks_mm)} apart"
            return f"two rings {fmt(right - left)} apart with one wire, over {hooks}"
        case "cleat":
            return f"a rail, on a rail in the wall with {count} screws"
        case "standoff":
            return f"{count} stand-offs"
    plural = "s" if count > 1 else ""
    return f"{count} hanger{plural}, a fastener each"


def alone(plan: Plan) -> Plan:
    """The plan moved so that the work's middle is at (0, 0), on a wall nothing is known of.

    Level: another room has another slope.
    """
    layout = plan.job.layout
    left, low, right, high = bounding_box_mm(plan.job.panels, plan.arrangement.centres_mm)
    x0, y0 = (left + right) / 2, (low + high) / 2

    # to where each seat is without the slope
    by = [(-x0 - right, -y0 - up) for right, up in seat_shifts_mm(plan.job, plan.arrangement)]
    return replace(
        plan,
        job=replace(plan.job, title="", wall=Wall(), layout=replace(layout, slope_mm_per_m=0.0)),
        arrangement=replace(
            plan.arrangement,
            centres_mm=tuple((x - x0, y - y0) for x, y in plan.arrangement.centres_mm),
            seats_mm=tuple(
                (x + dx, y + dy)
                for (x, y), (dx, dy) in zip(plan.arrangement.seats_mm, by, strict=True)
            ),
        ),
        seats=tuple(
            replace(s, x_mm=s.x_mm + dx, y_mm=s.y_mm + dy, hole_y_mm=s.hole_y_mm + dy)
            for s, (dx, dy) in zip(plan.seats, by, strict=True)
        ),
        findings=(),
    )


_ABOUT_THE_WORK = (
    events.JOB_CREATED,
    events.PLAN_REVISED,
    events.TASK_RECORDED,
    events.WORK_ACCEPTED,
    events.WORK_SENT_BACK,
)


def _dated(entries: Sequence[Recorded]) -> str:
    return next(e.received for e in reversed(entries) if e.type in _ABOUT_THE_WORK)


def _fasteners(state: JobState) -> tuple[FastenerUse, ...]:
    used = [seat for seat in state.current.seats if seat.fastener is not None]
    counts = Counter(seat.fastener.name for seat in used if seat.fastener)
    found = []
    for name, count in counts.items():
        seats = [seat for seat in used if seat.fastener and seat.fastener.name == name]
        fastener = seats[0].fastener
        if fastener is not None:
            found.append(
                FastenerUse(
                    name=name,
                    seats=count,
                    into=tuple(dict.fromkeys(seat.into for seat in seats)),
                    allowed_N=fastener.allowed_N,
                    drop_mm=fastener.drop_mm,
                )
            )
    return tuple(found)


def _secured(state: JobState) -> tuple[str, ...]:
    used = [
        SECURED[record.values["with"]]
        for task, record in state.records.items()
        if task.startswith("secure.lock:") and record.values["with"] in SECURED
    ]
    return tuple(dict.fromkeys(used))


def _gaps(state: JobState) -> tuple[GapPlanned, ...]:
    found = []
    for pair in state.plan.arrangement.neighbours:
        p, q = state.job.panels[pair.p].name, state.job.panels[pair.q].name
        found.append(
            GapPlanned(
                first=p,
                second=q,
                is_beside=pair.how == "beside",
                gap_mm=planned_gap_mm(state, f"{p}|{q}"),
            )
        )
    return tuple(found)


def _people(state: JobState) -> tuple[int, str]:
    record = state.records.get("before.people")
    if record is None:
        return LEAST_PEOPLE, "the least for any panel; more for a heavy or high one"
    counted = int(record.values["people"])
    stood = PLATFORMS[record.values["platform"]]
    said = f"{counted} on {stood} at the last install"
    if counted < LEAST_PEOPLE:
        said += "; nobody lifts a panel alone"
    return max(LEAST_PEOPLE, counted), said


def _minutes(state: JobState, entries: Sequence[Recorded]) -> tuple[int, str]:
    """Minutes of work: by the log once the work was handed over, else by our figures."""
    if "close.hand_over" in state.records:
        worked = ceil(worked_minutes(entries) / 15) * 15
        return worked, "by the last install's log, pauses over 30 minutes left out"
    seats, panels = len(state.form.seats), len(state.job.panels)
    rough = SETTING_UP_MIN + SEAT_MIN * seats + PANEL_MIN * panels
    return rough, (
        f"reckoned, not measured: {SETTING_UP_MIN} minutes for the wall, {SEAT_MIN} for each of "
        f"{seats} seats, {PANEL_MIN} for each panel"
    )


def worked_minutes(entries: Iterable[Recorded]) -> float:
    """Minutes between the first and the last recorded task, without the pauses."""
    entries = list(entries)
    undone = undone_seqs(entries)
    times = [
        datetime.fromisoformat(entry.received)
        for entry in entries
        if entry.type == events.TASK_RECORDED and entry.seq not in undone
    ]
    steps = (after - before for before, after in pairwise(times))
    # a clock that was put back in between says nothing about that time
    worked = (step for step in steps if timedelta() <= step <= PAUSE)
    return sum(worked, timedelta()) / timedelta(minutes=1)


def _built(state: JobState) -> Iterable[PairBuilt]:
    """Neighbouring seats that were both set, relative to their panel: the room's slope left out."""
    plan = state.plan
    names = plan.arrangement.seat_names
    sloped = dict(zip(names, seat_shifts_mm(plan.job, plan.arrangement), strict=True))
    planned = dict(zip(names, plan.arrangement.seats_mm, strict=True))

    def apart_mm(a: str, b: str, at_mm: Mapping[str, tuple[float, float]]) -> tuple[float, float]:
        right, up = ((at_mm[b][i] - sloped[b][i]) - (at_mm[a][i] - sloped[a][i]) for i in (0, 1))
        return right, up

    for panel in state.job.panels:
        for a, b in pairwise(seats_of(state, panel.name)):
            if a in state.set_mm and b in state.set_mm:
                spacing, rise = apart_mm(a, b, state.set_mm)
                planned_spacing, planned_rise = apart_mm(a, b, planned)
                yield PairBuilt(
                    seats=(a, b),
                    spacing_mm=spacing,
                    planned_spacing_mm=planned_spacing,
                    rise_mm=rise,
                    planned_rise_mm=planned_rise,
                )
