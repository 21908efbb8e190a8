"""Screens of the story stick, of pairs it checks, and of hung panels: numbers and lines."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from markupsafe import Markup

from holdtrue.core.geometry import seat_rise_mm
from holdtrue.core.slope import planned_rise_mm
from holdtrue.core.trim_kit import MEANS_BY_METHOD, shim_mm
from holdtrue.domain.checklist import seats_of
from holdtrue.domain.hanging import panel_of
from holdtrue.domain.prefill import planned_facing, planned_values
from holdtrue.domain.review import residual_words as residual_name
from holdtrue.domain.subjects import facing_panels, pair_seats
from holdtrue.domain.tasks import TASK_KINDS
from holdtrue.domain.touches import WORDS, Touched
from holdtrue.domain.trim import Verdict
from holdtrue.domain.trimming import Advice, advice
from holdtrue.web.phone_drawings import Pane
from holdtrue.web.phone_fit import is_beside_each_other
from holdtrue.web.phone_here import Here
from holdtrue.web.phone_level import level_line
from holdtrue.web.phone_live import live_line, live_words
from holdtrue.web.phone_shims import planned_shims_mm
from holdtrue.web.phone_shown import Number, Shown
from holdtrue.web.phone_words import SAME_MM, large, large_mass, small

NOT_PROVEN = "not proven the fewest"
"""Said where the search for fewer touches had to stop early."""


def stick_link(pane: Pane) -> tuple[tuple[str, str], ...]:
    """A story stick is offered before the first mark of its panel."""
    task_id = f"fasteners.stick:{pane.task.panel}"
    offered = next((task for task in pane.here.tasks if task.id == task_id), None)
    if offered is None or offered.status != "ready":
        return ()
    return ((task_id, f"{offered.title}: a better chance"),)


def stick_screen(pane: Pane, base: Shown) -> Shown:
    """The hangers' spacing to be marked on the batten, and how it is used."""
    here, panel = pane.here, pane.task.subject
    index = next(k for k, p in enumerate(here.state.job.panels) if p.name == panel)
    first, *rest = seats_of(here.state, panel)
    hangers = here.state.job.panels[index].hangers
    numbers = tuple(
        Number(
            what=f"{first} to {name}",
            value=large(abs(hanger.u_mm - hangers[0].u_mm), here.unit),
            where="along the batten",
            live=f"spacing:{first}-{name}",
        )
        for name, hanger in zip(rest, hangers[1:], strict=True)
    )
    begun = next(seat for seat in here.state.order if seat in (first, *rest))
    rise = seat_rise_mm(here.state.job.layout, hangers[-1].u_mm - hangers[0].u_mm)
    end = "right" if rise > 0 else "left"
    held = f"its {end} end {small(rise, here.unit)} higher" if abs(rise) >= SAME_MM else "level"
    return replace(
        base,
        numbers=numbers,
        lines=(
            Markup(
                "Set {} first. Then hold the stick on its seat, {}, and mark the others."
            ).format(live_words("stick-first", panel, begun), held),
            "Their spacing and level then carry only the stick's own error.",
        ),
    )


def pair_screen(pane: Pane, base: Shown) -> Shown:
    """A seat that is set already is read at its ring, not at its hole."""
    state, subject = pane.here.state, pane.task.subject
    there = [seat for seat in pair_seats(subject) if seat in state.set_seats]
    words = " ".join(f"{seat} is set: measure from where the ring bears." for seat in there)
    is_by_stick = state.release is not None and pane.task.panel in state.release.sticks
    lines = (live_line("pair-set", subject, words),) if words or is_by_stick else ()
    return by_level_screen(pane, replace(base, lines=(*base.lines, *lines)))


def by_level_screen(pane: Pane, base: Shown) -> Shown:
    """Where a level is read, its own error is said."""
    return replace(base, lines=(level_line(pane.here, pane.task.id), *base.lines))


def edge_screen(pane: Pane, base: Shown) -> Shown:
    """The level edge of a hung panel, which on a slope is not level on purpose."""
    here, panel = pane.here, panel_of(pane.here.state, pane.task.subject)
    rise = planned_rise_mm(here.state.job, panel)
    if rise:
        end = "right" if rise > 0 else "left"
        words = f"Not level on purpose: its {end} end is planned {small(rise, here.unit)} higher."
        base = replace(base, lines=(words, *base.lines))
    return by_level_screen(pane, base)


