"""What an entry about a hole says: another fastener, a hole given up or kept, panels swapped."""

from __future__ import annotations

from collections.abc import Mapping
from math import dist
from types import MappingProxyType

from holdtrue.core.clear import SAME_MM as SAME_HOLE_MM
from holdtrue.core.model import Finding
from holdtrue.core.sources_trim import APART_FULL_MM, APART_PILOT_MM
from holdtrue.domain import events
from holdtrue.domain.consequence import Consequence, consequence
from holdtrue.domain.hangers import under_new_names, unlike_mm
from holdtrue.domain.state import Hole
from holdtrue.web.chances import chance_line
from holdtrue.web.phone_here import Here
from holdtrue.web.phone_moves import (
    finish_lines,
    hole_words,
    move_lines,
    moved_drawing,
    said,
    seat_words,
)
from holdtrue.web.phone_turn import Result, Turn
from holdtrue.web.phone_words import fmt, move_words


def new_findings(a_turn: Turn) -> tuple[Finding, ...]:
    """What the lead must look at since this entry."""
    known = {finding.text for finding in a_turn.before.open_findings}
    return tuple(f for f in a_turn.after.open_findings if f.text not in known)


def forecast(a_turn: Turn) -> str:
    """The chance before and after."""
    return chance_line(a_turn.before, a_turn.after)


def seat_changed(here: Here, a_turn: Turn) -> Result:
    """A fastener changed, a hole given up or kept: which marks follow."""
    seat = a_turn.subject
    found = consequence(a_turn.before, a_turn.after, None)
    stops = [f.text for f in new_findings(a_turn) if f.seat in (None, seat)]
    if stops:
        return Result(
            title=f"Stop at {seat}",
            mood="stop",
            verdict="The lead must look before this seat goes on.",
            lines=tuple(stops),
            moves=move_lines(found, here),
            seat=seat,
        )
    if a_turn.entry.body.get("keeps"):
        return _read_again(here, a_turn, found)
    row = a_turn.after.seat(seat)
    name = row.fastener.name if row.fastener else "none listed"
    marked = f"Mark {seat} again."
    if a_turn.after.is_drilled(seat) and seat not in a_turn.after.set_seats:
        marked = "It goes into the pilot there is."
    is_freed = a_turn.entry.type in (events.SEAT_FREED, events.CHOICE_MADE)
    return Result(
        title=f"{seat} is given up" if is_freed else f"{seat}: {name}",
        mood="good" if found.is_inside else "warn",
        verdict=marked if is_freed or found.moves else "Nothing moves.",
        lines=(*_hole_lines(here, a_turn), *_outcome(here, a_turn, found)),
        moves=move_lines(found, here),
        finish=finish_lines(found, here),
        drawing=moved_drawing(here, found),
        seat=seat,
        task=a_turn.task or None,
    )


def _outcome(here: Here, a_turn: Turn, found: Consequence) -> tuple[str, ...]:
    elsewhere = (f"The lead must look: {f.text}." for f in new_findings(a_turn))
    other = ""
    if a_turn.entry.body.get("why") == "spent" and not found.is_inside:
        other = "Would a new fastener hold in the same hole? Then undo this and say so."
    lines = (
        f"Finish: at worst, {said(found.worst, here)}.",
        forecast(a_turn),
        other,
    )
    return (*filter(None, lines), *elsewhere)


def _hole_lines(here: Here, a_turn: Turn) -> tuple[str, ...]:
    """Where the new hole goes by the old one, and whether its seat stays for that."""
    was, row = a_turn.before.seat(a_turn.subject), a_turn.after.seat(a_turn.subject)
    if a_turn.subject in a_turn.after.set_seats:
        return ("The seat stays.",)
    old = next(iter(a_turn.after.old_holes[len(a_turn.before.old_holes) :]), None)
    stays = seat_words(was, row, here)
    if old is None:
        return (stays,)
    return (*_by_old_hole(here, a_turn, old, (row.x_mm, row.hole_y_mm)), stays)


def _by_old_hole(
    here: Here, a_turn: Turn, old: Hole, hole_mm: tuple[float, float]
) -> tuple[str, ...]:
    if dist(hole_mm, old.at_mm) < SAME_HOLE_MM:
        return ("The same hole once more, for this fastener.",)
    kind = "hole" if old.is_full else "pilot"
    by = move_words(hole_mm[0] - old.at_mm[0], hole_mm[1] - old.at_mm[1], here.unit)
    apart = fmt(APART_FULL_MM if old.is_full else APART_PILOT_MM, here.unit)
    told = hole_words(here, a_turn.subject, old.at_mm)
    return (
        f"The old {kind} is {told}; patch it later.",
        f"The new hole goes {by} from there; {apart} is the least.",
    )


_AGAIN: Mapping[str, tuple[str, str]] = MappingProxyType(
    {
        "same_hole": ("{seat}: a new fastener", "Set it in the same hole, then measure it."),
        "dropped": ("{seat} is read again", "Its fastener stays. Measure it again."),
        "moved": (
            "{seat} and its hanger are read again",
            "Measure the hanger on the back first, then the seat.",
        ),
    }
)


def _read_again(here: Here, a_turn: Turn, found: Consequence) -> Result:
    """The hole stays, and what was read of it is taken back."""
    title, verdict = _AGAIN[str(a_turn.entry.body["why"])]
    return Result(
        title=title.format(seat=a_turn.subject),
        mood="good" if found.is_inside else "warn",
        verdict=verdict,
        lines=("The hole stays.", *_outcome(here, a_turn, found)),
        moves=move_lines(found, here),
        finish=finish_lines(found, here),
        drawing=moved_drawing(here, found),
        seat=a_turn.subject,
    )


def panels_swapped(here: Here, a_turn: Turn) -> Result:
    """Two panels hang in each other's places: what is measured again, and which marks follow."""
    one, other = a_turn.entry.body["panels"]
    panels = {panel.name: panel for panel in a_turn.before.job.panels}
    found = consequence(under_new_names(a_turn.before, one, other), a_turn.after, None)
    is_alike = not unlike_mm(panels[one], panels[other])
    again = f"They are not alike: measure the hangers of {one} and {other} on the back again."
    return Result(
        title=f"{one} and {other} have changed places",
        mood="good" if found.is_inside else "warn",
        verdict=f"What was marked and drilled for {one} is {other}'s now, and the other way round.",
        lines=(
            "Same size, same hangers: nothing is measured again." if is_alike else again,
            *_outcome(here, a_turn, found),
        ),
        moves=move_lines(found, here),
        finish=finish_lines(found, here),
        drawing=moved_drawing(here, found),
    )
