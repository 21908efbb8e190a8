"""Random jobs and what happens at the wall, told twice: as entries of the log and to the phone."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from copy import deepcopy
from dataclasses import dataclass, field
from itertools import pairwise
from math import hypot
from random import Random
from typing import Any

from holdtrue.core.recompute import recompute_mm
from holdtrue.core.sources import STUD_WIDTH_MM
from holdtrue.domain import events
from holdtrue.domain.consequence import consequence
from holdtrue.domain.effects import MET_FOUND
from holdtrue.domain.fold import created, evolve
from holdtrue.domain.levelcheck import level_error_mm_per_m
from holdtrue.domain.planning import held_mm
from holdtrue.domain.prefill import planned_values
from holdtrue.domain.problem import problem
from holdtrue.domain.state import JobState
from holdtrue.domain.subjects import panel_of_seat

Values = dict[str, Any]
Way = Callable[[Random, JobState, str], tuple[Values, Values]]
NAMES = ("A", "B", "upper-left", "D", "5a", "F")
INCH_TAPES = (1 / 8, 1 / 16, 1 / 32)
MM_TAPES = (1, 0.5, 2, 5)
FOUND = ("stud", "steel", "hollow", "backed", "solid")


@dataclass(frozen=True, kw_only=True)
class Told:
    """An entry of the log."""

    seq: int
    type: str
    body: Mapping[str, Any]
    key: str = ""
    who: str = "IVO"
    received: str = "2026-03-02T08:00:00Z"
    tapped: str | None = None


@dataclass(kw_only=True)
class Story:
    """A job, the problem a page was given, and each later event with what the server made of it."""

    document: Values
    problem: Values
    events: list[Values] = field(default_factory=list)
    states: list[JobState] = field(default_factory=list)
    """One more than events: the first is the page's own."""

    def expected(self) -> Iterator[Values]:
        """What the phone must come to after each event."""
        for event, before, after in zip(self.events, self.states, self.states[1:], strict=False):
            yield summary(before, after, event.get("seat"))


def summary(before: JobState, after: JobState, seat: str | None) -> Values:
    told = consequence(before, after, seat)
    assert told.kept is not None
    return {
        "bearing": dict(after.bearing_mm),
        "optimum": recompute_mm(after.form, fixed_mm(after)),
        "marks": dict(after.marks_mm),
        "order": list(after.order),
        "lines": [(one.name, after.line_height_mm(one), list(one.seats)) for one in after.lines],
        "fasteners": {s.seat: s.fastener.name if s.fastener else None for s in after.current.seats},
        "into": {s.seat: s.into for s in after.current.seats},
        "off": told.off_mm,
        "kept": told.kept.share,
        "finish": {kind: abs(r.value_mm) for kind, r in told.finish.items()},
        "is_inside": told.is_inside,
        "moves": {
            m.seat: [m.right_mm, m.up_mm, m.is_marked, m.fastener_before, m.fastener_after]
            for m in told.moves
        },
    }


def fixed_mm(state: JobState) -> dict[str, tuple[float, float]]:
    """Set seats, and begun ones on their marks, as ``planning.remarked`` holds them."""
    return held_mm(state) | dict(state.bearing_mm)


def story(random: Random) -> Story:
    """A random job, perhaps begun before the page was opened, and up to nine events after."""
    document = random_document(random)
    state = created(Told(seq=1, type=events.JOB_CREATED, body={"document": document}))
    for _ in range(random.choice((0, 0, 0, 2, 5))):
        state, _ = happens(random, state)
    if random.random() < 0.3:
        state = random.choice((_hung, _corrected, _shimmed))(random, state)
    first = _reference_read if random.random() < 0.3 else None
    ways = [None if at else first for at in range(random.randint(3, 9))]
    return told_from(random, document, state, ways)


def told_from(
    random: Random, document: Values, state: JobState, ways: Sequence[Way | None]
) -> Story:
    """The page is opened, and this happens then."""
    told = Story(document=document, problem=problem(state), states=[state])
    for way in ways:
        state, event = happens(random, state, way)
        told.events.append(event)
        told.states.append(state)
    return told


# ---- jobs


