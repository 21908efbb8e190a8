"""The set seats' places from everything that was read of them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from holdtrue.core.estimates import (
    Across,
    Estimate,
    Height,
    Level,
    Mark,
    Reading,
    Tape,
    estimate_seats,
)
from holdtrue.core.instruments import level_u_mm
from holdtrue.core.model import Fastener, Job
from holdtrue.domain.levelcheck import checked_level, read_rise_mm
from holdtrue.domain.state import JobState, Record
from holdtrue.domain.subjects import CROSSED, pair_seats


def placing_u_mm(job: Job, fastener: Fastener | None) -> float:
    """Standard uncertainty of placing a fastener: its kind's, else the job's."""
    if fastener is not None and fastener.placing_u_mm is not None:
        return fastener.placing_u_mm
    return job.uncertainty.placing


def estimate(state: JobState) -> Estimate | None:
    """Weighted least squares over all readings of the set seats; None while none is set."""
    if not state.set_seats:
        return None
    fasteners = {seat.seat: seat.fastener for seat in state.current.seats}
    marks = {
        name: Mark(
            x_mm=seat.given_mm[0],
            y_mm=seat.given_mm[1],
            placing_u_mm=placing_u_mm(state.job, fasteners.get(name)),
        )
        for name, seat in state.set_seats.items()
    }
    return estimate_seats(marks, readings(state))


def readings(state: JobState) -> list[Reading]:
    """Every reading of set seats that stands: of each alone, and of two against each other."""
    tape = state.job.uncertainty.tape
    found: list[Reading] = []
    for name, seat in state.set_seats.items():
        if seat.is_measured:
            found.append(Across(seat=name, x_mm=seat.x_mm, u_mm=tape))
            above = seat.y_mm - seat.line_mm
            found.append(Height(seat=name, above_mm=above, line_mm=seat.line_mm, u_mm=tape))
    for task, record in state.records.items():
        kind, _, subject = task.partition(":")
        if kind == "fasteners.again" and subject in state.set_seats:
            found += _again(state, subject, record.values)
        seats = pair_seats(subject)
        if kind in CROSSED and all(seat in state.set_seats for seat in seats):
            found += _crossed(state, seats[0], seats[-1], record)
    return found


def _again(state: JobState, seat: str, values: Mapping[str, Any]) -> list[Reading]:
    """A second reading of a seat, from the same level line."""
    tape, line_mm = state.job.uncertainty.tape, state.set_seats[seat].line_mm
    above_mm = float(values["above"]["mm"])
    return [
        Across(seat=seat, x_mm=float(values["x"]["mm"]), u_mm=tape),
        Height(seat=seat, above_mm=above_mm, line_mm=line_mm, u_mm=tape),
    ]


def _crossed(state: JobState, a: str, b: str, record: Record) -> list[Reading]:
    values = record.values
    found: list[Reading] = []
    if values.get("distance"):
        distance = float(values["distance"]["mm"])
        found.append(Tape(a=a, b=b, distance_mm=distance, u_mm=state.job.uncertainty.tape))
    if values["higher"] != "unread":
        level, uncertainty = checked_level(state, record.seq), state.job.uncertainty
        span = abs(state.set_seats[b].x_mm - state.set_seats[a].x_mm)
        found.append(
            Level(
                a=a,
                b=b,
                rise_mm=read_rise_mm(values),
                error_mm_per_m=level.error_mm_per_m,
                is_turned=values.get("turned") == "yes" and not level.is_laser,
                u_mm=level_u_mm(span, fixed_mm=uncertainty.level, per_m_mm=uncertainty.level_per_m),
            )
        )
    return found
