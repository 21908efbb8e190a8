"""A job as one person at the wall sees it, and how a screen of it is answered.

A screen is one fragment, ``<main id="main">``: alone when htmx asked, inside a whole page else. A
POST that stored something answers the next screen (htmx) or 303; a POST that stored nothing never
answers 2xx or 3xx, so that nothing queued on a phone is taken for stored.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from flask import Response, render_template, url_for

from holdtrue.domain import events
from holdtrue.domain.checklist import Task, checklist, next_task
from holdtrue.domain.errors import NotFoundError
from holdtrue.domain.ordering import order_reason
from holdtrue.domain.state import JobState
from holdtrue.domain.tasks import STAGES
from holdtrue.service import jobs, members, tasks
from holdtrue.service.services import Actor
from holdtrue.store.port import Entry
from holdtrue.web import htmx
from holdtrue.web.context import actor, fetch_job, page, services
from holdtrue.web.phone_fields import hole_inputs
from holdtrue.web.phone_heed import HeedLine, heed_lines
from holdtrue.web.phone_words import fmt
from holdtrue.web.security import MARK
from holdtrue.web.settings import preferences

_UNITS = {"ft": "in", "m": "mm"}
"""A job's unit as a tape reads it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Here:
    """The job now, who looks, and how they read lengths."""

    job_id: str
    state: JobState
    tasks: tuple[Task, ...]
    actor: Actor
    unit: str
    hand: str
    heeds: tuple[HeedLine, ...] = ()
    """What must be read before tasks."""
    panel_walls: dict[str, str] = field(default_factory=dict, compare=False, repr=False)
    """The wall with one panel in hand, by panel, as far as it was drawn for this request."""

    def heed(self, task: Task) -> tuple[str, ...]:
        """What must be read before this one."""
        return tuple(line.text for line in self.heeds if task.id in line.tasks)

    def fmt(self, mm: float) -> str:
        return fmt(mm, self.unit)

    def task(self, task_id: str) -> Task:
        for task in self.tasks:
            if task.id == task_id:
                return task
        raise NotFoundError("There is no such task in this job; the plan may have changed.")

    def next_task(self, after: str | None = None) -> Task | None:
        """The next task this person may do: of the same seat or panel first, then behind ``after``.

        A hold point of the lead's is next for others only when nothing else is ready.
        """
        own = [t for t in self.tasks if self.actor.is_lead or not t.kind.lead_only]
        done = next((t for t in own if t.id == after), None)
        if done is not None and done.panel is not None:
            near = [t for t in own if t.panel == done.panel and t.id != after]
            near = [t for t in near if t.kind.stage == done.kind.stage]
            # a hole begun is finished first, whatever the panel's own order
            found = next_task(t for t in near if t.subject == done.subject) or next_task(near)
            if found is not None:
                return found
        return next_task(own, after) or next_task(self.tasks, after)

    def task_url(self, task: Task | None, **query: Any) -> str:
        """The page of a task; of all tasks when there is none."""
        if task is None:
            return url_for("phone.overview", job_id=self.job_id, **query)
        return url_for("phone.show_task", job_id=self.job_id, task_id=task.id, **query)


def stage_note(here: Here, stage: str) -> str:
    """What is said of a stage as a whole: the fasteners' order, and why."""
    if stage != "fasteners":
        return ""
    return f"In the order {', '.join(here.state.order)}: {order_reason(here.state)}."


