"""What one task's screen shows besides its inputs: the numbers, checks, lists and cautions."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import partial
from types import MappingProxyType

from markupsafe import Markup

from holdtrue.core.model import PlannedSeat
from holdtrue.core.plan import load_share, seat_allowed_N, seat_force_N
from holdtrue.domain.cautions import CAUTIONS
from holdtrue.domain.checklist import Task, seats_of
from holdtrue.domain.kit import TOOLS, bits, tape, to_carry
from holdtrue.domain.liftlines import lift_lines
from holdtrue.domain.loadrows import LoadRow, worst_alone
from holdtrue.domain.subjects import pair_seats
from holdtrue.domain.waiting import old_mark_mm
from holdtrue.web import phone_drawings as drawings
from holdtrue.web.phone_drawings import Pane
from holdtrue.web.phone_here import Here
from holdtrue.web.phone_live import live_line, live_words
from holdtrue.web.phone_places import corner_words, reach_words, span_words
from holdtrue.web.phone_shown import Number, Row, Shown
from holdtrue.web.phone_task_hung import (
    by_level_screen,
    edge_screen,
    engaged_screen,
    facing_screen,
    left_edge_screen,
    level_screen,
    lift_screen,
    move_screen,
    pair_screen,
    shim_screen,
    stick_link,
    stick_screen,
    trim_screen,
)
from holdtrue.web.phone_words import (
    SAME_MM,
    across,
    large,
    large_mass,
    load_words,
    mass_words,
    side,
)


def shown(here: Here, task: Task, edge: str = "left") -> Shown:
    """The screen of a task as things stand now."""
    base = Shown(
        heed=here.heed(task),
        drawing=drawings.drawing(here, task, edge),
        cautions=CAUTIONS.get(task.kind.caution, ()),
        seats=_seats(here, task),
    )
    fill = _FILL.get(task.kind.name)
    return fill(Pane(here=here, task=task, edge=edge), base) if fill else base


def _seats(here: Here, task: Task) -> tuple[str, ...]:
    if task.kind.stage == "fasteners" and task.kind.scope != "panel":
        return pair_seats(task.subject)
    if task.kind.stage in ("panels", "secure") and task.panel:
        return tuple(seats_of(here.state, task.panel))
    return ()


# -- before anything ------------------------------------------------------------------------------


def load_row(seat: PlannedSeat, unit: str) -> Row:
    """What a seat's fastener carries against what is allowed, in words."""
    load = load_words(seat_force_N(seat), unit)
    allowed = seat_allowed_N(seat)
    share = load_share(seat)
    if share is None or allowed is None:
        return Row(name=seat.seat, words=load, verdict="unknown", verdict_words="not known")
    words = f"{load} of {load_words(allowed, unit)}"
    if share > 1:
        return Row(name=seat.seat, words=words, verdict="out", verdict_words="too much")
    return Row(name=seat.seat, words=words, verdict="in", verdict_words=f"{share:.0%}")


def _loads(pane: Pane, base: Shown) -> Shown:
    plan, unit = pane.here.state.current, pane.here.unit
    rows = [load_row(seat, unit) for seat in plan.seats]
    rows += [_alone_row(name, row, unit) for name, row in worst_alone(plan)]
    return replace(base, rows=tuple(rows))


def _alone_row(panel: str, row: LoadRow, unit: str) -> Row:
    """The one-fastener check of a panel: its worst fastener, were all others to let go."""
    name, words = panel, f"if all but {row.seat} let go: {load_words(row.alone_N, unit)}"
    if row.alone_share is None:
        return Row(name=name, words=words, verdict="unknown", verdict_words="not known")
    if row.alone_share > 1:
        return Row(name=name, words=words, verdict="out", verdict_words="too much")
    return Row(name=name, words=words, verdict="in", verdict_words=f"{row.alone_share:.0%}")


def _tools(pane: Pane, base: Shown) -> Shown:
    rows = [
        Row(
            name=f"{item.count} + {item.spares}" if item.fastener else str(item.count),
            words=_carry_words(item.fastener.name, item.seats)
            if item.fastener
            else f"no fastener is listed for {', '.join(item.seats)}: ask the lead",
        )
        for item in to_carry(pane.here.state.current)
    ]
    plan = pane.here.state.current
    rows += [Row(name="bits", words=words) for words in bits(plan)]
    rows.append(Row(name="tape", words=tape(plan, pane.here.fmt)))
    return replace(base, rows=(*rows, *(Row(name="", words=tool) for tool in TOOLS)))


