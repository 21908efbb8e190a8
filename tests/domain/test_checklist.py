"""What may happen to a task, and what each waits for."""

from __future__ import annotations

import itertools

import pytest

from holdtrue.domain.checklist import (
    TRANSITIONS,
    Action,
    Status,
    Task,
    allow,
    halt,
    next_task,
    panels_about,
    seats_of,
)
from holdtrue.domain.errors import ConflictError, NotAllowedError, NotFoundError
from holdtrue.domain.tasks import TASK_KINDS
from tests.domain.crew import Crew, at_fasteners, hung_low, panel, row

STATUSES: tuple[Status, ...] = ("waiting", "ready", "done", "stopped")
ACTIONS: tuple[Action, ...] = ("record", "undo", "block", "free")
EVERY_PAIR = list(itertools.product(STATUSES, ACTIONS))
THREE = row(panel("A"), panel("B"), panel("C"))


def a_task(status: Status) -> Task:
    return Task(
        id="fasteners.pilot:A1",
        kind=TASK_KINDS["fasteners.pilot"],
        subject="A1",
        panel="A",
        status=status,
        why="it is raining" if status in ("waiting", "stopped") else "",
    )


@pytest.mark.parametrize(("status", "action"), [p for p in EVERY_PAIR if p in TRANSITIONS])
def test_what_the_table_names_is_allowed(status: Status, action: Action) -> None:
    assert allow(a_task(status), action) == TRANSITIONS[status, action]


@pytest.mark.parametrize(("status", "action"), [p for p in EVERY_PAIR if p not in TRANSITIONS])
def test_everything_else_is_refused_and_says_why(status: Status, action: Action) -> None:
    with pytest.raises(ConflictError) as refusal:
        allow(a_task(status), action)
    wanted = "it is raining" if status in ("waiting", "stopped") else f"nothing to {action}"
    assert str(refusal.value).startswith("Pilot A1 ")
    assert wanted in str(refusal.value)


def in_status(status: Status) -> Crew:
    """A1's mark in each of the four statuses, the rest of the job ready for marking."""
    if status == "waiting":
        crew = Crew(THREE)
        crew.release()
        return crew
    crew = at_fasteners(THREE)
    if status != "ready":
        crew.do("fasteners.mark:A1")
    if status == "stopped":
        crew.stop("A1")
    return crew


def attempt(crew: Crew, action: Action) -> None:
    if action == "record":
        crew.do("fasteners.mark:A1")
    elif action == "block":
        crew.block("A1", "stud", material="wood")
    elif action == "free":
        crew.free("A1")
    else:
        record = crew.state.records.get("fasteners.mark:A1")
        crew.undo(record.seq if record else 10_000)


@pytest.mark.parametrize(("status", "action"), EVERY_PAIR)
def test_the_log_takes_what_the_table_names_and_nothing_else(
    status: Status, action: Action
) -> None:
    crew = in_status(status)
    assert crew.status("fasteners.mark:A1") == status
    before, log = crew.state, crew.entries
    # a mark has no hole to give up: that is the table of the tasks that drill
    if (status, action) in TRANSITIONS and (status, action) != ("done", "free"):
        attempt(crew, action)
        assert len(crew.entries) == len(log) + 1
        assert crew.status("fasteners.mark:A1") == TRANSITIONS[status, action]
    else:
        with pytest.raises(ConflictError):
            attempt(crew, action)
        assert crew.entries == log
        assert crew.state is before


def test_a_drilled_seat_can_be_given_up_and_is_marked_again() -> None:
    crew = at_fasteners(THREE)
    crew.walk(until="fasteners.anchor:B1")
    crew.free("B1", "spent")
    assert crew.status("fasteners.mark:B1") == "ready"
    assert crew.status("fasteners.pair:B1-B2") == "waiting"
    assert crew.status("fasteners.pilot:B1") == "waiting"


# -- order ---------------------------------------------------------------------------------------


def test_before_the_release_only_joining_is_open() -> None:
    crew = Crew(THREE)
    ready = [task.id for task in crew.tasks if task.status == "ready"]
    assert ready == ["join.ways"]
    assert crew.task("before.cautions").why == "the lead has not released the plan yet"
    with pytest.raises(ConflictError, match="has not released"):
        crew.do("before.cautions")


def test_no_hole_before_every_stage_ahead_of_it_is_done() -> None:
    crew = Crew(THREE)
    crew.release()
    while (task := next_task(crew.tasks)) is not None and task.kind.stage != "fasteners":
        assert all(t.status == "waiting" for t in crew.tasks if t.kind.stage == "fasteners")
        crew.do(task.id)
    ready = {t.id for t in crew.tasks if t.status == "ready" and not t.kind.is_optional}
    assert ready == {f"fasteners.mark:{seat}" for seat in crew.state.form.seats}


def test_a_safety_check_taken_back_closes_the_holes_again() -> None:
    crew = at_fasteners(THREE)
    crew.undo(crew.state.records["before.services"].seq)
    why = crew.task("fasteners.mark:A1").why
    assert why == "no hole before: Hidden cables and pipes"


