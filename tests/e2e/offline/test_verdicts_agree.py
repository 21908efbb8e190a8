"""What the phone says of readings on hung panels, against the server."""

from __future__ import annotations

from typing import Any

import pytest
from playwright.sync_api import Browser

from holdtrue.domain.problem import problem
from holdtrue.domain.state import JobState
from holdtrue.domain.trim import verdicts
from holdtrue.web.phone_job import panels_of, tolerance_of
from tests.core.test_criteria import Rigid
from tests.domain.test_verdicts import JOBS, STATES, read
from tests.e2e.phone_modules import open_modules

JUDGE = """
async (cases) => {
  const { lineVerdicts, verdicts } = await import("/static/js/app/hung.js");
  const { opened } = await import("/static/js/core/problem.js");
  return cases.map(({ job, readings }) => {
    const math = opened(job.problem);
    const each = readings.flatMap((reading) => verdicts(job, math, reading));
    return [...each, ...lineVerdicts(job, math, readings)];
  });
}
"""


def a_case(state: JobState, seed: int) -> tuple[JobState, dict[str, Any]]:
    rigid = Rigid(state.job, state.plan.arrangement, seed)
    state = read(state, rigid)
    readings = [
        {
            "task": record.task,
            "flushMm": record.values.get("flush", {"mm": 0})["mm"],
        }
        for record in state.records.values()
    ]
    job = {
        "tolerance": tolerance_of(state),
        "problem": problem(state),
        "panels": panels_of(state),
    }
    return state, {"job": job, "readings": readings}


def test_the_phone_judges_every_reading_as_the_server_does(chromium: Browser) -> None:
    cases = [a_case(STATES[job], seed) for job in JOBS for seed in range(25)]
    with open_modules(chromium) as page:
        told = page.evaluate(JUDGE, [case for _, case in cases])
    lines = 0
    for (state, _), phone in zip(cases, told, strict=True):
        server = verdicts(state)
        lines += sum(v.kind == "line" for v in server)
        assert [(v["kind"], v["where"], v["panel"], v["isInside"]) for v in phone] == [
            (v.kind, v.where, v.panel, v.is_inside) for v in server
        ]
        assert [v["valueMm"] for v in phone] == pytest.approx([v.value_mm for v in server])
    assert lines
