"""The plan: every seat, its hole, what carries it, and what must be known before release.

Method: seats come from the arrangement; what is behind each x chooses the fastener (first listed);
its drop gives the hole, its standoff the pull; the load is compared with what is allowed.

Source: the project's own rules, engine definitions of load / allowed; capacities always come from
the user.
"""

from __future__ import annotations

from collections.abc import Mapping
from math import hypot

from holdtrue.core.geometry import arrange
from holdtrue.core.model import (
    Arrangement,
    Fastener,
    Finding,
    Job,
    Material,
    Met,
    Plan,
    PlannedSeat,
)
from holdtrue.core.statics import hanger_loads_N
from holdtrue.core.wall import Behind, behind_at, fastener_for, hole_findings

Point = tuple[float, float]


def make_plan(
    job: Job,
    *,
    places_mm: Mapping[str, Point] | None = None,
    blocked: Mapping[str, Behind] | None = None,
    chosen: Mapping[str, str] | None = None,
) -> Plan:
    """Plan every seat of a job.

    Parameters: job; places_mm: seat name to (x, y) [mm] where it is or will be, instead of the
    planned place (backing is judged there); blocked: seat name to what was found behind it; chosen:
    seat name to the name of the fastener picked for it at the wall.
    Returns: Plan; seats in order, loads [N], lengths [mm]; findings.
    Raises: CoreError from geometry and statics.
    Source: module head.
    """
    arrangement = arrange(job)
    places = dict(zip(arrangement.seat_names, arrangement.seats_mm, strict=True))
    places.update(places_mm or {})
    behind = {
        name: (blocked or {}).get(name) or behind_at(job.wall, x) for name, (x, _) in places.items()
    }
    by_name = {f.name: f for f in job.fasteners}
    fasteners = {
        name: by_name[chosen[name]]
        if chosen and name in chosen
        else fastener_for(behind[name], job.fasteners)
        for name in places
    }
    seats = _seats(job, arrangement, places, behind, fasteners)
    return Plan(job=job, arrangement=arrangement, seats=seats, findings=plan_findings(job, seats))


def _seats(
    job: Job,
    arrangement: Arrangement,
    places: Mapping[str, Point],
    behind: Mapping[str, Behind],
    fasteners: Mapping[str, Fastener | None],
) -> tuple[PlannedSeat, ...]:
    seats, at = [], 0
    for panel in job.panels:
        names = arrangement.seat_names[at : at + len(panel.hangers)]
        loads = hanger_loads_N(panel, [fasteners[name] for name in names])
        for name, (load, pull) in zip(names, loads, strict=True):
            (x, y), fastener = places[name], fasteners[name]
            seats.append(
                PlannedSeat(
                    seat=name,
                    panel=arrangement.seat_panel[at],
                    hanger=arrangement.seat_hanger[at],
                    x_mm=x,
                    y_mm=y,
                    hole_y_mm=y + (fastener.drop_mm if fastener else 0.0),
                    fastener=fastener,
                    into=behind[name].into,
                    material=behind[name].material,
                    load_N=load,
                    pull_N=pull,
                )
            )
            at += 1
    return tuple(seats)


def plan_findings(job: Job, seats: tuple[PlannedSeat, ...]) -> tuple[Finding, ...]:
    """What must be known before release: conflicts, missing fasteners, loads, edges, lone hangers.

    Parameters: job; seats of its plan, lengths [mm], loads [N].
    Returns: findings, seat by seat, then panel by panel.
    Raises: nothing.
    Source: module head.
    """
    found: list[Finding] = []
    for seat in seats:
        found += hole_findings(seat.seat, seat.x_mm, seat.hole_y_mm, job.wall)
        found += seat_load_findings(seat)
        hanger = job.panels[seat.panel].hangers[seat.hanger]
        if hanger.capacity_N is not None and seat.load_N > hanger.capacity_N:
            found.append(
                Finding(
                    kind="hanger overload",
                    seat=seat.seat,
                    weight="bar",
                    text=f"{seat.seat}: the hanger on the panel carries {seat.load_N:.1f} N, "
                    f"more than its {hanger.capacity_N:.1f} N",
                )
            )
    for panel in job.panels:
        if len(panel.hangers) == 1 and abs(panel.hangers[0].u_mm - panel.cg_u_mm) > 1.0:
            found.append(
                Finding(
                    kind="crooked",
                    seat=f"{panel.name}1",
                    weight="note",
                    text=f"{panel.name}: its only hanger is not over its centre of gravity: "
                    "it will hang crooked",
                )
            )
    return tuple(found)


