"""A job's log in plain words: one line per entry, none left out, corrections marked.

The sentences are tables by event; a test holds them to every event there is.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from holdtrue.core.readout import format_length
from holdtrue.domain import events
from holdtrue.domain.fold import undone_seqs
from holdtrue.domain.state import Recorded
from holdtrue.domain.subjects import shown_subject, swapped_task
from holdtrue.domain.task_kinds import FAILED
from holdtrue.domain.tasks import TASK_KINDS, Field
from holdtrue.domain.touches import WORDS, Touched, touches_of

_Body = Mapping[str, Any]

FREED_WORDS = {
    "wrong_hole": "wrong hole",
    "spent": "the fastener is spent",
    "dropped": "the measurement was dropped",
    "moved": "the hanger or mark was moved",
}
KEPT_WORDS = {
    "same_hole": "a new fastener in the same hole",
    "dropped": "its reading is lost or doubtful",
    "moved": "its hanger or fastener moved, both are measured again",
}
"""Where the hole stays."""
FOUND_WORDS = {
    "stud": "a stud",
    "steel": "a steel stud",
    "hollow": "nothing, hollow",
    "backed": "a board behind the lining",
    "solid": "solid wall",
    "same": "what was planned",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One entry as it is read."""

    seq: int
    text: str
    who: str
    received: str
    tapped: str | None
    instrument: str
    revision: int | None
    is_paper: bool
    written: str
    """When the paper says it was done."""
    undone_by: int | None
    corrected_by: int | None
    """The later record of the same task that stands in its place."""
    photo: str | None
    is_otherwise: bool
    """Something went otherwise than planned, or was put right."""

    @property
    def stands(self) -> bool:
        return self.undone_by is None and self.corrected_by is None


def timeline(entries: Sequence[Recorded], names: Mapping[str, str], unit: str) -> tuple[Line, ...]:
    """Every entry, oldest first; lengths in ``unit``."""
    undone = {int(e.body["of"]): e.seq for e in entries if e.type == events.ENTRY_UNDONE}
    corrected = _corrections(entries)
    by_seq = {entry.seq: entry for entry in entries}
    said = _Said(names=names, unit=unit, by_seq=by_seq)
    return tuple(_line(entry, said, undone, corrected) for entry in entries)


def latest(entries: Sequence[Recorded], names: Mapping[str, str], unit: str) -> Line:
    """The last entry alone: nothing came after it that undid or corrected it."""
    said = _Said(names=names, unit=unit, by_seq={entry.seq: entry for entry in entries})
    return _line(entries[-1], said, {}, {})


def _corrections(entries: Sequence[Recorded]) -> dict[int, int]:
    """Entry to the later record of its task; what was undone corrects nothing."""
    undone = undone_seqs(entries)
    last: dict[str, int] = {}
    corrected: dict[int, int] = {}
    for entry in entries:
        if entry.type == events.PANELS_SWAPPED:
            last = {swapped_task(task, *entry.body["panels"]): seq for task, seq in last.items()}
        if entry.type != events.TASK_RECORDED or entry.seq in undone:
            continue
        task = str(entry.body["task"])
        if task in last:
            corrected[last[task]] = entry.seq
        last[task] = entry.seq
    return corrected


@dataclass(frozen=True, slots=True, kw_only=True)
class _Said:
    names: Mapping[str, str]
    unit: str
    by_seq: Mapping[int, Recorded]


def _line(
    entry: Recorded, said: _Said, undone: Mapping[int, int], corrected: Mapping[int, int]
) -> Line:
    body = entry.body
    values = body.get("values")
    # a refused entry names its photo itself
    photo = (values if isinstance(values, Mapping) else body).get("photo")
    return Line(
        seq=entry.seq,
        text=sentence(entry, said),
        who=said.names.get(entry.who, entry.who),
        received=entry.received,
        tapped=entry.tapped,
        instrument=str(body.get("instrument") or ""),
        revision=body.get("revision"),
        is_paper=bool(body.get("paper")),
        written=str(body.get("written", "")),
        undone_by=undone.get(entry.seq),
        corrected_by=corrected.get(entry.seq),
        photo=photo["sha256"] if photo else None,
        is_otherwise=_is_otherwise(entry),
    )


_OTHERWISE = (
    events.PLAN_REVISED,
    events.SEAT_BLOCKED,
    events.SEAT_FREED,
    events.CHOICE_MADE,
    events.DROP_LEARNED,
    events.PANELS_SWAPPED,
    events.STOP_CALLED,
    events.STOP_CLEARED,
    events.ENTRY_UNDONE,
    events.WORK_SENT_BACK,
    events.ENTRY_PARKED,
)


def _is_otherwise(entry: Recorded) -> bool:
    if entry.type != events.TASK_RECORDED:
        return entry.type in _OTHERWISE
    is_trim = str(entry.body["task"]).startswith("panels.trim")
    return is_trim or entry.body["outcome"] in ("measured", FAILED)


# -- a task in words ------------------------------------------------------------------------------


