"""Hung panels: read, trimmed, read again, or left to the lead."""

from __future__ import annotations

import pytest

from holdtrue.domain.errors import (
    InputError,
    NotFoundError,
)
from holdtrue.domain.trim import advice, verdicts
from tests.domain.crew import at_fasteners, hung_low, panel, row


def test_a_panel_out_of_level_asks_for_a_trim_and_is_read_again() -> None:
    crew = hung_low()
    advised = advice(crew.state, "A")
    assert advised is not None
    # 4 mm over 600, hangers 400 apart: 2.67, on the tape 3
    assert (advised.seat, advised.raise_mm) == ("A2", 3.0)
    assert crew.status("panels.trim:A") == "ready"
    assert crew.task("secure.lock:A").why == "first finish: Trim A"
    crew.record("panels.trim:A", {"seat": "A2", "by": "3", "means": "shim"})
    assert "panels.trim:A" not in crew.ids
    assert crew.status("panels.level:A") == "ready"
    assert crew.walk()[0] == "panels.level:A"
    assert [(t.seat, t.by_mm, t.means) for t in crew.state.trims] == [("A2", 3.0, "shim")]


def test_what_cannot_be_trimmed_is_left_to_the_lead_and_does_not_go_round() -> None:
    crew = hung_low()
    crew.record("panels.trim:A", {"means": "none"})
    assert crew.status("panels.trim:A") == "done"
    assert crew.state.trims == ()
    crew.walk()
    assert crew.state.review.state == "handed_over"
    assert not verdicts(crew.state)[0].is_inside


def test_a_panel_left_as_it_is_and_read_worse_asks_again() -> None:
    crew = hung_low()
    crew.record("panels.trim:A", {"means": "none"})
    crew.record("panels.level:A", {"low": "right", "by": "6"})
    assert crew.status("panels.trim:A") == "ready"


@pytest.mark.parametrize(
    ("raw", "field"),
    [
        ({"seat": "B1", "by": "3", "means": "shim"}, "seat"),
        ({"seat": "", "by": "3", "means": "shim"}, "seat"),
        ({"seat": "A1", "by": "", "means": "shim"}, "by"),
        ({"seat": "A1", "by": "0", "means": "shim"}, "by"),
        ({"seat": "A1", "by": "3", "means": "glue"}, "means"),
    ],
)
def test_a_trim_names_its_seat_and_by_how_much(raw: dict[str, str], field: str) -> None:
    crew = hung_low()
    with pytest.raises(InputError) as refusal:
        crew.record("panels.trim:A", raw)
    assert refusal.value.path == field


def test_a_panel_inside_its_tolerance_needs_no_trim() -> None:
    crew = hung_low(by="1.5")
    assert "panels.trim:A" not in crew.ids
    with pytest.raises(NotFoundError):
        crew.record("panels.trim:A", {"seat": "A2", "by": "3", "means": "shim"})


def test_a_panel_on_one_hanger_is_not_levelled_by_raising_it() -> None:
    crew = at_fasteners(row(panel("A", 1)))
    crew.walk(until="panels.level:A")
    crew.record("panels.level:A", {"low": "left", "by": "4"})
    assert advice(crew.state, "A") is None
    crew.record("panels.trim:A", {"seat": "A1", "by": "1", "means": "bumper"})
    assert crew.status("panels.level:A") == "ready"


def test_a_gap_read_outside_asks_for_a_trim_but_for_no_raise() -> None:
    crew = at_fasteners(row(panel("A"), panel("B")))
    facing = "panels.facing:A|B"
    crew.walk(until=facing)
    raw = {"first": "53", "second": "53", "ahead": "q", "by": "1", "flush": "0"}
    crew.record(facing, raw)
    read = {v.kind: (v.value_mm, v.is_inside) for v in verdicts(crew.state) if v.where == "A|B"}
    assert read == {
        "gap": (3, False),
        "taper": (0, True),
        "step": (-1, True),
        "flush": (0, True),
    }
    assert advice(crew.state, "B") is None
    crew.record("panels.trim:B", {"seat": "B1", "by": "1", "means": "hanger"})
    assert crew.status(facing) == "ready"
    crew.walk()
    assert crew.state.review.state == "handed_over"
