"""What is read on hung panels against where they hang: gaps between turned rectangles."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holdtrue.core.criteria import all_criteria
from holdtrue.domain.review import ResidualRow, way_words
from holdtrue.domain.state import HungRead, JobState, Record
from holdtrue.domain.trim import verdicts
from tests.core.test_criteria import Rigid, by_name, ends
from tests.domain.crew import Crew, panel, row

AGREE_MM = 1e-5
SEEDS = st.integers(0, 10_000)


def sized(name: str, width: int, height: int) -> dict[str, Any]:
    hangers = [{"in": 60, "down": 90}, {"in": width - 40, "down": 60}]
    return panel(name) | {"width": width, "height": height, "hangers": hangers}


SIZES = (("A", 600, 400), ("B", 450, 700), ("C", 700, 300), ("D", 500, 500))


def a_job(kind: str, align: str) -> dict[str, Any]:
    document = row(*[sized(*size) for size in SIZES])
    layout = document["layout"]
    layout |= {"kind": kind, "align": align}
    if kind == "grid":
        layout |= {"rows": [["A", "B"], ["C", "D"]], "gap": {"x": 50, "y": 40}}
    return document


JOBS = (("row", "top"), ("row", "centre"), ("column", "left"), ("grid", "bottom"))
STATES = {job: Crew(a_job(*job)).state for job in JOBS}
"""Jobs of panels of different sizes, in which the middle of a shared edge is no panel's middle."""


def length(mm: float) -> dict[str, float]:
    return {"mm": mm}


def read(state: JobState, rigid: Rigid) -> JobState:
    """The same job with everything read on its panels as they hang."""
    records = [_level(rigid, k) for k in range(len(state.job.panels))]
    pairs = state.plan.arrangement.neighbours
    records += [_facing(state, rigid, pair.p, pair.q, pair.how) for pair in pairs]
    reads = (HungRead(task=r.task, values=r.values, planned=r.planned, seq=r.seq) for r in records)
    by_task = {record.task: record for record in records}
    return replace(state, records=by_task, hung_read=tuple(reads))


def _record(task: str, values: dict[str, Any], planned: dict[str, Any], seq: int) -> Record:
    return Record(
        task=task, outcome="measured", values=values, planned=planned, seq=seq, who="", when=""
    )


def _level(rigid: Rigid, k: int) -> Record:
    rise = rigid.corner(k, 1, 1)[1] - rigid.corner(k, -1, 1)[1]
    values = {"low": "left" if rise > 0 else "right", "by": length(abs(rise))}
    return _record(f"panels.level:{rigid.job.panels[k].name}", values, {}, k + 1)


def _facing(state: JobState, rigid: Rigid, p: int, q: int, how: str) -> Record:
    first, second = ends(rigid, p, q, how)
    if how == "beside":
        ahead = rigid.corner(p, 1, 1)[1] - rigid.corner(q, -1, 1)[1]
    else:
        ahead = rigid.corner(p, -1, -1)[0] - rigid.corner(q, -1, 1)[0]
    values = {
        "first": length(50 + first),
        "second": length(50 + second),
        "ahead": "p" if ahead > 0 else "q",
        "by": length(abs(ahead)),
    }
    names = [panel.name for panel in state.job.panels]
    planned = {"first": length(50), "second": length(50)}
    return _record(f"panels.facing:{names[p]}|{names[q]}", values, planned, 50 + q)


@pytest.mark.parametrize("job", JOBS)
@settings(max_examples=25)
@given(SEEDS)
def test_every_verdict_is_its_criterion_of_where_the_panels_hang(
    job: tuple[str, str], seed: int
) -> None:
    state = STATES[job]
    arrangement = state.plan.arrangement
    rigid = Rigid(state.job, arrangement, seed)
    goal = all_criteria(state.job, arrangement)
    wanted = dict(
        zip(
            zip(goal.kinds, goal.labels, strict=True),
            goal.matrix @ rigid.deviations(),
            strict=True,
        )
    )
    found = {(v.kind, v.where): v.value_mm for v in verdicts(read(state, rigid))}
    kinds = {kind for kind, _ in found}
    assert kinds == {"level", "gap", "taper", "step", "flush"} | (
        {"line"} if job[0] != "grid" else set()
    )
    for key, value in found.items():
        if key[0] != "flush":
            assert value == pytest.approx(wanted[key], abs=AGREE_MM), key


@pytest.mark.parametrize("job", JOBS)
@given(SEEDS)
def test_a_taper_is_said_at_the_end_where_the_gap_is_wider(job: tuple[str, str], seed: int) -> None:
    state = STATES[job]
    rigid = Rigid(state.job, state.plan.arrangement, seed)
    # the same, turned a thousand times as far: far enough to be said
    rigid.t = np.asarray(rigid.t * 1000)
    how = {(pair.p, pair.q): pair.how for pair in state.plan.arrangement.neighbours}
    for one in verdicts(read(state, rigid)):
        if one.kind != "taper":
            continue
        p, q = by_name(state.job, one.where)
        first, second = ends(rigid, p, q, how[p, q])
        row_of = ResidualRow(
            kind="taper",
            where=one.where,
            tolerance_mm=one.tolerance_mm,
            seats_mm=None,
            reading_mm=one.value_mm,
            is_tapped=False,
            decided_by="reading",
            is_stacked=state.is_stacked(one.where),
        )
        ways = {"beside": ("above", "below"), "above": ("on the left", "on the right")}
        said = way_words(row_of, one.value_mm)
        if abs(first - second) > 0.1:
            assert said == f"wider {ways[how[p, q]][first < second]} by"
