"""Entries that phones sent and the job refused, as the lead sees and settles them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from flask import Blueprint, Response, request, url_for

from holdtrue.domain.checklist import checklist
from holdtrue.domain.parked import planned_words, shown_words, typed_words
from holdtrue.domain.state import JobState, Parked
from holdtrue.domain.timeline import parked_title
from holdtrue.service import parked
from holdtrue.web import htmx
from holdtrue.web.context import actor, services
from holdtrue.web.security import require_lead
from holdtrue.web.settings import our_path

blueprint = Blueprint("parked", __name__)


@dataclass(frozen=True, slots=True, kw_only=True)
class ParkedView:
    """One parked entry in words."""

    entry: Parked
    title: str
    who: str
    typed: tuple[tuple[str, str], ...]
    shown: str
    """The place the phone showed then."""
    planned: str
    """What the plan read then."""
    again: str
    """Where it can be recorded again, what was typed filled in; "" when its task is gone."""
    settled_by: str


def parked_views(job_id: str, state: JobState, names: Mapping[str, str]) -> tuple[ParkedView, ...]:
    """Every entry ever parked, those that wait first."""
    tasks = {task.id for task in checklist(state)} if state.parked else set()
    in_order = sorted(state.parked, key=lambda one: (not one.is_open, one.seq))
    unit = state.job.unit
    return tuple(_view(job_id, one, names, tasks, unit) for one in in_order)


def _view(
    job_id: str, one: Parked, names: Mapping[str, str], tasks: set[str], unit: str
) -> ParkedView:
    again = ""
    if one.is_open and one.task in tasks:
        again = url_for("phone.show_task", job_id=job_id, task_id=one.task, parked=one.seq)
    return ParkedView(
        entry=one,
        title=parked_title(one.task),
        who=names.get(one.who, one.who),
        typed=typed_words(one),
        shown=shown_words(one, unit),
        planned=planned_words(one, unit),
        again=again,
        settled_by=names.get(one.settled_by, one.settled_by) if one.settled_by else "",
    )


@blueprint.post("/jobs/<job_id>/parked/<int:seq>")
@require_lead
def settle(job_id: str, seq: int) -> Response:
    """The lead has seen to it; the note says how."""
    note, key = request.form.get("note", ""), request.form.get("key", "")
    parked.settle(services(), actor(), job_id, of=seq, note=note, key=key)
    back = our_path(request.form.get("back", "")) or url_for("jobs.show", job_id=job_id)
    return htmx.go_to(f"{back}#parked")
