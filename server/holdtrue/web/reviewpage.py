"""What the review page shows, as texts: rows of seats and residuals, the log, tasks to do again.

Places are given in the job's unit as they are read off a tape; residuals also in mm, since that is
what tolerances are thought in.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Literal

from markupsafe import Markup

from holdtrue.core.lengths import format_length
from holdtrue.core.model import Met
from holdtrue.domain.checklist import Task, checklist
from holdtrue.domain.review import (
    SMALLEST_MM,
    Photo,
    ResidualRow,
    SeatRow,
    bars_to_accepting,
    outside,
    photos,
    poses,
    reading_task,
    residual_rows,
    residual_words,
    seat_rows,
    way_words,
)
from holdtrue.domain.rings import SHIM
from holdtrue.domain.state import JobState, Point, Stop, Trim
from holdtrue.domain.tasks import STAGES
from holdtrue.domain.timeline import Line, percent, timeline
from holdtrue.drawing import as_built
from holdtrue.store.port import Entry
from holdtrue.web.phone_level import own_error
from holdtrue.web.phone_words import load_words
from holdtrue.web.preview import BEHIND, across

DRAWING_PX = 440.0
NOT_SET = "not set"
MET_WORDS = {"nothing": "nothing", "wood": "wood", "steel": "steel", "masonry": "masonry"}


@dataclass(frozen=True, slots=True, kw_only=True)
class SeatView:
    seat: str
    planned: str
    given: str
    built: str
    off_plan: str
    off_given: str
    fastener: str
    behind: str
    load: str
    is_over: bool
    """Carries more than allowed, or nobody knows what is allowed."""
    by: str
    when: str
    instrument: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ResidualView:
    name: str
    words: str
    seats: str
    reading: str
    tolerance: str
    value: str
    verdict: Literal["inside", "outside", "open"]
    is_contradicted: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class StopView:
    stop: Stop
    by: str
    cleared_by: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundView:
    """A cable or pipe found before drilling."""

    where: str
    found: str
    by: str
    when: str
    released: str
    """Who of the leads let work go on, and why; "" while nobody has."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ShimView:
    """Shims of one ring; ``was`` where others were laid than was said."""

    ring: str
    thick: str
    was: str
    by: str
    when: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TrimView:
    """One touch on a hung panel."""

    where: str
    words: str
    by: str
    when: str