def _carry_words(fastener: str, seats: tuple[str, ...]) -> str:
    return f"{fastener}: {', '.join(seats)}" if seats else f"{fastener}: spares only"


def _people(pane: Pane, base: Shown) -> Shown:
    panels = pane.here.state.job.panels
    heaviest = max(panels, key=lambda panel: panel.mass_kg)
    others = ", ".join(
        f"{p.name} {mass_words(p.mass_kg, pane.here.unit)}" for p in panels if p is not heaviest
    )
    number = Number(
        what="Heaviest panel",
        value=large_mass(heaviest.mass_kg, pane.here.unit),
        where=f"panel {heaviest.name}",
        in_hand=False,
    )
    plan = pane.here.state.plan
    lift = lift_lines(plan.job, plan.arrangement, partial(mass_words, unit=pane.here.unit))
    rows = tuple(Row(name=name, words=words) for name, words in lift.rows)
    # what the shares are not goes with them, always
    lines = (*((others,) if others else ()), *lift.statements)
    return replace(base, numbers=(number,), rows=rows, lines=lines)


# -- the wall -------------------------------------------------------------------------------------


def _reference_line(pane: Pane, base: Shown) -> Shown:
    span = live_words("wall-span", "", span_words(pane.here.state, pane.here.unit))
    return replace(base, lines=(Markup("From {} above the floor at least.").format(span),))


def _check(_: Pane, base: Shown) -> Shown:
    """A laser cannot be turned end for end: what is done instead."""
    words = (
        "Laser: mark its right end; turn it until its left end meets that mark. The miss is its "
        "tilt over the line's length."
    )
    return replace(base, lines=(words,))


def _line(pane: Pane, base: Shown) -> Shown:
    line = next(line for line in pane.here.state.lines if line.name == pane.task.subject)
    seats = [seat.seat for seat in pane.here.state.current.seats if seat.seat in line.seats]
    is_only = len(pane.here.state.lines) == 1
    words = "It serves every seat." if is_only else f"It serves the seats {', '.join(seats)}."
    return replace(base, lines=(words,))


def _tape(pane: Pane, base: Shown) -> Shown:
    line = next(line for line in pane.here.state.lines if line.name == pane.task.subject)
    reach = live_words("wall-reach", line.name, reach_words(pane.here.state, line, pane.here.unit))
    words = Markup("It must reach from {}.").format(reach)
    return replace(base, lines=(words, "Read x by plumbing down to it."))


def _corners(pane: Pane, base: Shown) -> Shown:
    rows = [
        Row(name=name, words=live_words("wall-corners", name, words))
        for name, words in corner_words(pane.here.state, pane.here.unit).items()
    ]
    return replace(base, rows=tuple(rows))


# -- fasteners ------------------------------------------------------------------------------------


def hole_numbers(here: Here, seat_name: str) -> tuple[Number, ...]:
    """The hole as it is marked: from the reference line, above its level line."""
    seat = here.state.seat(seat_name)
    line = here.state.line_of(seat_name)
    above = seat.hole_y_mm - here.state.line_height_mm(line)
    over = _over(above, line.name, here)
    return (
        Number(
            what="Hole",
            value=large(abs(seat.x_mm), here.unit),
            where=side(seat.x_mm),
            live=f"hole-x:{seat_name}",
            where_live=f"x-side:{seat_name}",
        ),
        Number(
            what="Hole",
            value=large(abs(above), here.unit),
            where=over,
            live=f"hole-above:{seat_name}",
            where_live=f"hole-over:{seat_name}",
        ),
    )


def seat_numbers(here: Here, seat_name: str) -> tuple[Number, ...]:
    """The seat as it should be read: the same two directions, for the seat."""
    x, y = drawings.seat_place_mm(here.state, seat_name)
    line = here.state.line_of(seat_name)
    above = y - here.state.line_height_mm(line)
    over = _over(above, line.name, here)
    return (
        Number(
            what="Seat",
            value=large(abs(x), here.unit),
            where=side(x),
            live=f"seat-x:{seat_name}",
            where_live=f"seat-side:{seat_name}",
        ),
        Number(
            what="Seat",
            value=large(abs(above), here.unit),
            where=over,
            live=f"seat-above:{seat_name}",
            where_live=f"seat-over:{seat_name}",
        ),
    )


def _over(above_mm: float, line: str, here: Here) -> str:
    name = f"level line {line}" if len(here.state.lines) > 1 else "the level line"
    return f"{'above' if above_mm >= 0 else 'below'} {name}"


