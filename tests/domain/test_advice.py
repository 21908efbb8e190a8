"""Advice on hung panels, carried out on turned rectangles: what it is for comes inside."""

from __future__ import annotations

from collections.abc import Iterable
from copy import deepcopy
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holdtrue.domain.planning import remarked
from holdtrue.domain.state import HungRead, JobState
from holdtrue.domain.touches import Touched
from holdtrue.domain.trim import Verdict, verdicts
from holdtrue.domain.trimming import Advice, advice
from tests.core.test_criteria import Rigid
from tests.domain.crew import Crew, at_fasteners
from tests.domain.test_verdicts import JOBS, a_job, read

SECOND_ORDER_MM = 0.03
"""What turning by more than nothing adds to rows for small turns."""
SEEDS = st.integers(0, 10_000)


@cache
def all_hung(job: tuple[str, str]) -> JobState:
    crew: Crew = at_fasteners(a_job(*job))
    crew.walk(until="secure.lock:A")
    state = crew.state
    # what is read here is read by a level that is true
    kept = {task: record for task, record in state.records.items() if task != "level.check"}
    return replace(state, records=kept)


def crooked(state: JobState, seed: int) -> Rigid:
    """Panels a few millimetres off, some of them out of level."""
    rigid = Rigid(state.job, state.plan.arrangement, seed)
    rng = np.random.default_rng(seed)
    count = len(state.job.panels)
    rigid.a, rigid.b = rng.normal(0, 0.7, count), rng.normal(0, 0.7, count)
    rigid.t = rng.normal(0, 2e-3, count) * (rng.random(count) < 0.6)
    return rigid


def as_read(state: JobState, rigid: Rigid) -> JobState:
    """The job with these readings, and what follows from them."""
    records = read(state, rigid).records
    reads = tuple(
        HungRead(task=r.task, values=r.values, planned=r.planned, seq=state.seq + i)
        for i, r in enumerate(records.values())
    )
    return remarked(replace(state, records={**state.records, **records}, hung_read=reads))


def touched(rigid: Rigid, done: Iterable[tuple[str, Touched]]) -> Rigid:
    """The panels as they hang once touched: each ring raised, each panel slid by so much."""
    after = deepcopy(rigid)
    names = [panel.name for panel in rigid.job.panels]
    for name, touch in done:
        k = names.index(name)
        if touch.means == "slide":
            after.a[k] += touch.by_mm
            continue
        hangers = rigid.job.panels[k].hangers
        raised = np.zeros(len(hangers))
        raised[int(touch.seat.removeprefix(name)) - 1] = touch.by_mm
        before = np.array([after.moved(k, one.u_mm, one.v_mm) for one in hangers])
        after.t[k] += (raised[-1] - raised[0]) / (hangers[-1].u_mm - hangers[0].u_mm)
        moved = np.array([after.moved(k, one.u_mm, one.v_mm) for one in hangers])
        # the rings stay where they are on their seats, and the seats where they are on the wall
        after.a[k] += float(np.mean(before[:, 0] - moved[:, 0]))
        after.b[k] += float(np.mean(before[:, 1] + raised - moved[:, 1]))
    return after


def all_touches(found: Advice) -> list[tuple[str, Touched]]:
    return [(panel, touch) for panel, listed in found.touches.items() for touch in listed]


def judged(state: JobState, rigid: Rigid) -> dict[tuple[str, str], Verdict]:
    return {(v.kind, v.where): v for v in verdicts(read(state, rigid))}


@pytest.mark.parametrize("job", JOBS)
@settings(max_examples=15)
@given(SEEDS)
def test_what_is_advised_brings_inside_what_it_is_for(job: tuple[str, str], seed: int) -> None:
    state = all_hung(job)
    rigid = crooked(state, seed)
    found = advice(as_read(state, rigid))
    before = judged(state, rigid)
    if found is None:
        assert all(v.is_inside for v in before.values())
        return
    after = judged(state, touched(rigid, all_touches(found)))
    left = {(v.kind, v.where): v.value_mm for v in found.remains}
    for key, was in before.items():
        now = after[key]
        assert now.value_mm == pytest.approx(left.get(key, now.value_mm), abs=SECOND_ORDER_MM)
        if not was.is_inside:
            assert key in left or abs(now.value_mm) < abs(was.value_mm)
        if key not in left:
            assert abs(now.value_mm) <= now.tolerance_mm + SECOND_ORDER_MM
        else:
            assert abs(now.value_mm) <= abs(was.value_mm) + SECOND_ORDER_MM


@pytest.mark.parametrize("job", JOBS)
@settings(max_examples=15)
@given(SEEDS)
def test_without_any_one_of_its_touches_something_stays_outside(
    job: tuple[str, str], seed: int
) -> None:
    state = all_hung(job)
    rigid = crooked(state, seed)
    found = advice(as_read(state, rigid))
    if found is None or found.remains:
        return
    done = all_touches(found)
    limits = {(v.kind, v.where): v.limit_mm for v in verdicts(as_read(state, rigid))}
    for i in range(len(done)):
        after = judged(state, touched(rigid, done[:i] + done[i + 1 :]))
        assert any(abs(v.value_mm) > limits[key] - SECOND_ORDER_MM for key, v in after.items())
