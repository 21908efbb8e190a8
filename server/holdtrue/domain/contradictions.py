"""Readings of set seats that do not go together: which to take again."""

from __future__ import annotations

from dataclasses import dataclass

from holdtrue.core.estimates import Across, Height, Level, Reading, Tape
from holdtrue.domain.estimating import readings
from holdtrue.domain.state import JobState

INSTRUMENTS = {Height: "tape", Across: "tape", Tape: "tape", Level: "level"}
WHAT = {Height: "height", Across: "distance from the line", Tape: "distance", Level: "height"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Contradiction:
    """One reading that the others speak against. ``task``: where it is taken again."""

    text: str
    seats: tuple[str, ...]
    task: str


def contradictions(state: JobState) -> tuple[Contradiction, ...]:
    """Readings to take again, the worst first.

    Of two seats read by tape and against each other by level, all three are suspect alike when
    they do not close: any one of them may be the wrong one. The first of them is named.
    """
    if state.estimate is None:
        return ()
    listed, misses = readings(state), state.estimate.misses
    found: dict[float, Contradiction] = {}
    for i in sorted(state.estimate.suspects):
        alike = round(abs(misses[i]), 6)
        found.setdefault(alike, _contradiction(listed[i], listed))
    return tuple(found[size] for size in sorted(found, reverse=True))


def _seats(reading: Reading) -> tuple[str, ...]:
    return (reading.a, reading.b) if isinstance(reading, Tape | Level) else (reading.seat,)


def _contradiction(reading: Reading, listed: list[Reading]) -> Contradiction:
    seats = _seats(reading)
    against = [
        INSTRUMENTS[type(other)]
        for other in listed
        if other is not reading and set(_seats(other)) & set(seats) and len(_seats(other)) > 1
    ]
    by = INSTRUMENTS[type(reading)]
    rest = next((name for name in against if name != by), "the other readings")
    subject = " to ".join(seats)
    task = (
        "fasteners.cross:" + "-".join(seats) if len(seats) > 1 else f"fasteners.measure:{seats[0]}"
    )
    return Contradiction(
        text=f"{subject} by {by} ({WHAT[type(reading)]}) does not agree with {rest}: measure again",
        seats=seats,
        task=task,
    )
