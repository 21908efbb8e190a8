"""What a task's screen is made of, besides its inputs."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup


@dataclass(frozen=True, slots=True, kw_only=True)
class Number:
    """One number of a task, set large; ``in_hand`` marks the one the hand works on."""

    what: str
    value: Markup
    where: str = ""
    in_hand: bool = True
    live: str = ""
    """Its name with its subject, when a recompute can move it."""
    where_live: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One line of a list: name, words, and a verdict (in, out, unknown) where there is one."""

    name: str
    words: str
    verdict: str = ""
    verdict_words: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """Everything on a task's screen but its inputs."""

    heed: tuple[str, ...] = ()
    """What must be read before anything is done."""
    drawing: Markup | None = None
    section: Markup | None = None
    numbers: tuple[Number, ...] = ()
    fastener: str | None = None
    """The fastener in section, when there is one."""
    lines: tuple[str, ...] = ()
    rows: tuple[Row, ...] = ()
    cautions: tuple[str, ...] = ()
    seats: tuple[str, ...] = ()
    """Seats something may be in the way of."""
    links: tuple[tuple[str, str], ...] = ()
    """Tasks worth doing before this one, by id, with what they are for."""
