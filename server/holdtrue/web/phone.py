"""The job on a phone."""

from __future__ import annotations

from flask import Blueprint, Response

from holdtrue.web.context import fetch_job, page
from holdtrue.web.security import require_job_member

blueprint = Blueprint("phone", __name__)

JOB_LINK = ("Phone", "phone.show")


@blueprint.get("/jobs/<job_id>/phone")
@require_job_member
def show(job_id: str) -> Response:
    return page("phone/show.html", job_id=job_id, state=fetch_job(job_id))
