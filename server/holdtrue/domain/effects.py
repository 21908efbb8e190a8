"""What recording a task does beyond standing recorded: one function per kind that does more."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from math import dist
from typing import Any, cast

from holdtrue.core.clear import SAME_MM
from holdtrue.core.plan import found_behind
from holdtrue.core.wall import Behind, into_wanted
from holdtrue.domain import documents
from holdtrue.domain.hanging import is_reading_of, value_mm, with_reading
from holdtrue.domain.holes import given_up, known_behind
from holdtrue.domain.planning import planned, remarked, with_backing
from holdtrue.domain.state import (
    Hidden,
    HungRead,
    JobState,
    Mark,
    Point,
    Record,
    Recorded,
    Review,
    SetSeat,
    Trim,
)
from holdtrue.domain.task_kinds import EVERYWHERE
from holdtrue.domain.touches import Touched, slide_end, touches_of

MET_FOUND = {"nothing": "hollow", "wood": "stud", "steel": "steel", "masonry": "solid"}


_Effect = Callable[[JobState, str, Record, Recorded], JobState]


def _ways_chosen(state: JobState, subject: str, record: Record, entry: Recorded) -> JobState:
    ways = {"unit": record.values["unit"], "hand": record.values["hand"]}
    return replace(state, ways={**state.ways, entry.who: ways})


def _services_checked(state: JobState, subject: str, record: Record, entry: Recorded) -> JobState:
    """What was found stays found until it is checked again."""
    if not record.values.get("found"):
        return replace(state, hidden=None)
    near = tuple(one for one in record.values.get("near") or () if one != EVERYWHERE)
    places = entry.body.get("places", {})
    hidden = Hidden(
        found=record.values["found"],
        seq=entry.seq,
        who=entry.who,
        when=entry.received,
        near=near,
        near_mm=tuple((places[one]["x_mm"], places[one]["y_mm"]) for one in near if one in places),
    )
    return replace(state, hidden=hidden)


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
    return planned(state, document, entry)


def _wire_measured(state: JobState, panel: str, record: Record, entry: Recorded) -> JobState:
    if record.outcome != "measured":
        return state
    index = _index(state, panel)
    return planned(
        state, documents.with_wire(state.document, state.job, index, record.values), entry
    )


def _rail_measured(state: JobState, panel: str, record: Record, entry: Recorded) -> JobState:
    if record.outcome != "measured":
        return state
    return planned(
        state, documents.with_rail(state.document, _index(state, panel), record.values), entry
    )


def _index(state: JobState, panel: str) -> int:
    return next(k for k, one in enumerate(state.job.panels) if one.name == panel)


def _reference_read(state: JobState, subject: str, record: Record, entry: Recorded) -> JobState:
    if record.outcome != "measured":
        return state
    document = documents.with_reference(state.document, state.plan, record.values)
    return planned(state, document, entry)


def _ends_read(state: JobState, subject: str, record: Record, entry: Recorded) -> JobState:
    return planned(state, documents.with_ends(state.document, record.values), entry)


def _studs_found(state: JobState, subject: str, record: Record, entry: Recorded) -> JobState:
    if record.outcome != "measured":
        return state
    document = documents.with_studs(state.document, record.values["studs"])
    return planned(state, document, entry)


def _wall_found(state: JobState, subject: str, record: Record, entry: Recorded) -> JobState:
    if record.outcome != "measured":
        return state
    document = documents.with_wall(state.document, behind=record.values["behind"])
    return planned(state, document, entry)


def _marked(state: JobState, seat: str, record: Record, entry: Recorded) -> JobState:
    if seat in state.holes:
        # the hole stands where it was drilled, whatever is pencilled now
        return state
    made = entry.body["mark"]
    mark = Mark(
        seat_mm=(made["x_mm"], made["y_mm"]), hole_y_mm=made["hole_y_mm"], fastener=made["fastener"]
    )
    place = (mark.seat_mm[0], mark.hole_y_mm)
    if dist(state.pilots.get(seat, place), place) > SAME_MM:
        state = _without_pilot(state, seat)
    return replace(state, marked={**state.marked, seat: mark})


def _without_pilot(state: JobState, seat: str) -> JobState:
    """Marked elsewhere than it was piloted: that pilot is given up."""
    records = {k: v for k, v in state.records.items() if k != f"fasteners.pilot:{seat}"}
    return given_up(replace(state, records=records), seat)


def _piloted(state: JobState, seat: str, record: Record, entry: Recorded) -> JobState:
    """What the thinnest bit met: confirms what was planned, or changes the fastener."""
    met = record.values["met"]
    state = _drilled(state, seat)
    state = replace(state, pilots={seat: _hole_mm(state, seat), **state.pilots})
    if met == "unclear":
        records = {k: v for k, v in state.records.items() if k != record.task}
        return remarked(replace(state, records=records))
    row = state.seat(seat)
    believed = Behind(into=row.into, material=row.material)
    if met == "wood" and believed.into == "backed":
        return remarked(state)
    material, known = "wood" if met == "wood" else None, known_behind(state, seat)
    behind = found_behind(cast(Any, MET_FOUND[met]), cast(Any, material), known)
    chosen = dict(state.chosen)
    if into_wanted(behind) != into_wanted(believed):
        # a fastener picked for something else is no longer a choice anybody made
        chosen.pop(seat, None)
    return with_backing(state, seat, {**state.found, seat: behind}, chosen)


def _anchored(state: JobState, seat: str, record: Record, entry: Recorded) -> JobState:
    """The hole is open: the marks left keep off it by more than off its pilot."""
    state = _drilled(state, seat)
    return remarked(replace(state, holes={**state.holes, seat: _hole_mm(state, seat)}))


def _drilled(state: JobState, seat: str) -> JobState:
    """A hole without a mark of its own stands for it."""
    if seat in state.marked:
        return state
    row = state.seat(seat)
    mark = Mark(
        seat_mm=(row.x_mm, row.y_mm),
        hole_y_mm=row.hole_y_mm,
        fastener=row.fastener.name if row.fastener else None,
    )
    return replace(state, marked={**state.marked, seat: mark})


def _hole_mm(state: JobState, seat: str) -> Point:
    mark = state.marked[seat]
    return (mark.seat_mm[0], mark.hole_y_mm)


def _measured(state: JobState, seat: str, record: Record, entry: Recorded) -> JobState:
    place, given = entry.body["place"], entry.body["given"]
    above = float(record.values["above"]["mm"])
    set_seat = SetSeat(
        x_mm=place["x_mm"],
        y_mm=place["y_mm"],
        line_mm=place["y_mm"] - above,
        seq=entry.seq,
        given_mm=(given["x_mm"], given["y_mm"]),
        is_measured=record.outcome == "measured",
    )
    marks = {k: v for k, v in state.marks_mm.items() if k != seat}
    return remarked(replace(state, set_seats={**state.set_seats, seat: set_seat}, marks_mm=marks))


def _marks_follow(state: JobState, subject: str, record: Record, entry: Recorded) -> JobState:
    return remarked(state)


def _hung_read(state: JobState, subject: str, record: Record, entry: Recorded) -> JobState:
    """What hung panels read tells where they hang, and so where the next ones go."""
    read = HungRead(task=record.task, values=record.values, planned=record.planned, seq=entry.seq)
    reads = with_reading(state, read, is_read=record.outcome == "measured")
    if reads == state.hung_read:
        return state
    return remarked(replace(state, hung_read=reads))


def _trimmed(state: JobState, panel: str, record: Record, entry: Recorded) -> JobState:
    """A trimmed panel is checked again; one that cannot be trimmed is left to the lead."""
    touches = touches_of(record.values)
    if not touches:
        return state
    document = _hangers_trimmed(state, panel, touches)
    trims = tuple(
        Trim(
            panel=panel,
            seat=touch.seat,
            by_mm=touch.by_mm,
            means=touch.means,
            seq=entry.seq,
            who=entry.who,
            when=entry.received,
            is_planned=touch.means == "hanger" and document is not None,
            end=slide_end(touch, record.planned),
        )
        for touch in touches
    )
    records = {
        task: one
        for task, one in state.records.items()
        if not is_reading_of(task, panel) and task != record.task
    }
    state = replace(state, trims=(*state.trims, *trims), records=records)
    return remarked(state) if document is None else planned(state, document, entry)


def _hangers_trimmed(
    state: JobState, panel: str, touches: Sequence[Touched]
) -> Mapping[str, Any] | None:
    """The document with the hangers where they were moved to: down for a panel raised by one.

    None where none was, or where one would lie beyond its panel's edge: the log alone has that.
    """
    raised: dict[str, float] = {}
    for touch in touches:
        if touch.means == "hanger":
            raised[touch.seat] = raised.get(touch.seat, 0.0) + touch.by_mm
    k, document = _index(state, panel), state.document
    shape = state.job.panels[k]
    for seat, by_mm in raised.items():
        hanger = state.plan.arrangement.seat_hanger[state.form.seats.index(seat)]
        if abs(shape.hangers[hanger].v_mm - by_mm) > shape.height_mm / 2:
            return None
        document = documents.with_hanger_moved(document, state.job, k, hanger, (0.0, -by_mm))
    return document if raised and shape.hang.method == "hangers" else None


def _hanger_moved(state: JobState, seat: str, record: Record, entry: Recorded) -> JobState:
    """With the maker's yes the hanger goes where its seat is; holes and seats stay."""
    if record.values["agreed"] != "yes":
        return state
    at = state.plan.arrangement.seat_names.index(seat)
    document = documents.with_hanger_moved(
        state.document,
        state.job,
        state.plan.arrangement.seat_panel[at],
        state.plan.arrangement.seat_hanger[at],
        (value_mm(record.planned, "across"), value_mm(record.planned, "up")),
    )
    return planned(state, document, entry)


