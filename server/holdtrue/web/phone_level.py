"""What the screens say of the level's own error: when it is found, and where it is taken off."""

from __future__ import annotations

from markupsafe import Markup

from holdtrue.domain.hanging import width_mm
from holdtrue.domain.levelcheck import (
    LEAST_READ_MM,
    READ_BY_LEVEL,
    checked_level,
    is_laser,
    level_checks,
    level_error_mm_per_m,
    level_name,
)
from holdtrue.domain.state import JobState
from holdtrue.domain.subjects import pair_seats
from holdtrue.web.phone_here import Here
from holdtrue.web.phone_live import live_line
from holdtrue.web.phone_turn import Result, Turn
from holdtrue.web.phone_words import small

_LEVEL_LEAST_MM_PER_M = 0.05
"""A level this true is called true. Our choice: it is 0.2 mm over the longest spirit levels."""


EARLIER = "What was read before keeps the check before this one."


def taken_off(state: JobState, task_id: str, unit: str) -> str:
    """By how much the level itself is wrong over what this task reads; "" where nobody sees it."""
    kind, _, subject = task_id.partition(":")
    if kind not in READ_BY_LEVEL:
        return ""
    level = checked_level(state)
    seats = [state.seat(seat) for seat in pair_seats(subject)] if "fasteners" in kind else []
    span_mm = seats[-1].x_mm - seats[0].x_mm if seats else width_mm(state, subject)
    shown = level.shown_rise_mm(0.0, span_mm)
    if abs(shown) < LEAST_READ_MM:
        return ""
    what = "laser" if level.is_laser else "spirit level"
    low = "left" if shown > 0 else "right"
    over = "distance" if seats else "width"
    size = small(shown, unit)
    return f"The {what} itself reads {size} low on the {low} over this {over}: taken off."


def level_words(state: JobState, task_id: str, unit: str) -> str:
    """The same with how the level is to be held."""
    words = taken_off(state, task_id, unit)
    is_turnable = bool(words) and not checked_level(state).is_laser
    return f"{words} Keep its taped end left." if is_turnable else words


def level_line(here: Here, task_id: str) -> Markup:
    """The same as a line of the task's screen."""
    words = level_words(here.state, task_id, here.unit)
    return live_line("level-said", task_id.partition(":")[2], words)


def own_error(state: JobState) -> str:
    """What is taken off the readings by each level of this job; "" where they are true."""
    checks = level_checks(state)
    said = []
    for check in checks:
        error = level_error_mm_per_m(check.values)
        if abs(error) < _LEVEL_LEAST_MM_PER_M:
            continue
        what = level_name(check.values) + (f" of entry {check.seq}" if len(checks) > 1 else "")
        said.append(
            f"A line the {what} calls level {_way(error)} {abs(error):.2f} mm in 1 m to the right: "
            "taken off what was read by it."
        )
    return " ".join([*said, "The log holds the readings as they were typed."] if said else [])


def _way(error_mm_per_m: float) -> str:
    return "rises" if error_mm_per_m > 0 else "falls"


def level_checked(here: Here, a_turn: Turn) -> Result:
    """The level was turned: how far it is off, and what follows for lines and readings."""
    values = a_turn.entry.body["values"]
    error, laser = level_error_mm_per_m(values), is_laser(values)
    name = "laser" if laser else "level"
    earlier = (EARLIER,) if here.state.earlier_checks else ()
    if abs(error) < _LEVEL_LEAST_MM_PER_M:
        return Result(
            title=f"The {name} is true",
            mood="good",
            verdict="Less than 0.05\xa0mm in 1\xa0m.",
            lines=earlier,
            task=a_turn.task,
        )
    miss, over = (here.fmt(float(values[field]["mm"])) for field in ("miss", "over"))
    way, other = _way(error), "lower" if error > 0 else "raise"
    size = f"{abs(error):.2f}"
    share = "all of it is the laser's tilt" if laser else "half of it is the level's"
    held = f"{other} the right end by {size}\xa0mm a metre"
    return Result(
        title=f"The {name}'s own error",
        off=((Markup('{} <span class="unit">mm in 1 m</span>').format(size), way),),
        verdict=f"A line it calls level {way} to the right.",
        lines=(
            f"The lines differ by {miss} over {over}; {share}.",
            f"For the level line {held}."
            if laser
            else f"For the level line keep the taped end on the left and {held}.",
            "Readings: type what it shows; its error is taken off for you.",
            *earlier,
        ),
        task=a_turn.task,
    )
