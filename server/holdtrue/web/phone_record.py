"""Recording a task: its echo, its doubts, and what comes after."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from flask import Response, request, session

from holdtrue.domain.errors import ConflictError, InputError, NotFoundError
from holdtrue.domain.prefill import planned_values, read_like
from holdtrue.domain.readings import DoubtError, read_values
from holdtrue.domain.tasks import TASK_KINDS
from holdtrue.service import tasks
from holdtrue.service.meanwhile import late_plan, read_shown
from holdtrue.store.port import Entry, KeyReusedError
from holdtrue.web import htmx
from holdtrue.web.context import services
from holdtrue.web.phone_fields import (
    EMPTY_ROWS,
    Filled,
    initial,
    length_texts,
    not_echoed,
    signature,
)
from holdtrue.web.phone_fit import starting_values
from holdtrue.web.phone_form import EDGES, Ask, form_screen
from holdtrue.web.phone_here import Here, look
from holdtrue.web.phone_paper import paper_url
from holdtrue.web.phone_result import is_worth_a_screen
from holdtrue.web.phone_screens import refused_screen, to_result, to_task
from holdtrue.web.phone_turn import turn
from holdtrue.web.phone_typed import read_typed, tapped


def record(job_id: str, task_id: str) -> Response:
    """POST of a task's form."""
    here = look(job_id)
    kind = TASK_KINDS.get(task_id.partition(":")[0])
    if kind is None:
        raise NotFoundError("There is no such task.")
    raw = request.form.to_dict()
    if "more" in raw:
        return _again(here, task_id, raw, Ask(how="rows"), more_rows=_rows(raw) + EMPTY_ROWS)
    asked = _what_to_ask(here, task_id, raw)
    if asked is not None:
        return _again(here, task_id, raw, asked)
    try:
        entry = _record(here, task_id, raw)
    except DoubtError as doubt:
        return _again(here, task_id, raw, Ask(how="sure", words=_doubt_words(doubt)))
    except InputError as error:
        return _wrong(here, task_id, raw, error)
    except KeyReusedError:
        words = "This screen was sent before, and that is kept. Save once more to replace it."
        return _again(here, task_id, {**raw, "key": ""}, Ask(how="new key", words=words))
    except ConflictError as conflict:
        return _conflict(job_id, task_id, raw, conflict)
    return _after(here, entry)


def _rows(raw: Mapping[str, str]) -> int:
    text = raw.get("rows", "")
    return int(text) if text.isascii() and text.isdigit() and len(text) < 3 else 0


def _doubt_words(doubt: DoubtError) -> str:
    return f"{doubt.value} {doubt.remedy}."


def _record(here: Here, task_id: str, raw: Mapping[str, str]) -> Entry:
    kind = TASK_KINDS[task_id.partition(":")[0]]
    typed = read_typed(raw, here.unit, is_sure=_is_sure(raw, signature(kind, raw)))
    return tasks.record_task(
        services(),
        here.actor,
        here.job_id,
        task_id,
        typed,
        key=raw.get("key", ""),
        tapped=tapped(),
    )


def _is_sure(raw: Mapping[str, str], signed: str) -> bool:
    """Sure of these very texts; ``1`` is what a sheet typed in later says."""
    return raw.get("sure", "") in (signed, "1") if raw.get("sure") else False


def _what_to_ask(here: Here, task_id: str, raw: Mapping[str, str]) -> Ask | None:
    """What must be seen once more before anything is stored; None when nothing."""
    if tasks.is_stored(services(), here.job_id, raw.get("key", "")):
        return None  # a repeat of a form that is on disk needs no more questions
    kind = here.task(task_id).kind
    if raw.get("outcome") == "as_planned":
        return _as_planned_but_typed(here, task_id, raw)
    if not not_echoed(kind, raw):
        return None
    try:
        read_values(kind, raw, here.unit)
    except InputError:
        return None  # recording it says what is wrong, with the field
    return Ask(how="echo", words="Is this what you read?")