def random_document(random: Random) -> Values:
    """1 to 6 panels of 1 to 4 hangers in any layout, in inches or mm, with round or odd numbers."""
    unit = random.choice(("mm", "in"))
    grain = random.choice((10, 5, 1, 0.1) if unit == "mm" else (1, 0.25, 1 / 16, 0.01))
    scale = 1.0 if unit == "mm" else 1 / 25.4

    def some(low_mm: float, high_mm: float) -> float:
        return round(random.uniform(low_mm, high_mm) * scale / grain) * grain

    count = random.randint(1, len(NAMES))
    panels = [_panel(random, name, some, grain) for name in NAMES[:count]]
    if random.random() < 0.4:  # a run of equal panels, as most works are
        panels = [deepcopy(panels[0]) | {"name": name} for name in NAMES[:count]]
    layout = _layout(random, panels, some)
    return {
        "format": "holdtrue.job/1",
        "title": "Any",
        "unit": unit,
        "panels": panels,
        "layout": layout,
        "slope": random.choice((0, 0, 2.5, 20)),
        "wall": _wall(random, some),
        "fasteners": _fasteners(random, some),
        "tolerance": _tolerance(random, scale),
        "tape": random.choice(MM_TAPES if unit == "mm" else INCH_TAPES),
        "uncertainty": {"tape": 0.4 * scale, "placing": random.choice((0.3, 1.0)) * scale},
    }


def _panel(random: Random, name: str, some: Any, grain: float) -> Values:
    width, height = some(250, 1500), some(250, 1500)
    hangers = random.randint(1, 4)
    # apart by a tenth of the width, so that every job is one that could be built
    slots = sorted(random.sample(range(1, 10), hangers))
    ins = [round(width * slot / 10 / grain) * grain for slot in slots]
    is_level = random.random() < 0.6
    down = some(20, 120)
    panel: Values = {
        "name": name,
        "width": width,
        "height": height,
        "depth": some(20, 60),
        "mass": "9 kg",
        "measured_on": random.choice(("back", "front")),
        "centre_of_gravity": {"in": (ins[0] + ins[-1]) / 2, "down": height / 2},
        "hangers": [{"in": x, "down": down if is_level else some(20, 120)} for x in ins],
        "shims": random.choice((0, 0, "2 mm")),
    }
    if is_level and hangers > 1 and random.random() < 0.3:
        panel |= {"shims": 0, "hang": {"method": "cleat", "up": "8 mm"}}
        if hangers == 2 and random.random() < 0.7:
            hooks = random.choice(({"hooks": 1}, {"hooks": 2, "apart": "5 mm"}))
            panel["hang"] = {"method": "wire", "rise": "10 mm", **hooks}
    return panel


def _layout(random: Random, panels: list[Values], some: Any) -> Values:
    kind = random.choice(("row", "row", "column", "grid", "free"))
    if kind == "free":
        for panel in panels:
            panel["centre"] = {"x": some(-3000, 3000), "y": some(1000, 2000)}
        return {"kind": "free"}
    layout: Values = {
        "kind": kind,
        "gap": some(10, 150),
        "align": "centre" if kind == "column" else random.choice(("top", "centre", "bottom")),
        "height": {"of": random.choice(("centre", "top", "bottom")), "at": some(2800, 4000)},
        "offset": random.choice((0, some(-800, 800))),
    }
    if kind == "grid":
        names = [panel["name"] for panel in panels]
        cut = random.randint(1, len(names))
        layout["rows"] = [row for row in (names[:cut], names[cut:]) if row]
    return layout


def _wall(random: Random, some: Any) -> Values:
    first, apart = some(-2400, -2000), some(400, 620)
    materials = [random.choice(("wood", "steel", "unknown")) for _ in range(random.choice((0, 8)))]
    ends = {"left": some(-2600, -1500), "right": some(1500, 2600)} if random.random() < 0.2 else {}
    outlets = [{"x": some(-1500, 1500), "y": some(300, 3500)}] if random.random() < 0.2 else []
    return {
        **ends,
        "outlets": outlets,
        "keep_clear": [_area(some) for _ in range(random.choice((0, 0, 1, 4)))],
        "behind": random.choice(("hollow", "hollow", "backed", "solid")),
        "studs": [{"x": first + i * apart, "material": m} for i, m in enumerate(materials)],
    }


def _area(some: Any) -> Values:
    x, y = some(-1500, 1500), some(1500, 3800)
    return {"x0": x, "y0": y, "x1": x + some(20, 300), "y1": y + some(20, 300), "why": "a duct"}


