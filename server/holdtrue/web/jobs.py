"""The lead's pages of jobs: the list, one job, its codes, its release, its files."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, Response, request, url_for

from holdtrue.core.lengths import format_length
from holdtrue.demo import demo_document
from holdtrue.domain.errors import ConflictError, InputError
from holdtrue.domain.floor import bow_line, floor_lines, floor_read, is_level, other_slope
from holdtrue.domain.logexport import log_document
from holdtrue.domain.ordering import order_reason
from holdtrue.domain.outlook import outlook
from holdtrue.domain.plainjson import read_json
from holdtrue.domain.shims import could_have_shims, usual_mm
from holdtrue.domain.state import JobState
from holdtrue.domain.subjects import panel_of_seat
from holdtrue.service import installers, jobs, members
from holdtrue.web import htmx
from holdtrue.web.chances import chance_lines, scatter_lines
from holdtrue.web.context import (
    actor,
    download_json,
    fetch_job,
    page,
    public_address,
    services,
    whole_number,
)
from holdtrue.web.home import show_jobs
from holdtrue.web.now import now_values
from holdtrue.web.parked import parked_views
from holdtrue.web.preview import plan_preview
from holdtrue.web.qr import qr_svg
from holdtrue.web.security import allow_body, require_job_member, require_lead

blueprint = Blueprint("jobs", __name__, url_prefix="/jobs")

LARGEST_JOB_FILE = 2 * 1024 * 1024
WAYS = {
    "fasteners_first": "All fasteners first, then the panels",
    "panel_by_panel": "Panel by panel: hung edges are the best datum for the next",
}
HOLD_NAMES = {
    "first_hole": "before the first hole",
    "first_lift": "before the first lift",
    "leave": "before the crew leaves",
}
"""Hold points the lead may ask for: nothing goes on until the lead says so."""


@blueprint.post("/demo")
@require_lead
def open_demo() -> Response:
    """Make the demo job of this form; a second tap opens the same one."""
    job_id = jobs.create_job(services(), actor(), document=demo_document(), key=_key())
    return htmx.go_to(url_for("jobs.show", job_id=job_id))


@blueprint.post("/upload")
@require_lead
@allow_body(LARGEST_JOB_FILE)
def upload() -> Response:
    """Bring in a job file."""
    try:
        job_id = jobs.create_job(services(), actor(), document=_uploaded(), key=_key())
    except InputError as error:
        return show_jobs(422, error=str(error))
    return htmx.go_to(url_for("jobs.show", job_id=job_id))


def _uploaded() -> dict[str, Any]:
    sent = request.files.get("file")
    if sent is None or not sent.filename:
        raise InputError("file", None, "choose a job file, NAME.job.json")
    document = read_json(sent.read(), "file")
    if not isinstance(document, dict):
        raise InputError("file", sent.filename, "must hold one object {...}")
    return document


@blueprint.get("/<job_id>")
@require_lead
def show(job_id: str) -> Response:
    return _show(job_id)


def _show(job_id: str, status: int = 200, **said: Any) -> Response:
    state = fetch_job(job_id)
    names = members.names(services(), state)
    forecast = outlook(state)
    return page(
        "job/job.html",
        status,
        **now_values(job_id, state),
        seen=plan_preview(state.current),
        joined=_joined_by_code(state),
        names=names,
        parked=parked_views(job_id, state, names),
        ways=WAYS,
        hold_names=HOLD_NAMES,
        chances=(*chance_lines(forecast), *scatter_lines(state)),
        shims=shim_offer(state) if forecast.are_shims_offered else "",
        order=driven_in(state),
        why_order=order_reason(state),
        floor=_floor(state),
        bow=bow_line(state),
        **{**_released_before(state), **said},
    )


def _floor(state: JobState) -> str:
    """How the floor lies, where it was read, is not level, and the work does not follow it."""
    read = floor_read(state)
    if read is None or is_level(state, read):
        return ""
    is_followed = read.slope_mm_per_m is not None and other_slope(state, read) is None
    return "" if is_followed else floor_lines(state, read)[0]


def _released_before(state: JobState) -> dict[str, Any]:
    """What the release form starts from: the release that stands, when there is one."""
    if state.release is None:
        return {"way": "fasteners_first", "holds": (), "next_day": False, "by_hand": ""}
    before = state.release
    return {
        "way": before.way,
        "holds": before.holds,
        "next_day": before.next_day,
        "by_hand": ", ".join(state.by_hand),
    }


def driven_in(state: JobState) -> str:
    """The seats in the order they are driven, panel by panel.

    For an order of two panels: "B2, B1; A1, A2".
    """
    by_panel: dict[str, list[str]] = {}
    for seat in state.order:
        by_panel.setdefault(panel_of_seat(seat), []).append(seat)
    return "; ".join(", ".join(seats) for seats in by_panel.values())


def _joined_by_code(state: JobState) -> dict[str, list[str]]:
    """Names per code, since a code may be shared by a crew."""
    joined: dict[str, list[str]] = {}
    for installer in state.installers.values():
        joined.setdefault(installer.code, []).append(installer.name)
    return joined


@blueprint.post("/<job_id>/release")
@require_lead
def release(job_id: str) -> Response:
    reason = request.form.get("reason", "")
    holds = tuple(request.form.getlist("holds"))
    try:
        jobs.release(
            services(),
            actor(),
            job_id,
            reason=reason,
            agreed=request.form.get("agreed", ""),
            way=request.form.get("way", ""),
            holds=holds,
            next_day="next_day" in request.form,
            order=request.form.get("order", ""),
            key=_key(),
            revision=whole_number("revision"),
        )
    except (InputError, ConflictError) as error:
        return _show(
            job_id,
            error.status,
            reason=reason,
            agreed=request.form.get("agreed", ""),
            by_hand=request.form.get("order", ""),
            **_release_error(error),
            holds=holds,
            way=request.form.get("way"),
            next_day="next_day" in request.form,
        )
    return htmx.go_to(url_for("jobs.show", job_id=job_id))


def _release_error(error: InputError | ConflictError) -> dict[str, str]:
    """What is wrong, said at its own place where it has one."""
    if not isinstance(error, InputError):
        return {"release_error": str(error)}
    if error.path == "order":
        return {"order_error": f"{error.value} {error.remedy}"}
    if error.path == "agreed":
        return {"agreed_error": error.remedy}
    return {"release_error": error.remedy}


def shim_offer(state: JobState) -> str:
    """What planning shims in the rings would change."""
    panels, thick = could_have_shims(state.job), usual_mm(state.job)
    lower = format_length(thick, state.job.unit, graduation_mm=state.job.graduation_mm)
    return (
        f"Rings of {', '.join(panels)}: every mark {lower} lower, and before each lift shims are "
        "laid as thick as the measured seats ask for."
    )


@blueprint.post("/<job_id>/shims")
@require_lead
def plan_shims(job_id: str) -> Response:
    """Plan shims in the rings: a new revision."""
    try:
        jobs.plan_shims(services(), actor(), job_id, key=_key(), revision=whole_number("revision"))
    except ConflictError as error:
        return _show(job_id, error.status, shims_error=str(error))
    return htmx.go_to(url_for("jobs.show", job_id=job_id))


@blueprint.post("/<job_id>/invite")
@require_lead
def invite(job_id: str) -> Response:
    label = request.form.get("label", "")
    try:
        code = installers.invite_installer(services(), actor(), job_id, label=label, key=_key())
    except InputError as error:
        return _show(job_id, 422, label=label, label_error=error.remedy)
    link = public_address() + url_for("join.show", code=code)
    short = public_address() + url_for("join.follow", code=code)
    qr = qr_svg(short, "QR code of the link to join")
    return _show(job_id, code=code, join_link=link, join_qr=qr)


@blueprint.post("/<job_id>/revoke")
@require_lead
def revoke(job_id: str) -> Response:
    digest = request.form.get("code", "")
    installers.revoke_code(services(), actor(), job_id, code=digest, key=_key())
    return htmx.go_to(url_for("jobs.show", job_id=job_id))


@blueprint.get("/<job_id>/job.json")
@require_job_member
def job_file(job_id: str) -> Response:
    """The job file as measured so far: what the next venue starts from."""
    return download_json(fetch_job(job_id).document, f"{jobs.issued_id(job_id)}.job.json")


@blueprint.get("/<job_id>/log.json")
@require_job_member
def log_file(job_id: str) -> Response:
    state = fetch_job(job_id)
    entries = services().store.read(jobs.stream_of(job_id))
    names = members.names(services(), state)
    return download_json(log_document(entries, state, names), f"{jobs.issued_id(job_id)}.log.json")


def _key() -> str:
    return request.form.get("key", "")
