"""What an entry changed, as it is said on the phone after saving."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from types import MappingProxyType

from markupsafe import Markup

from holdtrue.domain import events
from holdtrue.domain.checklist import pair_is_true, pair_off_mm, shown_subject
from holdtrue.domain.consequence import Consequence, consequence
from holdtrue.domain.contradictions import contradictions
from holdtrue.domain.subjects import CROSSED, pair_seats
from holdtrue.domain.task_kinds import FAILED
from holdtrue.domain.timeline import CHOICE_WORDS, percent, task_title
from holdtrue.web.phone_here import Here
from holdtrue.web.phone_hung import hung_result, left_edge_result, trim_result
from holdtrue.web.phone_level import level_checked, taken_off
from holdtrue.web.phone_moves import finish_lines, move_lines, moved_drawing, said
from holdtrue.web.phone_result_seat import (
    forecast,
    new_findings,
    panels_swapped,
    seat_changed,
)
from holdtrue.web.phone_turn import Result, Turn
from holdtrue.web.phone_words import SAME_MM, large, move_words, off_words, small


def is_worth_a_screen(a_turn: Turn) -> bool:
    """Whether the entry did more than stand recorded, or asks for something."""
    if a_turn.entry.type != events.TASK_RECORDED:
        return True
    kind, values = a_turn.kind, a_turn.entry.body.get("values", {})
    if kind in ("fasteners.measure", "level.check", "panels.trim"):
        return True
    if a_turn.entry.body["outcome"] == FAILED:
        return True
    if kind == "before.services":
        return bool(values.get("found"))
    if kind == "fasteners.pilot":
        is_clear = bool(values["met"] != "unclear")
        return not is_clear or _has_moved(a_turn) or bool(new_findings(a_turn))
    if kind == "fasteners.pair":
        return not pair_is_true(a_turn.after, a_turn.task)
    if kind in ("panels.level", "panels.facing", "close.next_day"):
        return bool(a_turn.entry.body["outcome"] == "measured")
    if kind == "panels.edge":
        return _has_moved(a_turn)
    if kind in ("fasteners.again", *CROSSED):
        return _has_moved(a_turn) or bool(contradictions(a_turn.after))
    if kind == "panels.move":
        return True
    is_changed = a_turn.after.revision != a_turn.before.revision
    return is_changed and (_has_moved(a_turn) or _is_begun(a_turn))


def _has_moved(a_turn: Turn) -> bool:
    return bool(consequence(a_turn.before, a_turn.after, None).moves)


def result(here: Here, a_turn: Turn) -> Result:
    """The screen of an entry: the job as it stood then, whatever came later."""
    here = replace(here, state=a_turn.after)
    if a_turn.entry.type == events.TASK_RECORDED:
        return _RESULTS.get(a_turn.kind, _plan_followed)(here, a_turn)
    if a_turn.entry.type == events.CHOICE_MADE and a_turn.entry.body["choice"] != "correct":
        return _chosen(here, a_turn)
    if a_turn.entry.type == events.DROP_LEARNED:
        return _plan_followed(here, a_turn)
    if a_turn.entry.type == events.PANELS_SWAPPED:
        return panels_swapped(here, a_turn)
    return seat_changed(here, a_turn)


# -- a seat measured ------------------------------------------------------------------------------


def _measured(here: Here, a_turn: Turn) -> Result:
    found = consequence(a_turn.before, a_turn.after, a_turn.subject)
    off = found.off_mm or (0.0, 0.0)
    return Result(
        title=f"{a_turn.subject} is set",
        off=_off_numbers(off, here.unit),
        mood="good" if found.is_inside else "warn",
        verdict=_verdict(found, bool(off_words(*off, here.unit))),
        lines=(*_doubts(a_turn), *_why(found, here), forecast(a_turn)),
        moves=move_lines(found, here),
        finish=finish_lines(found, here),
        drawing=moved_drawing(here, found),
        seat=a_turn.subject,
        task=a_turn.task,
    )


def _off_numbers(off: tuple[float, float], unit: str) -> tuple[tuple[Markup, str], ...]:
    right, up = off
    return tuple(
        (large(abs(value), unit), plus if value > 0 else minus)
        for value, plus, minus in ((up, "high", "low"), (right, "right", "left"))
        if abs(value) >= SAME_MM
    )


def _verdict(found: Consequence, is_off: bool) -> str:
    where = "Inside tolerance" if found.is_inside else "Outside tolerance"
    if not is_off and found.is_inside and not found.moves:
        return "On its mark. Nothing moves."
    if not found.moves:
        return f"{where}, nothing moves."
    count = len(found.moves)
    return f"{where}. {count} mark{'s' if count > 1 else ''} move{'' if count > 1 else 's'}."


def _why(found: Consequence, here: Here) -> tuple[str, ...]:
    lines = []
    if found.moves and found.kept is not None:
        lines.append(f"Why: left as they were, {said(found.kept, here)}.")
    lines.append(f"Finish: at worst, {said(found.worst, here)}.")
    return tuple(lines)


def _doubts(a_turn: Turn) -> tuple[str, ...]:
    """Readings that do not go together: which to take again."""
    return tuple(f"{one.text}." for one in contradictions(a_turn.after))


def _crossed(here: Here, a_turn: Turn) -> Result:
    """Two seats against each other: the estimate of both, and what follows from it."""
    found = consequence(a_turn.before, a_turn.after, None)
    doubts = _doubts(a_turn)
    return Result(
        title=task_title(a_turn.task),
        mood="warn" if doubts or not found.is_inside else "good",
        verdict="These readings do not agree." if doubts else _verdict(found, is_off=True),
        lines=(*doubts, *_why(found, here), forecast(a_turn)),
        moves=move_lines(found, here),
        finish=finish_lines(found, here),
        drawing=moved_drawing(here, found),
        task=a_turn.task,
    )


def _chosen(here: Here, a_turn: Turn) -> Result:
    """What was chosen after a deviation, and what it asks for."""
    body, seat = a_turn.entry.body, a_turn.subject
    lines = [f"Chance that all ends inside, as it was told: {percent(body['chance'])}."]
    if body["choice"] == "move_hanger":
        move = move_words(body["move"]["right_mm"], body["move"]["up_mm"], here.unit)
        lines.insert(0, f"Move the hanger {move}. The lead asks the maker before it is lifted.")
    words = CHOICE_WORDS[body["choice"]]
    return Result(
        title=f"{seat}: {words}",
        verdict="Chosen, and kept in the log.",
        lines=tuple(lines),
        seat=seat,
    )


def _hanger_moved(here: Here, a_turn: Turn) -> Result:
    if a_turn.entry.body["values"]["agreed"] != "yes":
        return Result(
            title=f"Hanger {a_turn.subject} stays",
            mood="warn",
            verdict="The maker said no. Give the fastener up, or trim it once it hangs.",
            seat=a_turn.subject,
        )
    return _plan_followed(here, a_turn)


# -- fasteners: pilot, pair, in the way -----------------------------------------------------------


def _piloted(here: Here, a_turn: Turn) -> Result:
    seat = a_turn.subject
    if a_turn.entry.body["values"]["met"] == "unclear":
        return Result(
            title=f"{seat}: not known yet",
            mood="warn",
            verdict="No opening before it is known what is behind.",
            lines=(
                "Try once more in the same hole, slowly, and feel for the shavings.",
                "Still not clear: leave it, do the next task, and ask the lead.",
            ),
            seat=seat,
            task=a_turn.task,
        )
    found = seat_changed(here, a_turn)
    return replace(found, lines=(*found.lines, MISTAPPED)) if found.mood == "stop" else found


MISTAPPED = "If the bit met something else, undo it and record it again."


def _paired(here: Here, a_turn: Turn) -> Result:
    values, planned = a_turn.entry.body["values"], a_turn.entry.body["planned"]
    left, right = pair_seats(a_turn.subject)
    apart, rise = pair_off_mm(here.state, values, planned, read_at=a_turn.entry.seq)
    lines = []
    if abs(apart) >= SAME_MM:
        lines.append(
            f"{small(apart, here.unit)} too {'far apart' if apart > 0 else 'close together'}"
        )
    if abs(rise) >= SAME_MM:
        lines.append(f"{right if rise > 0 else left} is {small(rise, here.unit)} too high")
    lines += [words for words in (taken_off(here.state, a_turn.task, here.unit),) if words]
    return Result(
        title=f"Marks {shown_subject(a_turn.subject)}",
        mood="warn",
        verdict="Pencil again, then check again. It costs nothing now.",
        lines=tuple(lines),
        task=a_turn.task,
    )


# -- what follows from the rest -------------------------------------------------------------------


def _plan_followed(here: Here, a_turn: Turn) -> Result:
    """The plan as it follows from what was measured on the work or the wall."""
    found = consequence(a_turn.before, a_turn.after, None)
    moves = move_lines(found, here)
    is_begun = _is_begun(a_turn)
    changed = f"{len(moves)} mark{'s' if len(moves) != 1 else ''} changed"
    finish = (
        f"Finish: at worst, {said(found.worst, here)}.",
        forecast(a_turn),
    )
    return Result(
        title="The plan follows",
        mood="good" if found.is_inside else "warn",
        verdict=f"{changed}{'.' if is_begun else '; no hole yet.'}" if moves else "Nothing moves.",
        lines=(f"Plan revision {a_turn.after.revision}.", *(finish if is_begun else ())),
        moves=moves,
        finish=finish_lines(found, here) if is_begun else (),
        task=a_turn.task,
    )


def _tried(_here: Here, a_turn: Turn) -> Result:
    if a_turn.entry.body["outcome"] != FAILED:
        return Result(title=f"{a_turn.subject} holds", mood="good", task=a_turn.task)
    return Result(
        title=f"{a_turn.subject} does not hold",
        mood="stop",
        verdict="The lead must look. Nobody below it meanwhile.",
        lines=(f"{a_turn.entry.body['values']['found']}.", "The task stays open: try it again."),
        task=a_turn.task,
    )


def _services_checked(_here: Here, a_turn: Turn) -> Result:
    """What was found waits for the lead, unless they have looked at it already."""
    hidden, state = a_turn.after.hidden, a_turn.after
    if hidden is None:
        return Result(title="Nothing found", verdict="Recorded.", task=a_turn.task)
    is_open = not state.is_hidden_released
    where = hidden.where.strip() or "everywhere"
    lines = [f"{where[:1].upper()}{where[1:]}: {hidden.found}."]
    if is_open:
        lines.append("Tell the lead now. The survey goes on meanwhile.")
    return Result(
        title="Found before drilling",
        mood="stop" if is_open else "warn",
        verdict=FOUND_VERDICT if is_open else "The lead has looked at this already.",
        lines=tuple(lines),
        task=a_turn.task,
    )


FOUND_VERDICT = "Work stops at the first hole until the lead has looked."


def _is_begun(a_turn: Turn) -> bool:
    """There are holes that what changed must answer to."""
    return any(map(a_turn.after.is_drilled, a_turn.after.form.seats))


_RESULTS: Mapping[str, Callable[[Here, Turn], Result]] = MappingProxyType(
    {
        "before.services": _services_checked,
        "secure.try": _tried,
        "fasteners.measure": _measured,
        "fasteners.again": _crossed,
        "fasteners.cross": _crossed,
        "fasteners.recross": _crossed,
        "fasteners.pilot": _piloted,
        "fasteners.pair": _paired,
        "level.check": level_checked,
        "panels.level": hung_result,
        "panels.edge": left_edge_result,
        "panels.facing": hung_result,
        "panels.trim": trim_result,
        "panels.move": _hanger_moved,
        "close.next_day": hung_result,
    }
)
