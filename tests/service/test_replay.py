"""The log decides: folding it whole gives what was evolved entry by entry, whatever was done."""

from __future__ import annotations

import random
from collections.abc import Callable
from copy import deepcopy
from dataclasses import replace
from typing import Any

import pytest

from holdtrue.domain import events
from holdtrue.domain.checklist import Task, checklist
from holdtrue.domain.choosing import offers
from holdtrue.domain.errors import AppError, InputError
from holdtrue.domain.fold import fold
from holdtrue.domain.learning import learned_drops
from holdtrue.domain.state import JobState
from holdtrue.service import choosing, jobs
from holdtrue.service.folds import Folds
from holdtrue.service.services import Actor, Services
from holdtrue.service.tasks import FREED, STOPS
from holdtrue.service.undoing import UNDOABLE
from holdtrue.store.port import Entry, NewEntry
from tests.domain.crew import FASTENERS, Crew, at_fasteners, differences, golden, panel, row


class Wanderer:
    """Does sensible and senseless things at random, and remembers the state after each entry."""

    def __init__(self, crew: Crew, seed: int) -> None:
        self.crew = crew
        self.draw = random.Random(seed)
        self.after: dict[int, JobState] = {}
        self.refused = 0
        self.acts: list[tuple[Callable[[], Any], int]] = [
            (self.do_next, 60),
            (self.do_any, 15),
            (self.measure_off, 15),
            (self.undo, 8),
            (self.block, 5),
            (self.free, 5),
            (self.stop, 2),
            (self.clear, 4),
            (self.revise, 1),
            (self.release, 3),
            (self.remeasure, 3),
            (self.trim, 3),
            (self.choose, 4),
            (self.learn, 2),
            (self.stick, 2),
            (self.swap, 1),
        ]

    def go(self, times: int) -> None:
        acts, weights = zip(*self.acts, strict=True)
        for _ in range(times):
            try:
                self.draw.choices(acts, weights)[0]()
            except AppError:
                self.refused += 1
            state = self.crew.state
            self.after[state.seq] = state

    def ready(self) -> list[Task]:
        return [task for task in self.crew.tasks if task.status == "ready"]

    def seat(self) -> str:
        return self.draw.choice(self.crew.state.form.seats)

    def do_next(self) -> None:
        ready = [task for task in self.ready() if not task.kind.is_optional]
        if ready:
            self.crew.do(ready[0].id)

    def do_any(self) -> None:
        self.crew.do(self.draw.choice(self.crew.tasks).id)

    def measure_off(self) -> None:
        measures = [t for t in self.ready() if t.kind.name == "fasteners.measure"]
        if measures:
            seat = measures[0].subject
            x_mm, y_mm = self.crew.state.marks_mm[seat]
            self.crew.measure(seat, x_mm + self.draw.gauss(0, 2), y_mm + self.draw.gauss(0, 2))

    def undo(self) -> None:
        mine = [entry.seq for entry in self.crew.entries if entry.type in UNDOABLE]
        if mine:
            self.crew.undo(self.draw.choice(mine[-4:]), by=self.crew.lead)

    def block(self) -> None:
        found = self.draw.choice(("stud", "hollow", "solid", "backed", "same"))
        fastener = self.draw.choice(("", "", *(str(f["name"]) for f in FASTENERS)))
        self.crew.block(self.seat(), found, material="wood", fastener=fastener)

    def free(self) -> None:
        state = self.crew.state
        drilled = [seat for seat in state.form.seats if state.is_drilled(seat)]
        self.crew.free(self.draw.choice(drilled or state.form.seats), self.draw.choice(FREED))

    def stop(self) -> None:
        self.crew.stop(self.seat(), self.draw.choice(STOPS))

    def clear(self) -> None:
        if self.crew.state.open_stops:
            self.crew.clear(self.crew.state.open_stops[0].seq)

    def revise(self) -> None:
        document = deepcopy(dict(self.crew.state.document))
        height = document["layout"]["height"]
        height["at"] = self.draw.choice((1480, 1500, 1520))
        self.crew.revise(document)

    def release(self) -> None:
        if not self.crew.state.is_released:
            way = self.draw.choice(("fasteners_first", "panel_by_panel"))
            self.crew.release(way)

    def remeasure(self) -> None:
        name = self.draw.choice([t.id for t in self.crew.tasks if t.kind.name == "work.hanger"])
        plan = self.draw.choice((98, 100, 103))
        self.crew.record(
            name, {"edge": "left", "in": f"{plan}", "down": f"{plan}"}, is_sure=True, unit="mm"
        )

    def trim(self) -> None:
        levels = [t for t in self.ready() if t.kind.name == "panels.level"]
        if levels:
            self.crew.record(levels[0].id, {"low": "left", "by": "4"})
            self.crew.record(
                f"panels.trim:{levels[0].subject}",
                {"seat": f"{levels[0].subject}1", "by": "3", "means": "shim"},
            )

    def choose(self) -> None:
        crew = self.crew
        for seat, built in list(crew.state.set_seats.items())[-1:]:
            offered = [offer.name for offer in offers(crew.state, seat)]
            choosing.choose(
                crew.services,
                crew.lead,
                crew.job,
                seat,
                choice=self.draw.choice(offered),
                of=built.seq,
                key=crew.key(),
            )

    def learn(self) -> None:
        crew = self.crew
        for one in learned_drops(crew.state):
            choosing.learn_drop(
                crew.services,
                crew.lead,
                crew.job,
                fastener=one.fastener,
                drop_mm=one.drop_mm,
                key=crew.key(),
            )

    def stick(self) -> None:
        sticks = [task for task in self.ready() if task.kind.name == "fasteners.stick"]
        if sticks:
            self.crew.do(sticks[0].id)

    def swap(self) -> None:
        names = [panel.name for panel in self.crew.state.job.panels]
        self.crew.swap(self.draw.choice(names), self.draw.choice(names))


