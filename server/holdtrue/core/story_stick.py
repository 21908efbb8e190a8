"""Where a story stick is worth its making.

Method: a story stick is a batten marked once at a panel's hanger spacing; held on the first seat
and levelled it gives the others, so that they share the first one's error and add only the stick's
own. Its gain on a panel is how much lower the chance to end inside (``forecast``) would be if that
panel alone went without while all others have one: the panels' chances nearly multiply, so a gain
counted from none would be hidden by the other panels.

Source: the project's own rule on the forecast; the story stick is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from holdtrue.core.forecast import Errors, forecast, played_mm
from holdtrue.core.quality import Form, Vector
from holdtrue.core.sources_trim import STICK_LEAST_GAIN, STICK_U_MM

Point = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class StickGain:
    """The chance with a stick on every panel that can use one, and without this panel's."""

    panel: int
    chance_with: float
    chance_without: float

    @property
    def gain(self) -> float:
        return self.chance_with - self.chance_without

    @property
    def is_offered(self) -> bool:
        return self.gain >= STICK_LEAST_GAIN


def stick_gains(
    goal: Form,
    form: Form,
    *,
    order: Sequence[str],
    set_mm: Mapping[str, Point],
    set_covariance_mm2: Vector | None,
    marks_mm: Mapping[str, Point],
    errors: Errors,
    stick_u_mm: float = STICK_U_MM,
) -> tuple[StickGain, ...]:
    """Gain of a story stick on each panel that still has two or more seats to drive.

    Parameters: goal, form, order, set_mm [mm], set_covariance_mm2 [mm2], marks_mm [mm], errors, all
    as in ``played_mm``; stick_u_mm, what the stick carries over is off by [mm].
    Returns: StickGain per such panel, chances [-], in panel order; none at all where the chance
    with every stick is below the least gain worth an offer: no panel can lose more than there is.
    Raises: KeyError for an unknown seat.
    Source: module head.
    """
    panels = panels_for_sticks(form, set_mm)

    def chance(on: frozenset[int]) -> float:
        ends = played_mm(
            goal,
            form,
            order=order,
            set_mm=set_mm,
            set_covariance_mm2=set_covariance_mm2,
            marks_mm=marks_mm,
            errors=replace(errors, stick=stick_u_mm, stick_panels=on),
        )
        return forecast(goal, ends).chance

    everywhere = chance(panels)
    if everywhere < STICK_LEAST_GAIN:
        return ()
    return tuple(
        StickGain(panel=k, chance_with=everywhere, chance_without=chance(panels - {k}))
        for k in sorted(panels)
    )


def offered_panels(gains: Sequence[StickGain]) -> frozenset[int]:
    """Panels a story stick is offered for; for ``Errors.stick_panels``.

    Parameters: gains.
    Returns: panel indexes [-].
    Raises: nothing.
    Source: module head.
    """
    return frozenset(gain.panel for gain in gains if gain.is_offered)


def panels_for_sticks(form: Form, set_mm: Mapping[str, Point]) -> frozenset[int]:
    """Panels with at least two seats still to drive: before that a stick carries nothing over.

    Parameters: form; set_mm: set seats' places [mm].
    Returns: panel indexes.
    Raises: nothing.
    Source: module head.
    """
    left: dict[int, int] = {}
    for name, panel in zip(form.seats, form.seat_panel, strict=True):
        left[panel] = left.get(panel, 0) + (name not in set_mm)
    return frozenset(panel for panel, count in left.items() if count >= 2)
