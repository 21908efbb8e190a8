"""Something is in the way: what was found, another fastener, a seat given up, a stop.

One page of one-tap answers for a seat. A stop locks the seat and all near it; only the lead clears
it, in writing.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from flask import Blueprint, Response, request, url_for

from holdtrue.core.model import Fastener
from holdtrue.core.wall import Behind, into_wanted
from holdtrue.domain import events
from holdtrue.domain.errors import ConflictError, InputError, NotFoundError
from holdtrue.domain.subjects import panel_of_seat
from holdtrue.service import tasks
from holdtrue.store.port import Entry, KeyReusedError
from holdtrue.web import acks, phone_ack
from holdtrue.web.context import services
from holdtrue.web.phone_fields import hole_inputs
from holdtrue.web.phone_here import Here, look, screen, stored
from holdtrue.web.phone_screens import stop_screen, to_result
from holdtrue.web.phone_typed import read_in, tapped
from holdtrue.web.phone_words import load_words
from holdtrue.web.security import require_job_member, require_lead

blueprint = Blueprint("way", __name__)


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """One button: what it sends, and its words."""

    value: str
    words: str
    note: str = ""


STOPS = (
    Answer(value="stop:cable", words="Cable suspected"),
    Answer(value="stop:pipe", words="Pipe suspected"),
    Answer(value="stop:other", words="Other danger"),
)
BEHIND = (
    Answer(value="found:stud:wood", words="Wood stud"),
    Answer(value="found:steel:steel", words="Steel stud"),
    Answer(value="found:hollow:", words="Hollow"),
    Answer(value="found:backed:", words="Board behind"),
    Answer(value="found:solid:", words="Solid"),
    Answer(value="found:stud:unknown", words="Stud, not known which"),
)


@blueprint.get("/way/<path:seat>")
@require_job_member
def show(job_id: str, seat: str) -> Response:
    """The answers for one seat."""
    return _form(look(job_id), seat)


@blueprint.post("/way/<path:seat>")
@require_job_member
def record(job_id: str, seat: str) -> Response:
    """One answer; what was typed as a note stays when it is refused."""
    here = look(job_id)
    note = request.form.get("note", "")
    if acks.is_wanted():
        return phone_ack.answered(job_id, lambda: _recorded(here, seat, note))
    try:
        entry = _recorded(here, seat, note)
    except InputError as error:
        said = f"{error.value} {error.remedy}" if error.path == "fastener" else error.remedy
        is_hole = error.path.startswith("hole.")
        errors = {error.path: error.remedy} if is_hole else {}
        return _form(
            here, seat, status=422, error="" if is_hole else said, note=note, errors=errors
        )
    except ConflictError as conflict:
        return _form(look(job_id), seat, status=409, error=str(conflict), note=note)
    except KeyReusedError:
        words = "this screen was sent before, and that is kept; tap once more if it is still so"
        return _form(look(job_id), seat, status=422, error=words, note=note)
    if entry.type == events.STOP_CALLED:
        return _to_stop(job_id, entry.seq)
    return to_result(job_id, entry.seq)


def _form(
    here: Here,
    seat: str,
    *,
    status: int = 200,
    error: str = "",
    note: str = "",
    errors: Mapping[str, str] | None = None,
) -> Response:
    state = here.state
    if seat not in state.form.seats:
        raise NotFoundError("This job has no such seat.")
    typed = hole_inputs(here.unit, request.form, errors or {})
    return screen(
        here,
        "_way.html",
        title=f"In the way at {seat}",
        status=status,
        stage="fasteners",
        seat=seat,
        back=next((t for t in here.tasks if t.id == request.args.get("back")), None),
        stops=STOPS,
        behind=BEHIND,
        others=_other_fasteners(here, seat),
        has={
            "hole": state.is_drilled(seat),
            "fastener": seat in state.holes,
            "reading": seat in state.set_seats,
        },
        panel=panel_of_seat(seat),
        hole_inputs=typed,
        is_hole_open=any(one.text or one.error for one in typed),
        error=error,
        note=note,
        stands=request.form.get("stands", here.state.seq) if status == 422 else here.state.seq,
    )


def _other_fasteners(here: Here, seat: str) -> tuple[Answer, ...]:
    """The other fasteners listed for what is behind the seat, with what they may carry."""
    row = here.state.seat(seat)
    wanted = into_wanted(Behind(into=row.into, material=row.material))
    return tuple(
        Answer(value=f"use:{k}", words=f"Use {f.name}", note=_fastener_note(here, f))
        for k, f in enumerate(here.state.job.fasteners)
        if f.into == wanted and f != row.fastener
    )


def _fastener_note(here: Here, fastener: Fastener) -> str:
    allowed = fastener.allowed_N
    words = "allowed load not known" if allowed is None else load_words(allowed, here.unit)
    return f"for {INTO[fastener.into]}; {words}{' allowed' if allowed is not None else ''}"


INTO: Mapping[str, str] = MappingProxyType(
    {
        "hollow": "a hollow wall",
        "stud": "a wood stud",
        "steel": "a steel stud",
        "backed": "a backed wall",
        "solid": "a solid wall",
    }
)


def _recorded(here: Here, seat: str, note: str) -> Entry:
    what, _, rest = request.form.get("what", "").partition(":")
    send = _SENDS.get(what)
    if send is None:
        raise InputError("what", what, "tap what is in the way")
    return send(here, seat, rest, note)


# -- what is sent ---------------------------------------------------------------------------------


def _key() -> str:
    return request.form.get("key", "")


def _stands() -> str | None:
    """The job's last entry when the page was shown."""
    return request.form.get("stands")


