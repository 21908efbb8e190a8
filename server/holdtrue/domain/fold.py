"""State = fold(entries): the only place where an entry changes anything.

Rules: an undone entry stays in the log and is passed over here; a later record of a task takes the
place of the earlier one; a changed document is planned again at once and every mark with it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Any, cast

from holdtrue.core.marks import give_marks
from holdtrue.core.model import Plan
from holdtrue.core.order import driving_order, level_lines
from holdtrue.core.plan import found_behind, make_plan
from holdtrue.core.quality import quadratic_form
from holdtrue.core.recompute import recompute_mm
from holdtrue.core.units import is_inch_like
from holdtrue.core.wall import Behind
from holdtrue.domain import documents, events
from holdtrue.domain.jobfile import parse_job
from holdtrue.domain.state import (
    Code,
    Installer,
    JobState,
    Mark,
    Point,
    Record,
    Recorded,
    Release,
    Review,
    SetSeat,
    Stop,
    Trim,
)

HANDY_MM = {True: 25.4, False: 10.0}
"""Level lines are put on whole inches or centimetres."""

MET_FOUND = {"nothing": "hollow", "wood": "stud", "steel": "steel", "masonry": "solid"}


def undone_seqs(entries: Iterable[Recorded]) -> frozenset[int]:
    """The entries taken back by later ones."""
    return frozenset(int(e.body["of"]) for e in entries if e.type == events.ENTRY_UNDONE)


def fold(entries: Sequence[Recorded]) -> JobState:
    """The state after all entries; the first must be JobCreated."""
    undone = undone_seqs(entries)
    first, *rest = entries
    state = created(first)
    for entry in rest:
        if entry.seq not in undone:
            state = evolve(state, entry)
    return replace(state, seq=entries[-1].seq)


def created(entry: Recorded) -> JobState:
    """A new job."""
    if entry.type != events.JOB_CREATED:
        raise ValueError(f"a job's stream starts with {events.JOB_CREATED}, not {entry.type}")
    document = entry.body["document"]
    return _planned(None, document, entry)


def evolve(state: JobState, entry: Recorded) -> JobState:
    """The state after one more entry."""
    changed = _EVENTS[entry.type](state, entry)
    return replace(changed, seq=entry.seq)


# -- planning again ------------------------------------------------------------------------------


def _planned(before: JobState | None, document: Mapping[str, Any], entry: Recorded) -> JobState:
    """Plan a document; marks given before stay if they can once a hole exists."""
    job = parse_job(document)
    plan = make_plan(job)
    arrangement = plan.arrangement
    lines = level_lines(
        arrangement.seat_names, arrangement.seats_mm, HANDY_MM[is_inch_like(job.unit)]
    )
    derived: dict[str, Any] = {
        "document": document,
        "job": job,
        "plan": plan,
        "current": plan,
        "form": quadratic_form(job, arrangement),
        "order": driving_order(plan),
        "lines": lines,
    }
    if before is None:
        fresh = JobState(seq=entry.seq, created=entry.received, revision=1, marks_mm={}, **derived)
        return _remarked(fresh)
    changed = replace(before, revision=before.revision + 1, **derived)
    names = set(arrangement.seat_names)
    kept = {name: mark for name, mark in changed.marks_mm.items() if name in names}
    return _remarked(
        replace(
            changed,
            marks_mm=kept if before.holes else {},
            set_seats={k: v for k, v in changed.set_seats.items() if k in names},
            marked={k: v for k, v in changed.marked.items() if k in names},
            holes={k: v for k, v in changed.holes.items() if k in names},
            found={k: v for k, v in changed.found.items() if k in names},
            chosen={
                k: v
                for k, v in changed.chosen.items()
                if k in names and any(f.name == v for f in job.fasteners)
            },
        )
    )


def _remarked(state: JobState) -> JobState:
    """Give the marks again: set seats fixed, seats with a pilot or hole kept where they are."""
    held = {
        name: mark.seat_mm
        for name, mark in state.marked.items()
        if name not in state.set_seats and _is_begun(state, name)
    }
    fixed = state.set_mm | held
    places = recompute_mm(state.form, fixed) | dict(state.marks_mm) | fixed
    current = _current(state, places)
    for _ in range(2):
        drops = _drops(current)
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
        current = _current(state, marks | state.set_mm)
        if _drops(current) == drops:
            break
    return replace(state, marks_mm=marks, current=current)


def _is_begun(state: JobState, seat: str) -> bool:
    return seat in state.holes or f"fasteners.pilot:{seat}" in state.records


def _current(state: JobState, places: Mapping[str, Point]) -> Plan:
    return make_plan(state.job, places_mm=places, blocked=state.found, chosen=state.chosen)


def _drops(plan: Plan) -> dict[str, float]:
    return {s.seat: s.fastener.drop_mm if s.fastener else 0.0 for s in plan.seats}


# -- one function per event ----------------------------------------------------------------------


def _plan_revised(state: JobState, entry: Recorded) -> JobState:
    return replace(_planned(state, entry.body["document"], entry), release=None)


def _plan_released(state: JobState, entry: Recorded) -> JobState:
    body = entry.body
    return replace(
        state,
        release=Release(
            seq=entry.seq,
            revision=body["revision"],
            accepted=frozenset(body["accepted"]),
            reason=body["reason"],
            who=entry.who,
            when=entry.received,
            way=body["way"],
            holds=frozenset(body["holds"]),
            next_day=bool(body.get("next_day")),
        ),
    )


def _installer_invited(state: JobState, entry: Recorded) -> JobState:
    code = Code(digest=entry.body["code"], label=entry.body["label"])
    return replace(state, codes={**state.codes, code.digest: code})


def _code_revoked(state: JobState, entry: Recorded) -> JobState:
    code = state.codes[entry.body["code"]]
    return replace(state, codes={**state.codes, code.digest: replace(code, is_revoked=True)})


def _installer_joined(state: JobState, entry: Recorded) -> JobState:
    body = entry.body
    installer = Installer(
        person=body["person"],
        name=body["name"],
        unit=body["unit"],
        hand=body["hand"],
        code=body["code"],
    )
    return replace(
        state,
        installers={**state.installers, installer.person: installer},
        ways={**state.ways, installer.person: {"unit": installer.unit, "hand": installer.hand}},
    )


def _task_recorded(state: JobState, entry: Recorded) -> JobState:
    body = entry.body
    kind, _, subject = str(body["task"]).partition(":")
    record = Record(
        task=body["task"],
        outcome=body["outcome"],
        values=body["values"],
        planned=body["planned"],
        seq=entry.seq,
        who=entry.who,
        when=entry.received,
    )
    state = replace(state, records={**state.records, record.task: record})
    effect = _EFFECTS.get(kind)
    return effect(state, subject, record, entry) if effect else state


def _seat_blocked(state: JobState, entry: Recorded) -> JobState:
    body, seat = entry.body, entry.body["seat"]
    found, chosen = dict(state.found), dict(state.chosen)
    if body["found"] != "same":
        found[seat] = found_behind(body["found"], body.get("material"))
        chosen.pop(seat, None)
    if body.get("fastener"):
        chosen[seat] = body["fastener"]
    return _with_backing(state, seat, found, chosen)


def _seat_freed(state: JobState, entry: Recorded) -> JobState:
    seat = entry.body["seat"]
    hole = state.holes.get(seat)
    without = _without_records(state, seat)
    return _remarked(
        replace(
            without,
            set_seats={k: v for k, v in state.set_seats.items() if k != seat},
            holes={k: v for k, v in state.holes.items() if k != seat},
            spoilt_mm=state.spoilt_mm + ((hole,) if hole else ()),
        )
    )


def _stop_called(state: JobState, entry: Recorded) -> JobState:
    stop = Stop(
        seq=entry.seq,
        seat=entry.body["seat"],
        what=entry.body["what"],
        note=entry.body["note"],
        who=entry.who,
        when=entry.received,
    )
    return replace(state, stops=(*state.stops, stop))


def _stop_cleared(state: JobState, entry: Recorded) -> JobState:
    return replace(
        state,
        stops=tuple(
            replace(stop, cleared_by=entry.who, cleared_note=entry.body["note"])
            if stop.seq == entry.body["stop"]
            else stop
            for stop in state.stops
        ),
    )


def _work_accepted(state: JobState, entry: Recorded) -> JobState:
    body = entry.body
    concessions = tuple(body["concessions"])
    return replace(
        state,
        review=Review(
            state="conceded" if concessions else "accepted",
            who=entry.who,
            when=entry.received,
            points=body["points"],
            concessions=concessions,
            is_self_accepted=body["self_accepted"],
        ),
    )


def _work_sent_back(state: JobState, entry: Recorded) -> JobState:
    again = set(entry.body["tasks"]) | {"close.hand_over"}
    return replace(
        state,
        records={k: v for k, v in state.records.items() if k not in again},
        review=Review(state="sent_back", who=entry.who, when=entry.received, why=entry.body["why"]),
    )


def _card_issued(state: JobState, entry: Recorded) -> JobState:
    return replace(state, cards={**state.cards, entry.body["card"]: False})


def _card_revoked(state: JobState, entry: Recorded) -> JobState:
    return replace(state, cards={**state.cards, entry.body["card"]: True})


def _nothing(state: JobState, entry: Recorded) -> JobState:
    return state


_EVENTS: Mapping[str, Callable[[JobState, Recorded], JobState]] = {
    events.PLAN_REVISED: _plan_revised,
    events.PLAN_RELEASED: _plan_released,
    events.INSTALLER_INVITED: _installer_invited,
    events.INSTALLER_CODE_REVOKED: _code_revoked,
    events.INSTALLER_JOINED: _installer_joined,
    events.TASK_RECORDED: _task_recorded,
    events.SEAT_BLOCKED: _seat_blocked,
    events.SEAT_FREED: _seat_freed,
    events.STOP_CALLED: _stop_called,
    events.STOP_CLEARED: _stop_cleared,
    events.ENTRY_UNDONE: _nothing,
    events.WORK_ACCEPTED: _work_accepted,
    events.WORK_SENT_BACK: _work_sent_back,
    events.CARD_ISSUED: _card_issued,
    events.CARD_REVOKED: _card_revoked,
}

# -- one function per task that does more than stand recorded --------------------------------------

_Effect = Callable[[JobState, str, Record, Recorded], JobState]


def _ways_chosen(state: JobState, subject: str, record: Record, entry: Recorded) -> JobState:
    ways = {"unit": record.values["unit"], "hand": record.values["hand"]}
    return replace(state, ways={**state.ways, entry.who: ways})


def _hanger_measured(state: JobState, subject: str, record: Record, entry: Recorded) -> JobState:
    if record.outcome != "measured":
        return state
    at = state.plan.arrangement.seat_names.index(subject)
    document = documents.with_hanger(
        state.document,
        state.job,
        state.plan.arrangement.seat_panel[at],
        state.plan.arrangement.seat_hanger[at],
        record.values,
    )
    return _planned(state, document, entry)


def _reference_read(state: JobState, subject: str, record: Record, entry: Recorded) -> JobState:
    if record.outcome != "measured":
        return state
    document = documents.with_reference(state.document, state.plan, record.values)
    return _planned(state, document, entry)


def _ends_read(state: JobState, subject: str, record: Record, entry: Recorded) -> JobState:
    return _planned(state, documents.with_ends(state.document, record.values), entry)


def _studs_found(state: JobState, subject: str, record: Record, entry: Recorded) -> JobState:
    if record.outcome != "measured":
        return state
    document = documents.with_studs(state.document, record.values["studs"])
    return _planned(state, document, entry)


def _wall_found(state: JobState, subject: str, record: Record, entry: Recorded) -> JobState:
    if record.outcome != "measured":
        return state
    document = documents.with_wall(state.document, behind=record.values["behind"])
    return _planned(state, document, entry)


def _marked(state: JobState, seat: str, record: Record, entry: Recorded) -> JobState:
    made = entry.body["mark"]
    mark = Mark(
        seat_mm=(made["x_mm"], made["y_mm"]), hole_y_mm=made["hole_y_mm"], fastener=made["fastener"]
    )
    return replace(state, marked={**state.marked, seat: mark})


def _piloted(state: JobState, seat: str, record: Record, entry: Recorded) -> JobState:
    """What the thinnest bit met: confirms what was planned, or changes the fastener."""
    met = record.values["met"]
    if met == "unclear":
        records = {k: v for k, v in state.records.items() if k != record.task}
        return replace(state, records=records)
    planned = state.seat(seat)
    if met == "wood" and planned.into == "backed":
        return state
    behind = found_behind(cast(Any, MET_FOUND[met]), "wood" if met == "wood" else None)
    return _with_backing(state, seat, {**state.found, seat: behind}, dict(state.chosen))


def _with_backing(
    state: JobState, seat: str, found: Mapping[str, Behind], chosen: Mapping[str, str]
) -> JobState:
    """Plan the seat's fastener again; another fastener asks for its mark to be made again."""
    before = state.seat(seat).fastener
    state = replace(state, found=found, chosen=chosen)
    after = _current(state, {**state.marks_mm, **state.set_mm})
    fastener = next(s.fastener for s in after.seats if s.seat == seat)
    if before != fastener and seat not in state.set_seats:
        state = _without_records(state, seat)
        state = replace(state, holes={k: v for k, v in state.holes.items() if k != seat})
    return _remarked(state)


