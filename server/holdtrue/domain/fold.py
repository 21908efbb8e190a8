"""State = fold(entries): the only place where an entry changes anything.

Rules: an undone entry stays in the log and is passed over here; a later record of a task takes the
place of the earlier one; a changed document is planned again at once and every mark with it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace

from holdtrue.core.plan import found_behind
from holdtrue.domain import documents, events
from holdtrue.domain.effects import EFFECTS
from holdtrue.domain.errors import AppError, UnreadableEntryError
from holdtrue.domain.hangers import hangers_again, with_panels_swapped
from holdtrue.domain.holes import KEPT, known_behind
from holdtrue.domain.planning import freed, planned, reordered, unset, with_backing
from holdtrue.domain.state import (
    Chosen,
    Code,
    Installer,
    JobState,
    Parked,
    Point,
    Record,
    Recorded,
    Release,
    Review,
    Stop,
)
from holdtrue.domain.subjects import panel_of_seat


def undone_seqs(entries: Iterable[Recorded]) -> frozenset[int]:
    """The entries taken back by later ones."""
    return frozenset(_undone(e) for e in entries if e.type == events.ENTRY_UNDONE)


def _undone(entry: Recorded) -> int:
    of = entry.body.get("of")
    if not isinstance(of, int):
        raise UnreadableEntryError(entry.seq, entry.type, "it does not say what it takes back")
    return of


def fold(entries: Sequence[Recorded]) -> JobState:
    """The state after all entries; the first must be JobCreated."""
    undone = undone_seqs(entries)
    first, *rest = entries
    state = _read(first, lambda: created(first))
    for entry in rest:
        if entry.seq not in undone:
            state = replayed(state, entry)
    return replace(state, seq=entries[-1].seq)


def replayed(state: JobState, entry: Recorded) -> JobState:
    """The state after a stored entry; UnreadableEntryError names one that cannot be taken."""
    return _read(entry, lambda: evolve(state, entry))


_UNTAKEN = (
    AppError,
    ArithmeticError,
    AttributeError,
    LookupError,
    StopIteration,
    TypeError,
    ValueError,
)
"""What reading a body of another shape raises."""


def _read(entry: Recorded, take: Callable[[], JobState]) -> JobState:
    try:
        return take()
    except UnreadableEntryError:
        raise
    except _UNTAKEN as error:
        why = str(error) if isinstance(error, AppError) else f"{type(error).__name__}: {error}"
        raise UnreadableEntryError(entry.seq, entry.type, why) from error


def created(entry: Recorded) -> JobState:
    """A new job."""
    if entry.type != events.JOB_CREATED:
        raise ValueError(f"a job's stream starts with {events.JOB_CREATED}, not {entry.type}")
    document = entry.body["document"]
    return planned(None, document, entry)


def evolve(state: JobState, entry: Recorded) -> JobState:
    """The state after one more entry."""
    change = _EVENTS.get(entry.type)
    if change is None:
        raise UnreadableEntryError(entry.seq, entry.type, "this version knows no such entry")
    return replace(change(state, entry), seq=entry.seq)


def _plan_revised(state: JobState, entry: Recorded) -> JobState:
    return replace(planned(state, entry.body["document"], entry), release=None)


def _plan_released(state: JobState, entry: Recorded) -> JobState:
    body = entry.body
    return replace(
        reordered(state, tuple(body.get("order") or ())),
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
            sticks=tuple(body.get("sticks") or ()),
            chance=body.get("chance"),
            agreed=body.get("agreed"),
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
    for part in ("values", "planned"):
        if not isinstance(body[part], Mapping):
            raise TypeError(f"{part} must be an object {{...}}")
    record = Record(
        task=body["task"],
        outcome=body["outcome"],
        values=body["values"],
        planned=body["planned"],
        seq=entry.seq,
        who=entry.who,
        when=entry.received,
    )
    if kind == "level.check" and kind in state.records:
        checks = (*state.earlier_checks, state.records[kind])
        state = replace(state, earlier_checks=checks)
    state = replace(state, records={**state.records, record.task: record})
    effect = EFFECTS.get(kind)
    return effect(state, subject, record, entry) if effect else state


def _seat_blocked(state: JobState, entry: Recorded) -> JobState:
    body, seat = entry.body, entry.body["seat"]
    found, chosen = dict(state.found), dict(state.chosen)
    if body["found"] != "same":
        known = known_behind(state, seat)
        found[seat] = found_behind(body["found"], body.get("material"), known)
        chosen.pop(seat, None)
    if body.get("fastener"):
        chosen[seat] = body["fastener"]
    return with_backing(state, seat, found, chosen, is_known=body["found"] == "same")


def _seat_freed(state: JobState, entry: Recorded) -> JobState:
    """Its hole is given up, or it keeps it and what came after is done again."""
    body, seat, why = entry.body, entry.body["seat"], entry.body["why"]
    if body.get("keeps"):
        state = unset(state, seat, KEPT[why])
        return hangers_again(state, [seat]) if why == "moved" else state
    # before a reading could be taken back alone, its good hole was given up with it
    return freed(
        state, seat, hole_mm=_place(body.get("hole")), is_usable=why in ("dropped", "moved")
    )


def _place(aim: Mapping[str, float] | None) -> Point | None:
    return (aim["x_mm"], aim["y_mm"]) if aim else None


def _choice_made(state: JobState, entry: Recorded) -> JobState:
    """What was chosen after a deviation, and does what it says."""
    body, seat, choice = entry.body, entry.body["seat"], entry.body["choice"]
    made = Chosen(
        seat=seat,
        choice=choice,
        chance=float(body["chance"]),
        seq=entry.seq,
        who=entry.who,
        when=entry.received,
    )
    state = replace(state, choices=(*state.choices, made))
    if choice == "correct":
        return freed(state, seat, aim=_place(body["aim"]), fastener=body.get("fastener"))
    if choice == "true_first":
        return replace(state, true_first=(*state.true_first, panel_of_seat(seat)))
    if choice == "move_hanger":
        right, up = float(body["move"]["right_mm"]), float(body["move"]["up_mm"])
        return replace(state, moves={**state.moves, seat: (right, up)})
    return state


def _drop_learned(state: JobState, entry: Recorded) -> JobState:
    """The kind's drop as it is; holes there are give their seats lower or higher by it."""
    name, drop_mm = entry.body["fastener"], float(entry.body["drop"]["mm"])
    document = documents.with_drop(state.document, name, drop_mm)
    marked = {
        seat: replace(mark, seat_mm=(mark.seat_mm[0], mark.hole_y_mm - drop_mm))
        if mark.fastener == name and state.is_drilled(seat)
        else mark
        for seat, mark in state.marked.items()
    }
    return planned(replace(state, marked=marked), document, entry)


