"""The job as JSON for the phone's scripts: tasks, what each needs, where everything is."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from flask import Response, request, url_for
from markupsafe import Markup

from holdtrue.core.model import Fastener, Job, Material, Panel
from holdtrue.core.plan import make_plan
from holdtrue.core.wall import Behind
from holdtrue.domain import events
from holdtrue.domain.checklist import Task
from holdtrue.domain.needs import Needs, by_stage, needs
from holdtrue.domain.problem import problem
from holdtrue.domain.state import JobState, Record
from holdtrue.domain.task_kinds import Field
from holdtrue.domain.tasks import STAGES
from holdtrue.domain.trimming import planned_touches
from holdtrue.service import members
from holdtrue.service.jobs import stream_of
from holdtrue.service.tasks import UNDOABLE
from holdtrue.web.context import services
from holdtrue.web.phone_here import Here, last_undo, stage_note
from holdtrue.web.phone_pack import packs, spares
from holdtrue.web.phone_words import load_words
from holdtrue.web.security import csrf_token

Json = dict[str, Any]


def job_markup(here: Here) -> Markup:
    """The JSON as it stands in a page: no "<" in it can end its element."""
    text = json.dumps(job_json(here), separators=(",", ":"), default=_plain)
    return Markup(text.replace("<", "\\u003c"))  # noqa: S704 - every "<" is escaped


def news(here: Here, since: int) -> Response:
    """What a phone that has the job as of entry ``since`` must know."""
    templates, gone = packs().changes(here, since)
    document = {
        "job": job_json(here),
        "templates": templates,
        "gone": gone,
        "others": _others(here, since),
    }
    text = json.dumps(document, separators=(",", ":"), default=_plain)
    return Response(text, mimetype="application/json")


_OF_WORK = (
    *(events.PLAN_REVISED, events.PLAN_RELEASED, events.WORK_SENT_BACK, events.DROP_LEARNED),
    *(events.STOP_CALLED, events.STOP_CLEARED, events.ENTRY_UNDONE, *UNDOABLE),
)


def _others(here: Here, since: int) -> list[str]:
    """Who else did something to the work since: what somebody did themselves is no news to them."""
    entries = services().store.read(stream_of(here.job_id))[since:]
    names = members.names(services(), here.state)
    others = [one.who for one in entries if one.type in _OF_WORK and one.who != here.actor.person]
    return list(dict.fromkeys(names.get(who, "somebody") for who in others))


def _plain(value: object) -> object:
    """What the log holds are mappings that refuse to be changed."""
    if isinstance(value, Mapping):
        return dict(value)
    raise TypeError(f"{type(value).__name__} is no JSON")


def job_json(here: Here) -> Json:
    """Everything the phone goes on by."""
    state = here.state
    names = members.names(services(), state)
    return {
        "job": here.job_id,
        "title": state.job.title,
        "person": here.actor.person,
        "name": here.actor.name,
        "is_lead": here.actor.is_lead,
        "unit": here.unit,
        "hand": here.hand,
        "seq": state.seq,
        "revision": state.revision,
        "review": state.review.state,
        "way": state.release.way if state.release else None,
        "at": request.full_path.rstrip("?"),
        "csrf": csrf_token(),
        "urls": _urls(here),
        "stages": [
            {"name": stage.name, "title": stage.title, "note": stage_note(here, stage.name)}
            for stage in STAGES
        ],
        "tasks": _tasks(here, names),
        "spares": [_spare(task) for task in spares(here)],
        "fields": _fields(here),
        "problem": problem(state),
        "stops": [
            {
                "seq": stop.seq,
                "seat": stop.seat,
                "what": stop.what,
                "note": stop.note,
                "at_mm": stop.at_mm,
                "who": names.get(stop.who, "somebody"),
                "when": stop.when,
            }
            for stop in state.open_stops
        ],
        "heeds": [line.listed for line in here.heeds if line.listed],
        "findings": [{"seat": f.seat, "text": f.text} for f in state.open_findings],
        "fasteners": _fasteners(here),
        "carries": carries(state),
        "tight": tight(state),
        "panels": panels_of(state),
        "tolerance": tolerance_of(state),
        "undo": _undo(here),
        "wall": packs().wall(here),
        "parked": [one.seq for one in state.open_parked],
    }


def _urls(here: Here) -> Json:
    base = url_for("phone.show", job_id=here.job_id)
    return {
        "base": base,
        "pack": url_for("phone.pack", job_id=here.job_id),
        "drawings": url_for("phone.drawings", job_id=here.job_id),
        "ack": f"{base}/",
        "parked": url_for("phone.park", job_id=here.job_id),
        "all": url_for("phone.overview", job_id=here.job_id),
        "way": f"{base}/way/",
        "undo": url_for("phone.undo", job_id=here.job_id),
        "stop": f"{base}/stop/",
        "result": f"{base}/result/",
        "home": url_for("home.index"),
        "join": url_for("join.show", back=base),
    }


# -- tasks ----------------------------------------------------------------------------------------


def _tasks(here: Here, names: Mapping[str, str]) -> list[Json]:
    found = needs(here.state)
    records = here.state.records
    awaited: dict[str, list[str]] = {stage.name: [] for stage in STAGES}
    for task in here.tasks:
        if found[task.id].is_awaited:
            awaited[task.kind.stage].append(task.id)
    return [
        _task(task, found[task.id], awaited)
        | _recorded(found[task.id], records.get(task.id), names)
        | _advised(here.state, task)
        for task in here.tasks
    ]


def _task(task: Task, need: Needs, awaited: Mapping[str, list[str]]) -> Json:
    return {
        **_bare(task),
        "status": task.status,
        "why": task.why,
        "needs": by_stage(need.after, awaited),
        "bar": need.bar,
        "done": need.is_done,
        **({} if need.is_awaited or task.kind.is_optional else {"awaited": False}),
    }


def _bare(task: Task) -> Json:
    return {
        "id": task.id,
        "kind": task.kind.name,
        "stage": task.kind.stage,
        "title": task.title,
        # what to do stands on the task's own screen; of a hold point others see none
        **({"ask": task.ask} if task.kind.lead_only else {}),
        "subject": task.subject,
        "panel": task.panel,
        "optional": task.kind.is_optional,
        "lead_only": task.kind.lead_only,
        "has_plan": task.kind.has_plan,
    }


def _recorded(need: Needs, record: Record | None, names: Mapping[str, str]) -> Json:
    """What stands, so that the phone can show it, and judge hung panels by it."""
    if record is None or not need.is_done:
        return {"stands": record.seq if record else 0}
    lengths = {
        name: value["mm"]
        for name, value in record.planned.items()
        if isinstance(value, Mapping) and "mm" in value
    }
    return {
        "stands": record.seq,
        "outcome": record.outcome,
        "values": {name: value for name, value in record.values.items() if name != "places"},
        "planned": lengths,
        "who": names.get(record.who, "somebody"),
        "when": record.when,
    }


def _advised(state: JobState, task: Task) -> Json:
    """The touches that "Done as advised" records."""
    planned = planned_touches(state, task.subject) if task.kind.name == "panels.trim" else {}
    return {name: touches for name, touches in planned.items() if name == "touches"}


def _spare(task: Task) -> Json:
    """A trim that may be asked for: after its panel's own readings."""
    after = [f"panels.{name}:{task.subject}" for name in ("lift", "engaged")]
    return {
        **_bare(task),
        "status": "waiting",
        "why": "",
        "needs": after,
        "bar": "",
        "done": False,
        "stands": 0,
    }