def _fasteners(random: Random, some: Any) -> list[Values]:
    listed = [
        {"name": f"{into} {i}", "into": into, "drop": some(-5, 12)}
        | ({"placing": max(some(1, 3), 0.02)} if random.random() < 0.3 else {})
        for into in FOUND
        for i in range(random.choice((0, 1, 1, 2)))
    ]
    return listed or [{"name": "hook", "into": "hollow", "drop": some(-5, 12)}]


def _tolerance(random: Random, scale: float) -> Values:
    kinds = ("level", "slack", "bearing", "gap", "step", "centre", "height")
    return {
        kind: round(random.choice((0.5, 1, 1.5, 3, 6)) * scale, 4)
        for kind in kinds
        if random.random() < 0.4
    }


# ---- events


def happens(random: Random, state: JobState, way: Way | None = None) -> tuple[JobState, Values]:
    """The next thing at the wall: most often what comes next in the order of driving.

    ``way``: what happens, instead of anything.
    """
    unset = [name for name in state.order if name not in state.set_seats]
    seat = unset[0] if unset and random.random() < 0.7 else random.choice(state.order)
    body, event = (way or random.choice(ANY_WAYS))(random, state, seat)
    entry_type = events.TASK_RECORDED
    if event["type"] in ("blocked", "freed"):
        entry_type = {"blocked": events.SEAT_BLOCKED, "freed": events.SEAT_FREED}[event["type"]]
    return evolve(state, Told(seq=state.seq + 1, type=entry_type, body=body)), event


def _hung(random: Random, state: JobState) -> JobState:
    """A panel set, hung and read before the page was opened: the rest answers to how it hangs."""
    if len(state.job.panels) < 2:
        return state
    panel = random.choice([p.name for p in state.job.panels])
    own = [seat for seat in state.form.seats if panel_of_seat(seat) == panel]
    bodies = []
    for seat in own:
        body, _ = measured(random, state, seat)
        state = evolve(state, Told(seq=state.seq + 1, type=events.TASK_RECORDED, body=body))
    bodies.append(task_body(state, f"panels.engaged:{panel}", "done", {}))
    values = {"low": random.choice(("left", "right")), "by": {"mm": random.uniform(0, 5)}}
    bodies.append(task_body(state, f"panels.level:{panel}", "measured", values))
    for body in bodies:
        state = evolve(state, Told(seq=state.seq + 1, type=events.TASK_RECORDED, body=body))
    return state


def _shimmed(random: Random, state: JobState) -> JobState:
    """A ring shimmed on the floor, its panel not lifted: the rest answers to where it will bear."""
    seat = random.choice(state.form.seats)
    body, _ = measured(random, state, seat)
    laid = {"thick": {"mm": random.uniform(0, 4)}}
    for one in (body, task_body(state, f"panels.shim:{seat}", "measured", laid)):
        state = evolve(state, Told(seq=state.seq + 1, type=events.TASK_RECORDED, body=one))
    return state


def _corrected(random: Random, state: JobState) -> JobState:
    """A seat to be made again, clear of its old hole."""
    seat = random.choice(state.form.seats)
    x, y = state.bearing_mm.get(seat) or state.marks_mm[seat]
    aim = {"x_mm": x + random.choice((-25, 25)), "y_mm": y + random.uniform(-3, 3)}
    body = {"seat": seat, "choice": "correct", "chance": 0.5, "aim": aim, "fastener": None}
    return evolve(state, Told(seq=state.seq + 1, type=events.CHOICE_MADE, body=body))


def task_body(state: JobState, task: str, outcome: str, values: Values) -> Values:
    return {
        "task": task,
        "outcome": outcome,
        "values": values,
        "planned": planned_values(state, task),
        "revision": state.revision,
    }


def _marked(random: Random, state: JobState, seat: str) -> tuple[Values, Values]:
    now = state.seat(seat)
    body = task_body(state, f"fasteners.mark:{seat}", "done", {})
    body["mark"] = {
        "x_mm": now.x_mm,
        "y_mm": now.y_mm,
        "hole_y_mm": now.hole_y_mm,
        "fastener": now.fastener.name if now.fastener else None,
    }
    return body, {"type": "marked", "seat": seat}