def _as_planned_but_typed(here: Here, task_id: str, raw: Mapping[str, str]) -> Ask | None:
    """Somebody typed a length and then tapped "As planned": which of the two?"""
    kind = TASK_KINDS[task_id.partition(":")[0]]
    if _is_sure(raw, signature(kind, raw)) or not kind.has_plan:
        return None
    planned = _plan_shown(here, task_id, raw)
    if "edge" in planned and raw.get("edge") in EDGES:
        planned = read_like(here.state, task_id, planned, {**planned, "edge": raw["edge"]})
    known = [initial(kind, starting_values(kind.name, planned), here.unit)]
    stands = here.state.records.get(task_id)
    if stands is not None:
        known.append(initial(kind, stands.values, here.unit))
    for name, text in length_texts(kind, raw):
        if all(texts.get(name) != text for texts in known):
            return Ask(how="which", words=f"You typed {text}, which is not the plan.")
    return None


def _plan_shown(here: Here, task_id: str, raw: Mapping[str, str]) -> Mapping[str, Any]:
    """The plan as the form had it: on a sheet of paper it may be an older one."""
    shown = read_shown(raw) if raw.get("late") == "1" else None
    then = late_plan(here.state, here.task(task_id), shown, raw.get("seen")) if shown else None
    return then or planned_values(here.state, task_id)


def _again(
    here: Here,
    task_id: str,
    raw: Mapping[str, str],
    ask: Ask,
    *,
    errors: Mapping[str, str] | None = None,
    more_rows: int = 0,
    status: int = 422,
) -> Response:
    """The form back, with everything typed still in it."""
    return form_screen(
        here,
        here.task(task_id),
        filled=Filled(raw=raw, errors=errors or {}, more_rows=more_rows or _rows(raw)),
        ask=ask,
        key=raw.get("key") or None,
        edge=raw.get("edge"),
        is_again="again" in raw,
        status=status,
    )


def _wrong(here: Here, task_id: str, raw: Mapping[str, str], error: InputError) -> Response:
    """The form back with the error at its field, or at its head when it has none there."""
    kind = TASK_KINDS[task_id.partition(":")[0]]
    named = {field.name for field in kind.fields}
    field = re.split(r"[.\[]", error.path, maxsplit=1)[0]
    words = "" if field in named else _plain(error)
    key = "" if error.path == "key" else raw.get("key", "")
    errors = {error.path: error.remedy} if field in named else {}
    return _again(here, task_id, {**raw, "key": key}, Ask(how="wrong", words=words), errors=errors)


def _plain(error: InputError) -> str:
    return error.remedy[:1].upper() + error.remedy[1:] + "."


def _conflict(
    job_id: str, task_id: str, raw: Mapping[str, str], conflict: ConflictError
) -> Response:
    """What stands in the way, said on the task's own screen as it is now."""
    here = look(job_id)
    task = next((t for t in here.tasks if t.id == task_id), None)
    if task is None or task.status in ("waiting", "stopped"):
        names = {field.name: field.label for field in TASK_KINDS[task_id.partition(":")[0]].fields}
        typed = {names[name]: text for name, text in raw.items() if name in names}
        return refused_screen(here, str(conflict), task=task, typed=typed)
    return _again(here, task_id, raw, Ask(how="moved", words=str(conflict)), status=409)


# -- after ----------------------------------------------------------------------------------------


def _after(before: Here, entry: Entry) -> Response:
    """To what the entry changed, else to the next task."""
    job_id, task_id = before.job_id, str(entry.body["task"])
    if entry.body["paper"] and "sheet" in request.form:
        return htmx.go_to(paper_url(look(job_id), task_id, request.form, entry.seq))
    if task_id == "join.ways":
        session.update(unit=entry.body["values"]["unit"], hand=entry.body["values"]["hand"])
        here = look(job_id)
        # a whole new page: the hand is set on its outermost element
        return htmx.go_to(here.task_url(here.next_task(task_id)))
    if is_worth_a_screen(turn(job_id, entry)):
        return to_result(job_id, entry.seq)
    upcoming = look(job_id).next_task(task_id)
    return to_task(job_id, upcoming.id if upcoming else None, saved=entry.seq)