def _fields(here: Here) -> Json:
    """Fields by kind of task; choices in the words of the kind, not of one subject."""
    kinds = {task.kind.name: task.kind for task in (*here.tasks, *spares(here))}
    return {name: [_field(field) for field in kind.fields] for name, kind in kinds.items()}


def _field(field: Field) -> Json:
    return {
        "name": field.name,
        "kind": field.kind,
        "label": field.label,
        "required": field.required,
        "far_mm": field.far_mm,
        "choices": field.choices,
    }


# -- the wall --------------------------------------------------------------------------------------


def _fasteners(here: Here) -> list[Json]:
    """Every fastener listed, as it can be chosen for a seat."""
    return [
        {
            "value": f"use:{k}",
            "name": fastener.name,
            "into": fastener.into,
            "note": "allowed load not known"
            if fastener.allowed_N is None
            else f"{load_words(fastener.allowed_N, here.unit)} allowed",
        }
        for k, fastener in enumerate(here.state.job.fasteners)
    ]


def carries(state: JobState) -> dict[str, list[str]]:
    """Per seat the fasteners with which nothing is left for the lead to look at.

    A name with ``|unknown`` behind it: also in a stud nobody knows the material of; with
    ``|edge``: also at the edge of a wood stud.
    """
    return carries_in(state, state.job)


