"""The recompute problem as one small JSON document: what a phone needs to go on without network.

It holds the quadratic form as sparse rows, what lies behind the wall, the fasteners, and where the
job stands. ``static/js/core`` opens it and plays the events of the wall on it to the same optimum
and the same marks as ``domain.fold``. Coefficients are written to 12 significant digits, far below
anything on a wall; places are not rounded at all, so that ties are broken alike on both sides.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from holdtrue.core.criteria import line_chains
from holdtrue.core.geometry import laid_out_mm
from holdtrue.core.hung import play_mm
from holdtrue.core.model import Job, PlannedSeat, Wall
from holdtrue.core.quality import Form
from holdtrue.core.slope import planned_rise_mm
from holdtrue.core.sources import STUD_WIDTH_MM
from holdtrue.core.sources_trim import APART_FULL_MM, APART_PILOT_MM, SHIM_MOST_MM
from holdtrue.core.sources_wall import CABLE_ZONE_MM
from holdtrue.core.trim_kit import shim_mm
from holdtrue.core.wall import Behind, closed_areas
from holdtrue.domain.hanging import EDGE, LEVELS, edge_off_mm, facing_off_mm, hung_seats
from holdtrue.domain.levelcheck import checked_level, level_checks, read_rise_mm
from holdtrue.domain.planning import handy_mm
from holdtrue.domain.rings import SHIM, raised_mm
from holdtrue.domain.state import HungRead, JobState, Record, Trim
from holdtrue.domain.subjects import CROSSED, pair_seats

FORMAT = "holdtrue.problem"
VERSION = 7
DIGITS = 12
FARTHEST_MM = 1e7
"""No wall goes on farther."""
NOISE = 1e-13
"""Share of a row's largest coefficient below which one is a sum that came out as zero."""


def problem(state: JobState) -> dict[str, Any]:
    """The document of a job as it stands: seats, rows, order, wall, fasteners, marks, set seats."""
    return {
        "format": FORMAT,
        "version": VERSION,
        "seq": state.seq,
        "revision": state.revision,
        "unit": state.job.unit,
        "graduation_mm": state.job.graduation_mm,
        **_form(state.form),
        "frame": _frame(state),
        "order": list(state.order),
        "wall": _wall(state.job.wall),
        "fasteners": [
            {
                "name": f.name,
                "into": f.into,
                "drop_mm": f.drop_mm,
                "placing_u_mm": f.placing_u_mm,
            }
            for f in state.job.fasteners
        ],
        "now": {seat.seat: _now(seat) for seat in state.current.seats},
        **_standing(state),
        **_read(state),
        "lines": [
            {
                "name": line.name,
                "y_mm": state.line_height_mm(line),
                "planned_mm": line.y_mm,
                "is_read": f"level.line:{line.name}" in state.records,
                "seats": list(line.seats),
            }
            for line in state.lines
        ],
    }


def _form(form: Form) -> dict[str, Any]:
    n = len(form.seats)
    x, y = form.planned_mm[:n].tolist(), form.planned_mm[n:].tolist()
    return {
        "seats": list(form.seats),
        "seat_panel": list(form.seat_panel),
        "planned_mm": [list(place) for place in zip(x, y, strict=True)],
        "rows": [
            [kind, label, float(tolerance), _sparse(row)]
            for kind, label, tolerance, row in zip(
                form.kinds, form.labels, form.tolerance_mm, form.matrix, strict=True
            )
        ],
    }


def _frame(state: JobState) -> dict[str, Any]:
    """What the plan is made from: with it the phone plans again when the survey differs."""
    job, arrangement = state.job, state.plan.arrangement
    return {
        "panels": [
            {
                "width_mm": panel.width_mm,
                "height_mm": panel.height_mm,
                "centre_mm": list(centre),
                "measured_on": panel.measured_on,
                "is_by_hangers": panel.hang.method == "hangers",
                "hangers_mm": [[hanger.u_mm, hanger.v_mm] for hanger in panel.hangers],
                "shims_mm": panel.shims_mm,
            }
            for panel, centre in zip(job.panels, arrangement.centres_mm, strict=True)
        ],
        "neighbours": [[pair.p, pair.q, pair.how] for pair in arrangement.neighbours],
        "groups": [list(group) for group in arrangement.groups],
        "chains": [[job.panels[k].name for k in chain] for chain in line_chains(job)],
        "layout": None
        if job.layout.kind == "free"
        else {
            "offset_mm": job.layout.offset_mm,
            "centres_mm": [list(centre) for centre in laid_out_mm(job.panels, job.layout)],
        },
        "slope_mm_per_m": job.layout.slope_mm_per_m,
        "handy_mm": handy_mm(job.unit),
        "is_by_hand": state.order == state.by_hand,
    }


