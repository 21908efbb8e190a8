"""How thick the shims of a ring should be, once the panel's seats were measured.

A panel planned with shims has its marks that much lower, so that what is laid before the lift can
lower it as well as raise it. Its rings are worked out together, with those of other panels that are
set and not lifted yet; what was laid already counts as it is.
"""

from __future__ import annotations

from collections.abc import Container, Iterable, Mapping, Sequence
from dataclasses import replace

import numpy as np

from holdtrue.core.criteria import all_criteria
from holdtrue.core.hung import panel_columns
from holdtrue.core.instruments import level_u_mm
from holdtrue.core.model import Arrangement, Job
from holdtrue.core.quality import Vector
from holdtrue.core.shims import PairRead, ShimsToLay, lay_shims
from holdtrue.core.sources_trim import SHIM_MOST_MM
from holdtrue.core.trim_kit import shim_mm
from holdtrue.domain.consequence import deviation_of
from holdtrue.domain.rings import SHIM, in_rings_mm, planned_mm
from holdtrue.domain.state import JobState
from holdtrue.domain.subjects import checked_pairs, panel_of_seat


def usual_mm(job: Job) -> float:
    """Shims to plan a ring with: about half of what it takes, in whole graduations of the tape, by
    which its mark then lies lower."""
    return max(round(SHIM_MOST_MM / 2 / job.graduation_mm), 1) * job.graduation_mm


def could_have_shims(job: Job) -> tuple[str, ...]:
    """Panels that have rings to shim and are not planned with any."""
    if usual_mm(job) > SHIM_MOST_MM:
        return ()
    return tuple(p.name for p in job.panels if p.hang.method == "hangers" and p.shims_mm == 0)


def planned_with_shims(job: Job) -> Job:
    """The same job with shims planned in every ring that takes some."""
    names = could_have_shims(job)
    panels = tuple(replace(p, shims_mm=usual_mm(job)) if p.name in names else p for p in job.panels)
    return replace(job, panels=panels)


def shims_for_mm(state: JobState, seat: str) -> float | None:
    """Thickness for one ring, with the rings laid before it as they are.

    None until all seats of its panel are set; as it was planned then once the panel is lifted.
    """
    panel = panel_of_seat(seat)
    record = state.records.get(SHIM + seat)
    if record is not None and f"panels.lift:{panel}" in state.records:
        return float(record.planned["thick"]["mm"])
    own = next(k for k, p in enumerate(state.job.panels) if p.name == panel)
    if not _is_set(state, own):
        return None
    index = {name: i for i, name in enumerate(state.form.seats)}
    rings = _open_rings(state, seat)
    # looked for from the plan on, so that laying what was said asks for nothing else
    shims_mm, planned = (np.array(list(mm(state).values())) for mm in (in_rings_mm, planned_mm))
    deviation_mm = deviation_of(state, state.bearing_mm)
    for at in (at for seats in rings.values() for at in seats):
        deviation_mm[len(index) + at] += planned[at] - shims_mm[at]
        shims_mm[at] = planned[at]
    laid = lay_shims(
        all_criteria(state.job, state.plan.arrangement),
        deviation_mm,
        unset=[i for name, i in index.items() if name not in state.set_seats],
        rings=rings,
        shims_mm=shims_mm,
        step_mm=shim_mm(state.job.unit),
        most_mm=SHIM_MOST_MM,
    )
    return float(laid[index[seat]])


def _is_set(state: JobState, panel: int) -> bool:
    first, last = panel_columns(state.job, panel)
    return all(seat in state.set_seats for seat in state.form.seats[first:last])


def _open_rings(state: JobState, seat: str) -> dict[int, list[int]]:
    """Rings of set panels on the floor that were not laid before this one."""
    mine = state.records.get(SHIM + seat)
    rings: dict[int, list[int]] = {}
    for k, panel in enumerate(state.job.panels):
        is_lifted = f"panels.lift:{panel.name}" in state.records
        if panel.shims_mm <= 0 or is_lifted or not _is_set(state, k):
            continue
        for at in range(*panel_columns(state.job, k)):
            other = state.records.get(SHIM + state.form.seats[at])
            if other is None or (mine is not None and other.seq >= mine.seq):
                rings.setdefault(k, []).append(at)
    return rings


def shims_to_lay(state: JobState) -> ShimsToLay | None:
    """The shims still to be laid, and the pairs of seats to be read before; None where none are."""
    job, arrangement, names = state.job, state.plan.arrangement, state.form.seats
    rings = {
        k: [i for i in range(*panel_columns(job, k)) if SHIM + names[i] not in state.records]
        for k, panel in enumerate(job.panels)
        if panel.shims_mm > 0 and f"panels.lift:{panel.name}" not in state.records
    }
    read = {task.partition(":")[2] for task in state.records if task.startswith("fasteners.cross:")}
    return _to_lay(job, arrangement, rings, read, np.array(list(in_rings_mm(state).values())))


def planned_shims(job: Job, arrangement: Arrangement) -> ShimsToLay | None:
    """The same of a plan nothing of which is driven."""
    rings = {
        k: list(range(*panel_columns(job, k)))
        for k, panel in enumerate(job.panels)
        if panel.shims_mm > 0
    }
    planned = np.array([job.panels[k].shims_mm for k in arrangement.seat_panel])
    return _to_lay(job, arrangement, rings, set(), planned)


def _to_lay(
    job: Job,
    arrangement: Arrangement,
    rings: Mapping[int, Sequence[int]],
    read: Container[str],
    shims_mm: Vector,
) -> ShimsToLay | None:
    rings = {k: seats for k, seats in rings.items() if seats}
    if not rings:
        return None
    return ShimsToLay(
        rings=rings,
        planned_mm=shims_mm,
        step_mm=shim_mm(job.unit),
        most_mm=SHIM_MOST_MM,
        pairs=[pair for k in rings for pair in _pairs(job, arrangement, k, read)],
    )


def _pairs(
    job: Job, arrangement: Arrangement, panel: int, read: Container[str]
) -> Iterable[PairRead]:
    """Seats of a panel to be read against each other, but those that were."""
    names = arrangement.seat_names
    own = [names[i] for i in range(*panel_columns(job, panel))]
    known = job.uncertainty
    for left, right in checked_pairs(job.panels[panel].hang.method, own):
        if f"{left}-{right}" in read:
            continue
        a, b = names.index(left), names.index(right)
        span = arrangement.seats_mm[b][0] - arrangement.seats_mm[a][0]
        u = level_u_mm(span, fixed_mm=known.level, per_m_mm=known.level_per_m)
        yield PairRead(a=a, b=b, apart_u_mm=known.tape, rise_u_mm=u)