def task_title(task_id: str) -> str:
    """A task's title from its id alone.

    >>> task_title("fasteners.pair:A1-A2")
    'Check marks A1 to A2'
    """
    kind, _, subject = task_id.partition(":")
    return TASK_KINDS[kind].title.format(subject=shown_subject(subject))


def parked_title(task_id: str) -> str:
    """A task's title; what no task is called stays as the phone named it."""
    return task_title(task_id) if task_id.partition(":")[0] in TASK_KINDS else task_id


def record_words(task_id: str, body: _Body, unit: str) -> str:
    """What a record of a task says, without the task's title."""
    said = _Said(names={}, unit=unit, by_seq={})
    kind = TASK_KINDS[task_id.partition(":")[0]]
    if "touches" in body["values"]:
        return _touches(body["values"], said)
    values = _values(kind.fields, body["values"], said)
    if body["outcome"] == "as_planned":
        return f"as planned ({values})" if values else "as planned"
    if body["outcome"] == FAILED:
        return f"does not hold, {values}"
    return values or "done"


def _task(entry: Recorded, said: _Said) -> str:
    body = entry.body
    kind = TASK_KINDS[str(body["task"]).partition(":")[0]]
    values = _touches(body["values"], said) or _values(kind.fields, body["values"], said)
    title = task_title(body["task"])
    if body["outcome"] == "as_planned":
        return f"{title}: as planned ({values})" if values else f"{title}: as planned"
    if body["outcome"] == "measured":
        planned = _values(kind.fields, body["planned"], said)
        return f"{title}: measured {values}; planned {planned}"
    if body["outcome"] == FAILED:
        return f"{title}: does not hold, {values}"
    return f"{title}: {values}" if values else f"{title}: done"


def _touches(values: Mapping[str, Any], said: _Said) -> str:
    """Several touches recorded at once."""
    if "touches" not in values:
        return ""
    words = "; ".join(touch_words(touch, said.unit) for touch in touches_of(values))
    return words if values.get("proven", True) else f"{words}; not proven the fewest"


def touch_words(touch: Touched, unit: str, panel: str = "") -> str:
    """One touch on a hung panel as people say it.

    >>> touch_words(Touched(means="shim", seat="A1", by_mm=1.5875), "in")
    'shim A1 up 1/16 in'
    """
    name = touch.seat or panel
    size = format_length(abs(touch.by_mm), unit)
    return f"{WORDS[touch.means]} {name} {touch.way} {size}".replace("  ", " ")


def _values(fields: Sequence[Field], values: Mapping[str, Any], said: _Said) -> str:
    parts = []
    for field in fields:
        value = values.get(field.name)
        if value is None or value == "" or _is_no_difference(field, value):
            continue
        text = value_words(field, value, said.unit)
        parts.append(text if len(fields) == 1 else f"{_lowered(field.label)} {text}")
    return ", ".join(parts)


def _is_no_difference(field: Field, value: Any) -> bool:
    """A "by how much" of 0 beside a choice that already says so."""
    return field.kind == "length" and not field.required and abs(value["mm"]) < 0.05


def _lowered(label: str) -> str:
    return label[:1].lower() + label[1:]


def value_words(field: Field, value: Any, unit: str) -> str:
    """One recorded value as people read it."""
    if field.kind == "length":
        return format_length(value["mm"], unit)
    if field.kind == "across":
        return _across(value["mm"], unit)
    if field.kind == "choice":
        return dict(field.choices).get(value, str(value)).lower()
    if field.kind == "studs":
        rows = [f"{_across(stud['x']['mm'], unit)} {stud['material']}" for stud in value]
        return "; ".join(rows) or "none"
    if field.kind == "seats":
        return ", ".join(value)
    return "a photo" if field.kind == "photo" else str(value)


def _across(mm: float, unit: str) -> str:
    if abs(mm) < 0.05:
        return "on the line"
    return f"{format_length(abs(mm), unit)} {'left' if mm < 0 else 'right'}"


# -- everything else ------------------------------------------------------------------------------


def _noted(text: str, note: str) -> str:
    return f"{text}, “{note}”" if note else text


def _revised(body: _Body) -> str:
    return _noted("Plan changed", body.get("note", ""))


def _released(body: _Body) -> str:
    way = str(body["way"]).replace("_", " ")
    text = f"Plan released, revision {body['revision']}, {way}"
    if body.get("order"):
        text += f", in the order {', '.join(body['order'])}"
    if body.get("agreed"):
        text += f"; to its slope {body['agreed']} says yes"
    return _noted(text, body["reason"] or "")


def _invited(body: _Body) -> str:
    label = body["label"]
    return f"Installer code made for {label}" if label else "Installer code made"


def _joined(body: _Body) -> str:
    return f"{body['name']} joined"


def _blocked(body: _Body) -> str:
    text = f"In the way at {body['seat']}: {FOUND_WORDS[body['found']]}"
    if body.get("material"):
        text += f" ({body['material']})"
    if body.get("fastener"):
        text += f"; {body['fastener']} instead"
    return _noted(text, body["note"])


