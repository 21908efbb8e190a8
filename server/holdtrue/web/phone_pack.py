"""The whole job for one phone: every task's screen as a template, so nothing waits for network.

Drawings are left out of the templates and named by their content: a phone fetches them once its
first screen can be used, and keeps them.

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
from hashlib import sha256
from typing import cast

from flask import current_app, render_template
from markupsafe import Markup, escape

from holdtrue.domain.checklist import Task
from holdtrue.domain.levelcheck import READ_BY_LEVEL, checked_level
from holdtrue.domain.state import JobState
from holdtrue.domain.tasks import TASK_KINDS
from holdtrue.web.phone_drawings import wall
from holdtrue.web.phone_form import EDGES, form_values
from holdtrue.web.phone_here import Here

EXTENSION = "holdtrue-packs"
TRIM = TASK_KINDS["panels.trim"]
_MOST_PACKS = 12
_MOST_SEQS = 200
WALL = "wall"
"""Where the drawing of the whole wall is kept; no task is called so."""
Screens = dict[str, str]
"""Task id to its template elements."""
Drawings = dict[str, str]
"""Name to SVG."""


@dataclass(frozen=True, slots=True)
class _Screen:
    """One task's templates, the drawings they name, and what both were made from."""

    ground: int
    html: str
    drawings: Drawings


@dataclass
class _Kept:
    """What was rendered last for one job, unit and role."""

    lock: threading.Lock = field(default_factory=threading.Lock)
    screens: dict[str, _Screen] = field(default_factory=dict)
    sent: OrderedDict[int, dict[str, int]] = field(default_factory=OrderedDict)
    """Entry of the log to what the screens were then, as hashes."""


class Packs:
    """Rendered screens, kept between requests; only ever a shortcut.

    Safe for threads: a pack is rendered by one of them at a time, and no job waits for another.
    """

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._kept: OrderedDict[tuple[str, str, bool], _Kept] = OrderedDict()

    def screens(self, here: Here) -> Screens:
        """Every template of the job as it stands."""
        kept = self._of(here)
        with kept.lock:
            return _kept_screens(here, kept)

    def drawings(self, here: Here) -> Drawings:
        """Every drawing those templates name."""
        kept = self._of(here)
        with kept.lock:
            drawings: Drawings = dict(_wall_screen(here, kept.screens).drawings)
            for id_ in _kept_screens(here, kept):
                drawings |= kept.screens[id_].drawings
            return drawings

    def wall(self, here: Here) -> str:
        """The name of the drawing of the whole wall, which the list of all tasks shows."""
        kept = self._of(here)
        with kept.lock:
            return _wall_screen(here, kept.screens).html

    def changes(self, here: Here, since: int) -> tuple[Screens, list[str]]:
        """Templates that are not what they were after entry ``since``, and tasks that are gone.

        When nobody remembers what was sent then, everything is.
        """
        kept = self._of(here)
        with kept.lock:
            now = _kept_screens(here, kept)
            then = kept.sent.get(since)
        if then is None:
            return now, []
        changed = {id_: html for id_, html in now.items() if then.get(id_) != hash(html)}
        return changed, [id_ for id_ in then if id_ not in now]

    def _of(self, here: Here) -> _Kept:
        key = (here.job_id, here.unit, here.actor.is_lead)
        with self._lock:
            kept = self._kept.setdefault(key, _Kept())
            self._kept.move_to_end(key)
            while len(self._kept) > _MOST_PACKS:
                self._kept.popitem(last=False)
            return kept


def _kept_screens(here: Here, kept: _Kept) -> Screens:
    """Under the pack's lock."""
    screens = _rendered(here, kept.screens)
    kept.sent[here.state.seq] = {id_: hash(html) for id_, html in screens.items()}
    while len(kept.sent) > _MOST_SEQS:
        kept.sent.popitem(last=False)
    return screens


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


def _rendered(here: Here, kept: dict[str, _Screen]) -> Screens:
    grounds = _Grounds(here)
    screens: Screens = {}
    for task, is_spare in _to_show(here):
        ground = grounds.of(task)
        known = kept.get(task.id)
        if known is None or known.ground != ground:
            drawings: Drawings = {}
            html = _templates(here, task, is_spare, drawings)
            known = kept[task.id] = _Screen(ground, html, drawings)
        screens[task.id] = known.html
    return screens


