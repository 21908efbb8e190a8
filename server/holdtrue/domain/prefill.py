"""What the plan says a task's fields should read: shown large, recorded by "As planned".

What is read by level is planned as the level at hand shows it, its own error and all: so that what
is recorded, tapped or typed, is always a reading of that level.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from math import hypot
from types import MappingProxyType
from typing import Any

from holdtrue.core.geometry import bounding_box_mm
from holdtrue.core.hang_loads import wire_rise_mm
from holdtrue.core.model import Panel
from holdtrue.core.slope import Stand, panel_stands, planned_rise_mm, sloped_readings_mm
from holdtrue.domain.hanging import panel_of
from holdtrue.domain.levelcheck import LEAST_READ_MM, checked_level
from holdtrue.domain.shims import shims_for_mm
from holdtrue.domain.state import JobState
from holdtrue.domain.subjects import facing_panels, pair_seats
from holdtrue.domain.trimming import planned_touches

Values = dict[str, Any]
SHOWN_TO_MM = 0.01
_NUMBER = re.compile(r"-?[0-9]{1,7}\.[0-9]{2}")
SAME_MM = 0.05
"""Two heights nearer than this are the same. Our choice: a tenth of what a tape shows."""


def planned_values(state: JobState, task_id: str) -> Values:
    """Field to planned value: ``{"mm": ...}`` or a choice's text; {} without a plan."""
    kind, _, subject = task_id.partition(":")
    plan = _PLANS.get(kind)
    return plan(state, subject) if plan else {}


def shown_plan(state: JobState, task_id: str) -> str:
    """The numbers a task's page shows as the plan, as short text, to 0.01 mm.

    A page sends it back with what is recorded: numbers that changed meanwhile are noticed.
    """
    kind, _, subject = task_id.partition(":")
    if kind in ("fasteners.mark", "fasteners.anchor"):
        seat = state.seat(subject)
        name = seat.fastener.name if seat.fastener else ""
        return f"{seat.x_mm:.2f} {seat.hole_y_mm:.2f} {name}"
    values = planned_values(state, task_id)
    if kind.startswith("stand_back."):
        return " ".join(
            f"{name} {' '.join(f'{mm:.2f}' for mm in sizes)}" for name, *sizes in values["places"]
        )
    return " ".join(
        f"{value['mm']:.2f}" if isinstance(value, Mapping) else str(value)
        for name, value in values.items()
        if name not in ("studs", "rise")
    )


def is_as_shown(state: JobState, task_id: str, seen: str) -> bool:
    """Whether the numbers a page showed as the plan are still the plan.

    A last digit that the phone rounded the other way is no change.
    """
    then, now = seen.split(" "), shown_plan(state, task_id).split(" ")
    return len(then) == len(now) and all(map(_is_same_word, then, now))


def _is_same_word(one: str, other: str) -> bool:
    if one == other:
        return True
    numbers = _NUMBER.fullmatch(one), _NUMBER.fullmatch(other)
    return all(numbers) and abs(float(one) - float(other)) < 1.5 * SHOWN_TO_MM


def read_like(
    state: JobState, task_id: str, planned: Mapping[str, Any], values: Mapping[str, Any]
) -> Values:
    """The plan as it reads the way the values were read.

    A hanger from the edge that was used, the work's height by the edge that was chosen.
    """
    kind, _, subject = task_id.partition(":")
    if kind == "reference.mark":
        chosen = str(values["height_of"])
        return {**planned, "height_of": chosen, "height": length(_height_mm(state, chosen))}
    if kind != "work.hanger" or values["edge"] == planned["edge"]:
        return dict(planned)
    at = state.plan.arrangement.seat_names.index(subject)
    width_mm = state.job.panels[state.plan.arrangement.seat_panel[at]].width_mm
    return {**planned, "edge": values["edge"], "in": length(width_mm - planned["in"]["mm"])}


def length(mm: float) -> dict[str, float]:
    return {"mm": round(mm, 6) + 0.0}


def _hanger(state: JobState, subject: str) -> Values:
    at = state.plan.arrangement.seat_names.index(subject)
    panel = state.job.panels[state.plan.arrangement.seat_panel[at]]
    hanger = panel.hangers[state.plan.arrangement.seat_hanger[at]]
    from_front_left = hanger.u_mm + panel.width_mm / 2
    from_left = panel.width_mm - from_front_left if panel.measured_on == "back" else from_front_left
    is_left = from_left <= panel.width_mm / 2
    return {
        "edge": "left" if is_left else "right",
        "in": length(from_left if is_left else panel.width_mm - from_left),
        "down": length(panel.height_mm / 2 - hanger.v_mm),
        "to": "",
    }


