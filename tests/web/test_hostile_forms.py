"""Whatever is posted to the plan form: an answer that says what is wrong, never a fault of ours."""

from __future__ import annotations

import json
from pathlib import Path

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from holdtrue.web import forms
from tests.web.conftest import Visitor, hidden_fields
from tests.web.test_plan_form import faults

REFERENCE = Path(__file__).parents[1] / "reference"
KNOWN = sorted(
    {
        name
        for job in ("tidewrack", "staithe")
        for name, _ in forms.write_fields(json.loads((REFERENCE / f"{job}.job.json").read_text()))
    }
)
TYPED = dict(forms.write_fields(json.loads((REFERENCE / "tidewrack.job.json").read_text())))
TYPED.pop("format")

nasty = st.sampled_from(
    ["", "0", "-1", "nan", "inf", "1e999", "9" * 40, "1/0", "\u00bd", "\U0001f600", "\x00", "A"]
    + ["row", "grid", "free", "null", "[]", "{}", "<b>", "1,500", "\u0661 mm", "' OR 1=1", "\u202e"]
    + ["x" * 1999, "x" * 3000]
)  # fmt: skip
actions = st.sampled_from(
    ["check", "save", "", "add:panels", "remove:panels[0]", "add:layout.rows", "add:layout.rows[0]",
     "gaps:each", "gaps:one", "add:wall.studs", "remove:fasteners[0]", "add:panels[0].hangers",
     "add:panels[0][0]", "remove:layout.gap[0]", "add:gap.gap"]
)  # fmt: skip
paths = st.sampled_from(KNOWN) | st.from_regex(r"\A[a-z_.\[\]0-9]{1,30}\Z")

hostile = settings(
    max_examples=150,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)


def ends_well(lead: Visitor, fields: dict[str, str]) -> None:
    hidden = hidden_fields(lead.get("/join"))
    answer = lead.client.post("/jobs/new", data={**fields, **hidden})
    assert answer.status_code in (200, 303, 422)
    if answer.status_code == 422:
        assert 'role="alert"' in answer.text
        assert "error-summary" not in answer.text or faults(answer)


@hostile
@given(st.dictionaries(paths, nasty | st.text(max_size=20), max_size=8), actions)
def test_a_good_plan_with_bad_fields(lead: Visitor, changes: dict[str, str], action: str) -> None:
    ends_well(lead, {**TYPED, **changes, "action": action})


@hostile
@given(st.dictionaries(st.text(max_size=30), st.text(max_size=20), max_size=12), actions)
def test_a_form_of_anything(lead: Visitor, fields: dict[str, str], action: str) -> None:
    ends_well(lead, {**fields, "action": action})