def _panels_swapped(state: JobState, entry: Recorded) -> JobState:
    one, other = entry.body["panels"]
    return with_panels_swapped(state, one, other, entry)


def _stop_called(state: JobState, entry: Recorded) -> JobState:
    seat = state.seat(entry.body["seat"])
    stop = Stop(
        seq=entry.seq,
        seat=entry.body["seat"],
        what=entry.body["what"],
        note=entry.body["note"],
        who=entry.who,
        when=entry.received,
        at_mm=(seat.x_mm, seat.hole_y_mm),
    )
    return replace(state, stops=(*state.stops, stop))


def _stop_cleared(state: JobState, entry: Recorded) -> JobState:
    if all(stop.seq != entry.body["stop"] for stop in state.stops):
        raise LookupError("it clears a stop that nobody called")
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
        review=Review(
            state="sent_back",
            who=entry.who,
            when=entry.received,
            why=entry.body["why"],
            again=tuple(entry.body["tasks"]),
        ),
    )


def _card_issued(state: JobState, entry: Recorded) -> JobState:
    return replace(state, cards={**state.cards, entry.body["card"]: False})


def _card_revoked(state: JobState, entry: Recorded) -> JobState:
    return replace(state, cards={**state.cards, entry.body["card"]: True})


def _entry_parked(state: JobState, entry: Recorded) -> JobState:
    body = entry.body
    parked = Parked(
        seq=entry.seq,
        task=body["task"],
        fields=body["fields"],
        words=body["words"],
        who=entry.who,
        when=entry.received,
        tapped=entry.tapped,
        photo=body["photo"]["sha256"] if "photo" in body else "",
    )
    return replace(state, parked=(*state.parked, parked))


def _parked_settled(state: JobState, entry: Recorded) -> JobState:
    of, note = entry.body["of"], entry.body["note"]
    return replace(
        state,
        parked=tuple(
            replace(one, settled_by=entry.who, settled_note=note) if one.seq == of else one
            for one in state.parked
        ),
    )


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
    events.CHOICE_MADE: _choice_made,
    events.DROP_LEARNED: _drop_learned,
    events.PANELS_SWAPPED: _panels_swapped,
    events.STOP_CALLED: _stop_called,
    events.STOP_CLEARED: _stop_cleared,
    events.ENTRY_UNDONE: _nothing,
    events.WORK_ACCEPTED: _work_accepted,
    events.WORK_SENT_BACK: _work_sent_back,
    events.CARD_ISSUED: _card_issued,
    events.CARD_REVOKED: _card_revoked,
    events.ENTRY_PARKED: _entry_parked,
    events.PARKED_SETTLED: _parked_settled,
}