@dataclass(frozen=True, slots=True, kw_only=True)
class StageView:
    title: str
    tasks: tuple[Task, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ReviewView:
    drawing: Markup
    seats: tuple[SeatView, ...]
    panels: tuple[ResidualView, ...]
    between: tuple[ResidualView, ...]
    whole: tuple[ResidualView, ...]
    outside: tuple[ResidualView, ...]
    bars: tuple[str, ...]
    shims: tuple[ShimView, ...]
    trims: tuple[TrimView, ...]
    stops: tuple[StopView, ...]
    found: FoundView | None
    photos: tuple[Photo, ...]
    lines: tuple[Line, ...]
    again: tuple[StageView, ...]
    level: str
    """What is taken off the readings by level."""
    forecast: str
    """What was forecast, beside how it came out."""
    suggested: tuple[Task, ...]
    """Tasks worth doing again, because what they read is outside."""

    @property
    def unset(self) -> int:
        return sum(row.built == NOT_SET for row in self.seats)

    @property
    def unread(self) -> tuple[ResidualView, ...]:
        every = (*self.panels, *self.between, *self.whole)
        return tuple(row for row in every if row.verdict == "open")

    @property
    def contradicted(self) -> tuple[ResidualView, ...]:
        return tuple(row for row in self.outside if row.is_contradicted)

    @property
    def otherwise(self) -> tuple[Line, ...]:
        return tuple(line for line in self.lines if line.is_otherwise)


def review_view(state: JobState, entries: Sequence[Entry], names: Mapping[str, str]) -> ReviewView:
    """Everything the lead looks at before deciding."""
    rows = residual_rows(state)
    views = {row.name: _residual(row, state) for row in rows}
    done = [task for task in checklist(state) if task.status == "done" and _can_repeat(task)]
    repeat = {reading_task(state, row.kind, row.where) for row in outside(rows)}
    return ReviewView(
        drawing=_drawing(state),
        seats=tuple(_seat(row, state, names) for row in seat_rows(state, entries)),
        panels=_pick(rows, views, ("level", "slack", "bearing")),
        between=_pick(rows, views, ("gap", "taper", "step", "flush")),
        whole=_pick(rows, views, ("centre", "height", "line")),
        outside=tuple(views[row.name] for row in outside(rows)),
        bars=bars_to_accepting(state),
        shims=tuple(_shims(state, names)),
        trims=tuple(_trim(trim, state.job.unit, names) for trim in state.trims),
        stops=tuple(_stop(stop, names) for stop in state.stops),
        found=_found(state, names),
        photos=tuple(photo for photo in photos(entries) if not photo.is_parked),
        lines=timeline(entries, names, state.job.unit),
        again=_stages(done),
        level=own_error(state),
        forecast=_forecast(state, rows),
        suggested=tuple(task for task in done if task.id in repeat),
    )


def _forecast(state: JobState, rows: Sequence[ResidualRow]) -> str:
    """The chances as they were told then; nobody works them out again to fit."""
    told = []
    if state.release is not None and state.release.chance is not None:
        told.append(f"{percent(state.release.chance)} at release, without trimming")
    if state.handed_over_chance is None:
        return f"Chance that all ends inside: {told[0]}." if told else ""
    told.append(f"{percent(state.handed_over_chance)} at hand-over")
    count = len(outside(rows))
    is_open = any(row.is_open for row in rows)
    came = f"{count} outside" if count else "not all read yet" if is_open else "all inside"
    return f"Chance that all ends inside, as told then: {'; '.join(told)}. Outcome: {came}."


def _drawing(state: JobState) -> Markup:
    svg = as_built(
        state.plan,
        fmt=partial(format_length, unit=state.job.unit),
        set_mm=state.set_mm,
        poses=poses(state),
        width_px=DRAWING_PX,
        id_="as-built",
    )
    return Markup(svg)  # noqa: S704 - our own markup, texts escaped by its writer


# -- seats ----------------------------------------------------------------------------------------


def _seat(row: SeatRow, state: JobState, names: Mapping[str, str]) -> SeatView:
    return SeatView(
        seat=row.seat,
        planned=_place(row.planned_mm, state),
        given=_place(row.given_mm, state),
        built=_place(row.built_mm, state) if row.is_measured else _as_planned(row),
        off_plan=off_words(row.off_plan_mm, state.job.unit),
        off_given=off_words(row.off_given_mm, state.job.unit),
        fastener=row.fastener or "none listed",
        behind=_behind(row.into, row.met),
        load=_load(row, state.job.unit),
        is_over=row.share is None or row.share > 1.0,
        by=names.get(row.who, row.who) if row.who else "",
        when=row.when or "",
        instrument=row.instrument,
    )


def _place(place: Point | None, state: JobState) -> str:
    if place is None:
        return ""
    height = format_length(place[1], state.job.unit, graduation_mm=state.job.graduation_mm)
    return f"{across(place[0], state.job)}, {height} up"


def _as_planned(row: SeatRow) -> str:
    return NOT_SET if row.built_mm is None else "on its mark"


def off_words(off: Point | None, unit: str) -> str:
    """A deviation in words: which way and how far.

    >>> off_words((-3.175, 0.0), "in")
    '1/8 in left'
    """
    if off is None:
        return ""
    said = [
        f"{format_length(abs(mm), unit)} {words[mm < 0]}"
        for mm, words in zip(off, (("right", "left"), ("high", "low")), strict=True)
        if abs(mm) >= SMALLEST_MM
    ]
    return ", ".join(said) or "nothing"


def _behind(into: Met, met: str | None) -> str:
    said = BEHIND[into]
    return f"{said}; bit met {MET_WORDS[met]}" if met in MET_WORDS else said


def _load(row: SeatRow, unit: str) -> str:
    """What it carries, said as on the phone."""
    carries = load_words(row.force_N, unit)
    if row.allowed_N is None or row.share is None:
        return f"{carries} of not known"
    return f"{carries} of {load_words(row.allowed_N, unit)} ({row.share:.0%})"


# -- residuals ------------------------------------------------------------------------------------


def _pick(
    rows: Sequence[ResidualRow], views: Mapping[str, ResidualView], kinds: tuple[str, ...]
) -> tuple[ResidualView, ...]:
    """The rows of these kinds, place by place."""
    places = list(dict.fromkeys(row.where for row in rows))
    chosen = [row for row in rows if row.kind in kinds]
    if "gap" in kinds:
        chosen.sort(key=lambda row: (places.index(row.where), kinds.index(row.kind)))
    return tuple(views[row.name] for row in chosen)


def _residual(row: ResidualRow, state: JobState) -> ResidualView:
    return ResidualView(
        name=row.name,
        words=residual_words(row.kind, row.where),
        seats=_value(row, row.seats_mm, state.job.unit),
        reading=_value(row, row.reading_mm, state.job.unit),
        tolerance=_both(row.tolerance_mm, state.job.unit),
        value=_value(row, row.value_mm, state.job.unit),
        verdict="outside" if not row.is_inside else "open" if row.is_open else "inside",
        is_contradicted=row.is_contradicted,
    )


def _value(row: ResidualRow, mm: float | None, unit: str) -> str:
    if mm is None:
        return ""
    way = way_words(row, mm)
    return f"{way} {_both(abs(mm), unit)}" if way else "nothing"


def _both(mm: float, unit: str) -> str:
    own = format_length(mm, unit)
    return f"{mm:.1f} mm" if unit == "mm" or own.startswith("0 ") else f"{own} ({mm:.1f} mm)"


# -- stops, and tasks to do again -----------------------------------------------------------------


def _stop(stop: Stop, names: Mapping[str, str]) -> StopView:
    cleared = stop.cleared_by or ""
    return StopView(
        stop=stop, by=names.get(stop.who, stop.who), cleared_by=names.get(cleared, cleared)
    )


def _found(state: JobState, names: Mapping[str, str]) -> FoundView | None:
    hidden, release = state.hidden, state.release
    if hidden is None:
        return None
    is_released = release is not None and state.is_hidden_released
    return FoundView(
        where=hidden.where or ", everywhere",
        found=hidden.found,
        by=names.get(hidden.who, hidden.who),
        when=hidden.when,
        released=f"{names.get(release.who, release.who)}: {release.reason}"
        if release is not None and is_released
        else "",
    )


def _shims(state: JobState, names: Mapping[str, str]) -> Iterator[ShimView]:
    for seat in state.form.seats:
        record = state.records.get(SHIM + seat)
        if record is None:
            continue
        both = record.values["thick"]["mm"], record.planned["thick"]["mm"]
        laid, told = (_both(float(mm), state.job.unit) for mm in both)
        yield ShimView(
            ring=seat,
            thick=laid,
            was=told if told != laid else "",
            by=names.get(record.who, record.who),
            when=record.when,
        )


def _trim(trim: Trim, unit: str, names: Mapping[str, str]) -> TrimView:
    return TrimView(
        where=trim.seat or trim.panel,
        words=f"{trim.way} {_both(abs(trim.by_mm), unit)}, {trim.means}",
        by=names.get(trim.who, trim.who),
        when=trim.when,
    )


def _can_repeat(task: Task) -> bool:
    return task.kind.stage != "join" and task.kind.name != "close.hand_over"


def _stages(tasks: Sequence[Task]) -> tuple[StageView, ...]:
    stages = []
    for stage in STAGES:
        chosen = tuple(task for task in tasks if task.kind.stage == stage.name)
        if chosen:
            stages.append(StageView(title=stage.title, tasks=chosen))
    return tuple(stages)
