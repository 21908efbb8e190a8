"""What the outbox of a phone posts: the same commands as the forms, answered in JSON.

The phone has asked its own questions (is this what you read? are you sure?) before it queued the
entry, so none is asked here: an entry is stored, or refused with words.
"""

from __future__ import annotations

from collections.abc import Callable

from flask import Response, request, session

from holdtrue.domain.errors import (
    ConflictError,
    InputError,
    NotFoundError,
)
from holdtrue.domain.readings import DoubtError
from holdtrue.domain.review import photo_of
from holdtrue.service import jobs, parked, tasks
from holdtrue.service.services import entry_under
from holdtrue.store.port import Entry, KeyReusedError
from holdtrue.web import acks
from holdtrue.web.context import actor, services
from holdtrue.web.phone_here import look
from holdtrue.web.phone_typed import photo_sent, read_typed, tapped

USED = "This was sent before with other contents; the first ones are kept."


def answered(job_id: str, send: Callable[[], Entry]) -> Response:
    """Do it and say what became of it; errors not named here are said by ``errors``."""
    try:
        entry = send()
    except DoubtError as doubt:
        return acks.failed(
            doubt.status, f"{doubt.value} {doubt.remedy}.", field=doubt.path, doubt="1"
        )
    except InputError as error:
        return acks.refused_input(error)
    except KeyReusedError:
        return acks.failed(422, USED)
    return acks.stored(entry, jobs.state_of(services(), job_id).seq, _photo_bytes(entry))


def _photo_bytes(entry: Entry) -> int | None:
    """How much arrived of a photo that is on the disk by now, without what its camera wrote into
    it; None when there is none."""
    photo = photo_of(entry)
    if photo is None or services().store.get_blob(photo["sha256"]) is None:
        return None
    return len(photo_sent() or b"")


def record(job_id: str, task_id: str) -> Response:
    """A task."""
    return answered(job_id, lambda: _record(job_id, task_id))


def _record(job_id: str, task_id: str) -> Entry:
    raw = request.form.to_dict()
    here = look(job_id)
    typed = read_typed(raw, here.unit, is_sure=raw.get("sure") == "1")
    entry = tasks.record_task(
        services(), here.actor, job_id, task_id, typed, key=raw.get("key", ""), tapped=tapped()
    )
    if task_id == "join.ways":
        values = entry.body["values"]
        session.update(unit=values["unit"], hand=values["hand"])
    return entry


def undo(job_id: str) -> Response:
    """Take back an entry, named by its number or by the key the phone made for it."""
    return answered(job_id, lambda: _undo(job_id))


def _undo(job_id: str) -> Entry:
    key = request.form.get("key", "")
    of = seq_to_undo(job_id)
    return tasks.undo(services(), actor(), job_id, of=of, key=key, tapped=tapped())


def seq_to_undo(job_id: str) -> int:
    """The entry a form wants taken back; NotFoundError when it names none."""
    of_key = request.form.get("of_key", "")
    if of_key:
        known = entry_under(services().store.read(jobs.stream_of(job_id)), of_key)
        if known is None:
            raise ConflictError("What was to be taken back never arrived here.")
        return known.seq
    asked = request.form.get("of", "")
    if not (asked.isascii() and asked.isdigit() and len(asked) < 10):
        raise NotFoundError("There is nothing to undo there.")
    return int(asked)


def park(job_id: str) -> Response:
    """An entry that was refused, for the lead."""
    form = request.form
    return answered(
        job_id,
        lambda: parked.park(
            services(),
            actor(),
            job_id,
            task=form.get("task", ""),
            fields=form.get("fields", ""),
            words=form.get("words", ""),
            key=form.get("key", ""),
            tapped=tapped(),
            photo=photo_sent(),
        ),
    )
