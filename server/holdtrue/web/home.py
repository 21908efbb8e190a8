"""GET /: the sign-in page, the lead's job list, or the installer's way to their job."""

from __future__ import annotations

from dataclasses import dataclass

from flask import Blueprint, Response, redirect, url_for
from werkzeug.wrappers import Response as AnyResponse

from holdtrue.domain.errors import UnreadableEntryError
from holdtrue.domain.state import JobState
from holdtrue.service import jobs
from holdtrue.store.port import StoreBrokenError
from holdtrue.web.context import page, services, viewer
from holdtrue.web.now import Wait, waits_of
from holdtrue.web.security import anyone

blueprint = Blueprint("home", __name__)


@blueprint.get("/")
@anyone
def index() -> AnyResponse:
    who = viewer()
    if who is None:
        return page("home/sign_in.html")
    if not who.is_lead:
        return redirect(url_for("phone.show", job_id=who.job), code=303)
    return show_jobs()


@dataclass(frozen=True, slots=True, kw_only=True)
class Listed:
    """A line of the job list."""

    id: str
    title: str
    says: str
    waits: tuple[Wait, ...] = ()


def show_jobs(status: int = 200, error: str | None = None) -> Response:
    """The lead's job list, the newest first."""
    found: list[tuple[str, Listed]] = []
    unreadable: list[Listed] = []
    for job_id in jobs.job_ids(services()):
        try:
            state = jobs.state_of(services(), job_id)
        except (UnreadableEntryError, StoreBrokenError) as trouble:
            # one damaged job must not shut the others, nor vanish from the list
            unreadable.append(Listed(id=job_id, title=f"Job {job_id}", says=_trouble(trouble)))
            continue
        listed = Listed(
            id=job_id,
            title=state.job.title,
            says=in_words(state),
            waits=waits_of(job_id, state),
        )
        found.append((state.created, listed))
    found.sort(key=lambda pair: pair[0], reverse=True)
    shown = unreadable + [listed for _, listed in found]
    return page("home/jobs.html", status, jobs=shown, error=error)


def _trouble(trouble: Exception) -> str:
    """Why a job cannot be opened; a store's own words name files, which are for the log."""
    if isinstance(trouble, UnreadableEntryError):
        return str(trouble)
    return "cannot be read: its file is damaged; run holdtrue check"


def in_words(state: JobState) -> str:
    """How far a job is, in a few words."""
    if state.open_stops:
        return "stopped"
    if state.review.state != "open":
        return REVIEWED[state.review.state]
    if not state.is_released:
        return "planning"
    return f"{len(state.set_seats)} of {len(state.plan.seats)} seats set"


REVIEWED = {
    "handed_over": "to review",
    "accepted": "accepted",
    "conceded": "accepted with concession",
    "sent_back": "sent back",
}
