"""Planning again: after a changed document, a set seat, or something found behind one."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from math import dist
from typing import Any

from holdtrue.core.clear import SAME_MM
from holdtrue.core.marks import give_marks
from holdtrue.core.model import Plan
from holdtrue.core.order import level_lines
from holdtrue.core.plan import make_plan
from holdtrue.core.quality import quadratic_form
from holdtrue.core.recompute import recompute_mm
from holdtrue.core.units import is_inch_like
from holdtrue.core.wall import Behind
from holdtrue.domain.estimating import estimate
from holdtrue.domain.hanging import bearing_mm, hanging
from holdtrue.domain.holes import given_up, with_clear_aim
from holdtrue.domain.jobfile import stored_job
from holdtrue.domain.ordering import order_for
from holdtrue.domain.state import JobState, Mark, Point, Record, Recorded
from holdtrue.domain.subjects import CROSSED, facing_panels, pair_seats, panel_of_seat
from holdtrue.domain.tasks import TASK_KINDS
from holdtrue.domain.trim import near_tasks


def handy_mm(unit: str) -> float:
    """Level lines are put on whole inches or centimetres."""
    return 25.4 if is_inch_like(unit) else 10.0


def planned(before: JobState | None, document: Mapping[str, Any], entry: Recorded) -> JobState:
    """Plan a document; marks given before stay if they can once a hole exists."""
    job = stored_job(document)
    plan = make_plan(job)
    arrangement = plan.arrangement
    lines = level_lines(arrangement.seat_names, arrangement.seats_mm, handy_mm(job.unit))
    derived: dict[str, Any] = {
        "document": document,
        "job": job,
        "plan": plan,
        "current": plan,
        "form": quadratic_form(job, arrangement),
        "order": order_for(plan, before.by_hand if before else ()),
        "lines": lines,
    }
    if before is None:
        fresh = JobState(seq=entry.seq, created=entry.received, revision=1, marks_mm={}, **derived)
        return remarked(fresh)
    names = set(arrangement.seat_names)
    for seat in sorted({*before.holes, *before.pilots} - names):
        before = given_up(before, seat)
    changed = replace(before, revision=before.revision + 1, **derived)
    kept = {name: mark for name, mark in changed.marks_mm.items() if name in names}
    return remarked(
        replace(
            changed,
            marks_mm=kept if before.holes or before.pilots else {},
            records=_records_left(changed),
            set_seats={k: v for k, v in changed.set_seats.items() if k in names},
            marked={k: v for k, v in changed.marked.items() if k in names},
            # worked out again where they are still needed
            aims={},
            moves={k: v for k, v in changed.moves.items() if k in names},
            found={k: v for k, v in changed.found.items() if k in names},
            chosen={
                k: v
                for k, v in changed.chosen.items()
                if k in names and any(f.name == v for f in job.fasteners)
            },
        )
    )


def _records_left(state: JobState) -> dict[str, Record]:
    """Records of panels and seats the plan still has: one put back later is another one."""
    seats = set(state.plan.arrangement.seat_names)
    panels = {panel.name for panel in state.job.panels}

    def is_there(task: str) -> bool:
        kind, _, subject = task.partition(":")
        scope = TASK_KINDS[kind].scope
        if scope in ("hanger", "seat", "pair"):
            return seats.issuperset(pair_seats(subject))
        return scope not in ("panel", "facing") or panels.issuperset(facing_panels(subject))

    return {task: record for task, record in state.records.items() if is_there(task)}


def remarked(state: JobState) -> JobState:
    """Give the marks again, each hole clear of those there are.

    Set seats are fixed; seats with a pilot or hole keep where they were marked.
    """
    state = replace(state, estimate=estimate(state))
    hang = hanging(state)
    state = replace(state, hang=hang, bearing_mm=bearing_mm(state, hang))
    state = _marked_again(replace(state, near=near_tasks(state)))
    for _ in range(2 * len(state.order)):  # each seat once, or twice where its fastener changes
        aimed = with_clear_aim(state, held_mm(state))
        if aimed is state:
            break
        state = _marked_again(aimed)
    return state


def _marked_again(state: JobState) -> JobState:
    held = held_mm(state)
    fixed = dict(state.bearing_mm) | held
    places = recompute_mm(state.form, fixed) | dict(state.marks_mm) | held | state.set_mm
    now = current(state, places)
    for _ in range(2):
        drops = _drops(now)
        given = {
            name: place
            for name, place in state.marks_mm.items()
            if _drops(state.current).get(name) == drops[name]
        }
        marks = (
            give_marks(
                state.form,
                set_mm=fixed,
                order=state.order,
                drop_mm=drops,
                graduation_mm=state.job.graduation_mm,
                given_mm=given,
            )
            | held
        )
        now = current(state, marks | state.set_mm)
        if _drops(now) == drops:
            break
    return replace(state, marks_mm=marks, current=now)


def held_mm(state: JobState) -> dict[str, Point]:
    """Unset seats whose place is no longer free.

    Those with a pilot or hole stay where they were marked; those to be made again clear of an old
    hole go where that was worked out; a story stick carries its panel's others from the first.
    """
    unset = [seat for seat in state.form.seats if seat not in state.set_seats]
    begun = {k: v.seat_mm for k, v in state.marked.items() if k in unset and state.is_drilled(k)}
    aims = {seat: state.aims[seat] for seat in unset if seat in state.aims}
    return _carried(state, unset) | aims | begun


def _carried(state: JobState, unset: Sequence[str]) -> dict[str, Point]:
    """Later seats of panels with a story stick: their first seat's place and the planned way on."""
    planned = dict(zip(state.form.seats, state.plan.arrangement.seats_mm, strict=True))
    carried: dict[str, Point] = {}
    for panel in state.sticks:
        own = [seat for seat in state.order if panel_of_seat(seat) == panel]
        first = next((seat for seat in own if seat in state.set_seats), None)
        if first is None:
            continue
        at, meant = state.set_mm[first], planned[first]
        for seat in own:
            x, y = planned[seat]
            if seat in unset:
                carried[seat] = (at[0] + x - meant[0], at[1] + y - meant[1])
    return carried