def move_screen(pane: Pane, base: Shown) -> Shown:
    """How far the hanger goes on its panel, as seen from the front."""
    right, up = pane.here.state.moves[pane.task.subject]
    numbers = tuple(
        Number(
            what="Move it", value=large(abs(mm), pane.here.unit), where=plus if mm > 0 else minus
        )
        for mm, plus, minus in ((right, "right", "left"), (up, "up", "down"))
        if abs(mm) >= SAME_MM
    )
    seen = "Right and left as seen from the front: on the back they change sides."
    return replace(base, numbers=numbers, lines=(seen,))


def level_screen(pane: Pane, base: Shown) -> Shown:
    """What was left to be trimmed is said where it is read."""
    own = set(seats_of(pane.here.state, pane.task.subject))
    later = [c.seat for c in pane.here.state.choices if c.choice == "trim_later" and c.seat in own]
    words = tuple(f"{seat} came out off its mark: trim it now." for seat in dict.fromkeys(later))
    return edge_screen(pane, replace(base, lines=(*base.lines, *words, *_once_more(pane))))


ONCE_MORE = "Read it once more, from scratch: all readings count."


def _once_more(pane: Pane) -> tuple[str, ...]:
    """What was read is too near its tolerance to tell."""
    return (ONCE_MORE,) if pane.task.id in pane.here.state.near else ()


def left_edge_screen(pane: Pane, base: Shown) -> Shown:
    """Where a panel's left edge should be; what is read there moves the marks that are left."""
    here = pane.here
    planned = float(planned_values(here.state, pane.task.id)["across"]["mm"])
    number = Number(
        what="Left edge",
        value=large(abs(planned), here.unit),
        where=f"{'left' if planned < 0 else 'right'} of the reference line, as planned",
        in_hand=False,
    )
    return replace(base, numbers=(number,))


def shim_screen(pane: Pane, base: Shown) -> Shown:
    """How thick, and of how many shims; which ring it is, as it is seen on the back."""
    here, seat = pane.here, pane.task.subject
    thick = planned_shims_mm(here.state, seat)
    live = f"shim-thick:{seat}"
    number = Number(what=f"Ring {seat}", value=large(thick, here.unit), where="thick", live=live)
    one = shim_mm(here.state.job.unit)
    count = round(thick / one)
    shims = f"{count} shim{'' if count == 1 else 's'} of {small(one, here.unit)}"
    words = f"{shims}, between ring and fastener." if count else "No shim in this ring."
    return replace(base, numbers=(number,), lines=(live_words("shim-said", seat, words),))


def lift_screen(pane: Pane, base: Shown) -> Shown:
    panel = next(p for p in pane.here.state.job.panels if p.name == pane.task.subject)
    mass = large_mass(panel.mass_kg, pane.here.unit)
    number = Number(what="Mass", value=mass, where=f"panel {panel.name}", in_hand=False)
    seats = ", ".join(seats_of(pane.here.state, panel.name))
    return replace(base, numbers=(number,), lines=(f"Onto {seats}.", _crew_line(pane.here)))


def _crew_line(here: Here) -> Markup:
    """Who lifts, as it was counted; a phone writes what was counted on it without network."""
    record = here.state.records.get("before.people")
    words = crew_words(record.values) if record else NOT_COUNTED
    return Markup('<span data-crew="">{}</span>').format(words)


NOT_COUNTED = "The people for the lift are not counted."


def crew_words(values: Mapping[str, Any]) -> str:
    """
    >>> crew_words({"people": 2, "platform": "platform"})
    'Counted for the lift: 2 people, on a platform.'
    """
    platforms = next(f for f in TASK_KINDS["before.people"].fields if f.name == "platform")
    stood = dict(platforms.choices)[values["platform"]]
    return f"Counted for the lift: {values['people']} people, on {stood}."


def engaged_screen(pane: Pane, base: Shown) -> Shown:
    """The gap to every panel beside it that hangs: it is slid there while it is seated."""
    here, panel = pane.here, pane.task.subject
    if "slide" not in MEANS_BY_METHOD[pane.task.method]:
        return base
    numbers = []
    for task in here.tasks:
        if task.kind.name != "panels.facing" or task.panel != panel:
            continue
        p, q = facing_panels(task.subject)
        if is_beside_each_other(here, p, q):
            found = planned_facing(here.state, task.subject)
            middle = large((found.first_mm + found.second_mm) / 2, here.unit)
            other = q if panel == p else p
            numbers.append(
                Number(
                    what=f"Gap to {other}",
                    value=middle,
                    where="half-way along it",
                    live=_facing_live(here, "middle", task.subject),
                )
            )
    if len(numbers) < 2:
        return replace(base, numbers=tuple(numbers))
    words = "Where it cannot be both: as far off on either side."
    return replace(base, numbers=tuple(numbers), lines=(words,))