def _without_records(state: JobState, seat: str) -> JobState:
    """The seat's fastener tasks are to do again, and the pair checks it is part of."""

    def is_touched(task: str) -> bool:
        kind, _, subject = task.partition(":")
        if kind == "fasteners.pair":
            return seat in subject.split("-")
        return kind.startswith("fasteners.") and subject == seat

    return replace(
        state,
        records={k: v for k, v in state.records.items() if not is_touched(k)},
        marked={k: v for k, v in state.marked.items() if k != seat},
        marks_mm={k: v for k, v in state.marks_mm.items() if k != seat},
    )


def _anchored(state: JobState, seat: str, record: Record, entry: Recorded) -> JobState:
    mark = state.marked.get(seat)
    planned = state.seat(seat)
    hole = (mark.seat_mm[0], mark.hole_y_mm) if mark else (planned.x_mm, planned.hole_y_mm)
    return replace(state, holes={**state.holes, seat: hole})


def _measured(state: JobState, seat: str, record: Record, entry: Recorded) -> JobState:
    place, given = entry.body["place"], entry.body["given"]
    set_seat = SetSeat(
        x_mm=place["x_mm"],
        y_mm=place["y_mm"],
        seq=entry.seq,
        given_mm=(given["x_mm"], given["y_mm"]),
        is_measured=record.outcome == "measured",
    )
    marks = {k: v for k, v in state.marks_mm.items() if k != seat}
    return _remarked(replace(state, set_seats={**state.set_seats, seat: set_seat}, marks_mm=marks))


