"""Names of the numbers and words that a recompute can move, as the pages carry them.

An element whose whole text is such a number has ``data-live="hole-x:A1"``; an input prefilled with
one has ``data-live-value``. ``static/js/app/live.js`` knows every name and writes what the phone
itself worked out, in the same words as the server.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType

from markupsafe import Markup

from holdtrue.domain.checklist import Task
from holdtrue.web.phone_fields import Input

INPUTS: Mapping[tuple[str, str], str] = MappingProxyType(
    {
        ("fasteners.measure", "x"): "seat-x",
        ("fasteners.measure", "above"): "seat-above",
        ("work.spacing", "spacing"): "spacing",
        ("level.line", "height"): "wall-line",
        ("fasteners.pair", "spacing"): "pair-spacing",
        ("fasteners.pair", "higher"): "pair-higher",
        ("fasteners.pair", "by"): "pair-by",
        ("panels.shim", "thick"): "shim-thick",
        ("panels.level", "low"): "level-low",
        ("panels.level", "by"): "level-by",
        ("close.next_day", "low"): "level-low",
        ("close.next_day", "by"): "level-by",
    }
)
ON_A_SLOPE: Mapping[tuple[str, str], str] = MappingProxyType(
    {
        ("panels.facing", "first"): "facing-first",
        ("panels.facing", "second"): "facing-second",
    }
)
"""What a hanger read otherwise moves where panels are turned about theirs."""


def live_inputs(task: Task, inputs: tuple[Input, ...], *, on_slope: bool) -> tuple[Input, ...]:
    """The inputs with the names of the numbers they are prefilled with."""
    return tuple(_live(task, one, on_slope) for one in inputs)


def _live(task: Task, one: Input, on_slope: bool) -> Input:
    asked = (task.kind.name, one.name)
    name = INPUTS.get(asked) or (ON_A_SLOPE.get(asked) if on_slope else None)
    return replace(one, live=f"{name}:{task.subject}") if name else one


def live_words(name: str, subject: str, words: str) -> Markup:
    """Words that can change, on their own in an element."""
    return Markup('<span data-live="{}:{}">{}</span>').format(name, subject, words)


def live_line(name: str, subject: str, words: str, before: str = "") -> Markup:
    """A line that is hidden while there is nothing to say."""
    inner = live_words(name, subject, words)
    if words:
        return Markup("<span data-live-line>{}{}</span>").format(before, inner)
    return Markup("<span data-live-line hidden>{}{}</span>").format(before, inner)
