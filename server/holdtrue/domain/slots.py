"""Which tasks a job has, in the order they are best done; whether they may be done is for
``waiting``.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from holdtrue.domain.ordering import panels_in_order
from holdtrue.domain.state import JobState
from holdtrue.domain.subjects import FACING, checked_pairs, shown_subject
from holdtrue.domain.tasks import STAGES, TASK_KINDS, TaskKind
from holdtrue.domain.trimming import panels_to_trim

Seats = Mapping[str, list[str]]
"""Panel to its seats, from the left."""


@dataclass(frozen=True, slots=True)
class Slot:
    """One task of a job, before its status is known."""

    kind: TaskKind
    subject: str = ""
    panel: str | None = None

    @property
    def id(self) -> str:
        return f"{self.kind.name}:{self.subject}" if self.subject else self.kind.name

    @property
    def title(self) -> str:
        return self.kind.title.format(subject=shown_subject(self.subject))


def seats_by_panel(state: JobState) -> dict[str, list[str]]:
    """Every panel's seats, from the left."""
    seats: dict[str, list[str]] = {panel.name: [] for panel in state.job.panels}
    arrangement = state.plan.arrangement
    for name, k in zip(arrangement.seat_names, arrangement.seat_panel, strict=True):
        seats[state.job.panels[k].name].append(name)
    return seats


def method_of(state: JobState, panel: str | None) -> str:
    """How a panel hangs; a task of no panel asks as for hangers."""
    return next((p.hang.method for p in state.job.panels if p.name == panel), "hangers")


def has_hold(state: JobState, kind: str) -> bool:
    """Whether the lead asked for this hold point."""
    return state.release is not None and kind.partition(".")[2] in state.release.holds


def slots_of(state: JobState, seats: Seats) -> tuple[Slot, ...]:
    """Every task of the job."""
    slots: list[Slot] = []
    for stage in STAGES:
        kinds = [kind for kind in TASK_KINDS.values() if kind.stage == stage.name]
        if stage.name == "fasteners":
            slots += _driving_and_hanging(state, seats)
        elif stage.name in ("work", "secure"):
            slots += _by_panel(state, seats, kinds)
        elif stage.name != "panels":
            slots += _by_kind(state, kinds)
    return tuple(slots)


def _by_kind(state: JobState, kinds: Iterable[TaskKind]) -> list[Slot]:
    slots: list[Slot] = []
    for kind in kinds:
        if kind.scope == "line":
            slots += [Slot(kind, line.name) for line in state.lines]
        elif kind.scope == "panel":
            if state.release is not None and state.release.next_day:
                slots += [Slot(kind, panel.name, panel.name) for panel in state.job.panels]
        elif not kind.name.startswith("hold.") or has_hold(state, kind.name):
            slots.append(Slot(kind))
    return slots


def _by_panel(state: JobState, seats: Seats, kinds: Iterable[TaskKind]) -> list[Slot]:
    listed = list(kinds)
    slots = [
        slot
        for panel in seats
        for kind in listed
        if not kind.methods or method_of(state, panel) in kind.methods
        for slot in _of_panel(state, kind, panel, seats[panel])
    ]
    return slots + [Slot(kind) for kind in listed if kind.scope == "job"]


def _of_panel(state: JobState, kind: TaskKind, panel: str, seats: list[str]) -> list[Slot]:
    if kind.scope == "panel":
        return [Slot(kind, panel, panel)]
    if kind.scope == "hanger":
        return [Slot(kind, seat, panel) for seat in seats]
    if kind.scope == "pair":
        pairs = checked_pairs(method_of(state, panel), seats)
        return [Slot(kind, f"{a}-{b}", panel) for a, b in pairs]
    return []


def _driving_and_hanging(state: JobState, seats: Seats) -> list[Slot]:
    """Stages 8 and 9, fasteners first or panel by panel, panels in driving order."""
    panels = list(panels_in_order(state))
    to_trim = panels_to_trim(state)
    hold = TASK_KINDS["hold.first_lift"]
    first_lift = [Slot(hold)] if has_hold(state, hold.name) else []
    early = panels_hung_early(state)
    # those hung while others are still driven hang before the rest
    lifted = sorted(panels, key=lambda panel: panel not in early)
    hanging = {
        panel: _hanging(state, panel, lifted[:at], panel in to_trim)
        for at, panel in enumerate(lifted)
    }
    slots: list[Slot] = []
    for panel in panels:
        slots += _driving(state, panel, seats[panel])
        if panel in early:
            slots += first_lift + hanging[panel]
            first_lift = []
    late = [slot for panel in lifted if panel not in early for slot in hanging[panel]]
    return slots + first_lift + late


