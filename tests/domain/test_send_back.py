"""Work sent back: which tasks open again, and that every one of them can be done again."""

from __future__ import annotations

import pytest

from holdtrue.domain import events
from holdtrue.domain.errors import InputError
from holdtrue.service import review
from holdtrue.service.jobs import stream_of
from holdtrue.store.port import NewEntry
from tests.domain.crew import Crew, at_fasteners, panel, row


def handed_over() -> Crew:
    crew = at_fasteners(row(panel("A"), panel("B")), holds=("first_hole", "first_lift", "leave"))
    crew.walk()
    return crew


def required(crew: Crew) -> set[str]:
    return {task.id for task in crew.tasks if not task.kind.is_optional}


def sent_back(crew: Crew, *tasks: str) -> None:
    review.send_back(
        crew.services, crew.lead, crew.job, why="look again", tasks=tasks, key=crew.key()
    )


ONE_OF_EACH = list({task_id.partition(":")[0]: task_id for task_id in handed_over().ids}.values())


SECURED_AFTER = {
    "panels.lift:B": ("secure.lock:B", "secure.try:B"),
    "secure.lock:B": ("secure.try:B",),
}
"""A panel hung again is secured again, and one secured again is tried again."""


def test_no_kind_of_task_is_left_out_below() -> None:
    assert len(ONE_OF_EACH) > 40


@pytest.mark.parametrize("task_id", [t for t in ONE_OF_EACH if t != "reference.ends"])
def test_every_task_sent_back_can_be_done_again_and_handed_over_again(task_id: str) -> None:
    crew = handed_over()
    assert crew.state.review.state == "handed_over"
    sent_back(crew, task_id)
    open_again = {t.id for t in crew.tasks if t.status != "done" and not t.kind.is_optional}
    assert open_again == {task_id, *SECURED_AFTER.get(task_id, ()), "close.hand_over"} & required(
        crew
    )
    crew.walk()
    assert crew.status("close.hand_over") == "done"
    assert {t.status for t in crew.tasks if not t.kind.is_optional} == {"done"}


def test_what_holes_have_closed_is_not_sent_back() -> None:
    crew = handed_over()
    with pytest.raises(InputError, match="change the plan"):
        sent_back(crew, "reference.ends")


def test_seats_sent_back_stay_set_until_they_are_measured_again() -> None:
    crew = handed_over()
    before = crew.state.set_seats["A1"]
    sent_back(crew, "fasteners.measure:A1", "panels.level:A")
    assert crew.state.set_seats["A1"] == before
    crew.measure("A1", before.x_mm + 1, before.y_mm)
    after = crew.state.set_seats["A1"]
    assert (after.x_mm, after.given_mm) == (before.x_mm + 1, before.given_mm)


def test_what_was_sent_back_past_its_time_says_so_and_holds_nothing_up() -> None:
    """A log may hold it: written by another version, brought in as a bundle."""
    crew = handed_over()
    crew.services.store.append(
        stream_of(crew.job),
        NewEntry(
            key=crew.key(),
            type=events.WORK_SENT_BACK,
            body={"why": "the ends", "tasks": ["reference.ends", "stand_back.yes"]},
            who="LEAD",
            received="2026-03-02T12:00:00.000Z",
        ),
        expected=len(crew.entries),
    )
    assert crew.task("reference.ends").why.startswith("there are holes already")
    assert crew.walk() == ["stand_back.yes", "close.hand_over"]