def _sparse(row: np.ndarray[Any, np.dtype[np.float64]]) -> list[list[float]]:
    size = np.abs(row)
    return [
        [int(at), float(f"{row[at]:.{DIGITS}g}")]
        for at in np.flatnonzero(size > NOISE * size.max())
    ]


def _wall(wall: Wall) -> dict[str, Any]:
    return {
        "behind": wall.behind,
        "clearance_mm": wall.stud_clearance_mm,
        "stud_width_mm": STUD_WIDTH_MM,
        "studs": [
            {"x_mm": stud.x_mm, "width_mm": stud.width_mm, "material": stud.material}
            for stud in wall.studs
        ],
        "closed": [
            [_far(mm) for mm in (area.x0_mm, area.y0_mm, area.x1_mm, area.y1_mm)]
            for area in closed_areas(replace(wall, left_mm=None, right_mm=None))
        ],
        "ends_mm": [wall.left_mm, wall.right_mm],
        "end_zone_mm": CABLE_ZONE_MM if wall.cable_zones == "prescribed" else 0.0,
    }


def _far(mm: float) -> float:
    """JSON knows no endless areas."""
    return max(-FARTHEST_MM, min(FARTHEST_MM, mm))


def _now(seat: PlannedSeat) -> dict[str, Any]:
    return {
        "place_mm": [seat.x_mm, seat.y_mm],
        "hole_y_mm": seat.hole_y_mm,
        "into": seat.into,
        "material": seat.material,
        "fastener": seat.fastener.name if seat.fastener else None,
    }


def _behind(behind: Behind) -> dict[str, str]:
    return {"into": behind.into, "material": behind.material}


def _standing(state: JobState) -> dict[str, Any]:
    """What was done and found so far."""
    return {
        "found": {seat: _behind(behind) for seat, behind in state.found.items()},
        "chosen": dict(state.chosen),
        "marks_mm": {seat: list(place) for seat, place in state.marks_mm.items()},
        "set": {
            seat: {
                "place_mm": [place.x_mm, place.y_mm],
                "given_mm": list(place.given_mm),
                "is_measured": place.is_measured,
                "line_mm": place.line_mm,
            }
            for seat, place in state.set_seats.items()
        },
        "marked": {
            seat: {
                "seat_mm": list(mark.seat_mm),
                "hole_y_mm": mark.hole_y_mm,
                "fastener": mark.fastener,
            }
            for seat, mark in state.marked.items()
        },
        "pilots": {seat: list(at) for seat, at in state.pilots.items()},
        "holes": {seat: list(at) for seat, at in state.holes.items()},
        "old_holes": [
            {
                "seat": hole.seat,
                "at_mm": list(hole.at_mm),
                "is_full": hole.is_full,
                "is_usable": hole.is_usable,
            }
            for hole in state.old_holes
        ],
        "apart_mm": {"pilot": APART_PILOT_MM, "full": APART_FULL_MM},
    }