def facing_screen(pane: Pane, base: Shown) -> Shown:
    """The gap as planned; on a slope the edges may be planned a step apart."""
    here, found = pane.here, planned_facing(pane.here.state, pane.task.subject)
    p, q = facing_panels(pane.task.subject)
    way = "higher" if is_beside_each_other(here, p, q) else "further right"
    ends = [("first", found.first_mm), ("second", found.second_mm)]
    shown = ends if abs(ends[0][1] - ends[1][1]) >= SAME_MM else ends[:1]
    numbers = [
        Number(
            what="Gap",
            value=large(mm, here.unit),
            where="as planned",
            in_hand=False,
            live=_facing_live(here, end, pane.task.subject),
        )
        for end, mm in shown
    ]
    if abs(found.step_mm) >= SAME_MM:
        where = f"{p if found.step_mm > 0 else q} {way}, as planned"
        value = large(abs(found.step_mm), here.unit)
        live = _facing_live(here, "step", pane.task.subject)
        numbers.append(Number(what="Step", value=value, where=where, in_hand=False, live=live))
    return replace(base, numbers=tuple(numbers), lines=(*base.lines, *_once_more(pane)))


def _facing_live(here: Here, what: str, subject: str) -> str:
    """Only where panels are turned about their hangers does another hanger move it."""
    return f"facing-{what}:{subject}" if here.state.job.layout.slope_mm_per_m else ""


def trim_screen(pane: Pane, base: Shown) -> Shown:
    """Each touch as a number, what it leads to, and what would stay outside."""
    here, panel = pane.here, pane.task.subject
    found = advice(here.state)
    touches = found.of(panel) if found else ()
    numbers = tuple(
        Number(
            what=touch_name(touch, panel),
            value=large(abs(touch.by_mm), here.unit),
            where=", ".join(filter(None, (touch.way, how_words(touch, here)))),
        )
        for touch in touches
    )
    lines = trim_lines(here, panel)
    if any(touch.means == "slide" for touch in touches):
        lines = (*lines, "If it does not slide so far, record how far it went.")
    return replace(base, numbers=numbers, lines=lines)


def touch_name(touch: Touched, panel: str) -> str:
    """What a touch is done to: "shim A1", "slide B"."""
    words = f"{WORDS[touch.means]} {touch.seat or panel}"
    return words[:1].upper() + words[1:]


def trim_lines(here: Here, panel: str) -> tuple[str, ...]:
    """What the advised touches lead to."""
    found = advice(here.state)
    if found is None:
        return ("No touch mends this. Read it once more, or leave it to the lead.",)
    leads_to = (_leads_to(found, here),) if found.touches or found.remains else ()
    return (_with_others(found, panel), *leads_to)


def _with_others(found: Advice, panel: str) -> str:
    """What is taken off for the touches, and which other panels are touched with this one."""
    others = ", ".join(name for name in found.touches if name != panel)
    if not found.of(panel):
        if others:
            return f"Touch panel {others} for this, not {panel}."
        return "No touch there is makes this better. Leave it as it is: the lead decides."
    off = (
        f"Lift off: {', '.join(found.lift_offs)}." if found.lift_offs else "Nothing is lifted off."
    )
    return f"{off} Together with panel {others}." if others else off


def _leads_to(found: Advice, here: Here) -> str:
    if found.remains:
        return remains_line(found, here)
    if found.is_proven:
        return "Then all is inside. Check it again."
    return f"Then all is inside; {NOT_PROVEN}. Check it again."


def remains_line(found: Advice, here: Here) -> str:
    """What no touch brings inside, as near as it gets."""
    left = "; ".join(verdict_words(verdict, here) for verdict in found.remains)
    best = "Best there is" if found.is_proven else f"Best that was found, {NOT_PROVEN}"
    return f"{best}; then still outside: {left}."


def how_words(touch: Touched, here: Here) -> str:
    """What is done to a screw or a hanger, which move otherwise than the panel; else nothing."""
    if touch.means == "hanger":
        return f"the hanger itself {'down' if touch.by_mm > 0 else 'up'} on it"
    fastener = here.state.seat(touch.seat).fastener if touch.means == "screw" else None
    if fastener is None or fastener.turn_mm is None:
        return ""
    halves = round(2 * abs(touch.by_mm) / fastener.turn_mm)
    turns = f"{halves // 2 or ''} {'1/2' if halves % 2 else ''}".strip()
    return f"{turns} {'turn' if halves <= 2 else 'turns'}"


def verdict_words(verdict: Verdict, here: Here) -> str:
    """One verdict in short: what, where, by how much."""
    size = small(verdict.value_mm, here.unit)
    return f"{residual_name(verdict.kind, verdict.where)} {size}"