def _freed(body: _Body) -> str:
    if body.get("keeps"):
        return _noted(f"{body['seat']} to be read again: {KEPT_WORDS[body['why']]}", body["note"])
    return _noted(f"{body['seat']} given up: {FREED_WORDS[body['why']]}", body["note"])


def _swapped(body: _Body) -> str:
    one, other = body["panels"]
    text = f"Panels {one} and {other} hang in each other's places, agreed by {body['agreed']}"
    return _noted(text, body["note"])


CHOICE_WORDS = {
    "carry_on": "carry on",
    "true_first": "true its panel first",
    "trim_later": "trim later",
    "move_hanger": "move its hanger, with the maker's yes",
    "correct": "make its hole again",
}


def percent(chance: float) -> str:
    r"""A chance as it is said; it is never said to be sure, nor parted from its sign.

    >>> [percent(chance).replace("\N{NO-BREAK SPACE}", "_") for chance in (0.123, 0.001, 0.9999)]
    ['12_%', 'under 1_%', 'over 99_%']
    """
    if chance < 0.01:
        return "under 1\N{NO-BREAK SPACE}%"
    whole = "over 99" if chance > 0.99 else f"{100 * chance:.0f}"
    return f"{whole}\N{NO-BREAK SPACE}%"


def _chosen(body: _Body) -> str:
    chosen = CHOICE_WORDS[body["choice"]]
    text = f"{body['seat']} is off its mark, chosen: {chosen} (chance {percent(body['chance'])})"
    return _noted(text, body["note"])


def _learned(entry: Recorded, said: _Said) -> str:
    body = entry.body
    drop, was = (format_length(abs(body[name]["mm"]), said.unit) for name in ("drop", "was"))
    return f"Drop of {body['fastener']} learned from {body['count']} readings: {drop}, was {was}"


def _stopped(body: _Body) -> str:
    return _noted(f"Stop at {body['seat']}: {body['what']}", body["note"])


def _cleared(entry: Recorded, said: _Said) -> str:
    stop = said.by_seq[int(entry.body["stop"])]
    return _noted(f"Stop at {stop.body['seat']} cleared", entry.body["note"])


def _undone(entry: Recorded, said: _Said) -> str:
    taken_back = said.by_seq[int(entry.body["of"])]
    text = f"Took back entry {taken_back.seq} ({sentence(taken_back, said)})"
    return _noted(text, entry.body["why"])


def _accepted(body: _Body) -> str:
    how = "Self-accepted" if body["self_accepted"] else "Accepted"
    seen = sum(1 for point in body["points"].values() if point == "seen")
    text = f"{how}; {seen} of {len(body['points'])} points seen in person"
    named = [
        f"{c['residual']}, “{c['why']}”, agreed by {c['agreed_by']}" for c in body["concessions"]
    ]
    return f"{text}; with concession: " + "; ".join(named) if named else text


def _sent_back(body: _Body) -> str:
    titles = ", ".join(task_title(task) for task in body["tasks"])
    return f"Sent back, “{body['why']}”; to do again: {titles}"


def _parked(body: _Body) -> str:
    return f"Sent by a phone and refused: {parked_title(body['task'])}. {body['words']}"


def _settled(entry: Recorded, said: _Said) -> str:
    parked = said.by_seq[int(entry.body["of"])]
    return _noted(f"Settled: {parked_title(parked.body['task'])}", entry.body["note"])


_FIXED: Mapping[str, str] = {
    events.JOB_CREATED: "Job made",
    events.INSTALLER_CODE_REVOKED: "Installer code revoked",
    events.CARD_ISSUED: "Card made",
    events.CARD_REVOKED: "Card revoked",
}
_OF_BODY: Mapping[str, Callable[[_Body], str]] = {
    events.PLAN_REVISED: _revised,
    events.PLAN_RELEASED: _released,
    events.INSTALLER_INVITED: _invited,
    events.INSTALLER_JOINED: _joined,
    events.SEAT_BLOCKED: _blocked,
    events.SEAT_FREED: _freed,
    events.CHOICE_MADE: _chosen,
    events.PANELS_SWAPPED: _swapped,
    events.STOP_CALLED: _stopped,
    events.WORK_ACCEPTED: _accepted,
    events.WORK_SENT_BACK: _sent_back,
    events.ENTRY_PARKED: _parked,
}
_OF_ENTRY: Mapping[str, Callable[[Recorded, _Said], str]] = {
    events.TASK_RECORDED: _task,
    events.DROP_LEARNED: _learned,
    events.STOP_CLEARED: _cleared,
    events.ENTRY_UNDONE: _undone,
    events.PARKED_SETTLED: _settled,
}


def sentence(entry: Recorded, said: _Said) -> str:
    """One entry in words."""
    if entry.type in _FIXED:
        return _FIXED[entry.type]
    if entry.type in _OF_BODY:
        return _OF_BODY[entry.type](entry.body)
    return _OF_ENTRY[entry.type](entry, said)