def _spacing(state: JobState, subject: str) -> Values:
    a, b = (state.plan.arrangement.seat_names.index(name) for name in pair_seats(subject))
    hangers = state.job.panels[state.plan.arrangement.seat_panel[a]].hangers
    first, second = (hangers[state.plan.arrangement.seat_hanger[i]] for i in (a, b))
    return {"spacing": length(second.u_mm - first.u_mm)}


def _wire(state: JobState, subject: str) -> Values:
    panel = next(p for p in state.job.panels if p.name == subject)
    if panel.hang.wire is None:
        return {}
    (left_u, left_v), (right_u, right_v) = panel.hang.wire.rings_mm
    return {
        "apart": length(right_u - left_u),
        "down": length(panel.height_mm / 2 - (left_v + right_v) / 2),
        "rise": length(wire_rise_mm(panel.mass_kg, panel.hang.wire)),
    }


def _rail(state: JobState, subject: str) -> Values:
    panel = next(p for p in state.job.panels if p.name == subject)
    up = sum(h.v_mm for h in panel.hangers) / len(panel.hangers)
    down = length(panel.height_mm / 2 - up)
    return {"left": down, "right": down}


def _diagonals(state: JobState, subject: str) -> Values:
    panel = next(p for p in state.job.panels if p.name == subject)
    diagonal = length(hypot(panel.width_mm, panel.height_mm))
    return {"one": diagonal, "two": diagonal, "level_edge": "top"}


def _reference(state: JobState, subject: str) -> Values:
    of = state.job.layout.height_of
    return {"meaning": "plan", "height": length(_height_mm(state, of)), "height_of": of}


def _height_mm(state: JobState, of: str) -> float:
    """Height of the whole work's top, centre or bottom."""
    arrangement = state.plan.arrangement
    _, bottom, _, top = bounding_box_mm(state.job.panels, arrangement.centres_mm)
    return {"top": top, "centre": (top + bottom) / 2, "bottom": bottom}[of]


def _line(state: JobState, subject: str) -> Values:
    line = next(line for line in state.lines if line.name == subject)
    return {"height": length(line.y_mm)}


def _studs(state: JobState, subject: str) -> Values:
    return {
        "studs": [
            {"x": length(stud.x_mm), "material": stud.material, "width": length(stud.width_mm)}
            for stud in state.job.wall.studs
        ]
    }


def _wall(state: JobState, subject: str) -> Values:
    return {"behind": state.job.wall.behind}


def _places(state: JobState, subject: str) -> Values:
    """Where the panels go, how large they are, and how far they rise: what the yes is said to."""
    stands = panel_stands(state.job, state.plan.arrangement)
    return {
        "places": [
            _place(state, panel, stand)
            for panel, stand in zip(state.job.panels, stands, strict=True)
        ]
    }


def _place(state: JobState, panel: Panel, stand: Stand) -> list[Any]:
    rise = planned_rise_mm(state.job, panel)
    sizes = (stand.x_mm, stand.y_mm, panel.width_mm, panel.height_mm, *((rise,) if rise else ()))
    return [panel.name, *(round(mm, 3) for mm in sizes)]


def _pair(state: JobState, subject: str) -> Values:
    """Mark to mark; a seat that is set already is read where the ring bears."""
    a, b = (state.seat(name) for name in pair_seats(subject))
    height_a, height_b = (
        seat.y_mm if seat.seat in state.set_seats else seat.hole_y_mm for seat in (a, b)
    )
    return pair_plan(state, b.x_mm - a.x_mm, height_b - height_a)


def pair_plan(state: JobState, apart_mm: float, rise_mm: float) -> Values:
    """Two marks so far apart, the right one so much higher; ``rise``: truly, not as it reads."""
    return {
        "spacing": length(apart_mm),
        **_higher(state, apart_mm, rise_mm),
        "rise": length(rise_mm),
    }


def _higher(state: JobState, apart_mm: float, rise_mm: float) -> Values:
    """Which of two is higher by the level at hand."""
    shown = checked_level(state).shown_rise_mm(rise_mm, apart_mm)
    higher = "level" if abs(shown) < SAME_MM else "right" if shown > 0 else "left"
    return {"higher": higher, "by": length(abs(shown))}


