"""What a reading on hung panels says, and what to do about it, as it is said after saving."""

from __future__ import annotations

from collections.abc import Sequence

from holdtrue.domain.consequence import consequence
from holdtrue.domain.timeline import task_title, touch_words
from holdtrue.domain.touches import Touched, touches_of
from holdtrue.domain.trim import Verdict, verdicts
from holdtrue.domain.trimming import Advice, advice
from holdtrue.web.chances import chance_line
from holdtrue.web.phone_here import Here
from holdtrue.web.phone_level import taken_off
from holdtrue.web.phone_moves import FinishLine, move_lines
from holdtrue.web.phone_task_hung import NOT_PROVEN, how_words, remains_line
from holdtrue.web.phone_turn import Result, Turn
from holdtrue.web.phone_words import KIND_WORDS, fmt, small, unparted


def hung_result(here: Here, a_turn: Turn) -> Result:
    """A reading on hung panels: each value against its tolerance, and what to trim."""
    mine = [v for v in verdicts(a_turn.after) if v.where == a_turn.subject or v.kind == "line"]
    is_clear = all(v.is_clear for v in mine)
    is_more = a_turn.task in a_turn.after.near
    found = None if is_more else advice(a_turn.after)
    level = taken_off(here.state, a_turn.task, here.unit)
    lines = [touch_line(touch, panel, here) for panel, touch in all_touches(found)]
    if not is_clear and found is not None and found.remains:
        lines.append(remains_line(found, here))
    elif not is_clear and not is_more and not lines:
        lines.append("No touch there is makes this better: the lead decides.")
    elif found is not None and not found.is_proven:
        lines.append(f"Then all is inside; {NOT_PROVEN}.")
    panels = ", ".join(found.touches) if found and found.touches else mine[0].panel if mine else ""
    moved = consequence(a_turn.before, a_turn.after, None)
    return Result(
        title=task_title(a_turn.task),
        mood="good" if is_clear and not is_more else "warn",
        verdict=_verdict(mine, panels, is_more=is_more),
        lines=(*filter(None, (level, *lines)), chance_line(a_turn.before, a_turn.after)),
        moves=move_lines(moved, here),
        finish=tuple(_verdict_line(v, here) for v in mine),
        task=a_turn.task,
        is_more=is_more,
    )


def left_edge_result(here: Here, a_turn: Turn) -> Result:
    """Where a panel hangs in its play: the marks that are left go with it."""
    moves = move_lines(consequence(a_turn.before, a_turn.after, None), here)
    count = len(moves)
    return Result(
        title=task_title(a_turn.task),
        mood="good",
        verdict=f"{count} mark{'s go' if count > 1 else ' goes'} with it.",
        lines=(chance_line(a_turn.before, a_turn.after),),
        moves=moves,
        task=a_turn.task,
    )


def _verdict(mine: Sequence[Verdict], panels: str, *, is_more: bool) -> str:
    if is_more:
        return "Too near its tolerance to tell: read it once more."
    if all(v.is_clear for v in mine):
        return "Inside tolerance."
    where = "Too near its" if all(v.is_inside for v in mine) else "Outside"
    return f"{where} tolerance: trim {panels}."


def all_touches(found: Advice | None) -> list[tuple[str, Touched]]:
    """Every advised touch with its panel."""
    touches = found.touches if found else {}
    return [(panel, touch) for panel, listed in touches.items() for touch in listed]


def touch_line(touch: Touched, panel: str, here: Here) -> str:
    words = unparted(touch_words(touch, here.unit, panel))
    how = how_words(touch, here)
    return f"{words[:1].upper()}{words[1:]}{', ' if how else ''}{how}."


def _verdict_line(verdict: Verdict, here: Here) -> FinishLine:
    return FinishLine(
        kind=KIND_WORDS[verdict.kind],
        where=small(verdict.value_mm, here.unit),
        value=small(verdict.value_mm, here.unit),
        allowed=fmt(verdict.tolerance_mm, here.unit),
        is_inside=verdict.is_inside,
    )


def trim_result(here: Here, a_turn: Turn) -> Result:
    values = a_turn.entry.body["values"]
    if not touches_of(values):
        return Result(
            title=f"{a_turn.subject} stays as it is",
            mood="warn",
            verdict="The lead decides at review.",
        )
    return Result(
        title=f"{a_turn.subject} is trimmed",
        verdict="Check it again.",
        lines=(
            *(touch_line(t, a_turn.subject, here) for t in touches_of(values)),
            chance_line(a_turn.before, a_turn.after),
        ),
        moves=move_lines(consequence(a_turn.before, a_turn.after, None), here),
    )