def current(state: JobState, places: Mapping[str, Point]) -> Plan:
    return make_plan(state.job, places_mm=places, blocked=state.found, chosen=state.chosen)


def _drops(plan: Plan) -> dict[str, float]:
    return {seat.seat: seat.drop_mm for seat in plan.seats}


def with_backing(
    state: JobState,
    seat: str,
    found: Mapping[str, Behind],
    chosen: Mapping[str, str],
    *,
    is_known: bool = True,
) -> JobState:
    """Plan the seat's fastener again; another fastener asks for its mark to be made again.

    Unless it goes best into the pilot there is: then its mark and pilot stand. ``is_known``: that
    pilot met what is said to be behind.
    """
    before = state
    state = replace(state, found=found, chosen=chosen)
    after = current(state, {**state.marks_mm, **state.set_mm})
    fastener = next(s.fastener for s in after.seats if s.seat == seat)
    if before.seat(seat).fastener == fastener or seat in state.set_seats:
        return remarked(state)
    state = remarked(without_records(given_up(state, seat), seat))
    return _in_its_pilot(before, state, seat, is_known) if before.is_drilled(seat) else state


def _in_its_pilot(before: JobState, state: JobState, seat: str, is_known: bool) -> JobState:
    """The same with the pilot just given up in use again, if that is where the hole goes now."""
    hole, row = state.old_holes[-1], state.seat(seat)
    if hole.is_full or dist(hole.at_mm, (row.x_mm, row.hole_y_mm)) > SAME_MM:
        return state
    mark = Mark(
        seat_mm=(row.x_mm, row.y_mm),
        hole_y_mm=row.hole_y_mm,
        fastener=row.fastener.name if row.fastener else None,
    )
    kept = {f"fasteners.{name}:{seat}" for name in (("mark", "pilot") if is_known else ("mark",))}
    return replace(
        state,
        old_holes=state.old_holes[:-1],
        pilots={**state.pilots, seat: hole.at_mm},
        marked={**state.marked, seat: mark},
        aims={k: v for k, v in state.aims.items() if k != seat},
        records={**state.records, **{k: v for k, v in before.records.items() if k in kept}},
    )


def without_records(state: JobState, seat: str) -> JobState:
    """The seat's fastener tasks are to do again, and the pair checks it is part of."""

    def is_touched(task: str) -> bool:
        kind, _, subject = task.partition(":")
        if kind in ("fasteners.pair", *CROSSED):
            return seat in pair_seats(subject)
        return kind.startswith("fasteners.") and subject == seat

    return replace(
        state,
        records={k: v for k, v in state.records.items() if not is_touched(k)},
        marked={k: v for k, v in state.marked.items() if k != seat},
        marks_mm={k: v for k, v in state.marks_mm.items() if k != seat},
        aims={k: v for k, v in state.aims.items() if k != seat},
    )


def freed(
    state: JobState,
    seat: str,
    *,
    aim: Point | None = None,
    fastener: str | None = None,
    hole_mm: Point | None = None,
    is_usable: bool = False,
) -> JobState:
    """The seat is to be made again: clear of its old hole, by that fastener.

    ``hole_mm``: where the old hole is, if not at its mark; ``is_usable``: it may be made in it
    again.
    """
    state = given_up(state, seat, at_mm=hole_mm, is_usable=is_usable)
    state = without_records(state, seat)
    set_seats = {k: v for k, v in state.set_seats.items() if k != seat}
    state = replace(state, set_seats=set_seats)
    if aim is not None:
        state = replace(state, aims={**state.aims, seat: aim})
    if fastener is not None:
        state = replace(state, chosen={**state.chosen, seat: fastener})
    return remarked(state)


def unset(state: JobState, seat: str, tasks: Collection[str]) -> JobState:
    """The seat is to be read again in the hole it has, after these of its tasks."""
    gone = {f"fasteners.{name}:{seat}" for name in (*tasks, "measure", "again")}
    records = {
        task: record
        for task, record in state.records.items()
        if task not in gone and not _is_crossed(task, seat)
    }
    set_seats = {k: v for k, v in state.set_seats.items() if k != seat}
    return remarked(replace(state, records=records, set_seats=set_seats))


def _is_crossed(task: str, seat: str) -> bool:
    kind, _, subject = task.partition(":")
    return kind in CROSSED and seat in pair_seats(subject)


def reordered(state: JobState, by_hand: tuple[str, ...]) -> JobState:
    """Driven in another order, the marks are rounded in another order too."""
    order = order_for(state.plan, by_hand)
    changed = replace(state, by_hand=by_hand, order=order)
    return changed if order == state.order else remarked(changed)
