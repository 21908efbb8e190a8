"""What waits for the lead, and how far a job is: a page of its own, and a part of the job's page.

With htmx the part asks for itself again every few seconds; 204 says that nothing changed.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from flask import Blueprint, Response, request, url_for

from holdtrue.domain.calls import Call, calls
from holdtrue.domain.checklist import checklist
from holdtrue.domain.events import JOB_CREATED
from holdtrue.domain.state import JobState
from holdtrue.domain.timeline import Line, latest
from holdtrue.service import jobs, members
from holdtrue.web import htmx
from holdtrue.web.context import fetch_job, page_or_fragment, services
from holdtrue.web.security import require_lead

blueprint = Blueprint("now", __name__, url_prefix="/jobs/<job_id>")


@dataclass(frozen=True, slots=True, kw_only=True)
class Wait:
    """One thing that waits for the lead, and where it is answered."""

    text: str
    url: str


@blueprint.get("/now")
@require_lead
def show(job_id: str) -> Response:
    """The job as it stands; nothing new since the entry ``?since=`` names is a 204."""
    state = fetch_job(job_id)
    if htmx.wants_fragment() and request.args.get("since") == str(state.seq):
        return Response(status=204)
    return page_or_fragment("job/now.html", "job/_now.html", **now_values(job_id, state))


def now_values(job_id: str, state: JobState) -> dict[str, Any]:
    """What the part of the page is filled with."""
    tasks = [task for task in checklist(state) if task.is_done or not task.kind.is_optional]
    return {
        "job_id": job_id,
        "state": state,
        "waits": waits_of(job_id, state),
        "done": sum(task.is_done for task in tasks),
        "total": len(tasks),
        "last": _last(job_id, state),
    }


def waits_of(job_id: str, state: JobState) -> tuple[Wait, ...]:
    """What waits for the lead of this job, each with its link."""
    return tuple(Wait(text=call.text, url=_url(job_id, state, call)) for call in calls(state))


def _url(job_id: str, state: JobState, call: Call) -> str:
    match call.answered:
        case "stop":
            return url_for("phone.way.show_stop", job_id=job_id, seq=int(call.at))
        case "task":
            return url_for("phone.show_task", job_id=job_id, task_id=call.at)
        case "review":
            return url_for("review.show", job_id=job_id)
        case part:
            # with the number of the entry: on the job's own page a bare part would load nothing new
            return url_for("jobs.show", job_id=job_id, at=state.seq, _anchor=part)


def _last(job_id: str, state: JobState) -> Line | None:
    """The latest entry in words; None while there is only the job itself."""
    entries = services().store.read(jobs.stream_of(job_id))[: state.seq]
    if entries[-1].type == JOB_CREATED:
        return None
    return latest(entries, members.names(services(), state), state.job.unit)
