"""The whole job for one phone: every task's screen as a template, so nothing waits for network.

Each task that is not done, or may be asked for again, is rendered as it is shown when it is ready.
A screen depends on little: the plan, where the marks are, what is set. ``_Grounds`` names that for
each kind of task, and a screen is rendered anew only when its grounds changed; a test holds what is
kept against what is fresh over random walks.
"""

from __future__ import annotations

import re
import threading
from collections import OrderedDict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import cast

from flask import current_app, render_template
from markupsafe import Markup, escape

from holdtrue.domain.checklist import Task
from holdtrue.domain.state import JobState
from holdtrue.domain.tasks import TASK_KINDS
from holdtrue.web.phone_form import EDGES, form_values
from holdtrue.web.phone_here import Here

EXTENSION = "holdtrue-packs"
TRIM = TASK_KINDS["panels.trim"]
_MOST_PACKS = 12
_MOST_SEQS = 200
Screens = dict[str, str]
"""Task id to its template elements."""


@dataclass
class _Kept:
    """What was rendered last for one job, unit and role."""

    screens: dict[str, tuple[int, str]] = field(default_factory=dict)
    """Task id to its grounds and its templates."""
    sent: OrderedDict[int, dict[str, int]] = field(default_factory=OrderedDict)
    """Entry of the log to what the screens were then, as hashes."""


class Packs:
    """Rendered screens, kept between requests; only ever a shortcut."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._kept: OrderedDict[tuple[str, str, bool], _Kept] = OrderedDict()

    def screens(self, here: Here) -> Screens:
        """Every template of the job as it stands."""
        with self._lock:
            kept = self._of(here)
            screens = _rendered(here, kept.screens)
            kept.sent[here.state.seq] = {id_: hash(html) for id_, html in screens.items()}
            while len(kept.sent) > _MOST_SEQS:
                kept.sent.popitem(last=False)
            return screens

    def changes(self, here: Here, since: int) -> tuple[Screens, list[str]]:
        """Templates that are not what they were after entry ``since``, and tasks that are gone.

        When nobody remembers what was sent then, everything is.
        """
        now = self.screens(here)
        with self._lock:
            then = self._of(here).sent.get(since)
        if then is None:
            return now, []
        changed = {id_: html for id_, html in now.items() if then.get(id_) != hash(html)}
        return changed, [id_ for id_ in then if id_ not in now]

    def _of(self, here: Here) -> _Kept:
        key = (here.job_id, here.unit, here.actor.is_lead)
        kept = self._kept.pop(key, None) or _Kept()
        self._kept[key] = kept
        while len(self._kept) > _MOST_PACKS:
            self._kept.popitem(last=False)
        return kept


def packs() -> Packs:
    return cast(Packs, current_app.extensions[EXTENSION])


def pack_markup(here: Here) -> Markup:
    """All templates, tasks alike beside each other: so they weigh least when compressed."""
    screens = packs().screens(here)
    in_order = sorted(screens, key=lambda id_: _place(id_.partition(":")[0]))
    return Markup("\n".join(screens[id_] for id_ in in_order))  # noqa: S704 - our own markup


def spares(here: Here) -> list[Task]:
    """Trims that no reading asks for now; one taken without network may."""
    listed = {task.id for task in here.tasks}
    possible = (
        Task(
            id=f"{TRIM.name}:{panel.name}",
            kind=TRIM,
            subject=panel.name,
            panel=panel.name,
            status="waiting",
        )
        for panel in here.state.job.panels
    )
    return [task for task in possible if task.id not in listed]


# -- rendering ------------------------------------------------------------------------------------


def _rendered(here: Here, kept: dict[str, tuple[int, str]]) -> Screens:
    grounds = _Grounds(here)
    screens: Screens = {}
    for task, is_spare in _to_show(here):
        ground = grounds.of(task)
        known = kept.get(task.id)
        if known is None or known[0] != ground:
            known = kept[task.id] = (ground, _templates(here, task, is_spare))
        screens[task.id] = known[1]
    return screens


AGAIN = ("fasteners", "panels")
"""Stages whose tasks a reading can ask for once more: a mark moved, a seat given up, a trim."""


def _to_show(here: Here) -> Iterator[tuple[Task, bool]]:
    for task in here.tasks:
        is_theirs = here.actor.is_lead or not task.kind.lead_only
        may_be_again = task.kind.stage in AGAIN
        if (task.status != "done" or may_be_again) and is_theirs:
            yield task, False
    for task in spares(here):
        yield task, True


def _templates(here: Here, task: Task, is_spare: bool) -> str:
    """The task's template; a hanger has one for each edge its tape may start at."""
    if task.kind.name != "work.hanger":
        values = form_values(here, task)
        more = {"data-spare": ""} if is_spare else {}
        return _template(task, _screen(here, values), more)
    first = form_values(here, task)
    own = str(first["edge"])
    others = [form_values(here, task, edge=edge) for edge in EDGES if edge != own]
    return "\n".join(
        _template(task, _screen(here, values), {"data-edge": str(values["edge"])})
        for values in (first, *others)
    )