def _piloted(random: Random, state: JobState, seat: str) -> tuple[Values, Values]:
    met = random.choice((*MET_FOUND, "unclear"))
    body = task_body(state, f"fasteners.pilot:{seat}", "done", {"met": met})
    return body, {"type": "piloted", "seat": seat, "met": met}


def _anchored(random: Random, state: JobState, seat: str) -> tuple[Values, Values]:
    body = task_body(state, f"fasteners.anchor:{seat}", "done", {})
    return body, {"type": "anchored", "seat": seat}


def measured(random: Random, state: JobState, seat: str) -> tuple[Values, Values]:
    task = f"fasteners.measure:{seat}"
    values, outcome = planned_values(state, task), "as_planned"
    if random.random() < 0.8:
        outcome = "measured"
        size = random.choice((0.3, 1.0, 3.0))
        values = {k: {"mm": round(v["mm"] + random.gauss(0, size), 6)} for k, v in values.items()}
    line = state.line_height_mm(state.line_of(seat))
    place = (values["x"]["mm"], line + values["above"]["mm"])
    before = state.set_seats.get(seat)
    given = before.given_mm if before else state.marks_mm[seat]
    body = task_body(state, task, outcome, values)
    body["place"] = {"x_mm": place[0], "y_mm": place[1]}
    body["given"] = {"x_mm": given[0], "y_mm": given[1]}
    event: Values = {"type": "measured", "seat": seat}
    # the phone reads "As planned" off its own marks
    event["reading"] = (
        None
        if outcome == "as_planned"
        else {"x_mm": values["x"]["mm"], "above_mm": values["above"]["mm"]}
    )
    return body, event


def _again(random: Random, state: JobState, seat: str) -> tuple[Values, Values]:
    """A set seat read once more; else the seat is measured."""
    if not state.set_seats:
        return measured(random, state, seat)
    seat = random.choice(sorted(state.set_seats))
    built = state.set_seats[seat]
    x = round(built.x_mm + random.gauss(0, 0.7), 3)
    above = round(built.y_mm - built.line_mm + random.gauss(0, 0.7), 3)
    values: Values = {"x": {"mm": x}, "above": {"mm": above}}
    reading = {"x_mm": x, "above_mm": above}
    body = task_body(state, f"fasteners.again:{seat}", "done", values)
    return body, {"type": "again", "seat": seat, "reading": reading}


def _crossed(random: Random, state: JobState, seat: str) -> tuple[Values, Values]:
    """Two set seats of one panel against each other; else the seat is measured."""
    pairs = [
        pair
        for pair in pairwise(state.form.seats)
        if panel_of_seat(pair[0]) == panel_of_seat(pair[1]) and set(pair) <= set(state.set_seats)
    ]
    if not pairs:
        return measured(random, state, seat)
    a, b = random.choice(pairs)
    (ax, ay), (bx, by) = (state.set_mm[name] for name in (a, b))
    rise = round(by - ay + random.gauss(0, 0.8), 3)
    distance = {"mm": round(hypot(bx - ax, by - ay) + random.gauss(0, 0.8), 3)}
    is_again = f"fasteners.cross:{a}-{b}" in state.records and random.random() < 0.5
    values: Values = {
        "higher": "right" if rise > 0 else "left",
        "by": {"mm": abs(rise)},
        "distance": distance,
        "turned": random.choice(("yes", "no")),
    }
    left_out = random.choice(("by", "distance", None))
    if left_out:
        del values[left_out]
    if left_out == "by":
        values["higher"] = random.choice(("unread", "level"))
    event: Values = {
        "type": "crossed",
        "a": a,
        "b": b,
        "distance_mm": None if left_out == "distance" else distance["mm"],
        "rise_mm": {"unread": None, "level": 0.0}.get(values["higher"], rise),
        "is_turned": values["turned"] == "yes",
        "is_again": is_again,
    }
    kind = "recross" if is_again else "cross"
    return task_body(state, f"fasteners.{kind}:{a}-{b}", "measured", values), event


def _line_read(random: Random, state: JobState, seat: str) -> tuple[Values, Values]:
    line = state.line_of(seat)
    height = round(line.y_mm + random.gauss(0, 4), 3)
    body = task_body(state, f"level.line:{line.name}", "measured", {"height": {"mm": height}})
    return body, {"type": "line", "line": line.name, "height_mm": height}


