"""Job files with the added keys, damaged at random: each is refused in words, or can be planned."""

from __future__ import annotations

from collections.abc import Iterator
from copy import deepcopy
from math import isfinite
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from holdtrue.core.plan import make_plan
from holdtrue.core.suggest import suggest
from holdtrue.core.team_lift import team_lift
from holdtrue.domain.errors import InputError
from holdtrue.domain.jobfile import parse_job
from holdtrue.domain.loadrows import load_rows
from tests.domain.test_jobfile_additions import everything

ODD = (
    *(0, 1, -1, 0.001, 1e-6, 2, 10, 96, 1000, 9999, None),
    *("1/64 in", "99 m", "0.01 mm", "1 kN", "0.001 N", "10000 kg", "0.001 kg"),
    *("ultimate", "working", "wire", "cleat", "standoff", "hangers", "steel", "wood", "unknown"),
    *("backed", "solid", "hollow", "stud", "prescribed", "outlets", "wet", "hot"),
)


def leaves(node: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    items = node.items() if isinstance(node, dict) else enumerate(node)
    for step, inner in items:
        if isinstance(inner, dict | list):
            yield from leaves(inner, (*path, step))
        else:
            yield (*path, step)


PATHS = sorted(leaves(everything()), key=str)


@settings(max_examples=300)
@given(
    damage=st.lists(st.tuples(st.sampled_from(PATHS), st.sampled_from(ODD)), min_size=1, max_size=4)
)
def test_it_is_refused_or_planned(damage: list[tuple[tuple[Any, ...], Any]]) -> None:
    document = deepcopy(everything())
    for (*steps, last), value in damage:
        node = document
        for step in steps:
            node = node[step]
        node[last] = value
    try:
        job = parse_job(document)
    except InputError:
        return
    plan = make_plan(job)
    assert all(isfinite(row.force_N) and isfinite(row.alone_N) for row in load_rows(plan))
    suggest(plan)
    team_lift(job, plan.arrangement)
