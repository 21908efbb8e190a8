"""The lead's review of a job: look, then accept, accept with concession, or send back."""

from __future__ import annotations

import json
from collections.abc import Mapping

from flask import Blueprint, Response, request, url_for

from holdtrue.domain.errors import ConflictError, InputError, NotFoundError
from holdtrue.domain.review import photos
from holdtrue.service import bundles, jobs, members, parked, review
from holdtrue.web import htmx
from holdtrue.web.context import actor, fetch_job, page, services, whole_number
from holdtrue.web.parked import parked_views
from holdtrue.web.reviewpage import review_view
from holdtrue.web.security import require_job_member, require_lead

blueprint = Blueprint("review", __name__)

JOB_LINK = ("Review", "review.show")
QUICK = {
    "log": "Every point from the log",
    "seen": "Every point seen in person",
    "each": "As chosen for each point below",
}
PHOTO_TYPES = frozenset({"image/jpeg", "image/png", "image/webp"})


@blueprint.get("/jobs/<job_id>/review")
@require_lead
def show(job_id: str) -> Response:
    return _show(job_id)


def _show(
    job_id: str,
    status: int = 200,
    *,
    typed: Mapping[str, str] | None = None,
    tasks: tuple[str, ...] = (),
    errors: Mapping[str, str] | None = None,
) -> Response:
    state = fetch_job(job_id)
    entries = services().store.read(jobs.stream_of(job_id))[: state.seq]
    names = members.names(services(), state)
    return page(
        "review/review.html",
        status,
        job_id=job_id,
        state=state,
        seen=review_view(state, entries, names),
        names=names,
        parked=parked_views(job_id, state, names),
        quick=QUICK,
        typed=typed or {},
        chosen_tasks=tasks,
        errors=errors or {},
    )


@blueprint.post("/jobs/<job_id>/review/accept")
@require_lead
def accept(job_id: str) -> Response:
    state = fetch_job(job_id)
    try:
        review.accept(
            services(),
            actor(),
            job_id,
            points=_points(state.form.seats),
            concessions=_concessions(),
            seen_seq=whole_number("seq"),
            key=request.form.get("key", ""),
        )
    except (InputError, ConflictError) as error:
        return _refused(job_id, error)
    return htmx.go_to(url_for("review.show", job_id=job_id))


def _points(seats: tuple[str, ...]) -> dict[str, str]:
    """Per seat what was chosen for it, or for all at once; seats without a choice are left out."""
    quick = request.form.get("all", "")
    if quick not in QUICK:
        raise InputError("all", None, "choose whether the points were seen or taken from the log")
    chosen = {seat: request.form.get(f"point:{seat}", "") for seat in seats}
    if quick != "each":
        return dict.fromkeys(seats, quick)
    return {seat: how for seat, how in chosen.items() if how}


def _concessions() -> list[dict[str, str]]:
    """Those in which anything was typed; the rest is for the service to miss."""
    found = []
    for i, name in enumerate(request.form.getlist("residual")):
        why, agreed = (request.form.get(f"{field}-{i}", "") for field in ("why", "agreed"))
        if why.strip() or agreed.strip():
            found.append({"residual": name, "why": why, "agreed_by": agreed})
    return found


def _refused(job_id: str, error: InputError | ConflictError) -> Response:
    """The page again with everything typed and what is wrong at its place."""
    said = {"form": str(error)}
    if isinstance(error, InputError):
        said = {error.path: error.remedy, "form": error.remedy}
    tasks = tuple(request.form.getlist("tasks"))
    return _show(job_id, error.status, typed=request.form, tasks=tasks, errors=said)


@blueprint.post("/jobs/<job_id>/review/send-back")
@require_lead
def send_back(job_id: str) -> Response:
    try:
        review.send_back(
            services(),
            actor(),
            job_id,
            why=request.form.get("why", ""),
            tasks=request.form.getlist("tasks"),
            seen_seq=whole_number("seq"),
            key=request.form.get("key", ""),
        )
    except (InputError, ConflictError) as error:
        return _refused(job_id, error)
    return htmx.go_to(url_for("review.show", job_id=job_id))


@blueprint.get("/jobs/<job_id>/photos/<digest>")
@require_job_member
def photo(job_id: str, digest: str) -> Response:
    """A photo of this job, and of no other: the digest must stand in its log."""
    entries = services().store.read(jobs.stream_of(job_id))
    found = next((one for one in photos(entries) if one.digest == digest), None)
    data = services().store.get_blob(digest) if found else None
    is_picture = found is not None and found.kind in PHOTO_TYPES
    if found is None or data is None or not (is_picture or found.is_parked):
        raise NotFoundError("There is no such photo in this job.")
    # what a phone sent for a photo and is no picture is never shown, only handed out
    response = Response(data, mimetype=found.kind if is_picture else parked.NO_PICTURE)
    response.headers["Content-Disposition"] = "inline" if is_picture else "attachment"
    return response


@blueprint.get("/jobs/<job_id>/bundle.json")
@require_lead
def bundle(job_id: str) -> Response:
    """The job with its whole log and photos, for another server or for keeping."""
    document = bundles.bundle_of(services(), actor(), job_id)
    response = Response(json.dumps(document, indent=1) + "\n", mimetype="application/json")
    name = f"{document['job']}.bundle.json"
    response.headers["Content-Disposition"] = f'attachment; filename="{name}"'
    return response