def test_consent_waits_for_the_corners_and_the_lead_for_the_consent() -> None:
    crew = Crew(THREE)
    crew.release(holds=("first_hole",))
    crew.walk(until="stand_back.corners")
    assert crew.task("stand_back.yes").why == "first finish: Corners on the wall"
    crew.do("stand_back.corners")
    assert crew.task("hold.first_hole").why.startswith("first finish: Maker's or curator's yes")
    crew.do("stand_back.yes")
    assert crew.task("fasteners.mark:A1").why == "no hole before: Hold: first hole"
    with pytest.raises(NotAllowedError):
        crew.record("hold.first_hole")
    crew.do("hold.first_hole")
    assert crew.status("fasteners.mark:A1") == "ready"


def test_hold_points_nobody_asked_for_are_not_there() -> None:
    assert not [task_id for task_id in at_fasteners(THREE).ids if task_id.startswith("hold.")]


def test_a_lone_hanger_has_no_pair_and_its_pilot_waits_for_its_mark() -> None:
    crew = at_fasteners(row(panel("A", 1)))
    assert not [task_id for task_id in crew.ids if task_id.startswith("fasteners.pair")]
    assert crew.task("fasteners.pilot:A1").why == "first finish: Mark A1"
    crew.do("fasteners.mark:A1")
    assert crew.status("fasteners.pilot:A1") == "ready"


def test_a_middle_hanger_waits_for_both_its_pairs_and_an_outer_one_for_its_own() -> None:
    crew = at_fasteners(row(panel("A", 3)))
    crew.walk(until="fasteners.pair:A2-A3")
    assert crew.status("fasteners.pilot:A1") == "ready"
    assert crew.task("fasteners.pilot:A2").why == "first finish: Check marks A2 to A3"


def test_each_fastener_task_waits_for_the_one_before_it() -> None:
    crew = at_fasteners(row(panel("A", 1)))
    crew.do("fasteners.mark:A1")
    for name, waiting in (("pilot", "anchor"), ("anchor", "press"), ("press", "measure")):
        title = TASK_KINDS[f"fasteners.{name}"].title.format(subject="A1")
        assert crew.task(f"fasteners.{waiting}:A1").why == f"first finish: {title}"
        crew.do(f"fasteners.{name}:A1")


def test_fasteners_first_lifts_nothing_before_every_seat_is_set() -> None:
    crew = at_fasteners(THREE)
    last = [t.id for t in crew.tasks if t.kind.name == "fasteners.measure"][-1]
    crew.walk(until=last)
    seat = last.partition(":")[2]
    for name in "ABC":
        assert crew.task(f"panels.lift:{name}").why == f"first set and measure seat {seat}"
    crew.do(last)
    assert crew.status("panels.lift:A") == "ready"


def test_panel_by_panel_lifts_the_first_when_its_own_seats_are_set() -> None:
    crew = at_fasteners(THREE, "panel_by_panel", holds=("first_lift",))
    walked = crew.walk(until="hold.first_lift")
    assert {task_id.partition(":")[2][0] for task_id in walked} == {"B"}
    assert crew.task("panels.lift:B").why == "first: Hold: first lift"
    assert crew.task("panels.lift:A").why.startswith("first set and measure seat A")
    crew.do("hold.first_lift")
    assert crew.status("panels.lift:B") == "ready"


def test_the_space_between_two_panels_is_read_when_both_hang() -> None:
    crew = at_fasteners(THREE)
    crew.walk(until="panels.lift:B")
    for name in ("lift", "engaged"):
        crew.do(f"panels.{name}:A")
    # A|B stands with A, which hangs after B by the order; here A was lifted first
    assert crew.task("panels.facing:A|B").why == "first finish: Lift B"
    crew.do("panels.lift:B")
    assert crew.task("panels.facing:A|B").why == "first finish: Seat B"
    crew.do("panels.engaged:B")
    assert crew.status("panels.facing:A|B") == "ready"


def test_trying_waits_for_the_lock_and_the_lock_for_the_readings() -> None:
    crew = at_fasteners(row(panel("A")))
    crew.walk(until="panels.level:A")
    assert crew.task("secure.lock:A").why == "first finish: Level of A"
    crew.do("panels.level:A")
    assert crew.task("secure.try:A").why == "first secure panel A"
    crew.do("secure.lock:A")
    assert crew.status("secure.try:A") == "ready"


def test_handing_over_waits_for_the_whole_last_stage_and_for_open_stops() -> None:
    crew = at_fasteners(row(panel("A")), holds=("leave",))
    assert crew.task("close.engaged").why.startswith("first finish: Mark A")
    crew.walk(until="close.photo")
    assert crew.task("hold.leave").why == "first finish: Photo"
    stop = crew.stop("A1")
    crew.walk()
    assert crew.task("close.hand_over").why == "the stop at A1 is not cleared"
    crew.clear(stop.seq)
    assert crew.walk() == ["close.hand_over"]
    assert crew.state.review.state == "handed_over"