def _read(state: JobState) -> dict[str, Any]:
    """What the set seats' estimate is made of, besides their own readings, and the estimate."""
    known = state.job.uncertainty
    level = checked_level(state)
    return {
        "estimate_mm": {seat: list(place) for seat, place in state.set_mm.items()},
        "hung_mm": {seat: list(state.bearing_mm[seat]) for seat in hung_seats(state)}
        if state.hang
        else {},
        **_hung(state),
        "raised_mm": _raised(state),
        "aims_mm": {
            seat: list(aim) for seat, aim in state.aims.items() if seat not in state.set_seats
        },
        "stick_panels": [
            k for k, panel in enumerate(state.job.panels) if panel.name in state.sticks
        ],
        "again": {
            task.partition(":")[2]: [record.values["x"]["mm"], record.values["above"]["mm"]]
            for task, record in state.records.items()
            if task.startswith("fasteners.again:")
        },
        "crossed": [
            _crossed(state, task, record)
            for task, record in state.records.items()
            if task.partition(":")[0] in CROSSED
        ],
        "level_error_mm_per_m": level.error_mm_per_m,
        "level_is_laser": level.is_laser if level_checks(state) else None,
        "width_mm": {panel.name: panel.width_mm for panel in state.job.panels},
        "rise_mm": {p.name: planned_rise_mm(state.job, p) for p in state.job.panels},
        "uncertainty_mm": {
            "tape": known.tape,
            "level": known.level,
            "level_per_m": known.level_per_m,
            "placing": known.placing,
        },
    }


def _raised(state: JobState) -> dict[str, float]:
    """What was laid in rings beyond the plan; the ring laid last comes last."""
    raised = raised_mm(state)
    return {s: raised[s] for s in sorted(raised, key=lambda seat: state.records[SHIM + seat].seq)}


def _shims(job: Job) -> dict[str, float] | None:
    """What shims are laid by, where any are planned."""
    if all(panel.shims_mm == 0 for panel in job.panels):
        return None
    return {
        "step_mm": shim_mm(job.unit),
        "most_mm": SHIM_MOST_MM,
        "taper_mm": job.tolerance.taper,
        "line_mm": job.tolerance.line,
    }


def _hung(state: JobState) -> dict[str, Any]:
    """Which panels hang, and what was read and done on them, in its order."""
    lifted, engaged = "panels.lift:", "panels.engaged:"
    reads = [(read.seq, _hung_read(state, read)) for read in state.hung_read]
    trims = [(trim.seq, _trim(trim)) for trim in state.trims]
    return {
        "lifted": [t.removeprefix(lifted) for t in state.records if t.startswith(lifted)],
        "engaged": [t.removeprefix(engaged) for t in state.records if t.startswith(engaged)],
        "happened": [one for _, one in sorted([*reads, *trims], key=lambda one: one[0])],
        "play_mm": play_mm(state.job),
        "shims": _shims(state.job),
    }


def _hung_read(state: JobState, read: HungRead) -> dict[str, Any]:
    kind, _, subject = read.task.partition(":")
    if kind in LEVELS:
        error = checked_level(state, read.seq).error_mm_per_m
        return {
            "is": "level",
            "panel": subject,
            "rise_mm": read_rise_mm(read.values),
            "error_mm_per_m": error if level_checks(state) else None,
        }
    if kind == EDGE:
        return {"is": "edge", "panel": subject, "off_mm": edge_off_mm(read)}
    off = facing_off_mm(read)
    ends = {"first_mm": off["gap first"], "second_mm": off["gap second"]}
    return {"is": "facing", "where": subject, **ends, "step_mm": off["step"]}


def _trim(trim: Trim) -> dict[str, Any]:
    return {
        "is": "trim",
        "panel": trim.panel,
        "seat": trim.seat,
        "means": trim.means,
        "by_mm": trim.by_mm,
        "is_planned": trim.is_planned,
    }


def _crossed(state: JobState, task: str, record: Record) -> dict[str, Any]:
    kind, _, subject = task.partition(":")
    values, level = record.values, checked_level(state, record.seq)
    is_turned = values.get("turned") == "yes"
    sign = -1.0 if is_turned and not level.is_laser else 1.0
    seats = pair_seats(subject)
    by = float(values["by"]["mm"]) if values.get("by") else 0.0
    rises = {"level": 0.0, "left": -by, "right": by, "unread": None}
    return {
        "a": seats[0],
        "b": seats[-1],
        "distance_mm": float(values["distance"]["mm"]) if values.get("distance") else None,
        "rise_mm": rises[values["higher"]],
        "is_turned": is_turned,
        # while no level was checked, the first check will say
        "error_mm_per_m": sign * level.error_mm_per_m if level_checks(state) else None,
        "is_again": kind == "fasteners.recross",
    }
