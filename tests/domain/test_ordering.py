"""The order of driving: with its reason, from the fasteners' own certainty, or by hand."""

from __future__ import annotations

from copy import deepcopy

import pytest

from holdtrue.core.order import ORDER_REASON
from holdtrue.domain.errors import InputError
from holdtrue.domain.ordering import BY_HAND, order_reason, panels_in_order, read_order
from holdtrue.domain.timeline import timeline
from holdtrue.service import jobs
from tests.domain.crew import Crew, panel, row

THREE = row(panel("A"), panel("B"), panel("C"))


def release(crew: Crew, order: str) -> None:
    jobs.release(
        crew.services,
        crew.lead,
        crew.job,
        reason="",
        way="fasteners_first",
        order=order,
        key=crew.key(),
    )


def marks(crew: Crew) -> list[str]:
    return [t.subject for t in crew.tasks if t.kind.name == "fasteners.mark"]


def test_the_computed_order_comes_with_its_reason() -> None:
    crew = Crew(THREE)
    release(crew, "")
    assert crew.state.order == ("B1", "B2", "A2", "A1", "C1", "C2")
    assert order_reason(crew.state) == ORDER_REASON


def test_the_less_certain_fastener_of_a_panel_is_driven_first() -> None:
    document = deepcopy(THREE)
    document["wall"]["studs"] = [{"x": 850, "width": 38, "material": "wood"}]
    assert Crew(document).state.order[-2:] == ("C1", "C2")
    document["fasteners"][1]["placing"] = "2 mm"
    assert Crew(document).state.order[-2:] == ("C2", "C1")
    # a kind that is more certain than the job's default goes last
    document["fasteners"][1]["placing"] = "0.2 mm"
    assert Crew(document).state.order[-2:] == ("C1", "C2")


def test_panels_and_seats_are_put_in_order_by_hand() -> None:
    crew = Crew(THREE)
    release(crew, "C, A1, A2, B")
    assert crew.state.order == ("C1", "C2", "A1", "A2", "B1", "B2")
    assert panels_in_order(crew.state) == ("C", "A", "B")
    assert order_reason(crew.state) == BY_HAND
    assert marks(crew) == ["C1", "C2", "A1", "A2", "B1", "B2"]
    lifts = [t.subject for t in crew.tasks if t.kind.name == "panels.lift"]
    assert lifts == ["C", "A", "B"]
    text = timeline(crew.entries, {}, "mm")[-1].text
    assert text.endswith("in the order C1, C2, A1, A2, B1, B2")
    crew.walk()
    assert crew.state.review.state == "handed_over"


def test_an_order_by_hand_outlives_what_is_measured_and_ends_with_the_next_release() -> None:
    crew = Crew(THREE)
    release(crew, "C, A, B")
    crew.walk(until="work.hanger:A1")
    crew.record("work.hanger:A1", {"edge": "right", "in": "101", "down": "100"})
    assert panels_in_order(crew.state) == ("C", "A", "B")
    crew.revise(THREE)
    release(crew, "")
    assert panels_in_order(crew.state) == ("B", "A", "C")


@pytest.mark.parametrize(
    ("typed", "named", "words"),
    [
        ("A, B, D", "D", "no seat and no panel"),
        ("A, B", "C1, C2", "has no turn yet"),
        ("A, B, C, A1", "A1", "two turns"),
        ("A1, B, A2, C", "A2", "must follow the other seats of panel A"),
    ],
)
def test_what_is_wrong_with_an_order_is_named(typed: str, named: str, words: str) -> None:
    crew = Crew(THREE)
    with pytest.raises(InputError, match=words) as refusal:
        release(crew, typed)
    assert (refusal.value.path, refusal.value.value) == ("order", named)
    assert not crew.state.is_released


def test_the_computed_order_typed_out_is_no_order_by_hand() -> None:
    plan = Crew(THREE).state.plan
    assert read_order("B1, B2, A2; A1, C1, C2", plan) == ()
    assert read_order(" , ", plan) == ()