def _level_checked(random: Random, state: JobState, seat: str) -> tuple[Values, Values]:
    values = {
        "instrument": random.choice(("spirit", "laser")),
        "over": {"mm": 1200.0},
        "miss": {"mm": round(random.uniform(0, 3), 2)},
        "higher": random.choice(("same", "high", "low")),
    }
    event = {
        "type": "level",
        "error_mm_per_m": level_error_mm_per_m(values),
        "is_laser": values["instrument"] == "laser",
    }
    return task_body(state, "level.check", "done", values), event


def _hanger_read(random: Random, state: JobState, seat: str) -> tuple[Values, Values]:
    """A hanger not where the plan has it; not once its panel has a hole."""
    own = [one for one in state.form.seats if panel_of_seat(one) == panel_of_seat(seat)]
    panel = next(p for p in state.job.panels if p.name == panel_of_seat(seat))
    if panel.hang.method != "hangers" or any(state.is_drilled(one) for one in own):
        return _marked(random, state, seat)
    task, size = f"work.hanger:{seat}", random.choice((0.5, 3.0))
    values = dict(planned_values(state, task))
    if random.random() < 0.3:
        other = {"left": "right", "right": "left"}[values["edge"]]
        values |= {"edge": other, "in": {"mm": panel.width_mm - values["in"]["mm"]}}
    for name in ("in", "down"):
        values[name] = {"mm": round(values[name]["mm"] + random.gauss(0, size), 6)}
    down = values["down"]["mm"]
    if random.random() < 0.3:
        sample = random.choice(state.job.fasteners)
        values["to"] = sample.name
        down += sample.drop_mm
    read = {"edge": values["edge"], "in_mm": values["in"]["mm"], "down_mm": down}
    return task_body(state, task, "measured", values), {
        "type": "hanger",
        "seat": seat,
        "read": read,
    }


def _studs_found(random: Random, state: JobState, seat: str) -> tuple[Values, Values]:
    """Studs that differ from the plan's; not once there is a hole."""
    if any(state.is_drilled(one) for one in state.form.seats):
        return _marked(random, state, seat)
    kept = [stud for stud in state.job.wall.studs if random.random() < 0.8]
    studs: list[Values] = [
        {"x": {"mm": round(stud.x_mm + random.gauss(0, 20), 6)}, "material": stud.material}
        for stud in kept
    ]
    x_mm = round(state.seat(seat).x_mm + random.gauss(0, 30), 6)
    if all(abs(stud["x"]["mm"] - x_mm) > 1 for stud in studs):
        width = {"width": {"mm": 50.0}} if random.random() < 0.5 else {}
        studs.append({"x": {"mm": x_mm}, "material": random.choice(("wood", "steel"))} | width)
    event = {
        "type": "studs",
        "studs": [
            {
                "x_mm": stud["x"]["mm"],
                "width_mm": stud["width"]["mm"] if "width" in stud else STUD_WIDTH_MM,
                "material": stud["material"],
            }
            for stud in studs
        ],
    }
    return task_body(state, "behind.studs", "measured", {"studs": studs}), event


def _lining_found(random: Random, state: JobState, seat: str) -> tuple[Values, Values]:
    """What is between the studs differs from the plan; not once there is a hole."""
    if any(state.is_drilled(one) for one in state.form.seats):
        return _marked(random, state, seat)
    values = {"behind": random.choice(("hollow", "backed", "solid"))}
    return task_body(state, "behind.wall", "measured", values), {"type": "lining", **values}


def _ends_read(random: Random, state: JobState, seat: str) -> tuple[Values, Values]:
    """Where the wall ends, perhaps at one side only; not once there is a hole."""
    if any(state.is_drilled(one) for one in state.form.seats):
        return _marked(random, state, seat)
    ends = {
        end: {"mm": round(random.uniform(200, 3000), 3)}
        for end in ("left", "right")
        if random.random() < 0.6
    }
    read = [-ends["left"]["mm"] if "left" in ends else None, ends.get("right", {}).get("mm")]
    return task_body(state, "reference.ends", "done", ends), {"type": "ends", "ends_mm": read}