def test_every_task_of_a_finished_job_is_done() -> None:
    crew = at_fasteners(row(panel("A"), panel("B", 1)))
    crew.walk()
    assert {t.status for t in crew.tasks if not t.kind.is_optional} == {"done"}


# -- finding ones way ----------------------------------------------------------------------------


def test_the_next_task_is_behind_the_one_just_done_and_goes_round_at_the_end() -> None:
    crew = at_fasteners(row(panel("A"), panel("B")))
    ready = [t.id for t in crew.tasks if t.status == "ready" and not t.kind.is_optional]
    first, second, *_, last = ready
    assert next_task(crew.tasks).id == first  # type: ignore[union-attr]
    assert next_task(crew.tasks, after=first).id == second  # type: ignore[union-attr]
    assert next_task(crew.tasks, after=last).id == first  # type: ignore[union-attr]
    assert next_task(crew.tasks, after="no.such").id == first  # type: ignore[union-attr]


def test_there_is_no_next_task_when_the_lead_must_release() -> None:
    crew = Crew(THREE)
    crew.do("join.ways")
    assert next_task(crew.tasks) is None


def test_an_unknown_task_is_not_found() -> None:
    with pytest.raises(NotFoundError, match="the plan may have changed"):
        Crew(THREE).task("fasteners.mark:Q9")


@pytest.mark.parametrize(
    ("task_id", "panels"),
    [
        ("fasteners.mark:A1", {"A"}),
        ("fasteners.pair:upper-left1-upper-left2", {"upper-left"}),
        ("panels.facing:A|B", {"A", "B"}),
        ("panels.trim:A", {"A"}),
        ("secure.key", set()),
        ("level.line:1", set()),
    ],
)
def test_a_task_says_which_panels_it_is_about(task_id: str, panels: set[str]) -> None:
    assert panels_about(task_id) == panels


def test_a_panel_may_be_named_with_a_dash() -> None:
    crew = at_fasteners(row(panel("upper-left"), panel("right")))
    assert crew.task("fasteners.pair:upper-left1-upper-left2").title == (
        "Check marks upper-left1 to upper-left2"
    )
    crew.walk()
    assert crew.state.review.state == "handed_over"


def test_seats_of_a_panel_run_from_the_left() -> None:
    assert seats_of(Crew(THREE).state, "B") == ["B1", "B2"]


def test_a_halt_names_what_the_first_open_task_waits_for_at_last() -> None:
    crew = at_fasteners(row(panel("A")))
    assert halt(crew.tasks) == ""
    crew.stop("A1")
    crew.stop("A2")
    assert halt(crew.tasks).startswith("stop at A")
    crew.record("before.services", {"how": "both", "found": "a pipe", "near[0]": "everywhere"})
    for stop in crew.state.open_stops:
        crew.clear(stop.seq)
    assert halt(crew.tasks).startswith("the lead must look first: something to keep clear of")
    crew = Crew(row(panel("A")))
    assert halt([task for task in crew.tasks if task.kind.stage != "join"]) == (
        "the lead has not released the plan yet"
    )


# -- securing --------------------------------------------------------------------------------------


def test_a_panel_is_secured_as_soon_as_it_hangs_level_whatever_the_others_do() -> None:
    crew = at_fasteners(THREE)
    crew.walk(until="panels.level:B")
    assert crew.task("secure.lock:B").why == "first finish: Level of B"
    crew.do("panels.level:B")
    assert crew.status("secure.lock:B") == "ready"
    assert crew.status("secure.lock:A") == "waiting"
    crew.do("secure.lock:B")
    crew.do("secure.try:B")
    assert crew.task("secure.key").why.startswith("first finish: Lift")
    assert crew.status("panels.lift:A") == "ready"


def test_who_secures_at_the_end_is_asked_for_it_at_the_end() -> None:
    walked = at_fasteners(THREE).walk()
    first_lock = next(i for i, id_ in enumerate(walked) if id_.startswith("secure."))
    assert not any(id_.startswith(("fasteners.", "panels.")) for id_ in walked[first_lock:])


def test_a_panel_that_must_be_trimmed_is_not_secured_before() -> None:
    crew = hung_low()
    assert crew.task("secure.lock:A").why == "first finish: Trim A"


def test_a_panel_trimmed_or_hung_again_is_secured_and_tried_again() -> None:
    crew = at_fasteners(THREE)
    crew.walk(until="panels.level:B")
    for task in ("panels.level:B", "secure.lock:B", "secure.try:B"):
        crew.do(task)
    crew.record("panels.level:B", {"low": "right", "by": "4"})
    assert crew.status("secure.lock:B") == "done"
    crew.record(
        "panels.trim:B", {"means": "shim", "seat": "B2", "way": "up", "by": "2"}, is_sure=True
    )
    assert crew.task("secure.lock:B").why == "first finish: Level of B"
    assert crew.task("secure.try:B").why == "first secure panel B"
    crew.do("panels.level:B")
    assert crew.status("secure.lock:B") == "ready"
    crew.do("secure.lock:B")
    assert crew.status("secure.try:B") == "ready"