def _wall_screen(here: Here, kept: dict[str, _Screen]) -> _Screen:
    """The elevation as it stands, drawn anew when the wall changed; its html is its name alone."""
    ground = _Grounds(here).wall
    known = kept.get(WALL)
    if known is None or known.ground != ground:
        drawn: Drawings = {}
        squeezed(str(wall(here)), drawn)
        known = kept[WALL] = _Screen(ground, next(iter(drawn)), drawn)
    return known


AGAIN = ("fasteners", "panels")
"""Stages whose tasks a reading can ask for once more: a mark moved, a seat given up, a trim."""
FOUND = "before.services"
"""What no hole may meet is found later too: whoever looks behind the wall is led here."""


def _to_show(here: Here) -> Iterator[tuple[Task, bool]]:
    for task in here.tasks:
        is_theirs = here.actor.is_lead or not task.kind.lead_only
        may_be_again = task.kind.stage in AGAIN or task.kind.name == FOUND
        if (task.status != "done" or may_be_again) and is_theirs:
            yield task, False
    for task in spares(here):
        yield task, True


def _templates(here: Here, task: Task, is_spare: bool, drawings: Drawings) -> str:
    """The task's template; a hanger has one for each edge its tape may start at."""
    if task.kind.name != "work.hanger":
        values = form_values(here, task)
        more = {"data-spare": ""} if is_spare else {}
        return _template(task, _screen(here, values), more, drawings)
    first = form_values(here, task)
    own = str(first["edge"])
    others = [form_values(here, task, edge=edge) for edge in EDGES if edge != own]
    return "\n".join(
        _template(task, _screen(here, values), {"data-edge": str(values["edge"])}, drawings)
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
        saved=None,
        secure=None,
        is_fragment=False,
        in_pack=True,
        **values,
    )


def _template(task: Task, screen: str, more: Mapping[str, str], drawings: Drawings) -> str:
    named = "".join(
        f' {name}="{escape(value)}"' for name, value in {"data-task": task.id, **more}.items()
    )
    return f"<template{named}>{squeezed(screen, drawings)}</template>"


_FIGURE = re.compile(r'<figure class="drawing">(<svg .*?</svg>)(?=</figure>)', re.DOTALL)
_DRAWING = re.compile(r"<svg .*?</svg>", re.DOTALL)
_ID = re.compile(r"\bd[0-9a-f]{8}-")
_FOR_RULERS = re.compile(r' (?:xmlns|data-(?:origin-x|origin-y|units-per-m|stud))="[^"]*"')
_SHAPE = re.compile(r' (?:d|[xy][12]?|c[xy]|width|height)="[^"]*"')
_FINE = re.compile(r"(\.\d)\d(?!\d)")
_BREAK = re.compile(r"\s*\n\s*")


def squeezed(screen: str, drawings: Drawings) -> str:
    """The same screen with its drawings' names in their places; the drawings are put by."""

    def put_by(drawing: str) -> str:
        thin = thinned(drawing)
        name = sha256(thin.encode()).hexdigest()[:8]
        drawings[name] = thin
        return name

    without = _FIGURE.sub(
        lambda found: f'<figure class="drawing" data-drawing="{put_by(found[1])}">', screen
    )
    without = _DRAWING.sub(lambda found: f'<div data-drawing="{put_by(found[0])}"></div>', without)
    return _BREAK.sub("\n", without).strip()


def thinned(drawing: str) -> str:
    """A drawing without what no phone can show.

    Shapes lose their second decimal, and the whole what only rulers and files need, and its long
    ids: of all the screens one is shown at a time. Numbers to be read keep every digit.
    """
    known: dict[str, str] = {}
    stem = f"s{sha256(drawing.encode()).hexdigest()[:4]}-"

    def short(found: re.Match[str]) -> str:
        return known.setdefault(found[0], f"{stem}{len(known)}-")

    bare = _FOR_RULERS.sub("", _ID.sub(short, drawing))
    fine = _SHAPE.sub(lambda shape: _FINE.sub(r"\1", shape[0]), bare)
    # as JSON each double quote would take two signs; texts hold neither quote unescaped
    return fine.replace('"', "'")


# -- what a screen depends on ----------------------------------------------------------------------

