"""Random jobs where panels hang while others are driven, told as in ``phone_math``."""

from __future__ import annotations

from random import Random

from holdtrue.domain import events
from holdtrue.domain.fold import created
from holdtrue.domain.hanging import facing_off_mm, value_mm
from holdtrue.domain.levelcheck import read_rise_mm
from holdtrue.domain.prefill import planned_values
from holdtrue.domain.slots import seats_by_panel
from holdtrue.domain.state import HungRead, JobState
from holdtrue.domain.subjects import panel_of_seat
from holdtrue.domain.touches import WAYS, WHOLE_PANEL, Touched
from tests.e2e.phone_math import (
    ANY_WAYS,
    Story,
    Told,
    Values,
    Way,
    happens,
    measured,
    random_document,
    task_body,
    told_from,
)


def hung_story(random: Random) -> Story:
    """A random job of which some is driven before the page is opened; then panels hang."""
    document = random_document(random)
    state = created(Told(seq=1, type=events.JOB_CREATED, body={"document": document}))
    for _ in range(random.choice((0, 3, 8, 12))):
        state, _ = happens(random, state, random.choice(_HUNG_WAYS))
    ways = [random.choice((*_HUNG_WAYS, *ANY_WAYS)) for _ in range(random.randint(4, 14))]
    return told_from(random, document, state, ways)


def _driven(random: Random, state: JobState, seat: str) -> tuple[Values, Values]:
    """The next seat of the panel that is nearest to hang."""
    left = {
        panel: [one for one in seats if one not in state.set_seats]
        for panel, seats in seats_by_panel(state).items()
    }
    seats = min((seats for seats in left.values() if seats), key=len, default=[seat])
    return measured(random, state, seats[0])


def _engaged(random: Random, state: JobState, seat: str) -> tuple[Values, Values]:
    """A panel all of whose seats are set; else the next of them."""
    ready = [
        panel
        for panel, seats in seats_by_panel(state).items()
        if all(one in state.set_seats for one in seats) and panel not in _hung(state)
    ]
    if not ready:
        return _driven(random, state, seat)
    panel = random.choice(ready)
    body = task_body(state, f"panels.engaged:{panel}", "done", {})
    return body, {"type": "engaged", "panel": panel}


def _hung(state: JobState) -> list[str]:
    kind = "panels.engaged:"
    return [task.removeprefix(kind) for task in state.records if task.startswith(kind)]


def _levelled(random: Random, state: JobState, seat: str) -> tuple[Values, Values]:
    """A hung panel by level, perhaps the next day, perhaps tapped as planned."""
    if not _hung(state):
        return _engaged(random, state, seat)
    panel = random.choice(_hung(state))
    task = f"{random.choice(('panels.level', 'close.next_day'))}:{panel}"
    if random.random() < 0.2:
        body = task_body(state, task, "as_planned", planned_values(state, task))
        more = task in state.near
        return body, {"type": "levelled", "panel": panel, "rise_mm": None, "is_more": more}
    low = random.choice(("level", "left", "right"))
    by = 0.0 if low == "level" else round(random.uniform(0, 5), 3)
    values: Values = {"low": low, "by": {"mm": by}}
    rise = read_rise_mm(values)
    body = task_body(state, task, "measured", values)
    more = task in state.near
    return body, {"type": "levelled", "panel": panel, "rise_mm": rise, "is_more": more}