def _stop(here: Here, seat: str, rest: str, note: str) -> Entry:
    return tasks.call_stop(
        services(),
        here.actor,
        here.job_id,
        seat,
        what=rest,
        note=note,
        key=_key(),
        tapped=tapped(),
        stands=_stands(),
    )


def _found(here: Here, seat: str, rest: str, note: str) -> Entry:
    found, _, material = rest.partition(":")
    return tasks.block_seat(
        services(),
        here.actor,
        here.job_id,
        seat,
        found=found,
        material=material,
        note=note,
        key=_key(),
        tapped=tapped(),
        stands=_stands(),
    )


def _use(here: Here, seat: str, rest: str, note: str) -> Entry:
    """Another listed fastener, named by its place in the list; what is behind stays as it is."""
    listed = here.state.job.fasteners
    is_place = rest.isascii() and rest.isdigit() and len(rest) < 4 and int(rest) < len(listed)
    if not is_place:
        raise InputError("what", rest, "choose one of the listed fasteners")
    return tasks.block_seat(
        services(),
        here.actor,
        here.job_id,
        seat,
        found="same",
        fastener=listed[int(rest)].name,
        note=note,
        key=_key(),
        tapped=tapped(),
        stands=_stands(),
    )


def _free(here: Here, seat: str, rest: str, note: str) -> Entry:
    return tasks.free_seat(
        services(),
        here.actor,
        here.job_id,
        seat,
        why=rest,
        hole=request.form,
        unit=read_in(request.form, here.unit),
        note=note,
        key=_key(),
        tapped=tapped(),
        stands=_stands(),
    )


_SENDS: Mapping[str, Callable[[Here, str, str, str], Entry]] = MappingProxyType(
    {"stop": _stop, "found": _found, "use": _use, "free": _free}
)


# -- stops ----------------------------------------------------------------------------------------


@blueprint.get("/stop/<int:seq>")
@require_job_member
def show_stop(job_id: str, seq: int) -> Response:
    """A stop, open or cleared."""
    return _stop_at(job_id, seq)


def _stop_at(
    job_id: str,
    seq: int,
    *,
    url: str | None = None,
    status: int = 200,
    error: str = "",
    note: str = "",
) -> Response:
    here = look(job_id)
    stop = next((stop for stop in here.state.stops if stop.seq == seq), None)
    if stop is None:
        raise NotFoundError("There is no such stop.")
    return stop_screen(here, stop, url=url, status=status, error=error, note=note)


def _to_stop(job_id: str, seq: int) -> Response:
    url = url_for("phone.way.show_stop", job_id=job_id, seq=seq)
    return stored(url, lambda: _stop_at(job_id, seq, url=url))


@blueprint.post("/stop/<int:seq>")
@require_lead
def clear(job_id: str, seq: int) -> Response:
    """The lead clears a stop; the note says why it is safe."""
    note = request.form.get("note", "")
    try:
        tasks.clear_stop(services(), look(job_id).actor, job_id, stop=seq, note=note, key=_key())
    except InputError as error:
        return _stop_at(job_id, seq, status=422, error=error.remedy, note=note)
    except KeyReusedError:
        words = "this form was sent before with another note; that one is kept"
        return _stop_at(job_id, seq, status=422, error=words, note=note)
    except ConflictError as conflict:
        return _stop_at(job_id, seq, status=409, error=str(conflict), note=note)
    return _to_stop(job_id, seq)
