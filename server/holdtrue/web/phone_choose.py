"""What is asked for on the result of a reading: one of the choices, or a learned drop taken over.

Forms of one button each; they need the server.
"""

from __future__ import annotations

from collections.abc import Callable

from flask import Blueprint, Response, request

from holdtrue.domain.errors import ConflictError, InputError
from holdtrue.service import choosing
from holdtrue.store.port import Entry, KeyReusedError
from holdtrue.web.context import services
from holdtrue.web.phone_here import Here, look
from holdtrue.web.phone_screens import refused_screen, to_result, to_task
from holdtrue.web.security import require_job_member

blueprint = Blueprint("choose", __name__)


@blueprint.post("/choose/<path:seat>")
@require_job_member
def choose(job_id: str, seat: str) -> Response:
    """One choice about a seat."""
    here = look(job_id)
    form = request.form

    def send() -> Entry:
        return choosing.choose(
            services(),
            here.actor,
            job_id,
            seat,
            choice=form.get("choice", ""),
            of=_number(form.get("of", "")),
            note=form.get("note", ""),
            key=form.get("key", ""),
        )

    entry = _sent(here, send)
    if isinstance(entry, Response):
        return entry
    if entry.body["choice"] in ("correct", "move_hanger"):
        return to_result(job_id, entry.seq)
    upcoming = look(job_id).next_task(f"fasteners.measure:{seat}")
    return to_task(job_id, upcoming.id if upcoming else None, saved=entry.seq)


@blueprint.post("/drop/<int:place>")
@require_job_member
def drop(job_id: str, place: int) -> Response:
    """Take a learned drop over; back to the reading that taught it."""
    here = look(job_id)
    listed = here.state.job.fasteners
    form = request.form

    def send() -> Entry:
        if place >= len(listed):
            raise InputError("fastener", str(place), "choose one of the listed fasteners")
        return choosing.learn_drop(
            services(),
            here.actor,
            job_id,
            fastener=listed[place].name,
            drop_mm=_length(form.get("drop", "")),
            key=form.get("key", ""),
        )

    entry = _sent(here, send)
    if isinstance(entry, Response):
        return entry
    return to_result(job_id, entry.seq)


def _sent(here: Here, send: Callable[[], Entry]) -> Entry | Response:
    """The entry, or the page that says why there is none."""
    try:
        return send()
    except KeyReusedError:
        return refused_screen(here, "This was sent before, and that is kept.")
    except (ConflictError, InputError) as error:
        words = error.remedy if isinstance(error, InputError) else str(error)
        return refused_screen(look(here.job_id), words)


def _number(text: str) -> int:
    if not (text.isascii() and text.isdigit() and len(text) < 10):
        raise InputError("of", text, "open the result again")
    return int(text)


def _length(text: str) -> float:
    try:
        value = float(text) if len(text) < 30 else float("nan")
    except ValueError as error:
        raise InputError("drop", text, "open the result again") from error
    if not abs(value) < 1000.0:
        raise InputError("drop", text, "open the result again")
    return value