def wandered(seed: int, times: int = 250) -> Wanderer:
    layouts = (row(panel("A"), panel("B"), panel("C")), row(panel("A", 3)), row(panel("A", 1)))
    crew = at_fasteners(layouts[seed % 3]) if seed % 2 else Crew(layouts[seed % 3])
    if not crew.state.is_released:
        crew.release()
    wanderer = Wanderer(crew, seed)
    wanderer.go(times)
    return wanderer


def without(entries: tuple[Entry, ...], seqs: set[int]) -> list[Entry]:
    return [entry for entry in entries if entry.seq not in seqs]


@pytest.mark.parametrize("seed", range(8))
def test_folding_the_log_gives_every_state_there_ever_was(seed: int) -> None:
    wanderer = wandered(seed)
    entries = wanderer.crew.entries
    assert len(entries) > 60
    for seq, state in wanderer.after.items():
        assert differences(fold(entries[:seq]), state) == [], f"after entry {seq}"


@pytest.mark.parametrize("seed", range(8))
def test_what_was_undone_leaves_no_trace_in_the_state(seed: int) -> None:
    entries = wandered(seed).crew.entries
    undoings = [entry for entry in entries if entry.type == events.ENTRY_UNDONE]
    gone = {entry.seq for entry in undoings} | {int(entry.body["of"]) for entry in undoings}
    never = fold(without(entries, gone))
    assert differences(never, replace(fold(entries), seq=never.seq)) == []


@pytest.mark.parametrize("seed", [0, 3])
def test_a_wanderer_is_refused_often_and_still_does_every_kind_of_thing(seed: int) -> None:
    """The property above would be empty if nothing happened in those walks."""
    wanderer = wandered(seed, times=400)
    types = {entry.type for entry in wanderer.crew.entries}
    assert wanderer.refused > 20
    assert types >= {
        events.TASK_RECORDED,
        events.SEAT_BLOCKED,
        events.SEAT_FREED,
        events.STOP_CALLED,
        events.STOP_CLEARED,
        events.ENTRY_UNDONE,
        events.PLAN_REVISED,
    }


@pytest.mark.parametrize("seed", range(6))
def test_whatever_was_done_the_state_hangs_together(seed: int) -> None:
    for state in wandered(seed).after.values():
        seats = set(state.form.seats)
        assert set(state.marks_mm) == seats - set(state.set_seats)
        assert set(state.set_seats) | set(state.holes) | set(state.marked) <= seats
        assert set(state.holes) | set(state.pilots) <= set(state.marked)
        assert {seat.seat for seat in state.current.seats} == seats
        for task in checklist(state):
            assert bool(task.why) == (task.status in ("waiting", "stopped"))


def test_undoing_gives_back_exactly_the_state_before() -> None:
    crew = at_fasteners(golden("tidewrack"))
    while (task := next((t for t in crew.tasks if t.status == "ready"), None)) is not None:
        if task.kind.is_optional:
            break
        before = crew.state
        entry = crew.do(task.id)
        assert differences(crew.state, replace(before, seq=crew.state.seq))
        crew.undo(entry, by=crew.lead)
        assert differences(replace(crew.state, seq=before.seq), before) == [], task.id
        crew.do(task.id)


@pytest.mark.parametrize("act", ["block", "free"])
def test_undoing_what_was_in_the_way_gives_back_the_state_before(act: str) -> None:
    crew = at_fasteners(row(panel("A"), panel("B")))
    crew.walk(until="fasteners.press:A2")
    before = crew.state
    entry = crew.block("A2", "stud", material="wood") if act == "block" else crew.free("A2")
    assert [hole.at_mm for hole in crew.state.old_holes] == [before.holes["A2"]]
    crew.undo(entry)
    assert differences(replace(crew.state, seq=before.seq), before) == []


def test_a_log_read_again_by_another_server_gives_the_same_state() -> None:
    wanderer = wandered(1)
    crew = wanderer.crew
    fresh = replace(crew.services, memo=Folds())
    assert differences(jobs.state_of(fresh, crew.job), crew.state) == []


def test_state_before_an_entry_is_the_state_after_the_one_ahead_of_it() -> None:
    crew = at_fasteners(row(panel("A")))
    before = crew.state
    entry = crew.do("fasteners.mark:A1")
    assert differences(jobs.state_before(crew.services, crew.job, entry.seq), before) == []


def test_a_log_from_before_a_rule_still_folds_and_what_comes_in_now_keeps_it(
    services: Services,
) -> None:
    """Rows of a row were passed over once: the log that has them is read, a new one refused."""
    document = {**golden("tidewrack"), "title": "Old\x9b job"}
    document["layout"] = {**document["layout"], "rows": 3}
    lead = Actor(person="P", name="Ines", role="lead")
    with pytest.raises(InputError, match="control characters"):
        jobs.create_job(services, lead, document=document, key=services.ids.key())

    old = NewEntry(
        key=services.ids.key(),
        type=events.JOB_CREATED,
        body={"document": document},
        who="P",
        received=services.now(),
        tapped=None,
    )
    services.store.append("job-ABCDEFGH", old, expected=0)
    jobs.release(services, lead, "ABCDEFGH", reason="why not", way="panel_by_panel", key="k" * 32)
    assert jobs.state_of(services, "ABCDEFGH").is_released