def _trimmed(state: JobState, panel: str, record: Record, entry: Recorded) -> JobState:
    """A trimmed panel is checked again."""
    trim = Trim(
        panel=panel,
        seat=record.values["seat"],
        by_mm=float(record.values["by"]["mm"]),
        means=record.values["means"],
        seq=entry.seq,
        who=entry.who,
        when=entry.received,
    )

    def is_touched(task: str) -> bool:
        kind, _, subject = task.partition(":")
        return (kind == "panels.level" and subject == panel) or (
            kind == "panels.facing" and panel in subject.split("|")
        )

    records = {k: v for k, v in state.records.items() if not is_touched(k) and k != record.task}
    return replace(state, trims=(*state.trims, trim), records=records)


def _handed_over(state: JobState, subject: str, record: Record, entry: Recorded) -> JobState:
    return replace(state, review=Review(state="handed_over", who=entry.who, when=entry.received))


_EFFECTS: Mapping[str, _Effect] = {
    "join.ways": _ways_chosen,
    "work.hanger": _hanger_measured,
    "reference.mark": _reference_read,
    "reference.ends": _ends_read,
    "behind.studs": _studs_found,
    "behind.wall": _wall_found,
    "fasteners.mark": _marked,
    "fasteners.pilot": _piloted,
    "fasteners.anchor": _anchored,
    "fasteners.measure": _measured,
    "panels.trim": _trimmed,
    "close.hand_over": _handed_over,
}
