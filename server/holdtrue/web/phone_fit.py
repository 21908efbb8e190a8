"""A task's inputs in the words of this job: its panels, its fasteners, its seats."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from holdtrue.domain.checklist import Task, seats_of
from holdtrue.domain.subjects import facing_panels, pair_seats
from holdtrue.domain.task_kinds import EVERYWHERE
from holdtrue.domain.touches import touches_of
from holdtrue.web.phone_fields import Input
from holdtrue.web.phone_here import Here


def fitted(here: Here, task: Task, inputs: tuple[Input, ...]) -> tuple[Input, ...]:
    """The inputs with the words of this job: panels by name, fasteners and seats to choose."""
    return tuple(_fitted(here, task, one) for one in inputs)


def _fitted(here: Here, task: Task, one: Input) -> Input:
    name = (task.kind.name, one.name)
    if name == ("work.hanger", "to"):
        holes = tuple((f.name, f"hole centre of {f.name}") for f in here.state.job.fasteners)
        return replace(one, kind="select", options=(("", "the bearing point"), *holes), hint="")
    if one.kind == "seats":
        seats = ((EVERYWHERE, EVERYWHERE), *((s, s) for s in here.state.form.seats))
        return replace(one, options=seats)
    if name == ("panels.trim", "seat"):
        seats = tuple((s, s) for s in seats_of(here.state, task.subject))
        return replace(one, kind="choice", options=seats)
    if task.kind.name == "panels.facing":
        return _fitted_facing(here, task, one)
    if task.kind.scope == "pair" and one.name == "higher":
        names = dict(zip(("left", "right"), pair_seats(task.subject), strict=True))
        return replace(one, options=tuple((v, names.get(v, words)) for v, words in one.options))
    return one


def _fitted_facing(here: Here, task: Task, one: Input) -> Input:
    p, q = facing_panels(task.subject)
    is_beside = is_beside_each_other(here, p, q)
    words: Mapping[str, Any] = {
        "first": f"Gap at the {'top' if is_beside else 'left'}",
        "second": f"Gap at the {'bottom' if is_beside else 'right'}",
        "ahead": "Which stands higher" if is_beside else "Which stands further right",
        "by": "By how much",
        "flush": "Faces in or out by",
        "out": "Which stands out",
    }
    changed = replace(one, label=words[one.name])
    if one.name == "ahead":
        options = (("as_planned", "as planned"), ("p", p), ("q", q))
        return replace(changed, options=options)
    if one.name == "out":
        return replace(changed, options=(("none", "neither"), ("p", p), ("q", q)))
    return changed


def is_beside_each_other(here: Here, p: str, q: str) -> bool:
    names = [panel.name for panel in here.state.job.panels]
    pair = (names.index(p), names.index(q))
    return any(
        (n.p, n.q) == pair and n.how == "beside" for n in here.state.plan.arrangement.neighbours
    )


def starting_values(kind: str, planned: Mapping[str, Any]) -> Mapping[str, Any]:
    """What a task's inputs start with: the plan; of a trim, the first touch that is advised."""
    is_trim = kind == "panels.trim" and planned
    return touches_of(planned)[0].values() if is_trim else planned