def _screen(here: Here, values: Mapping[str, object]) -> str:
    return render_template(
        "phone/_task.html",
        here=here,
        bar=None,
        undo=None,
        ask=None,
        key=None,
        saved="",
        is_fragment=False,
        in_pack=True,
        **values,
    )


def _template(task: Task, screen: str, more: Mapping[str, str]) -> str:
    named = "".join(
        f' {name}="{escape(value)}"' for name, value in {"data-task": task.id, **more}.items()
    )
    return f"<template{named}>{squeezed(screen)}</template>"


_DRAWING = re.compile(r"<svg .*?</svg>", re.DOTALL)
_ID = re.compile(r"\bd[0-9a-f]{8}-")
_FOR_RULERS = re.compile(r' (?:xmlns|data-(?:origin-x|origin-y|units-per-m|stud))="[^"]*"')
_SHAPE = re.compile(r' (?:d|[xy][12]?|c[xy]|width|height)="[^"]*"')
_FINE = re.compile(r"(\.\d)\d(?!\d)")
_BREAK = re.compile(r"\s*\n\s*")


def squeezed(screen: str) -> str:
    """The same screen without what no phone can show: it is sent for every task at once.

    Shapes lose their second decimal, drawings what only rulers and files need, and their long ids:
    of all these screens one is shown at a time. Numbers to be read keep every digit.
    """
    known: dict[str, str] = {}

    def short(found: re.Match[str]) -> str:
        return known.setdefault(found[0], f"s{len(known) + 1}-")

    def thin(drawing: re.Match[str]) -> str:
        bare = _FOR_RULERS.sub("", _ID.sub(short, drawing[0]))
        return _SHAPE.sub(lambda shape: _FINE.sub(r"\1", shape[0]), bare)

    return _BREAK.sub("\n", _DRAWING.sub(thin, screen)).strip()


# -- what a screen depends on ----------------------------------------------------------------------

WORDS_ONLY = frozenset(
    {
        *("before.cautions", "before.wall_yes", "before.services"),
        *("work.hanger", "work.spacing", "work.diagonals", "reference.mark", "reference.floor"),
        *("reference.line", "reference.bow", "level.check", "behind.studs"),
        *("secure.try", "secure.key", "close.photo", "close.note"),
    }
)
"""Kinds whose screen shows nothing but the plan itself."""
CLOSE_UPS = frozenset({"fasteners.mark", "fasteners.measure"})
"""Kinds that draw the pencil marks around them."""


READ_FROM_HUNG = frozenset({TRIM.name, "panels.move"})
"""Kinds whose screen says what was read and decided about hung panels."""


class _Grounds:
    """Hashes of the parts of a state that screens are made from."""

    def __init__(self, here: Here) -> None:
        state = here.state
        self._hand = here.hand
        self._plan = hash((repr(state.document), here.unit))
        self._wall = hash((self._plan, _wall(state)))
        self._marks = hash((self._wall, repr(sorted(state.marked.items()))))
        read = (_seqs(state, "panels."), _seqs(state, "close.next_day"), len(state.trims))
        self._hung = hash((self._wall, read, repr(sorted(state.moves.items()))))
        self._records = {id_: record.seq for id_, record in state.records.items()}

    def of(self, task: Task) -> int:
        name = task.kind.name
        if name == "join.ways":
            ground = hash((self._plan, self._hand))
        elif name in WORDS_ONLY:
            ground = self._plan
        elif name in CLOSE_UPS:
            ground = self._marks
        else:
            ground = self._hung if name in READ_FROM_HUNG else self._wall
        # a record that no longer holds is named in the form, so that it can be replaced
        return hash((ground, self._records.get(task.id, 0), task.kind))


def _wall(state: JobState) -> str:
    """Where everything is, what is set, stopped or measured of the lines."""
    seats = [(s.seat, s.x_mm, s.y_mm, s.hole_y_mm, s.fastener, s.into) for s in state.current.seats]
    lines = [(line.name, state.line_height_mm(line)) for line in state.lines]
    given = [(name, seat.given_mm) for name, seat in state.set_seats.items()]
    stops = [stop.seq for stop in state.open_stops]
    return repr((seats, state.marks_mm, state.set_mm, given, lines, stops))


def _seqs(state: JobState, start: str) -> tuple[int, ...]:
    return tuple(r.seq for id_, r in sorted(state.records.items()) if id_.startswith(start))


_ORDER = (
    *("fasteners.measure", "fasteners.cross", "fasteners.pair", "panels.facing", "panels.trim"),
    *("panels.level", "close.next_day", "secure.lock", "panels.engaged", "close.engaged"),
)
"""Kinds whose screens are most alike, in the order that compresses best (measured)."""


def _place(kind: str) -> tuple[int, str]:
    return (_ORDER.index(kind) if kind in _ORDER else len(_ORDER), kind)