def _fastener_words(here: Here, seat: PlannedSeat) -> str:
    if seat.fastener is None:
        return "No fastener is listed for what is behind: ask the lead."
    drop = seat.fastener.drop_mm
    if abs(drop) < SAME_MM:
        return f"{seat.fastener.name}: hole and seat at one height"
    way = "below" if drop > 0 else "above"
    return f"{seat.fastener.name}: its seat comes {here.fmt(abs(drop))} {way} the hole"


def _mark(pane: Pane, base: Shown) -> Shown:
    name = pane.task.subject
    seat = pane.here.state.seat(name)
    check = live_line("check", name, drawings.check_words(pane.here, name), "Check: ")
    return replace(
        base,
        heed=(*base.heed, *_old_mark(pane.here, name)),
        section=drawings.section(pane.here, name, "hole"),
        fastener=seat.fastener.name if seat.fastener else "",
        numbers=hole_numbers(pane.here, name),
        lines=(_live_fastener(pane.here, seat), check),
        links=stick_link(pane),
    )


def _old_mark(here: Here, seat: str) -> tuple[Markup, ...]:
    """Two marks for one hole on a wall, and the wrong one is drilled: the old one goes first."""
    old = old_mark_mm(here.state, seat)
    if old is None:
        return ()
    x, line = old[0], here.state.line_of(seat)
    above = old[1] - here.state.line_height_mm(line)
    words = f"{across(x, here.unit)}, {here.fmt(abs(above))} {_over(above, line.name, here)}"
    return (Markup("<span data-old-mark>{}{}.</span>").format(RUB_OUT, words),)


RUB_OUT = "This mark has moved. Rub out the old one: it was at "


def _live_fastener(here: Here, seat: PlannedSeat) -> Markup:
    return live_words("fastener-words", seat.seat, _fastener_words(here, seat))


def _pilot(pane: Pane, base: Shown) -> Shown:
    name = pane.task.subject
    expected = live_words("expected", name, EXPECTED[pane.here.state.seat(name).into])
    words = Markup("The plan expects {}. Stop turning when something feels wrong.")
    return replace(base, lines=(words.format(expected),))


EXPECTED = {
    "hollow": "nothing: hollow",
    "stud": "a stud",
    "edge": "the edge of a stud",
    "steel": "a steel stud",
    "backed": "a board behind the lining",
    "solid": "solid wall",
}


def _anchor(pane: Pane, base: Shown) -> Shown:
    seat = pane.here.state.seat(pane.task.subject)
    row = load_row(seat, pane.here.unit)
    return replace(
        base,
        drawing=drawings.section(pane.here, pane.task.subject, "hole"),
        lines=(_live_fastener(pane.here, seat), "The bit its maker names; straight in."),
        rows=(replace(row, name="Load"),),
        numbers=(),
    )


def _press(pane: Pane, base: Shown) -> Shown:
    seat = pane.here.state.seat(pane.task.subject)
    words = f"It will carry {load_words(seat_force_N(seat), pane.here.unit)}."
    return replace(
        base, drawing=drawings.section(pane.here, pane.task.subject, "seat"), lines=(words,)
    )


def _measure(pane: Pane, base: Shown) -> Shown:
    """The seat is read, not the hole: say by how much the two differ."""
    name = pane.task.subject
    return replace(base, lines=(live_line("measure-words", name, _drop_words(pane.here, name)),))


def _drop_words(here: Here, seat: str) -> str:
    drop = here.state.seat(seat).drop_mm
    if abs(drop) < SAME_MM:
        return ""
    way = "below" if drop > 0 else "above"
    return f"The ring bears {here.fmt(abs(drop))} {way} the hole."


_FILL: Mapping[str, Callable[[Pane, Shown], Shown]] = MappingProxyType(
    {
        "before.loads": _loads,
        "before.tools": _tools,
        "before.people": _people,
        "reference.line": _reference_line,
        "level.check": _check,
        "level.line": _line,
        "level.tape": _tape,
        "stand_back.corners": _corners,
        "fasteners.stick": stick_screen,
        "fasteners.pair": pair_screen,
        "fasteners.cross": by_level_screen,
        "fasteners.recross": by_level_screen,
        "fasteners.mark": _mark,
        "fasteners.pilot": _pilot,
        "fasteners.anchor": _anchor,
        "fasteners.press": _press,
        "fasteners.measure": _measure,
        "panels.shim": shim_screen,
        "panels.lift": lift_screen,
        "panels.engaged": engaged_screen,
        "panels.edge": left_edge_screen,
        "panels.facing": facing_screen,
        "panels.level": level_screen,
        "close.next_day": edge_screen,
        "panels.trim": trim_screen,
        "panels.move": move_screen,
    }
)