def seat_force_N(seat: PlannedSeat) -> float:
    """Resultant of load and pull on one fastener: sqrt(load^2 + pull^2).

    Parameters: seat; load_N, pull_N [N].
    Returns: force [N], never less than the vertical load (the safe side when one figure is given).
    Raises: nothing.
    Source: vector sum, OpenStax University Physics vol. 1, ch. 12.
    """
    return hypot(seat.load_N, seat.pull_N)


def load_share(seat: PlannedSeat) -> float | None:
    """Load / allowed of one seat's fastener.

    Parameters: seat.
    Returns: a share [-] above 0, 1 is all that is allowed; None where it is not known: no fastener,
    no capacity, its basis not stated, or a stud of unknown material.
    Raises: nothing.
    Source: module head.
    """
    fastener = seat.fastener
    if fastener is None or fastener.allowed_N is None or not fastener.basis_stated:
        return None
    if seat.into in ("stud", "edge") and seat.material == "unknown":
        return None
    return seat_force_N(seat) / fastener.allowed_N


def seat_load_findings(seat: PlannedSeat) -> list[Finding]:
    """What one seat's fastener and load ask for before release.

    Bars: no fastener listed, capacity or basis not known, more than the capacity at factor 1.
    Needs a reason: more than allowed; a stud of unknown material. Worth knowing: a stud's edge.

    Parameters: seat, its load and pull [N].
    Returns: findings naming the seat.
    Raises: nothing.
    Source: module head.
    """
    name, fastener = seat.seat, seat.fastener
    if fastener is None:
        return [
            Finding(
                kind="no fastener",
                seat=name,
                weight="bar",
                text=f"{name}: no fastener is listed for {_where(seat.into)}",
            )
        ]
    found = _capacity_findings(seat, fastener)
    if seat.into in ("stud", "edge") and seat.material == "unknown":
        found.append(
            Finding(
                kind="not known",
                seat=name,
                weight="reason",
                text=f"{name}: the stud's material is not known, so its load check is not known; "
                "the pilot hole must show wood or steel before the fastener goes in",
            )
        )
    if seat.into == "edge":
        found.append(
            Finding(
                kind="edge",
                seat=name,
                weight="note",
                text=f"{name}: at the edge of a stud, too close for a hollow-wall fastener; "
                f"{fastener.name} is used: mind its distance from the stud's edge",
            )
        )
    return found


def _capacity_findings(seat: PlannedSeat, fastener: Fastener) -> list[Finding]:
    name, force = seat.seat, seat_force_N(seat)
    if fastener.capacity_N is None or fastener.allowed_N is None:
        return [
            Finding(
                kind="not known",
                seat=name,
                weight="bar",
                text=f"{name}: the capacity of {fastener.name} is not known; "
                "enter the maker's figure",
            )
        ]
    found = []
    if not fastener.basis_stated:
        found.append(
            Finding(
                kind="not known",
                seat=name,
                weight="bar",
                text=f"{name}: the basis of {fastener.name}'s capacity is not stated; "
                "say working load or ultimate",
            )
        )
    if force > fastener.capacity_N:
        found.append(
            Finding(
                kind="overload",
                seat=name,
                weight="bar",
                text=f"{name}: {force:.1f} N on {fastener.name}, more than its capacity "
                f"{fastener.capacity_N:.1f} N; no reason releases this",
            )
        )
    elif force > fastener.allowed_N:
        found.append(
            Finding(
                kind="overload",
                seat=name,
                weight="reason",
                text=f"{name}: {force:.1f} N on {fastener.name}, allowed "
                f"{fastener.allowed_N:.1f} N (capacity / {fastener.design_factor:g})",
            )
        )
    return found


def _where(into: Met) -> str:
    return {
        "hollow": "a hollow wall",
        "stud": "a stud",
        "edge": "a stud's edge",
        "steel": "a steel stud",
        "backed": "a backed wall",
        "solid": "a solid wall",
    }[into]


def found_behind(met: Met, material: Material | None = None) -> Behind:
    """What a log says was found behind a seat, as a value.

    Parameters: met: stud, steel, hollow, backed or solid; material of a stud ("stud" with no
    material stays unknown; a stud of steel is steel).
    Returns: Behind [-].
    Raises: nothing.
    Source: module head.
    """
    # a stud said to be of steel must not get a wood screw and a load check that looks fine
    if met == "steel" or (met == "stud" and material == "steel"):
        return Behind(into="steel", material="steel")
    if met == "stud":
        return Behind(into="stud", material=material or "unknown")
    return Behind(into=met)
