"""After a deviation: the choices with where each leads, in words; a drop the readings teach."""

from __future__ import annotations

from dataclasses import dataclass

from holdtrue.domain.choosing import Offer, offers, other_fasteners
from holdtrue.domain.consequence import consequence
from holdtrue.domain.learning import Learned, learned_drops
from holdtrue.domain.outlook import outlook
from holdtrue.domain.review import residual_words
from holdtrue.domain.state import JobState
from holdtrue.domain.subjects import panel_of_seat
from holdtrue.domain.timeline import percent
from holdtrue.web.phone_here import Here
from holdtrue.web.phone_hung import touch_line
from holdtrue.web.phone_moves import said, seat_words
from holdtrue.web.phone_turn import Turn
from holdtrue.web.phone_words import fmt, move_words

TITLES = {
    "true_first": "True panel {panel} first",
    "carry_on": "Carry on",
    "trim_later": "Trim it once it hangs",
    "move_hanger": "Move the hanger on {panel}",
    "correct": "Make this hole again",
}
"""What a choice's button says."""
MOST_TOUCHES = 2
"""Touches named one by one; more are counted."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ChoiceLine:
    """One choice as it is offered."""

    name: str
    title: str
    does: str
    finish: str
    chance: str


def choice_lines(here: Here, a_turn: Turn) -> tuple[ChoiceLine, ...]:
    """The choices about a seat just read, when it leaves something outside; else none.

    None either once one was chosen for this reading, or when it no longer stands.
    """
    seat, seq = a_turn.subject, a_turn.entry.seq
    stands = here.state.set_seats.get(seat)
    is_chosen = any(c.seat == seat and c.seq > seq for c in here.state.choices)
    if a_turn.kind != "fasteners.measure" or stands is None or stands.seq != seq or is_chosen:
        return ()
    if consequence(a_turn.before, a_turn.after, seat).is_inside:
        return ()
    found = sorted(offers(here.state, seat), key=lambda o: -round(o.choice.trimmed, 2))
    return tuple(_line(here, offer, seat) for offer in found)


def _line(here: Here, offer: Offer, seat: str) -> ChoiceLine:
    panel = panel_of_seat(seat)
    return ChoiceLine(
        name=offer.name,
        title=TITLES[offer.name].format(panel=panel),
        does=_does(here, offer, panel),
        finish=_finish(here, offer),
        chance=_chances(offer),
    )


def _chances(offer: Offer) -> str:
    plain, trimmed = percent(offer.chance), percent(offer.choice.trimmed)
    if offer.name == "trim_later" or plain == trimmed:
        return f"Chance {trimmed}"
    return f"Chance {plain}, once trimmed {trimmed}"


def _does(here: Here, offer: Offer, panel: str) -> str:
    """What the choice asks for."""
    if offer.name == "carry_on":
        return "The marks that are left make up for it as well as they can."
    if offer.name in ("true_first", "trim_later"):
        hang = f"Hang {panel} next. " if offer.name == "true_first" else ""
        return f"{hang}{_touch_words(here, offer)}"
    if offer.name == "move_hanger" and offer.move_mm is not None:
        return f"{_started(move_words(*offer.move_mm, here.unit))}; the lead asks the maker."
    by = move_words(*(offer.hole_by_mm or (0.0, 0.0)), here.unit)
    return f"New hole {by} of the old one, for {offer.fastener}; patch the old one."


def _touch_words(here: Here, offer: Offer) -> str:
    """What is to be trimmed, by what is known now."""
    if not offer.touches:
        return "Nothing to trim by what is known now."
    if len(offer.touches) > MOST_TOUCHES:
        panels = ", ".join(dict.fromkeys(panel for panel, _ in offer.touches))
        return f"{len(offer.touches)} touches, on {panels}, by what is known now."
    return " ".join(touch_line(touch, panel, here) for panel, touch in offer.touches)


def _started(words: str) -> str:
    return words[:1].upper() + words[1:]


def _finish(here: Here, offer: Offer) -> str:
    kind, _, where = offer.choice.worst_label.partition(" ")
    size = offer.choice.finish_mm[kind]
    allowed = size / offer.choice.worst_share if offer.choice.worst_share else 0.0
    if not allowed:
        return "as planned"
    words = residual_words(kind, where)
    return f"at worst {words}, {fmt(size, here.unit)} off, {fmt(allowed, here.unit)} allowed"


@dataclass(frozen=True, slots=True, kw_only=True)
class FastenerLine:
    """Another fastener at a seat that keeps off an old hole."""

    value: str
    title: str
    does: str
    finish: str
    chance: str


def fastener_lines(here: Here, a_turn: Turn) -> tuple[FastenerLine, ...]:
    """What another listed fastener, with a drop of its own, would come to at this seat."""
    if a_turn.kind not in ("", "fasteners.pilot") or a_turn.after.seq != here.state.seq:
        return ()
    names = [fastener.name for fastener in here.state.job.fasteners]
    return tuple(
        _fastener_line(here, a_turn, names.index(one.name), after)
        for one, after in other_fasteners(here.state, a_turn.subject)
    )


def _fastener_line(here: Here, a_turn: Turn, place: int, after: JobState) -> FastenerLine:
    was, row = a_turn.before.seat(a_turn.subject), after.seat(a_turn.subject)
    found = consequence(here.state, after, None)
    ahead = outlook(after, sticks=False)
    plain, trimmed = percent(ahead.chance), percent(ahead.trimmed)
    return FastenerLine(
        value=f"use:{place}",
        title=f"Use {row.fastener.name}" if row.fastener else "",
        does=seat_words(was, row, here),
        finish=f"at worst, {said(found.worst, here)}",
        chance=f"Chance {plain}" + ("" if plain == trimmed else f", once trimmed {trimmed}"),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class DropLine:
    """A learned drop as it is offered."""

    place: int
    """Of the fastener in the plan's list."""
    drop: str
    text: str


def drop_lines(here: Here, a_turn: Turn) -> tuple[DropLine, ...]:
    """Drops worth taking over, said beside the reading that taught them."""
    if a_turn.kind != "fasteners.measure":
        return ()
    names = [fastener.name for fastener in here.state.job.fasteners]
    return tuple(
        DropLine(
            place=names.index(one.fastener), drop=f"{one.drop_mm:.6f}", text=_drop_words(here, one)
        )
        for one in learned_drops(here.state)
    )


def _drop_words(here: Here, one: Learned) -> str:
    way = "lower" if one.lower_mm > 0 else "higher"
    size = fmt(abs(one.lower_mm), here.unit)
    return (
        f"Seats on {one.fastener} come {size} {way} than planned, from {one.count} readings "
        f"(give or take {fmt(one.u_mm, here.unit)}). Use it for the {one.left} that are left?"
    )