def panels_hung_early(state: JobState) -> frozenset[str]:
    """Panels that hang as soon as their own seats are set: all, or those to be trued first."""
    if state.release is not None and state.release.way == "panel_by_panel":
        return frozenset(panel.name for panel in state.job.panels)
    return frozenset(state.true_first)


def _driving(state: JobState, panel: str, seats: list[str]) -> list[Slot]:
    ordered = [name for name in state.order if name in seats]
    marks = [Slot(TASK_KINDS["fasteners.mark"], seat, panel) for seat in ordered]
    pairs = _of_panel(state, TASK_KINDS["fasteners.pair"], panel, seats)
    drives = [
        Slot(TASK_KINDS[f"fasteners.{name}"], seat, panel)
        for seat in ordered
        for name in ("pilot", "anchor", "press", "measure")
    ]
    stick = _sticks(state, panel, ordered)
    more = [Slot(TASK_KINDS["fasteners.again"], seat, panel) for seat in ordered]
    more += cross_slots(state, panel, seats)
    more += _of_panel(state, TASK_KINDS["fasteners.recross"], panel, seats)
    if any(slot.id in state.records for slot in stick):
        return stick + _by_stick(marks, pairs, drives, ordered[0]) + more
    return stick + marks + pairs + drives + more


def cross_slots(state: JobState, panel: str, seats: list[str]) -> list[Slot]:
    """Seats against each other: if one likes, but shims are laid by what is read of them."""
    kind = TASK_KINDS["fasteners.cross"]
    is_wanted = bool(shim_slots(state, panel, seats))
    return _of_panel(state, replace(kind, is_optional=not is_wanted), panel, seats)


def shim_slots(state: JobState, panel: str, seats: Sequence[str]) -> list[Slot]:
    """The rings of a panel that is planned with shims."""
    is_planned = next(p for p in state.job.panels if p.name == panel).shims_mm > 0
    return [Slot(TASK_KINDS["panels.shim"], seat, panel) for seat in seats if is_planned]


def _sticks(state: JobState, panel: str, ordered: list[str]) -> list[Slot]:
    """A story stick where one was offered at release, while it can still carry anything over."""
    slot = Slot(TASK_KINDS["fasteners.stick"], panel, panel)
    if slot.id in state.records:
        return [slot]
    is_offered = state.release is not None and panel in state.release.sticks
    is_begun = any(seat in state.marked for seat in ordered)
    return [slot] if is_offered and not is_begun else []


def _by_stick(marks: list[Slot], pairs: list[Slot], drives: list[Slot], first: str) -> list[Slot]:
    """With a story stick the first seat is set before the others are marked from it."""
    own = [slot for slot in marks + drives if slot.subject == first]
    rest = [slot for slot in marks if slot.subject != first]
    return own + rest + pairs + [slot for slot in drives if slot.subject != first]


def _hanging(state: JobState, panel: str, hung: list[str], is_to_trim: bool) -> list[Slot]:
    """A panel's own tasks and the readings against those hung before it."""
    own = seats_by_panel(state)[panel]
    slots = [Slot(TASK_KINDS["panels.move"], seat, panel) for seat in own if seat in state.moves]
    slots += shim_slots(state, panel, own)
    slots += [
        Slot(TASK_KINDS[f"panels.{name}"], panel, panel) for name in ("lift", "engaged", "level")
    ]
    if _is_edge_read(state, panel):
        slots.append(Slot(TASK_KINDS["panels.edge"], panel, panel))
    for pair in state.plan.arrangement.neighbours:
        p, q = state.job.panels[pair.p].name, state.job.panels[pair.q].name
        if panel in (p, q) and (q if panel == p else p) in hung:
            slots.append(Slot(TASK_KINDS["panels.facing"], f"{p}{FACING}{q}", panel))
    if is_to_trim:
        slots.append(Slot(TASK_KINDS["panels.trim"], panel, panel))
    return slots


def _is_edge_read(state: JobState, panel: str) -> bool:
    """Where a panel hangs in its play tells where the seats that are left go.

    On a slope it hangs turned, and its edge is not plumb.
    """
    is_early = panel in panels_hung_early(state) and not state.job.layout.slope_mm_per_m
    is_any_left = any(seat not in state.set_seats for seat in state.form.seats)
    return f"panels.edge:{panel}" in state.records or (is_early and is_any_left)
