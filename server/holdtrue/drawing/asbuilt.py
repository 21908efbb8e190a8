"""Planned against as built: where panels and seats are, deviations drawn larger, scale stated."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from math import cos, hypot, sin

from holdtrue.core.model import Panel, Plan
from holdtrue.core.slope import Stand, panel_stands
from holdtrue.drawing import parts
from holdtrue.drawing.elevation import group_box
from holdtrue.drawing.svg import Element, line, path, picture, rect, text
from holdtrue.drawing.view import View, fit

Place = tuple[float, float]
Pose = tuple[float, float, float]
"""Deviation of a panel: dx [mm], dy [mm], theta [rad, counter-clockwise seen from the front]."""

_STEPS = (1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0)
_SHARE = 0.04  # the largest deviation drawn is about this share of the work's larger side


def as_built(
    plan: Plan,
    *,
    fmt: Callable[[float], str],
    set_mm: Mapping[str, Place],
    poses: Mapping[str, Pose] | None = None,
    magnify: float | None = None,
    width_px: float = 720.0,
    max_height_px: float | None = None,
    id_: str | None = None,
    printed: bool = False,
) -> str:
    """The work as planned (dashed) and as built (solid) as SVG markup.

    ``poses``: panel name to its deviation. ``magnify`` None picks the largest of 1, 2, 5 ... 100
    that keeps deviations small beside the work; the factor is written on the drawing.
    """
    poses = poses or {}
    factor = magnify if magnify is not None else pick_factor(plan, set_mm, poses)
    box = group_box(plan)
    larger = max(box.width_mm, box.height_mm)
    view = fit(
        box.grown(0.06 * larger),
        width=width_px,
        max_height=max_height_px or width_px * 0.8,
        left=4,
        right=4,
        top=4,
    )
    times = f"{factor:g} times larger"
    said = "deviations drawn to scale" if factor == 1 else f"deviations drawn {times}"
    drawn: list[Element | None] = [
        rect(view.left, view.top, view.right - view.left, view.bottom - view.top, "d-wall"),
        *_panels(plan, view, poses, factor),
        *parts.reference_line(view, view.top, view.bottom),
        *_seats(plan, view, set_mm, factor),
        text(4, view.bottom + 34, "dashed: planned; solid: as built", parts.SMALL, anchor="start"),
        text(4, view.bottom + 51, said, parts.SMALL, anchor="start"),
    ]
    return picture(
        drawn,
        width=width_px,
        height=view.bottom + 58,
        title="Planned against as built",
        desc=_describe(plan, set_mm, fmt) + f" {said.capitalize()}.",
        id_=id_,
        printed=printed,
        data=dict(view.data) | {"data_magnify": factor},
    )


def pick_factor(plan: Plan, set_mm: Mapping[str, Place], poses: Mapping[str, Pose]) -> float:
    """The largest round factor that keeps the largest drawn deviation small beside the work."""
    planned = {s.seat: (s.x_mm, s.y_mm) for s in plan.seats}
    worst = [hypot(x - planned[k][0], y - planned[k][1]) for k, (x, y) in set_mm.items()]
    for panel in plan.job.panels:
        dx, dy, theta = poses.get(panel.name, (0.0, 0.0, 0.0))
        worst.append(hypot(dx, dy) + abs(theta) * hypot(panel.width_mm, panel.height_mm) / 2)
    largest = max(worst, default=0.0)
    box = group_box(plan)
    allowed = _SHARE * max(box.width_mm, box.height_mm)
    return max((f for f in _STEPS if f * largest <= allowed), default=1.0)


def _describe(plan: Plan, set_mm: Mapping[str, Place], fmt: Callable[[float], str]) -> str:
    rows = []
    for s in plan.seats:
        if s.seat in set_mm:
            x, y = set_mm[s.seat]
            across = f"{fmt(abs(x - s.x_mm))} {'right' if x >= s.x_mm else 'left'}"
            up = f"{fmt(abs(y - s.y_mm))} {'high' if y >= s.y_mm else 'low'}"
            rows.append(f"{s.seat} {across}, {up}")
    return f"Seats against plan: {'; '.join(rows) or 'none set yet'}."


def _panels(plan: Plan, view: View, poses: Mapping[str, Pose], factor: float) -> list[Element]:
    drawn = []
    stands = panel_stands(plan.job, plan.arrangement)
    for panel, stand in zip(plan.job.panels, stands, strict=True):
        _, name = parts.panel(panel, stand, view, name_low=0.3)
        planned = corners(panel, stand, (0.0, 0.0, 0.0), 1.0)
        drawn.append(path("d-panel-plan", *map(view.at, planned), close=True))
        if panel.name in poses:
            built = corners(panel, stand, poses[panel.name], factor)
            drawn.append(path("d-panel-built", *map(view.at, built), close=True))
        drawn.append(name)
    return drawn


def corners(panel: Panel, stand: Stand, pose: Pose, factor: float) -> list[Place]:
    """The panel's corners with its deviation ``factor`` times larger, from top left clockwise."""
    x_mm = stand.x_mm + factor * pose[0]
    y_mm = stand.y_mm + factor * pose[1]
    turn = stand.tilt + factor * pose[2]
    c, s = cos(turn), sin(turn)
    half_w, half_h = panel.width_mm / 2, panel.height_mm / 2
    return [
        (x_mm + c * u - s * v, y_mm + s * u + c * v)
        for u, v in ((-half_w, half_h), (half_w, half_h), (half_w, -half_h), (-half_w, -half_h))
    ]


def _seats(plan: Plan, view: View, set_mm: Mapping[str, Place], factor: float) -> list[Element]:
    drawn: list[Element] = []
    for s in plan.seats:
        planned = view.at((s.x_mm, s.y_mm))
        if s.seat not in set_mm:
            drawn.append(parts.seat_open(*planned, s.seat))
            continue
        x_mm, y_mm = set_mm[s.seat]
        built = view.at((s.x_mm + factor * (x_mm - s.x_mm), s.y_mm + factor * (y_mm - s.y_mm)))
        drawn += [parts.ghost(*planned), line(*planned, *built, "d-move")]
        drawn += [
            parts.seat_set(*built, s.seat),
            text(built[0], built[1] + 22, s.seat, parts.SMALL),
        ]
    return drawn