def _handed_over(state: JobState, subject: str, record: Record, entry: Recorded) -> JobState:
    return replace(
        state,
        review=Review(state="handed_over", who=entry.who, when=entry.received),
        handed_over_chance=entry.body.get("chance"),
    )


EFFECTS: Mapping[str, _Effect] = {
    "join.ways": _ways_chosen,
    "before.services": _services_checked,
    "work.hanger": _hanger_measured,
    "work.wire": _wire_measured,
    "work.rail": _rail_measured,
    "reference.mark": _reference_read,
    "reference.ends": _ends_read,
    "behind.studs": _studs_found,
    "behind.wall": _wall_found,
    "level.check": _marks_follow,
    "fasteners.mark": _marked,
    "fasteners.pilot": _piloted,
    "fasteners.anchor": _anchored,
    "fasteners.measure": _measured,
    "fasteners.again": _marks_follow,
    "fasteners.cross": _marks_follow,
    "fasteners.recross": _marks_follow,
    "fasteners.stick": _marks_follow,
    "panels.shim": _marks_follow,
    "panels.engaged": _marks_follow,
    "panels.level": _hung_read,
    "panels.edge": _hung_read,
    "panels.facing": _hung_read,
    "panels.trim": _trimmed,
    "panels.move": _hanger_moved,
    "close.next_day": _hung_read,
    "close.hand_over": _handed_over,
}
