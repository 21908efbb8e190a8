"""The reference documents with random damage: read, or refused in words, never anything else.

What is read must also plan, recompute and print: nothing slips past the reader to fail later.
"""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from copy import deepcopy
from functools import partial
from typing import Any, TypeVar

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holdtrue.core.plan import make_plan
from holdtrue.domain.errors import InputError
from holdtrue.domain.jobfile import parse_job
from holdtrue.domain.results import marks_mm, plan_values, recompute_job, recompute_values
from tests.domain.papers import full, reference, smallest

Read = TypeVar("Read")

JOBS = {
    "tidewrack": reference("tidewrack.job.json"),
    "staithe": reference("staithe.job.json"),
    "full": full(),
    "smallest": smallest(),
}
LOGS = {name: reference(f"{name}.log.json") for name in ("tidewrack", "staithe")}

ODD = st.sampled_from(
    [None, True, False, "", " ", "A", "A1", "-1", "0", "1e3", "1/2", "½ in", "5' 6\"", "100 m"]
    + [0, -1, 1, 3, 0.001, 1e-300, -1e-9, 1e5, 1e300, 10**400, math.nan, math.inf, -math.inf]
    + ["mm", "in", "grid", "free", "column", "top", "left", "steel", "stud", "ultimate", "\ud800"]
    + [[], {}, [[]], [{}], {"x": 1}, {"x": 1, "y": 2}, ["A", "B"], [["A"], ["B"]], {"at": 1500}]
)
KEYS = st.sampled_from(
    ["x", "y", "in", "down", "name", "kind", "rows", "gap", "centre", "layers", "mass", "studs"]
    + ["in_from_right", "hole_down", "of", "into", "set", "unset", "given", "stop", "blocked", ""]
)


def places(node: Any, way: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """The way to every value of a document."""
    inner = (
        node.items()
        if isinstance(node, dict)
        else enumerate(node)
        if isinstance(node, list)
        else ()
    )
    return [way] * bool(way) + [
        place for key, value in inner for place in places(value, (*way, key))
    ]


@st.composite
def damaged(draw: st.DrawFn, documents: dict[str, dict[str, Any]]) -> Any:
    """One to four values replaced, removed, added, doubled or swapped."""
    document = deepcopy(documents[draw(st.sampled_from(sorted(documents)))])
    for _ in range(draw(st.integers(1, 4))):
        ways = places(document)
        if not ways:
            break
        *way, last = draw(st.sampled_from(ways))
        parent: Any = document
        for part in way:
            parent = parent[part]
        match draw(st.sampled_from(["replace", "replace", "remove", "add", "double", "swap"])):
            case "replace":
                parent[last] = deepcopy(draw(ODD))
            case "remove":
                del parent[last]
            case "add" if isinstance(parent, dict):
                parent[draw(KEYS)] = deepcopy(draw(ODD))
            case "double" if isinstance(parent, list):
                parent.append(deepcopy(parent[last]))
            case _:
                other = draw(st.sampled_from(ways))
                source: Any = document
                try:
                    for part in other:
                        source = source[part]
                except (KeyError, IndexError, TypeError):
                    continue  # it was removed before
                parent[last] = deepcopy(source)
    return document


def read_or_refused(read: Callable[[Any], Read], document: Any) -> Read | InputError:
    try:
        return read(document)
    except InputError as error:
        return error


def is_finite(value: Any) -> bool:
    # json refuses what is not finite when told to
    json.dumps(value, allow_nan=False)
    return True


@settings(max_examples=600)
@given(damaged(JOBS))
def test_a_damaged_job_is_planned_or_refused(document: Any) -> None:
    job = read_or_refused(parse_job, document)
    if isinstance(job, InputError):
        assert all((job.path, job.remedy, str(job)))
        return
    plan = make_plan(job)
    assert is_finite(plan_values(plan))
    assert marks_mm(plan, {}).keys() == set(plan.arrangement.seat_names)


@settings(max_examples=400)
@given(st.sampled_from(sorted(LOGS)), damaged(LOGS))
def test_a_damaged_log_is_replayed_or_refused(name: str, document: Any) -> None:
    result = read_or_refused(partial(recompute_job, parse_job(JOBS[name])), document)
    if isinstance(result, InputError):
        assert all((result.path, result.remedy, str(result)))
        return
    assert is_finite(recompute_values(result))


@settings(max_examples=200)
@given(
    st.recursive(
        ODD, lambda inner: st.lists(inner, max_size=3) | st.dictionaries(KEYS, inner, max_size=3)
    )
)
def test_anything_at_all_is_refused_as_a_job(document: Any) -> None:
    with pytest.raises(InputError):
        parse_job(document)


def test_damage_reaches_every_value() -> None:
    ways = places(JOBS["full"])
    assert ("panels", 0, "hangers", 1, "hole_down") in ways
    assert ("layout", "rows", 1, 0) in ways
    assert len(ways) > 70
