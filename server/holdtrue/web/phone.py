"""The job on a phone: one task, one screen.

GET a task: its form, or what stands recorded, or why it waits. POST a task: 303 to the result or
the next task; with htmx that screen itself. A form that needs another look answers 422 with
everything typed still in it.
"""

from __future__ import annotations

import json

from flask import Blueprint, Response, redirect, render_template, request
from werkzeug.wrappers import Response as AnyResponse

from holdtrue.domain.errors import ConflictError
from holdtrue.service import jobs, tasks
from holdtrue.web import (
    acks,
    htmx,
    phone_ack,
    phone_choose,
    phone_job,
    phone_paper,
    phone_record,
    phone_screens,
    phone_swap,
    phone_way,
)
from holdtrue.web.context import services
from holdtrue.web.phone_fields import echo_words
from holdtrue.web.phone_here import look, task_of
from holdtrue.web.phone_pack import packs
from holdtrue.web.security import allow_body, require_job_member

blueprint = Blueprint("phone", __name__, url_prefix="/jobs/<job_id>/phone")
blueprint.register_blueprint(phone_way.blueprint)
blueprint.register_blueprint(phone_choose.blueprint)
blueprint.register_blueprint(phone_swap.blueprint)

JOB_LINK = ("Phone", "phone.show")
LARGEST_PHOTO_FORM = tasks.PHOTO_LIMIT + 1024 * 1024


@blueprint.get("")
@require_job_member
def show(job_id: str) -> AnyResponse:
    """To the next task that is ready, or to all tasks when none is."""
    here = look(job_id)
    return redirect(here.task_url(here.next_task()), code=303)


@blueprint.get("/all")
@require_job_member
def overview(job_id: str) -> Response:
    """Every stage and task of the job; looking changes nothing."""
    return phone_screens.all_screen(job_id)


@blueprint.get("/echo")
@require_job_member
def echo(job_id: str) -> Response:
    """What a length being typed is understood as; an empty echo while it is not yet a length."""
    here = look(job_id)
    name = request.args.get("field", "")[:80]
    text = request.args.get(name, "").strip()
    said = echo_words(text, here.unit)
    return htmx.answer(render_template("phone/_echo.html", name=name, text=text, said=said))


@blueprint.get("/result/<int:seq>")
@require_job_member
def show_result(job_id: str, seq: int) -> Response:
    """What one entry changed; a page of its own, so that a reload loses nothing."""
    return phone_screens.result_screen(job_id, seq)


@blueprint.get("/pack")
@require_job_member
def pack(job_id: str) -> Response:
    """The job as it stands for a phone that has it as of ``?since=``; 204 when that is now."""
    here = look(job_id)
    asked = request.args.get("since", "")
    since = int(asked) if asked.isascii() and asked.isdigit() and len(asked) < 10 else 0
    if since == here.state.seq:
        return Response(status=204)
    return phone_job.news(here, since)


@blueprint.get("/drawings")
@require_job_member
def drawings(job_id: str) -> Response:
    """The drawings of the job's screens by name: those of ``?ids=``, else all."""
    known = packs().drawings(look(job_id))
    asked = request.args.get("ids", "")
    names = [name for name in asked.split(",") if name in known] if asked else list(known)
    # like beside like, by their titles: what was just said is said again in a few bytes
    alike = sorted(names, key=lambda name: known[name].partition("<title")[2].partition(">")[2])
    text = json.dumps({name: known[name] for name in alike}, separators=(",", ":"))
    return Response(text, mimetype="application/json")


@blueprint.get("/<path:task_id>")
@require_job_member
def show_task(job_id: str, task_id: str) -> Response:
    """A task as it stands: to do, done, waiting, or stopped."""
    here = look(job_id)
    task = here.task(task_id)
    if request.args.get("look") == "readout":
        return phone_screens.readout_screen(here, task)
    if "paper" in request.args:
        return phone_paper.paper_screen(here, task, request.args)
    if "parked" in request.args and here.actor.is_lead:
        return phone_screens.parked_screen(here, task, request.args["parked"])
    return phone_screens.task_screen(here, task, is_again="again" in request.args)


@blueprint.post("/<path:task_id>")
@require_job_member
@allow_body(LARGEST_PHOTO_FORM)
def record(job_id: str, task_id: str) -> Response:
    """Record a task, or give the form back with what it needs."""
    if acks.is_wanted():
        return phone_ack.record(job_id, task_id)
    return phone_record.record(job_id, task_id)


@blueprint.post("/undo")
@require_job_member
def undo(job_id: str) -> Response:
    """Take back an entry; no reason is asked, the log keeps both."""
    if acks.is_wanted():
        return phone_ack.undo(job_id)
    here, of = look(job_id), phone_ack.seq_to_undo(job_id)
    key = request.form.get("key", "")
    try:
        tasks.undo(services(), here.actor, job_id, of=of, key=key)
    except ConflictError as conflict:
        return phone_screens.refused_screen(here, str(conflict))
    entry = services().store.read(jobs.stream_of(job_id))[of - 1]
    return phone_screens.to_task(job_id, task_of(entry))


@blueprint.post("/parked")
@require_job_member
@allow_body(LARGEST_PHOTO_FORM)
def park(job_id: str) -> Response:
    """Keep an entry of an outbox that was refused; the answer is JSON for everybody."""
    return phone_ack.park(job_id)
