"""The forecast in words: short, and never surer than it is."""

from __future__ import annotations

from holdtrue.core.lengths import format_length
from holdtrue.domain.learning import scattered
from holdtrue.domain.outlook import Outlook, chance_now, outlook
from holdtrue.domain.review import residual_words
from holdtrue.domain.state import JobState
from holdtrue.domain.timeline import percent

LEFT_OUT = "Left out: drops other than planned, studs nobody knows of, and the floor's own height."


def chance_lines(seen: Outlook) -> tuple[str, ...]:
    """The forecast of a plan or a job: without trimming, with it, with story sticks, with shims
    in the rings, and the least sure."""
    plain, trimmed = percent(seen.chance), percent(seen.trimmed)
    what = "is inside tolerance as it hangs" if seen.is_settled else "ends inside tolerance"
    lines = [f"Chance that all {what} without trimming: {plain}; once trimmed: {trimmed}."]
    sticks = percent(seen.with_sticks), percent(seen.trimmed_with_sticks)
    if sticks != (plain, trimmed):
        lines.append(f"With a story stick for each panel: {sticks[0]}; once trimmed: {sticks[1]}.")
    shims = percent(seen.with_shims), percent(seen.trimmed_with_shims)
    if shims != sticks:
        lines.append(
            f"With shims planned in the rings too, laid before each lift: {shims[0]}; once "
            f"trimmed: {shims[1]}."
        )
    least = residual_words(seen.kind, seen.where)
    lines.append(f"Least sure: {least} ({percent(seen.chance_of_it)}).")
    lines.append(LEFT_OUT)
    return tuple(lines)


def scatter_lines(state: JobState) -> tuple[str, ...]:
    """Fasteners whose seats scatter more than the chances reckon with."""
    unit = state.job.unit
    return tuple(
        f"Seats on {one.fastener} scatter by {format_length(one.scatter_mm, unit)}; "
        f"{format_length(one.assumed_mm, unit)} was reckoned with ({one.count} readings). "
        "The chance is lower than said: enter how this fastener is placed in the plan."
        for one in scattered(state)
    )


def chance_line(before: JobState, after: JobState) -> str:
    """The forecast before and after an entry."""
    return chance_change(chance_now(before), outlook(after, sticks=False))


def chance_change(before: float, after: Outlook) -> str:
    """What a reading did to the forecast.

    A change too small to be said in whole percent is none.
    """
    was, now = percent(before), percent(after.chance)
    plain = now if was == now else f"{was}, now {now}"
    return f"Chance that all ends inside: {plain}; once trimmed: {percent(after.trimmed)}."