def _carried(random: Random, state: JobState, seat: str) -> tuple[Values, Values]:
    """A wire or a rail not where the plan has it; not once its panel has a hole."""
    panel = next(p for p in state.job.panels if p.name == panel_of_seat(seat))
    own = [one for one in state.form.seats if panel_of_seat(one) == panel.name]
    if panel.hang.method == "hangers" or any(state.is_drilled(one) for one in own):
        return _marked(random, state, seat)
    kind = "work.wire" if panel.hang.method == "wire" else "work.rail"
    task = f"{kind}:{panel.name}"
    by = [round(random.gauss(0, 1), 6) for _ in range(2)]
    planned = planned_values(state, task)
    if kind == "work.wire":
        down = {"mm": planned["down"]["mm"] + by[0] + 5}
        values = {**planned, "down": down, "rise": {"mm": planned["rise"]["mm"] + abs(by[1])}}
        down_mm = down["mm"] - values["rise"]["mm"]
    else:
        values = {
            end: {"mm": planned[end]["mm"] + mm}
            for end, mm in zip(("left", "right"), by, strict=True)
        }
        down_mm = (values["left"]["mm"] + values["right"]["mm"]) / 2
    body = task_body(state, task, "measured", values)
    return body, {"type": "carried", "panel": panel.name, "down_mm": down_mm}


def _reference_read(random: Random, state: JobState, seat: str) -> tuple[Values, Values]:
    """The venue's mark means something else; not once the wall bears a hole or a level line."""
    is_begun = state.hang is not None or any(
        task.startswith("level.line:") for task in state.records
    )
    made = [one for one in state.form.seats if state.is_drilled(one) or one in state.set_seats]
    if is_begun or made:
        return _marked(random, state, seat)
    values = dict(planned_values(state, "reference.mark"))
    values["meaning"] = random.choice(("plan", "centre", "left", "right"))
    if random.random() < 0.5:
        values["height_of"] = random.choice(("centre", "top", "bottom"))
    by = random.choice((0, 0.5, 12.7, random.gauss(0, 150)))
    values["height"] = {"mm": round(values["height"]["mm"] + by, 6)}
    read = {key: values[key] for key in ("meaning", "height_of")}
    read["height_mm"] = values["height"]["mm"]
    return task_body(state, "reference.mark", "measured", values), {
        "type": "reference",
        "read": read,
    }


def _blocked(random: Random, state: JobState, seat: str) -> tuple[Values, Values]:
    names = [fastener.name for fastener in state.job.fasteners]
    found = random.choice((*FOUND, "same"))
    body: Values = {
        "seat": seat,
        "found": found,
        "material": random.choice((None, "wood", "unknown")),
        "fastener": random.choice(names) if found == "same" or random.random() < 0.3 else None,
    }
    return body, {"type": "blocked", **body}


def _stick(random: Random, state: JobState, seat: str) -> tuple[Values, Values]:
    body = task_body(state, f"fasteners.stick:{panel_of_seat(seat)}", "done", {})
    return body, {"type": "stick", "seat": seat}


def _freed(random: Random, state: JobState, seat: str) -> tuple[Values, Values]:
    if state.set_seats and random.random() < 0.7:
        seat = random.choice(sorted(state.set_seats))
    if seat in state.set_seats and random.random() < 0.3:
        why = random.choice(("dropped", "same_hole"))
        return {"seat": seat, "why": why, "keeps": True}, {
            "type": "freed",
            "seat": seat,
            "keeps": True,
        }
    if not state.is_drilled(seat) or random.random() < 0.6:
        return {"seat": seat, "why": "wrong_hole"}, {"type": "freed", "seat": seat}
    row = state.seat(seat)
    x, y = row.x_mm + random.gauss(0, 15), row.hole_y_mm + random.gauss(0, 15)
    body = {"seat": seat, "why": "wrong_hole", "hole": {"x_mm": x, "y_mm": y}}
    return body, {"type": "freed", "seat": seat, "hole_mm": [x, y]}


ANY_WAYS: tuple[Way, ...] = (
    *(measured, measured, measured, measured, _marked, _marked, _marked, _piloted, _piloted),
    *(_anchored, _blocked, _blocked, _freed, _crossed, _crossed, _line_read, _level_checked),
    *(_stick, _again, _again, _hanger_read, _hanger_read, _studs_found),
    *(_reference_read, _reference_read, _lining_found, _ends_read, _carried, _carried),
)
