"""What was found before drilling, and what the lead said, reach the tasks they are about."""

from __future__ import annotations

from dataclasses import replace

import pytest

from holdtrue.domain.errors import InputError
from holdtrue.domain.fold import fold
from holdtrue.domain.heeds import heeds
from holdtrue.domain.stops import is_near_hidden
from holdtrue.service import review
from tests.domain.crew import Crew, at_fasteners, panel, row

THREE = row(panel("A"), panel("B"), panel("C"))
CABLE = {"how": "detector", "found": "live cable, runs up"}


def found_near(*seats: str) -> Crew:
    crew = at_fasteners(THREE)
    crew.record("before.services", CABLE | {f"near[{i}]": seat for i, seat in enumerate(seats)})
    return crew


def test_what_was_found_stops_the_work_until_the_lead_lets_it_go_on() -> None:
    crew = found_near("A2")
    why = crew.task("fasteners.mark:C1").why
    assert why == (
        "the lead must look first: something to keep clear of was found near A2: "
        "live cable, runs up"
    )
    assert not crew.state.is_hidden_released
    crew.release(reason="go left of it")
    assert crew.status("fasteners.mark:C1") == "ready"
    assert crew.state.is_hidden_released


def test_it_is_read_at_every_seat_within_300_mm_and_at_no_other() -> None:
    # seats 400 apart on a panel, 250 apart across the gap: A2 and B1 are near each other
    crew = found_near("A2")
    (heed,) = heeds(crew.state)
    assert heed.tasks == tuple(
        f"fasteners.{name}:{seat}" for seat in ("A2", "B1") for name in ("mark", "pilot", "anchor")
    )
    assert (heed.kind, heed.who, heed.words) == ("found", "", "")
    crew.release(reason="go left of it")
    (heed,) = heeds(crew.state)
    assert (heed.who, heed.words) == ("LEAD", "go left of it")


def test_everywhere_is_every_seat() -> None:
    crew = found_near("everywhere", "A2")
    assert all(is_near_hidden(crew.state, seat) for seat in crew.state.form.seats)
    assert crew.state.hidden is not None
    assert crew.state.hidden.near == ()


def test_a_cable_stays_where_it_was_found_when_the_plan_moves() -> None:
    crew = found_near("C1")  # at 450
    document = dict(crew.state.document)
    document["layout"] = {**document["layout"], "offset": 1300}
    crew.revise(document)
    near = [seat for seat in crew.state.form.seats if is_near_hidden(crew.state, seat)]
    # A1 came to where C1 was, and C1 keeps its name
    assert near == ["A1", "C1"]


def test_another_finding_is_not_released_with_the_first() -> None:
    crew = found_near("A2")
    crew.release(reason="go left of it")
    crew.record("before.services", CABLE | {"near[0]": "B2"})
    assert not crew.state.is_hidden_released
    crew.record("before.services", {"how": "both"})
    assert crew.state.hidden is None
    assert crew.status("fasteners.mark:C1") == "ready"


@pytest.mark.parametrize(
    ("raw", "field"),
    [
        (CABLE, "near"),
        ({"how": "both", "near[0]": "A1"}, "found"),
        (CABLE | {"near[0]": "Q7"}, "near"),
    ],
)
def test_what_was_found_has_a_place_and_a_place_has_something_found(
    raw: dict[str, str], field: str
) -> None:
    with pytest.raises(InputError) as refusal:
        at_fasteners(THREE).record("before.services", raw)
    assert refusal.value.path == field


def test_an_older_finding_without_a_place_is_everywhere_and_stays_released() -> None:
    """Logs of a time when no seats were asked for: the very text that was released counts."""
    *before, last = found_near("everywhere").entries
    values = {name: value for name, value in last.body["values"].items() if name != "near"}
    body = {name: value for name, value in last.body.items() if name != "places"}
    old = fold([*before, replace(last, body={**body, "values": values})])
    assert all(is_near_hidden(old, seat) for seat in old.form.seats)
    assert next(f.text for f in old.findings if f.kind == "services") == (
        "Something to keep clear of was found: live cable, runs up. Enter it as a keep-clear "
        "area, or write why the work may go on"
    )


# -- what the lead said ----------------------------------------------------------------------------


def test_a_cleared_stop_is_read_at_what_it_had_locked_until_that_is_done() -> None:
    crew = at_fasteners(THREE)
    stop = crew.stop("A2")
    assert heeds(crew.state) == ()
    crew.clear(stop.seq)
    (heed,) = heeds(crew.state)
    assert (heed.kind, heed.about, heed.who, heed.words) == (
        "cleared",
        "A2",
        "LEAD",
        "traced, it is dead",
    )
    assert {task.partition(":")[2] for task in heed.tasks} == {"A2", "B1"}
    assert heed.is_open
    crew.walk(until="panels.lift:B")
    assert not heeds(crew.state)[0].is_open


def test_a_stop_at_a_seat_that_was_set_is_about_the_panel_on_it() -> None:
    crew = at_fasteners(THREE)
    crew.walk(until="panels.lift:A")
    crew.clear(crew.stop("A2").seq)
    (heed,) = heeds(crew.state)
    assert heed.tasks == ("panels.lift:A", "secure.lock:A", "secure.try:A")
    assert heed.is_open


def test_what_was_sent_back_is_read_at_the_tasks_to_do_again() -> None:
    crew = at_fasteners(row(panel("A")))
    crew.walk()
    review.send_back(
        crew.services,
        crew.lead,
        crew.job,
        why="Shim A and read it again",
        tasks=["panels.level:A"],
        key=crew.key(),
    )
    (heed,) = heeds(crew.state)
    assert (heed.kind, heed.words) == ("sent_back", "Shim A and read it again")
    assert heed.tasks == heed.left == ("panels.level:A",)
    crew.do("panels.level:A")
    assert heeds(crew.state)[0].left == ()
    crew.do("close.hand_over")
    assert heeds(crew.state) == ()