def tight(state: JobState) -> dict[str, list[str]]:
    """Of ``carries`` what no longer holds with the hangers up to HANGER_OFF_MM off plan.

    A phone without network goes on after a hanger was measured; it does not work out loads. Of two
    hangers each carries most when both are further to the other side, and the pull off the wall is
    largest when all are lower, so two cases bound the rest. A hanger that may come to stand on the
    other side of the centre of gravity changes who carries: then nothing is promised.
    """
    fit = carries(state)
    near = [carries_in(state, job) for job in _shifted(state.job)]
    steady = [_is_steady(panel) for panel in state.job.panels]
    found = {
        row.seat: [
            name
            for name in fit[row.seat]
            if not steady[row.panel] or any(name not in one[row.seat] for one in near)
        ]
        for row in state.current.seats
    }
    return {seat: names for seat, names in found.items() if names}


HANGER_OFF_MM = 12.7
"""``static/js/app/resurvey.js`` lets no hanger be further off. Our choice: half an inch."""


def _is_steady(panel: Panel) -> bool:
    """Who carries what stays as it is however the hangers are off."""
    if panel.hang.method != "hangers":
        return False
    if (
        sum(h.v_mm for h in panel.hangers) / len(panel.hangers) + panel.height_mm / 2
        <= HANGER_OFF_MM
    ):
        return False
    return len(panel.hangers) == 1 or all(
        abs(hanger.u_mm - panel.cg_u_mm) > HANGER_OFF_MM for hanger in panel.hangers
    )


def _shifted(job: Job) -> list[Job]:
    """All hangers lower and to the right, all lower and to the left."""

    def moved(panel: Panel, across_mm: float) -> Panel:
        if not _is_steady(panel):
            return panel
        hangers = tuple(
            replace(one, u_mm=one.u_mm + across_mm, v_mm=one.v_mm - HANGER_OFF_MM)
            for one in panel.hangers
        )
        return replace(panel, hangers=hangers)

    return [
        replace(job, panels=tuple(moved(panel, across_mm) for panel in job.panels))
        for across_mm in (HANGER_OFF_MM, -HANGER_OFF_MM)
    ]


def carries_in(state: JobState, job: Job) -> dict[str, list[str]]:
    """The same as if the job were this one, its seats where they are."""
    seats = [seat.seat for seat in state.current.seats]
    fit: dict[str, list[str]] = {name: [] for name in seats}
    for fastener in job.fasteners:
        for said, behind in _grounds(fastener):
            open_at = _open_with(state, job, behind, fastener.name)
            for name in seats:
                if name not in open_at:
                    fit[name].append(said)
    return fit


def _grounds(fastener: Fastener) -> list[tuple[str, Behind]]:
    """What may be behind a fastener, and how that is said."""
    name = fastener.name
    if fastener.into != "stud":
        material: Material = "steel" if fastener.into == "steel" else "unknown"
        return [(name, Behind(into=fastener.into, material=material))]
    return [
        (f"{name}|unknown", Behind(into="stud")),
        (f"{name}|edge", Behind(into="edge", material="wood")),
        (name, Behind(into="stud", material="wood")),
    ]


def _open_with(state: JobState, job: Job, behind: Behind, fastener: str) -> set[str | None]:
    """Seats with an open finding if this were behind all of them, with this fastener in it."""
    names = [seat.seat for seat in state.current.seats]
    plan = make_plan(
        job,
        places_mm={**state.marks_mm, **state.set_mm},
        blocked=dict.fromkeys(names, behind),
        chosen=dict.fromkeys(names, fastener),
    )
    return {finding.seat for finding in replace(state, current=plan).open_findings}


def panels_of(state: JobState) -> Json:
    seats: dict[str, list[str]] = {panel.name: [] for panel in state.job.panels}
    arrangement = state.plan.arrangement
    for name, k in zip(arrangement.seat_names, arrangement.seat_panel, strict=True):
        seats[state.job.panels[k].name].append(name)
    return {
        panel.name: {
            "seats": seats[panel.name],
            "width_mm": panel.width_mm,
            "height_mm": panel.height_mm,
            "spacing_mm": panel.hangers[-1].u_mm - panel.hangers[0].u_mm,
        }
        for panel in state.job.panels
    }


def tolerance_of(state: JobState) -> Json:
    """What a reading on hung panels is judged by."""
    tolerance = state.job.tolerance
    return {
        "level": tolerance.level,
        "gap": tolerance.gap,
        "taper": tolerance.taper,
        "step": tolerance.step,
        "flush": tolerance.flush,
        "line": tolerance.line,
    }


def _undo(here: Here) -> Json | None:
    last = last_undo(here)
    return None if last is None else {"of": last.seq, "text": last.text, "task": last.task}
