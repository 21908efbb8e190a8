"""Following a sloping room on purpose: where the panels stand, and how they read as planned.

Method: a slope raises every seat by slope * x, x from the reference line, and the panel on such
seats turns with the room (``geometry.slope_shift_mm``): against the same layout without a slope it
lies turned by t = slope, its middle up by slope * x of the middle, and right by t * mean(v), since
it turns about the middle of its hangers (``quality.pose_rows`` of those seats). A panel on one
hanger hangs plumb from it, whatever the room does.

Source: least-squares pose, see ``quality``; plane rigid-body geometry for small turns.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from holdtrue.core.geometry import Point, seat_rise_mm, slope_shift_mm
from holdtrue.core.hung import RowKey, hung_rows
from holdtrue.core.model import Arrangement, Finding, Job, Layout, Panel


@dataclass(frozen=True, slots=True, kw_only=True)
class Stand:
    """Where a panel is planned: its middle [mm], and its turn [rad], left low is +."""

    x_mm: float
    y_mm: float
    tilt: float


def planned_tilt(job: Job, panel: Panel) -> float:
    """How far a panel is turned on its planned seats.

    Parameters: job, slope [mm/m]; panel of it.
    Returns: tilt [rad], its right end high is +; 0 on one hanger.
    Raises: nothing.
    Source: module head.
    """
    return job.layout.slope_mm_per_m / 1000.0 if len(panel.hangers) > 1 else 0.0


def planned_rise_mm(job: Job, panel: Panel) -> float:
    """How much higher a panel's level edge ends on the right, as planned.

    Parameters: job; panel of it, its width W [mm].
    Returns: W t [mm].
    Raises: nothing.
    Source: module head.
    """
    return panel.width_mm * planned_tilt(job, panel)


def panel_stands(job: Job, arrangement: Arrangement) -> tuple[Stand, ...]:
    """Where every panel hangs on its planned seats.

    Parameters: job; arrangement of that job. Lengths [mm].
    Returns: one Stand per panel, in their order.
    Raises: nothing.
    Source: module head.
    """
    return tuple(
        _stand(job, panel, centre)
        for panel, centre in zip(job.panels, arrangement.centres_mm, strict=True)
    )


def _stand(job: Job, panel: Panel, centre_mm: Point) -> Stand:
    tilt, count = planned_tilt(job, panel), len(panel.hangers)
    (x_mm, y_mm) = centre_mm
    mean_v_mm = sum(h.v_mm for h in panel.hangers) / count
    # a lone hanger lifts its panel by what the slope is at the hanger, not at the middle
    held_mm = x_mm if count > 1 else x_mm + panel.hangers[0].u_mm
    return Stand(
        x_mm=x_mm + tilt * mean_v_mm,
        y_mm=y_mm + seat_rise_mm(job.layout, held_mm),
        tilt=tilt,
    )


def corners_mm(panel: Panel, stand: Stand) -> tuple[Point, Point, Point, Point]:
    """A panel's corners as planned: top left, top right, bottom right, bottom left.

    Parameters: panel, width and height [mm]; stand.
    Returns: four places (x, y) [mm].
    Raises: nothing.
    Source: module head.

    >>> panel = Panel(name="A", width_mm=400, height_mm=200, depth_mm=0, mass_kg=1, hangers=())
    >>> corners_mm(panel, Stand(x_mm=0.0, y_mm=1500.0, tilt=0.01))[0]
    (-201.0, 1598.0)
    """
    half_w, half_h = panel.width_mm / 2, panel.height_mm / 2

    def at(u_mm: float, v_mm: float) -> Point:
        return stand.x_mm + u_mm - stand.tilt * v_mm, stand.y_mm + v_mm + stand.tilt * u_mm

    return at(-half_w, half_h), at(half_w, half_h), at(half_w, -half_h), at(-half_w, -half_h)


def sloped_readings_mm(job: Job, arrangement: Arrangement) -> Mapping[RowKey, float]:
    """By how much each reading on the hung work differs from the same layout without its slope.

    Parameters: job; arrangement of that job. Lengths [mm].
    Returns: (kind, where) to a length [mm]; see ``hung.HungReading`` for what is +.
    Raises: nothing.
    Source: rows of ``hung`` over how far the slope moves the seats.
    """
    moved = np.array(seat_shifts_mm(job, arrangement)).T.ravel()
    return {key: float(row @ moved) for key, row in hung_rows(job, arrangement).items()}


def seat_shifts_mm(job: Job, arrangement: Arrangement) -> tuple[Point, ...]:
    """How far the slope moves every seat from where it is in the level layout.

    Parameters: job; arrangement of that job. Lengths [mm].
    Returns: (right, up) [mm], one per seat, in their order.
    Raises: nothing.
    Source: ``geometry.slope_shift_mm``.
    """
    centres = zip(job.panels, arrangement.centres_mm, strict=True)
    return tuple(
        shift for panel, (x, _) in centres for shift in slope_shift_mm(job.layout, panel, x)
    )


def room_slope_mm_per_m(ends_mm: Sequence[Point]) -> float:
    """How the floor runs, through its place at the reference.

    slope = 1000 sum(x h) / sum(x^2), least squares through (0, 0)

    Parameters: ends_mm, of at least one end x from the reference line, not 0, and its floor's
    height over the floor at the reference [mm].
    Returns: slope [mm/m], up to the right is +.
    Raises: ZeroDivisionError where every x is 0.
    Source: linear least squares (GUM H.3, the line held at the origin).

    >>> room_slope_mm_per_m([(-2000.0, -4.0), (2000.0, 4.0)])
    2.0
    """
    return 1000.0 * sum(x * h for x, h in ends_mm) / sum(x * x for x, _ in ends_mm)


def slope_findings(layout: Layout) -> tuple[Finding, ...]:
    """A work that is not level on purpose: release needs the yes of whoever made it, by name.

    Parameters: layout, its slope [mm/m].
    Returns: one finding that needs a reason; none for a level work.
    Raises: nothing.
    Source: the project's own rule.
    """
    slope = layout.slope_mm_per_m
    if slope == 0:
        return ()
    text = (
        f"The work follows a slope on purpose, {abs(slope):g} mm in 1 m, up to the "
        f"{'right' if slope > 0 else 'left'}: write who says yes to it for the maker, by name"
    )
    return (Finding(kind="slope", seat=None, weight="reason", text=text),)
