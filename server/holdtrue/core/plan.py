"""The plan: every seat, its hole, what carries it, and what must be known before release.

Method: seats come from the arrangement; what is behind each x chooses the fastener (first listed);
its drop gives the hole, its standoff the pull; the load is compared with what is allowed.

Source: the project's own rules, engine definitions of load / allowed; capacities always come from
the user.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial

from holdtrue.core.cables import zone_notes
from holdtrue.core.geometry import arrange
from holdtrue.core.hang_loads import safe_factor, seat_loads
from holdtrue.core.loads import load_share, seat_allowed_N, seat_force_N, seat_load_findings
from holdtrue.core.method_findings import method_findings
from holdtrue.core.model import (
    Arrangement,
    Fastener,
    Finding,
    Job,
    Material,
    Met,
    Panel,
    Plan,
    PlannedSeat,
)
from holdtrue.core.readout import format_length
from holdtrue.core.screw_findings import cable_notes, screw_findings
from holdtrue.core.slope import slope_findings
from holdtrue.core.units import is_inch_like
from holdtrue.core.wall import Behind, behind_at, fastener_for, hole_findings

__all__ = [
    "Point",
    "found_behind",
    "load_share",
    "make_plan",
    "plan_findings",
    "seat_allowed_N",
    "seat_force_N",
    "seat_load_findings",
]

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
        loads = seat_loads(panel, [fasteners[name] for name in names])
        for name, load in zip(names, loads, strict=True):
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
                    # a screw that is lifted is loaded as much, the other way
                    load_N=abs(load.down_N),
                    pull_N=load.pull_N,
                    side_N=load.side_N,
                    safe=safe_factor(panel),
                )
            )
            at += 1
    return tuple(seats)


def plan_findings(job: Job, seats: tuple[PlannedSeat, ...]) -> tuple[Finding, ...]:
    """What must be known before release: conflicts, missing fasteners, loads, screws, methods.

    Parameters: job; seats of its plan, lengths [mm], loads [N].
    Returns: findings, seat by seat, then panel by panel, then the layout's and the wall's.
    Raises: CoreError, as ``hang_loads``.
    Source: module head.
    """
    say = partial(format_length, unit=job.unit)
    found: list[Finding] = []
    for seat in seats:
        found += hole_findings(seat.seat, seat.x_mm, seat.hole_y_mm, job.wall)
        found += seat_load_findings(seat)
        found += screw_findings(seat, say)
        found += _hanger_findings(job, seat)
    for index, panel in enumerate(job.panels):
        if len(panel.hangers) == 1 and panel.hang.method == "hangers":
            found += _crooked(panel)
        found += method_findings(
            panel,
            [seat for seat in seats if seat.panel == index],
            say,
            mass_unit="lb" if is_inch_like(job.unit) else "kg",
        )
    found += slope_findings(job.layout)
    return (*found, *cable_notes(seats, say), *zone_notes(job.wall))


def _hanger_findings(job: Job, seat: PlannedSeat) -> list[Finding]:
    capacity_N = job.panels[seat.panel].hangers[seat.hanger].capacity_N
    load_N = seat.load_N * seat.safe
    if capacity_N is None or load_N <= capacity_N:
        return []
    text = (
        f"{seat.seat}: the hanger on the panel carries {load_N:.1f} N, more than its "
        f"{capacity_N:.1f} N"
    )
    return [Finding(kind="hanger overload", seat=seat.seat, weight="bar", text=text)]


def _crooked(panel: Panel) -> list[Finding]:
    if abs(panel.hangers[0].u_mm - panel.cg_u_mm) <= 1.0:
        return []
    text = f"{panel.name}: its only hanger is not over its centre of gravity: it will hang crooked"
    return [Finding(kind="crooked", seat=f"{panel.name}1", weight="note", text=text)]


def found_behind(met: Met, material: Material | None = None, known: Behind | None = None) -> Behind:
    """What a log says was found behind a seat, as a value.

    Parameters: met: stud, steel, hollow, backed or solid; material of a stud ("stud" with no
    material stays unknown; a stud of steel is steel); known: what the survey says is there. A stud
    met where its edge was expected is that edge, of known material: how far in it is, nobody knows.
    Returns: Behind [-].
    Raises: nothing.
    Source: module head.

    >>> found_behind("stud", "wood", Behind(into="edge"))
    Behind(into='edge', material='wood')
    """
    # a stud said to be of steel must not get a wood screw and a load check that looks fine
    is_steel = met == "steel" or (met == "stud" and material == "steel")
    if not is_steel and met != "stud":
        return Behind(into=met)
    found: Material = "steel" if is_steel else material or "unknown"
    if known is not None and known.into == "edge":
        return Behind(into="edge", material=found)
    return Behind(into="steel" if is_steel else "stud", material=found)
