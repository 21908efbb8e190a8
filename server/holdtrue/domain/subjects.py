"""What a task is about, as it stands in its id: a seat, two neighbouring seats, two panels.

A pair of seats is ``A1-A2``, two facing panels are ``A|B``. A panel may be named ``upper-left``, so
a pair is taken apart by what its two seats share, not at its first dash; no panel's name holds "|".
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import pairwise

FACING = "|"
CROSSED = ("fasteners.cross", "fasteners.recross")
"""Kinds of task that read two set seats against each other, the first time and once more."""
_PAIR = re.compile(r"(.*\D)(\d+)-\1(\d+)", re.DOTALL)


def pair_seats(subject: str) -> tuple[str, ...]:
    """The seats of a pair; a lone seat is itself.

    >>> pair_seats("A1-A2"), pair_seats("upper-left1-upper-left2"), pair_seats("upper-left1")
    (('A1', 'A2'), ('upper-left1', 'upper-left2'), ('upper-left1',))
    """
    found = _PAIR.fullmatch(subject)
    if found is None:
        return (subject,)
    panel, left, right = found.groups()
    return (panel + left, panel + right)


def panel_of_seat(seat: str) -> str:
    """A seat's panel: its name ends in no digit, and the seat's number follows it.

    >>> panel_of_seat("upper-left12")
    'upper-left'
    """
    return seat.rstrip("0123456789")


def checked_pairs(method: str, seats: Sequence[str]) -> list[tuple[str, str]]:
    """Seats that are checked against each other: neighbours from the left.

    Stand-offs are named down each side; the two above each other are plumb, not level, so the pairs
    are the upper two and the lower two.
    """
    if method == "standoff":
        return [(seats[0], seats[2]), (seats[1], seats[3])]
    return list(pairwise(seats))


def facing_panels(subject: str) -> tuple[str, ...]:
    """The panels of a facing; a lone panel is itself."""
    return tuple(subject.split(FACING))


def shown_subject(subject: str) -> str:
    """A subject as people read it.

    >>> shown_subject("A1-A2"), shown_subject("A|B")
    ('A1 to A2', 'A and B')
    """
    return " to ".join(pair_seats(subject)).replace(FACING, " and ")


def swapped_seat(seat: str, one: str, other: str) -> str:
    """The name of a place in the wall once two panels changed places.

    >>> swapped_seat("A1", "A", "B"), swapped_seat("C2", "A", "B")
    ('B1', 'C2')
    """
    panel = panel_of_seat(seat)
    return {one: other, other: one}.get(panel, panel) + seat.removeprefix(panel)


def swapped_task(task: str, one: str, other: str) -> str:
    """A task once two panels changed places: a fastener's goes with the place, others with the
    panel.

    >>> swapped_task("fasteners.pair:A1-A2", "A", "B"), swapped_task("work.hanger:A1", "A", "B")
    ('fasteners.pair:B1-B2', 'work.hanger:A1')
    """
    kind, _, subject = task.partition(":")
    if not kind.startswith("fasteners."):
        return task
    return f"{kind}:{'-'.join(swapped_seat(seat, one, other) for seat in pair_seats(subject))}"