def _cross(state: JobState, subject: str) -> Values:
    a, b = (state.seat(name) for name in pair_seats(subject))
    apart, rise = b.x_mm - a.x_mm, b.y_mm - a.y_mm
    return {"distance": length(hypot(apart, rise)), **_higher(state, apart, rise)}


def _measure(state: JobState, subject: str) -> Values:
    built = state.set_seats.get(subject)
    # measured before: the plan is still the mark that was given, not what came of it
    x, y = built.given_mm if built else state.marks_mm[subject]
    line = state.line_of(subject)
    return {"x": length(x), "above": length(y - state.line_height_mm(line))}


def _level(state: JobState, subject: str) -> Values:
    """Level, or as the room slopes: what the level at hand shows of that."""
    panel = panel_of(state, subject)
    rise = planned_rise_mm(state.job, panel)
    shown = checked_level(state).shown_rise_mm(rise, panel.width_mm)
    if abs(shown) < LEAST_READ_MM:
        return {"low": "level", "by": length(0.0)}
    return {"low": "left" if shown > 0 else "right", "by": length(abs(shown))}


def _edge(state: JobState, subject: str) -> Values:
    k = next(k for k, panel in enumerate(state.job.panels) if panel.name == subject)
    centre_mm, _ = state.plan.arrangement.centres_mm[k]
    return {"across": length(centre_mm - state.job.panels[k].width_mm / 2)}


def _facing(state: JobState, subject: str) -> Values:
    found = planned_facing(state, subject)
    return {
        "first": length(found.first_mm),
        "second": length(found.second_mm),
        "ahead": "as_planned",
        "by": length(0.0),
        "flush": length(0.0),
        "out": "none",
    }


def _trim(state: JobState, subject: str) -> Values:
    return planned_touches(state, subject)


def _shim(state: JobState, subject: str) -> Values:
    thick = shims_for_mm(state, subject)
    return {} if thick is None else {"thick": length(thick)}


def _move(state: JobState, subject: str) -> Values:
    """How far a hanger should go on its panel, right and up as seen from the front."""
    right, up = state.moves[subject]
    return {"across": length(right), "up": length(up)}


@dataclass(frozen=True, slots=True, kw_only=True)
class Facing:
    """What two facing edges read as planned: the gap at either end, and p's edge beyond q's."""

    first_mm: float
    second_mm: float
    step_mm: float


def planned_facing(state: JobState, subject: str) -> Facing:
    """Two neighbours as they should hang, ``p|q``; on a slope each is turned about itself."""
    gap = planned_gap_mm(state, subject)
    sloped = (
        sloped_readings_mm(state.job, state.plan.arrangement)
        if state.job.layout.slope_mm_per_m
        else {}
    )
    return Facing(
        first_mm=gap + sloped.get(("gap first", subject), 0.0),
        second_mm=gap + sloped.get(("gap second", subject), 0.0),
        step_mm=sloped.get(("step", subject), 0.0),
    )


def planned_gap_mm(state: JobState, subject: str) -> float:
    """The gap between two neighbours, ``p|q``, as the layout has it."""
    p, q = (
        next(k for k, panel in enumerate(state.job.panels) if panel.name == name)
        for name in facing_panels(subject)
    )
    (xp, yp), (xq, yq) = (state.plan.arrangement.centres_mm[k] for k in (p, q))
    at_p, at_q = state.job.panels[p], state.job.panels[q]
    if not state.is_stacked(subject):
        return (xq - at_q.width_mm / 2) - (xp + at_p.width_mm / 2)
    return (yp - at_p.height_mm / 2) - (yq + at_q.height_mm / 2)


_PLANS: Mapping[str, Callable[[JobState, str], Values]] = MappingProxyType(
    {
        "work.hanger": _hanger,
        "work.spacing": _spacing,
        "work.wire": _wire,
        "work.rail": _rail,
        "work.diagonals": _diagonals,
        "reference.mark": _reference,
        "level.line": _line,
        "level.tape": _line,
        "stand_back.corners": _places,
        "stand_back.yes": _places,
        "behind.studs": _studs,
        "behind.wall": _wall,
        "fasteners.pair": _pair,
        "fasteners.measure": _measure,
        "fasteners.cross": _cross,
        "panels.shim": _shim,
        "panels.level": _level,
        "close.next_day": _level,
        "panels.edge": _edge,
        "panels.facing": _facing,
        "panels.trim": _trim,
        "panels.move": _move,
    }
)
