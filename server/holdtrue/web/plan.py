"""The plan form: a new job, or a job's plan revised. Works without JavaScript.

Buttons that add or remove rows, the check and the suggested move send the whole form and get it
back with everything typed; only "save" writes.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from flask import Blueprint, Response, request, url_for

from holdtrue.core.errors import CoreError
from holdtrue.domain import floor
from holdtrue.domain.errors import ConflictError, InputError
from holdtrue.domain.jobfile import parse_job
from holdtrue.domain.suggestions import with_shift
from holdtrue.service import jobs
from holdtrue.service.services import clean_key
from holdtrue.store.port import KeyReusedError
from holdtrue.web import forms, htmx, planform
from holdtrue.web.context import actor, fetch_job, page, services, whole_number
from holdtrue.web.planform import PlanForm
from holdtrue.web.preview import Preview, preview
from holdtrue.web.security import allow_body, require_lead

blueprint = Blueprint("plan", __name__)

LARGEST_PLAN = 16 * 1024 * 1024
"""Bytes of a plan form: more than the largest job needs that is taken in."""
BLANK = {"panels": [planform.BLANK_ROWS["panels"]], "layout": {"kind": "row"}}
"""A new job's form: one panel with two hangers, since that is what most have."""

SAVED_AS_JOB = (
    "This form was saved before and made job {}. What stands here now is not saved: save it again "
    "to make another job of it, or open that one."
)
SAVED_AS_REVISION = (
    "This form was saved before, as revision {}. What stands here now is not saved: look it over "
    "and save it again."
)
SAVED_MEANWHILE = (
    "This form was saved before, and the plan was changed since. What you typed is still here: "
    "open the plan again beside it and carry it over."
)


@blueprint.get("/jobs/new")
@require_lead
def new() -> Response:
    return _show(planform.from_document(BLANK, services().ids.key()))


@blueprint.post("/jobs/new")
@require_lead
@allow_body(LARGEST_PLAN, typed=LARGEST_PLAN)
def create() -> Response:
    return _handle(None)


@blueprint.get("/jobs/<job_id>/plan")
@require_lead
def edit(job_id: str) -> Response:
    state = fetch_job(job_id)
    form = planform.from_document(state.document, services().ids.key())
    return _show(form, job_id=job_id, seen=_try(form)[1], revision=str(state.revision))


@blueprint.post("/jobs/<job_id>/plan")
@require_lead
@allow_body(LARGEST_PLAN, typed=LARGEST_PLAN)
def revise(job_id: str) -> Response:
    fetch_job(job_id)
    return _handle(job_id)


def _handle(job_id: str | None) -> Response:
    fields = list(request.form.items(multi=True))
    try:
        form = planform.from_request(fields, request.form.get("key", ""))
    except InputError as error:
        return page("plan/unread.html", error.status, error=str(error), fields=fields)
    try:
        key = clean_key(form.key)
        action = request.form.get("action", "check")
        if action == "follow":
            return _show(_following(form, job_id), job_id=job_id)
        if action not in ("check", "save", "shift"):
            return _show(planform.changed(form, action), job_id=job_id)
    except InputError as error:
        kept = PlanForm(form.tree, {planform.WHOLE: error.remedy}, services().ids.key())
        return _show(kept, job_id=job_id, status=error.status)
    form = PlanForm(forms.without_blank_rows(form.tree), key=key)
    form, seen = _try(form)
    if seen is None:
        return _show(form, job_id=job_id, status=422)
    if action == "shift" and seen.shift is not None:
        moved = with_shift(form.document(), seen.plan, seen.shift)
        form, seen = _try(planform.from_document(moved, key))
    if action != "save":
        return _show(form, job_id=job_id, seen=seen)
    try:
        saved = _save(form.document(), job_id, key)
    except (ConflictError, InputError) as error:
        refused = PlanForm(form.tree, {planform.WHOLE: str(error)}, key)
        return _show(refused, job_id=job_id, seen=seen, status=error.status)
    except KeyReusedError:
        return _saved_before(form, job_id, seen)
    return htmx.go_to(url_for("plan.edit", job_id=saved))


def _following(form: PlanForm, job_id: str | None) -> PlanForm:
    """The form with the room's slope in it; nothing is saved."""
    read = floor.floor_read(fetch_job(job_id)) if job_id else None
    if read is None or read.slope_mm_per_m is None:
        raise InputError("action", "follow", "no slope of this room was read yet")
    return PlanForm(forms.with_node(form.tree, "slope", f"{read.slope_mm_per_m:g}"), key=form.key)


def _saved_before(form: PlanForm, job_id: str | None, seen: Preview | None) -> Response:
    """The form under a new key: somebody went back to it after it was saved, and typed on."""
    words, earlier, revision = SAVED_MEANWHILE, None, None
    if job_id is None:
        earlier = jobs.id_under(services(), form.key)
        words = SAVED_AS_JOB.format(earlier)
    elif latest := jobs.revision_under(services(), job_id, form.key):
        words, revision = SAVED_AS_REVISION.format(latest), str(latest)
    again = PlanForm(form.tree, {planform.WHOLE: words}, services().ids.key())
    return _show(again, job_id=job_id, seen=seen, status=409, revision=revision, earlier=earlier)


def _try(form: PlanForm) -> tuple[PlanForm, Preview | None]:
    """The form with what is wrong in it, or with how its plan looks."""
    document = form.document()
    try:
        planform.require_units(document)
        return form, preview(parse_job(document))
    except InputError as error:
        return PlanForm(form.tree, {error.path: error.remedy}, form.key), None
    except CoreError as error:
        return PlanForm(form.tree, {planform.WHOLE: str(error)}, form.key), None


def _save(document: Mapping[str, Any], job_id: str | None, key: str) -> str:
    if job_id is None:
        return jobs.create_job(services(), actor(), document=document, key=key)
    revision = whole_number("revision")
    jobs.revise_plan(services(), actor(), job_id, document=document, key=key, revision=revision)
    return job_id


def _show(
    form: PlanForm,
    *,
    job_id: str | None = None,
    seen: Preview | None = None,
    status: int = 200,
    revision: str | None = None,
    earlier: str | None = None,
) -> Response:
    """The page; ``revision`` is the one the person started from, carried through every answer."""
    url = url_for("plan.create") if job_id is None else url_for("plan.revise", job_id=job_id)
    return page(
        "plan/plan.html",
        status,
        form=form,
        preview=seen,
        job_id=job_id,
        earlier=earlier,
        url=url,
        most={"bytes": LARGEST_PLAN, "fields": forms.MOST_FIELDS},
        **_floor(job_id),
        revision=revision or request.form.get("revision", ""),
        save_text="Save as a new job" if job_id is None else "Save as a new revision",
    )


def _floor(job_id: str | None) -> dict[str, Any]:
    """What was read of the floor, and the slope that would follow it."""
    state = fetch_job(job_id) if job_id else None
    read = floor.floor_read(state) if state else None
    if state is None or read is None:
        return {"floor_lines": (), "follow": None}
    return {
        "floor_lines": floor.floor_lines(state, read),
        "follow": floor.other_slope(state, read),
    }
