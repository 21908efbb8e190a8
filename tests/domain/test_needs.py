"""What a phone goes on by without network is what the server decides, in every state there is."""

from __future__ import annotations

from copy import deepcopy
from typing import Any

import pytest

from holdtrue.domain import events
from holdtrue.domain.checklist import checklist
from holdtrue.domain.fold import fold
from holdtrue.domain.needs import Needs, by_stage, needs
from holdtrue.domain.state import HOLDS, JobState
from holdtrue.service import jobs, review
from tests.domain.crew import Crew, at_fasteners, panel, row
from tests.service.test_replay import Wanderer


class Wilder(Wanderer):
    """Also hands over and is sent back, takes panels off the plan, and asks for hold points."""

    def __init__(self, crew: Crew, seed: int) -> None:
        super().__init__(crew, seed)
        self.acts += [(self.send_back, 2), (self.another_layout, 1), (self.hurry, 1)]

    def send_back(self) -> None:
        again = [self.draw.choice(self.crew.ids), f"fasteners.measure:{self.seat()}"]
        review.send_back(
            self.crew.services,
            self.crew.lead,
            self.crew.job,
            why="look again",
            tasks=again,
            key=self.crew.key(),
        )

    def another_layout(self) -> None:
        document: dict[str, Any] = deepcopy(dict(self.crew.state.document))
        names = self.draw.choice((["A"], ["A", "B"], ["B", "A"], ["A", "B", "C"]))
        document["panels"] = [panel(name) for name in names]
        self.crew.revise(document)

    def release(self) -> None:
        if not self.crew.state.is_released:
            way = self.draw.choice(("fasteners_first", "panel_by_panel"))
            holds = tuple(hold for hold in HOLDS if self.draw.random() < 0.4)
            self.crew.release(way, holds=holds)

    def measure_off(self) -> None:
        """Of a seat the lead sent back there is no mark: it is set."""
        ready = [t.subject for t in self.ready() if t.kind.name == "fasteners.measure"]
        for seat in ready[:1]:
            x_mm, y_mm = self.crew.state.set_mm.get(seat) or self.crew.state.marks_mm[seat]
            self.crew.measure(seat, x_mm + self.draw.gauss(0, 2), y_mm + self.draw.gauss(0, 2))

    def hurry(self) -> None:
        """On to the end, so that the last stages are met as often as the first."""
        for _ in range(150):
            self.do_next()


def disagreements(state: JobState) -> list[str]:
    found = needs(state)
    tasks = checklist(state)
    done = {id_ for id_, one in found.items() if one.is_done}
    wrong = []
    if list(found) != [task.id for task in tasks]:
        wrong.append("not the same tasks in the same order")
    for task in tasks:
        one = found[task.id]
        if not set(one.after) <= found.keys():
            wrong.append(f"{task.id} waits for what is no task: {set(one.after) - found.keys()}")
        if one.is_ready(done) != (task.status == "ready"):
            wrong.append(f"{task.id} is {task.status}: {task.why}; here {one}")
        if one.is_done and task.status not in ("done", "stopped"):
            wrong.append(f"{task.id} is {task.status} here done")
    return wrong


@pytest.mark.parametrize("seed", range(10))
def test_ready_is_not_done_nothing_in_the_way_and_all_needs_done(seed: int) -> None:
    three = row(panel("A"), panel("B"), panel("C"))
    layouts = (three, three, row(panel("A", 3)), row(panel("A", 1), panel("B", 3)))
    document = layouts[seed % 4]
    crew = at_fasteners(document) if seed % 2 else Crew(document)
    wanderer = Wilder(crew, seed)
    wanderer.go(160)
    entries = crew.entries
    undone = any(entry.type == events.ENTRY_UNDONE for entry in entries)
    # after every entry of the walk, those written within one act included
    states = [fold(entries[:seq]) for seq in range(1, len(entries) + 1, 3 if undone else 1)]
    for state in [*states, *wanderer.after.values()]:
        assert disagreements(state) == [], f"seed {seed}, after entry {state.seq}"


def test_the_walks_come_to_the_end_and_back() -> None:
    crew = Crew(row(panel("A"), panel("B"), panel("C")))
    wanderer = Wilder(crew, 13)
    wanderer.go(400)
    met = {entry.type for entry in crew.entries}
    assert {events.WORK_SENT_BACK, events.PLAN_REVISED, events.STOP_CALLED} <= met
    assert events.CHOICE_MADE in met


def test_a_stop_bars_and_a_record_under_it_still_counts() -> None:
    crew = at_fasteners(row(panel("A"), panel("B")))
    crew.do("fasteners.mark:A1")
    crew.stop("A1")
    one = needs(crew.state)["fasteners.mark:A1"]
    assert one.is_done
    assert one.bar == "stop at A1 (cable): the lead clears it"
    assert needs(crew.state)["fasteners.mark:B2"].bar == ""


def test_a_plan_that_is_not_released_bars_everything_but_joining() -> None:
    crew = Crew(row(panel("A")))
    barred = {id_: one.bar for id_, one in needs(crew.state).items()}
    assert barred.pop("join.ways") == ""
    assert set(barred.values()) == {"the lead has not released the plan yet"}


def test_needs_are_asked_of_a_set_of_ids() -> None:
    one = Needs(is_done=False, after=("a", "b"), bar="", is_awaited=True)
    assert one.is_ready(["a", "b", "c"])
    assert not one.is_ready(["a"])


def test_a_set_seat_is_needed_so_that_giving_it_up_without_network_closes_the_lift() -> None:
    crew = at_fasteners(row(panel("A")))
    crew.walk(until="panels.lift:A")
    assert "fasteners.measure:A1" in needs(crew.state)["panels.lift:A"].after


def test_a_reading_the_lead_sent_back_is_not_waited_for_by_the_lift() -> None:
    crew = at_fasteners(row(panel("A")))
    crew.walk()
    review.send_back(
        crew.services,
        crew.lead,
        crew.job,
        why="look again",
        tasks=["fasteners.measure:A1", "panels.lift:A"],
        key=crew.key(),
    )
    state = jobs.state_of(crew.services, crew.job)
    assert "fasteners.measure:A1" not in needs(state)["panels.lift:A"].after
    assert crew.status("panels.lift:A") == "ready"


def test_a_panel_taken_off_the_plan_and_put_back_starts_afresh() -> None:
    """What was recorded of its seats went with it: no mark and no seat of it is known."""
    both = row(panel("A"), panel("B"))
    crew = at_fasteners(both)
    crew.walk(until="panels.lift:A")
    crew.revise(row(panel("B")))
    crew.revise(both)
    crew.release()
    state = crew.state
    assert disagreements(state) == []
    assert crew.status("fasteners.measure:B1") == "done"
    for name in ("mark", "pilot", "measure"):
        assert crew.status(f"fasteners.{name}:A1") != "done", name


def test_a_stage_is_named_only_when_all_of_it_is_needed() -> None:
    awaited = {"before": ["b1", "b2"], "work": ["w1", "w2"], "close": []}
    assert by_stage(("b1", "w1", "b2", "x"), awaited) == ["stage:before", "w1", "x"]
    assert by_stage((), awaited) == []
