"""The phone's least squares: what is left open, what is refused, and how long it takes."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from dataclasses import replace
from random import Random
from typing import Any

import numpy as np
import pytest
from playwright.sync_api import Browser, Page

from holdtrue.core.recompute import recompute_mm
from holdtrue.domain import events
from holdtrue.domain.fold import created
from holdtrue.domain.problem import problem
from tests.e2e.phone_math import Told, random_document, story
from tests.e2e.phone_modules import open_modules

AGREE_MM = 0.01

SOLVE = """
async (systems) => {
  const { leastSquares } = await import("/static/js/core/matrix.js");
  return systems.map(([matrix, rhs]) => Array.from(
    leastSquares(matrix.map((row) => Float64Array.from(row)), Float64Array.from(rhs),
      matrix[0].length)));
}
"""
RECOMPUTE = """
async (cases) => {
  const { readForm, recomputeMm } = await import("/static/js/core/solver.js");
  return cases.map(([problem, set]) => recomputeMm(readForm(problem), set));
}
"""


@pytest.fixture(scope="module")
def modules(chromium: Browser) -> Iterator[Page]:
    with open_modules(chromium) as page:
        yield page


def test_the_shortest_of_all_best_solutions_is_found(modules: Page) -> None:
    """Against numpy's singular values, on systems of every rank, wide and tall."""
    rng = np.random.default_rng(7)
    systems = []
    for _ in range(300):
        m, n = rng.integers(1, 14, size=2)
        rank = rng.integers(0, min(m, n) + 1)
        matrix = rng.normal(size=(m, rank)) @ rng.normal(size=(rank, n))
        if rng.random() < 0.5:
            matrix[:, rng.integers(0, n)] = 0.0
        systems.append((matrix, rng.normal(size=m)))
    found = modules.evaluate(SOLVE, [[a.tolist(), b.tolist()] for a, b in systems])
    for (matrix, rhs), own in zip(systems, found, strict=True):
        wanted = np.linalg.lstsq(matrix, rhs, rcond=1e-10)[0]
        assert np.array(own) == pytest.approx(wanted, abs=1e-7 * max(1.0, np.abs(wanted).max()))


def test_what_the_residuals_leave_open_stays_as_near_to_plan_as_on_the_server(
    modules: Page,
) -> None:
    """Forms with whole kinds of rows left out, so that many seats are not determined."""
    random = Random(11)
    cases: list[Any] = []
    wanted = []
    for _ in range(200):
        body = {"document": random_document(random)}
        state = created(Told(seq=1, type=events.JOB_CREATED, body=body))
        form, document = state.form, problem(state)
        kept = [kind for kind in sorted(set(form.kinds)) if random.random() < 0.5] or ["level"]
        keep = [kind in kept for kind in form.kinds]
        if not any(keep):
            continue
        document["rows"] = [row for row in document["rows"] if row[0] in kept]
        form = replace(
            form,
            matrix=form.matrix[keep],
            tolerance_mm=form.tolerance_mm[keep],
            kinds=tuple(k for k in form.kinds if k in kept),
            labels=tuple(v for v, is_kept in zip(form.labels, keep, strict=True) if is_kept),
        )
        n = len(form.seats)
        set_mm = {
            name: (
                form.planned_mm[i] + random.gauss(0, 2),
                form.planned_mm[n + i] + random.gauss(0, 2),
            )
            for i, name in enumerate(form.seats)
            if random.random() < 0.4
        }
        cases.append([document, set_mm])
        wanted.append(recompute_mm(form, set_mm))
    assert len(cases) > 150
    for own, places in zip(modules.evaluate(RECOMPUTE, cases), wanted, strict=True):
        for seat, place in places.items():
            assert own[seat] == pytest.approx(place, abs=AGREE_MM / 100)


def test_undoing_an_event_by_playing_the_others_again_leaves_the_state_as_before(
    modules: Page,
) -> None:
    random = Random(3)
    told = [{"problem": s.problem, "events": s.events} for s in (story(random) for _ in range(20))]
    apart = modules.evaluate(
        """async (stories) => {
          const { evolve, played } = await import("/static/js/core/events.js");
          return stories.filter(({ problem, events }) => {
            const written = JSON.stringify(problem);
            const before = played(problem, events.slice(0, -1));
            const frozen = JSON.stringify(before);
            evolve(before, events[events.length - 1]);
            const again = played(JSON.parse(written), events.slice(0, -1));
            return JSON.stringify(before) !== frozen || JSON.stringify(again) !== frozen
              || JSON.stringify(problem) !== written;
          }).length;
        }""",
        told,
    )
    assert apart == 0


@pytest.mark.parametrize(
    ("change", "event", "message"),
    [
        ({}, {"type": "freed", "seat": "Z9"}, "no seat Z9"),
        ({}, {"type": "piloted", "seat": "", "met": "gold"}, "not gold"),
        ({"version": 1}, {"type": "freed", "seat": ""}, "load the page again"),
        ({"format": "holdtrue.job"}, {"type": "freed", "seat": ""}, "load the page again"),
    ],
)
def test_what_does_not_belong_to_the_job_is_refused(
    modules: Page, change: dict[str, Any], event: dict[str, Any], message: str
) -> None:
    document = story(Random(5)).problem | change
    event = event | {"seat": event["seat"] or document["seats"][0]}
    said = modules.evaluate(
        """async ([problem, event]) => {
          const { played } = await import("/static/js/core/events.js");
          try { return JSON.stringify(played(problem, [event])); }
          catch (error) { return error.message; }
        }""",
        [document, event],
    )
    assert message in said


def test_twelve_seats_take_a_few_milliseconds(modules: Page) -> None:
    document = random_document(Random(0)) | {"layout": None}
    panel = {
        **document["panels"][0],
        "measured_on": "front",
        "width": 500,
        "height": 700,
        "hangers": [{"in": x, "down": 50} for x in (100, 400)],
        "centre_of_gravity": {"in": 250, "down": 350},
    }
    document |= {
        "unit": "mm",
        "panels": [panel | {"name": name} for name in "ABCDEF"],
        "layout": {"kind": "row", "gap": 40, "height": {"of": "centre", "at": 1500}},
    }
    state = created(Told(seq=1, type=events.JOB_CREATED, body={"document": document}))
    given = problem(state)
    took = modules.evaluate(
        """async (problem) => {
          const { opened } = await import("/static/js/core/problem.js");
          const { evolve } = await import("/static/js/core/events.js");
          const { consequence } = await import("/static/js/core/consequence.js");
          const start = opened(problem);
          const [seat] = problem.order;
          const event = { type: "measured", seat, reading: { x_mm: start.marksMm[seat][0] + 2.3,
            above_mm: 101.2 } };
          const times = Array.from({ length: 60 }, () => {
            const at = performance.now();
            consequence(start, evolve(start, event), seat);
            return performance.now() - at;
          });
          return times.sort((a, b) => a - b);
        }""",
        given,
    )
    size = len(json.dumps(given, separators=(",", ":")))
    sys.stdout.write(
        f"\n12 seats: median {took[30]:.2f} ms, worst {took[-1]:.2f} ms, {size} bytes\n"
    )
    # generous: a shared machine under load, not a phone
    assert took[30] < 5.0
