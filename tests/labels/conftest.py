"""Label contents made from the reference jobs and from invented panels."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from holdtrue.core.model import Plan
from holdtrue.core.plan import make_plan
from holdtrue.domain.jobfile import parse_job

REFERENCE = Path(__file__).parent.parent / "reference"


@pytest.fixture(scope="session")
def plan_named() -> Callable[[str], Plan]:
    """A reference job's plan by its name."""

    def load(name: str) -> Plan:
        document = json.loads((REFERENCE / f"{name}.job.json").read_text("utf-8"))
        return make_plan(parse_job(document))

    return load
