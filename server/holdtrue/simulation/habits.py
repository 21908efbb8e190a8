"""How a crew works: which of the product's ways it uses."""

from __future__ import annotations

from dataclasses import dataclass, replace


@dataclass(frozen=True, slots=True, kw_only=True)
class Habits:
    """What a crew does of all that the product offers."""

    recompute: bool = True
    """Measure every seat and follow the marks; else all holes go where paper said."""
    cross: bool = False
    """Measure the seats of a pair against each other, by tape and by level."""
    correct: bool = False
    """Make a hole again where the product's own numbers say that it ends better so."""
    trim: bool = False
    """Read the hung panels, and do what is advised."""
    by_panel: bool = False
    """Drive and hang panel by panel, instead of all fasteners first."""
    stick: bool = False
    """Use a story stick where one is offered."""
    learn: bool = False
    """Take a fastener kind's drop where the readings offer one."""
    shims: bool = False
    """Plan shims in the rings and lay them before the lift, by what was measured."""
    readings: int = 1
    """Times each reading is taken."""


@dataclass(frozen=True, slots=True)
class Way:
    """A way of working, named for a table."""

    name: str
    habits: Habits


_TRIM = Habits(cross=True, correct=True, trim=True)
_STICK = replace(_TRIM, by_panel=True, stick=True)
_FULL = replace(_STICK, shims=True, readings=2)

PAPER, FULL = "paper plan", "+ read twice (all of it)"

WAYS: tuple[Way, ...] = (
    Way(PAPER, Habits(recompute=False)),
    Way("recompute", Habits(cross=True)),
    Way("+ holes corrected", Habits(cross=True, correct=True)),
    Way("+ trim, fasteners first", _TRIM),
    Way("+ panel by panel", replace(_TRIM, by_panel=True)),
    Way("+ story stick", _STICK),
    Way("+ shims before the lift", replace(_FULL, readings=1)),
    Way(FULL, _FULL),
    Way("all, fasteners first", replace(_FULL, by_panel=False)),
    Way("all but the story stick", replace(_FULL, stick=False)),
    Way("all but shims", replace(_FULL, shims=False)),
    Way("all, drops learned too", replace(_FULL, learn=True)),
)
"""Each "+" adds to the line above it; the line that has all of it is the one the target is for."""
OF_TARGET = tuple(way for way in WAYS if way.name in (PAPER, FULL))
