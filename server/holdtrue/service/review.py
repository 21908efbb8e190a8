"""The lead's last word on a job: accept, accept with concession, or send back."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from holdtrue.domain import events
from holdtrue.domain.checklist import checklist, is_changing_plan_closed
from holdtrue.domain.errors import ConflictError, InputError
from holdtrue.domain.review import (
    ResidualRow,
    bars_to_accepting,
    has_done_work,
    outside,
    residual_rows,
    residual_words,
    work_since,
)
from holdtrue.domain.state import JobState
from holdtrue.service.jobs import Body, append, clean_text, require_lead, stream_of
from holdtrue.service.services import Actor, Services
from holdtrue.store.port import Entry

POINTS = ("seen", "log")


def accept(
    services: Services,
    actor: Actor,
    job_id: str,
    *,
    points: Mapping[str, str],
    concessions: Sequence[Mapping[str, str]] = (),
    seen_seq: int | None = None,
    key: str,
) -> Entry:
    """Accept the work, every point seen in person or taken from the log.

    ``concessions``: {residual, why, agreed_by} for each residual outside its tolerance.
    ``seen_seq``: the last entry the lead looked at; refused when the work went on behind it.
    """
    require_lead(actor)
    chosen, conceded = _clean_points(points), _clean_concessions(concessions)

    def decide(state: JobState) -> Body:
        entries = services.store.read(stream_of(job_id))[: state.seq]
        _require_not_behind(entries, seen_seq)
        bars = bars_to_accepting(state)
        if bars:
            raise ConflictError("This work cannot be accepted yet. " + " ".join(bars))
        _check_points(state, chosen)
        _check_concessions(outside(residual_rows(state)), conceded)
        return {"self_accepted": has_done_work(entries, actor.person)}

    return append(
        services,
        actor,
        job_id,
        events.WORK_ACCEPTED,
        key=key,
        asked={"points": chosen, "concessions": conceded},
        decide=decide,
    )


def _require_not_behind(entries: Sequence[Entry], seen_seq: int | None) -> None:
    if seen_seq is not None and work_since(entries, seen_seq):
        raise ConflictError("The log went on while you were looking. Look again, then decide.")


def _clean_points(points: Mapping[str, str]) -> dict[str, str]:
    for seat, how in points.items():
        if how not in POINTS:
            raise InputError(f"points.{seat}", how, "choose seen in person or from the log")
    return dict(points)


def _clean_concessions(concessions: Sequence[Mapping[str, str]]) -> list[dict[str, str]]:
    cleaned = []
    for i, given in enumerate(concessions):
        path = f"concessions[{i}]"
        cleaned.append(
            {
                "residual": clean_text(
                    f"{path}.residual", given.get("residual", ""), required=True
                ),
                "why": clean_text(f"{path}.why", given.get("why", ""), required=True),
                "agreed_by": clean_text(
                    f"{path}.agreed_by", given.get("agreed_by", ""), required=True
                ),
            }
        )
    return cleaned


def _check_points(state: JobState, points: Mapping[str, str]) -> None:
    for seat in state.form.seats:
        if seat not in points:
            raise InputError(f"points.{seat}", None, "choose seen in person or from the log")
    for seat in points:
        if seat not in state.form.seats:
            raise InputError(f"points.{seat}", seat, "is not a seat of this job")


def _check_concessions(rows: Sequence[ResidualRow], concessions: list[dict[str, str]]) -> None:
    named = [given["residual"] for given in concessions]
    for i, name in enumerate(named):
        if name not in {row.name for row in rows} or name in named[:i]:
            raise InputError(
                f"concessions[{i}].residual", name, "name each residual outside its tolerance once"
            )
    for row in rows:
        if row.name not in named:
            words = residual_words(row.kind, row.where)
            raise InputError(
                f"concession {row.name}",
                None,
                f"{words} is outside its tolerance: say why it may stay and who agreed, or send "
                "the work back",
            )


def send_back(
    services: Services,
    actor: Actor,
    job_id: str,
    *,
    why: str,
    tasks: Sequence[str],
    seen_seq: int | None = None,
    key: str,
) -> Entry:
    """Send the work back with tasks to do again; what was recorded stays in the log."""
    require_lead(actor)
    asked: dict[str, Any] = {
        "why": clean_text("why", why, required=True),
        "tasks": sorted(set(tasks)),
    }

    def decide(state: JobState) -> Body:
        entries = services.store.read(stream_of(job_id))[: state.seq]
        _require_not_behind(entries, seen_seq)
        if state.review.state != "handed_over":
            raise ConflictError("Only work that was handed over can be sent back.")
        known = {task.id: task for task in checklist(state)}
        for task_id in asked["tasks"]:
            task = known.get(task_id)
            if task is None:
                raise InputError("tasks", task_id, "is not a task of this job")
            if not task.kind.has_plan and is_changing_plan_closed(state, task):
                raise InputError(
                    "tasks", task_id, "cannot be done again, there are holes: change the plan"
                )
        if not asked["tasks"]:
            raise InputError("tasks", None, "choose at least one task to do again")
        return {}

    return append(
        services, actor, job_id, events.WORK_SENT_BACK, key=key, asked=asked, decide=decide
    )