def _faced(random: Random, state: JobState, seat: str) -> tuple[Values, Values]:
    """Two hung neighbours against each other."""
    panels = [panel.name for panel in state.job.panels]
    pairs = [(panels[one.p], panels[one.q]) for one in state.plan.arrangement.neighbours]
    pairs = [pair for pair in pairs if set(pair) <= set(_hung(state))]
    if not pairs:
        return _levelled(random, state, seat)
    where = "|".join(random.choice(pairs))
    task = f"panels.facing:{where}"
    planned = planned_values(state, task)
    if random.random() < 0.2:
        return task_body(state, task, "as_planned", planned), {
            "type": "faced",
            "where": where,
            "off": None,
            "is_more": task in state.near,
        }
    ends = {
        end: {"mm": round(value_mm(planned, end) + random.gauss(0, 1.5), 6)}
        for end in ("first", "second")
    }
    ahead = random.choice(("as_planned", "p", "q"))
    step = {"ahead": ahead, "by": {"mm": 0.0 if ahead == "as_planned" else random.uniform(0, 3)}}
    body = task_body(state, task, "measured", {**planned, **ends, **step})
    read = HungRead(task=task, values=body["values"], planned=planned, seq=0)
    off = {f"{kind.removeprefix('gap ')}_mm": mm for kind, mm in facing_off_mm(read).items()}
    return body, {"type": "faced", "where": where, "off": off, "is_more": task in state.near}


def _edged(random: Random, state: JobState, seat: str) -> tuple[Values, Values]:
    """A hung panel's left edge from the reference line."""
    if not _hung(state):
        return _engaged(random, state, seat)
    panel = random.choice(_hung(state))
    task = f"panels.edge:{panel}"
    planned = planned_values(state, task)
    if random.random() < 0.2:
        told: Values = {"type": "edged", "panel": panel, "off_mm": None}
        return task_body(state, task, "as_planned", planned), told
    off = round(random.gauss(0, 1.5), 6)
    values = {"across": {"mm": planned["across"]["mm"] + off}}
    told = {"type": "edged", "panel": panel, "off_mm": off}
    return task_body(state, task, "measured", values), told


def _trimmed(random: Random, state: JobState, seat: str) -> tuple[Values, Values]:
    """One to three touches on a hung panel, or none that would help."""
    if not _hung(state):
        return _engaged(random, state, seat)
    panel = random.choice(_hung(state))
    task = f"panels.trim:{panel}"
    if random.random() < 0.1:
        body = task_body(state, task, "measured", {"means": "none"})
        return body, {"type": "trimmed", "panel": panel, "touches": []}
    touches = [_touch(random, seats_by_panel(state)[panel]) for _ in range(random.randint(1, 3))]
    values = (
        touches[0].values()
        if len(touches) == 1
        else {"touches": [touch.values() for touch in touches]}
    )
    told = [{"means": t.means, "seat": t.seat, "by_mm": t.by_mm} for t in touches]
    body = task_body(state, task, "measured", values)
    return body, {"type": "trimmed", "panel": panel, "touches": told}


def _touch(random: Random, seats: list[str]) -> Touched:
    means = random.choice(("shim", "slide", *WAYS))
    size = random.choice((0.0, 0.5, 1.0, round(random.uniform(0, 4), 3)))
    seat = "" if means in WHOLE_PANEL else random.choice(seats)
    return Touched(means=means, seat=seat, by_mm=random.choice((-1, 1)) * size)


def _lifted(random: Random, state: JobState, seat: str) -> tuple[Values, Values]:
    """A panel, onto whatever is there."""
    panel = panel_of_seat(seat)
    body = task_body(state, f"panels.lift:{panel}", "done", {})
    return body, {"type": "lifted", "panel": panel}


def _shimmed(random: Random, state: JobState, seat: str) -> tuple[Values, Values]:
    """What was laid in a ring, of any panel."""
    thick = round(random.uniform(0, 4), 3)
    task, laid = f"panels.shim:{seat}", {"thick": {"mm": thick}}
    body = task_body(state, task, "measured", laid) | {"planned": laid}
    return body, {"type": "shimmed", "seat": seat, "thick_mm": thick}


_HUNG_WAYS: tuple[Way, ...] = (
    *(_driven, _driven, _engaged, _engaged, _engaged, _levelled, _levelled, _levelled),
    *(_faced, _faced, _faced, _edged, _edged, _trimmed, _trimmed, _shimmed, _shimmed, _lifted),
)