WORDS_ONLY = frozenset(
    {
        *("before.cautions", "before.wall_yes"),
        *("work.hanger", "work.spacing", "work.diagonals", "reference.mark", "reference.floor"),
        *("reference.line", "reference.bow", "level.check", "behind.studs"),
        *("secure.try", "secure.key", "close.photo", "close.note"),
    }
)
"""Kinds whose screen shows nothing but the plan itself."""
CLOSE_UPS = frozenset({"fasteners.mark", "fasteners.measure", "fasteners.again"})
"""Kinds that draw the pencil marks around them."""


READ_FROM_HUNG = frozenset(
    {TRIM.name, "panels.move", "panels.shim", "panels.level", "panels.facing", "close.next_day"}
)
"""Kinds whose screen says what was read and decided about hung panels, or follows from it."""


BY_LEVEL = frozenset(READ_BY_LEVEL)
"""Kinds whose screen says by how much the level itself is wrong."""


class _Grounds:
    """Hashes of the parts of a state that screens are made from."""

    def __init__(self, here: Here) -> None:
        state, self._here = here.state, here
        self._hand = here.hand
        self._plan = hash((repr(state.document), here.unit))
        self._wall = hash((self._plan, _wall(state)))
        self._marks = hash((self._wall, repr(sorted(state.marked.items()))))
        read = (_seqs(state, "panels."), _seqs(state, "close.next_day"), len(state.trims))
        self._hung = hash(
            (self._wall, read, repr((state.moves, state.choices, sorted(state.near))))
        )
        self._level = hash(checked_level(state))
        self._records = {id_: record.seq for id_, record in state.records.items()}

    @property
    def wall(self) -> int:
        """Of a drawing of the whole wall."""
        return self._wall

    def of(self, task: Task) -> int:
        name = task.kind.name
        if name == "join.ways":
            ground = hash((self._plan, self._hand))
        elif name in WORDS_ONLY:
            ground = self._plan
        elif name in CLOSE_UPS:
            ground = self._marks
        elif name == "panels.lift":
            ground = hash((self._wall, self._records.get("before.people", 0)))
        else:
            ground = self._hung if name in READ_FROM_HUNG else self._wall
        if name in BY_LEVEL:
            ground = hash((ground, self._level))
        # a record that no longer holds is named in the form, so that it can be replaced
        return hash((ground, self._records.get(task.id, 0), task.kind, self._here.heed(task)))


def _wall(state: JobState) -> str:
    """Where everything is, what is set, stopped or measured of the lines."""
    seats = [(s.seat, s.x_mm, s.y_mm, s.hole_y_mm, s.fastener, s.into) for s in state.current.seats]
    lines = [(line.name, state.line_height_mm(line)) for line in state.lines]
    given = [(name, seat.given_mm) for name, seat in state.set_seats.items()]
    stops = [stop.seq for stop in state.open_stops]
    return repr((seats, state.marks_mm, state.set_mm, given, lines, stops, state.order))


def _seqs(state: JobState, start: str) -> tuple[int, ...]:
    return tuple(r.seq for id_, r in sorted(state.records.items()) if id_.startswith(start))


_ORDER = (
    *("fasteners.stick", "work.hanger", "secure.try", "reference.ends", "close.hand_over"),
    *("close.engaged", "secure.key", "close.note", "reference.floor", "reference.bow"),
    *("level.tape", "level.line", "reference.line", "stand_back.yes", "stand_back.corners"),
    *("behind.studs", "behind.wall", "close.photo", "before.wall_yes", "level.check"),
    *("panels.engaged", "before.services", "reference.mark", "work.spacing", "panels.level"),
    "panels.edge",
    *("fasteners.pair", "fasteners.cross", "fasteners.recross", "work.diagonals", "panels.facing"),
    *("fasteners.press", "before.tools", "before.people", "before.loads", "before.cautions"),
    *("secure.lock", "panels.shim", "panels.lift"),
    *("fasteners.anchor", "fasteners.pilot", "panels.trim"),
    *("join.ways", "fasteners.mark", "fasteners.measure", "fasteners.again"),
)
"""Kinds whose screens are alike stand near each other: found by trying, it saves a tenth."""


def _place(kind: str) -> tuple[int, str]:
    return (_ORDER.index(kind) if kind in _ORDER else len(_ORDER), kind)