def look(job_id: str) -> Here:
    """The job as its log stands now, for whoever asks."""
    state, who, chosen = fetch_job(job_id), actor(), preferences()
    ways = state.ways.get(who.person, {})
    job_unit = _UNITS.get(state.job.unit, state.job.unit)
    return Here(
        # screens are kept and shared: one spelling of the id in all their addresses
        job_id=jobs.issued_id(job_id),
        state=state,
        tasks=checklist(state),
        actor=who,
        unit=ways.get("unit") or chosen.unit or job_unit,
        hand=ways.get("hand") or chosen.hand,
        heeds=heed_lines(state),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Bar:
    """Where you are and how much is left, in words and as one segment a stage."""

    stage: str
    number: int
    segments: tuple[str, ...]
    """done, now or open, one per stage."""
    done: int
    total: int
    left: int


def bar(here: Here, stage: str | None) -> Bar:
    """The stage bar with ``stage`` in hand; None: no stage (all tasks)."""
    counted = [t for t in here.tasks if t.is_done or not t.kind.is_optional]
    by_stage = {s.name: [t for t in counted if t.kind.stage == s.name] for s in STAGES}
    segments = tuple(
        "now" if s.name == stage else "done" if all(t.is_done for t in by_stage[s.name]) else "open"
        for s in STAGES
    )
    shown = next((s for s in STAGES if s.name == stage), None)
    own = by_stage[stage] if stage else counted
    return Bar(
        stage=shown.title if shown else "All tasks",
        number=STAGES.index(shown) + 1 if shown else 0,
        segments=segments,
        done=sum(task.is_done for task in own),
        total=len(own),
        left=sum(not task.is_done for task in counted),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Undo:
    """The entry this person may take back with one tap."""

    seq: int
    text: str
    task: str
    """The task it was about."""


def last_undo(here: Here) -> Undo | None:
    entry = tasks.last_own(services(), here.actor, here.job_id)
    if entry is None:
        return None
    return Undo(seq=entry.seq, text=entry_words(entry.body), task=task_of(entry))


def task_of(entry: Entry) -> str:
    """The task an entry is about: its own, or marking its seat."""
    if entry.type == events.TASK_RECORDED:
        return str(entry.body["task"])
    return f"fasteners.mark:{entry.body['seat']}" if "seat" in entry.body else ""


def entry_words(body: Any) -> str:
    """An entry in two or three words: its task's title, or its seat."""
    from holdtrue.domain.timeline import task_title

    return task_title(str(body["task"])) if "task" in body else str(body["seat"])


def secure_now(here: Here, task_id: str) -> Task | None:
    """Right after a panel's level was read: its lock, so that somebody may go below it."""
    kind, _, panel = task_id.partition(":")
    lock = next((t for t in here.tasks if t.id == f"secure.lock:{panel}"), None)
    is_offered = kind == "panels.level" and lock is not None and lock.status == "ready"
    return lock if is_offered else None


def who_words(here: Here, person: str) -> str:
    """The name of who recorded something."""
    return members.names(services(), here.state).get(person, "somebody")


def screen(
    here: Here,
    fragment: str,
    *,
    title: str,
    status: int = 200,
    stage: str | None = None,
    url: str | None = None,
    **values: Any,
) -> Response:
    """One screen; ``url`` is the address it stands for when a POST answers it."""
    is_fragment = htmx.wants_fragment()
    values |= {
        "here": here,
        "title": title,
        "bar": bar(here, stage),
        "undo": last_undo(here),
        "is_fragment": is_fragment,
    }
    if is_fragment:
        return htmx.answer(render_template(f"phone/{fragment}", **values), status, push_url=url)
    from holdtrue.web.phone_job import job_markup
    from holdtrue.web.phone_pack import pack_markup

    if not values.get("is_paper"):
        # what every whole page carries, so that the screens after it need no network
        values |= {"pack": pack_markup(here), "job": job_markup(here)}
        values["blank_hole"] = hole_inputs(here.unit)
    answer = page("phone/page.html", status, fragment=f"phone/{fragment}", **values)
    if not values.get("is_paper"):
        answer.headers[MARK] = "phone"
    return answer


def stored(url: str, show: Callable[[], Response]) -> Response:
    """The answer to a POST that stored something: the screen at ``url``, or the way to it."""
    return show() if htmx.wants_fragment() else htmx.go_to(url)
