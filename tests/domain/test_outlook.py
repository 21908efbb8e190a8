"""The chance that is shown, against installs played from there on as they are shown their marks."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from holdtrue.core.criteria import all_criteria
from holdtrue.core.marks import give_many
from holdtrue.core.plan import make_plan
from holdtrue.core.quality import Vector
from holdtrue.domain.jobfile import parse_job
from holdtrue.domain.outlook import chance_now, outlook, plan_outlook
from holdtrue.domain.state import JobState
from holdtrue.web.chances import chance_line
from tests.domain.crew import Crew, at_fasteners, golden

DRAWS = 100_000
AT_ONCE = 5_000
TAPE_MM = 0.2
STICK_MM = 0.15


def sure(name: str, placing_mm: float) -> dict[str, Any]:
    """A job of people who place and read well enough for the chance to be far from none."""
    sizes = {"placing": f"{placing_mm} mm", "tape": f"{TAPE_MM} mm", "stick": f"{STICK_MM} mm"}
    document = golden(name) | {"uncertainty": sizes}
    document["fasteners"] = [{"basis": "working"} | one for one in document["fasteners"]]
    return document


class Installs:
    """The same job from here on, many times over: where seats are, and where they are thought to
    be, shape (2, N). Every install's marks are all given again after every reading."""

    def __init__(self, state: JobState, placing_mm: float, seed: tuple[int, int]) -> None:
        self.state, self.placing_mm = state, placing_mm
        self.rng = np.random.default_rng(seed)
        self.given: dict[str, Vector] = {
            name: np.tile(np.array(at)[:, None], (1, AT_ONCE))
            for name, at in state.marks_mm.items()
        }
        self.known: dict[str, Vector] = {}
        self.true: dict[str, Vector] = {}
        for name, seat in state.set_seats.items():
            at = np.array(state.set_mm[name])[:, None]
            self.known[name] = np.broadcast_to(at, (2, AT_ONCE))
            self.true[name] = at + self.off(TAPE_MM if seat.is_measured else placing_mm)

    def off(self, u_mm: float) -> Vector:
        return self.rng.normal(0.0, u_mm, (2, AT_ONCE))

    def place(self, name: str, aim: Vector, u_mm: float) -> None:
        self.true[name] = aim + self.off(u_mm)
        self.known[name] = self.true[name] + self.off(TAPE_MM)

    def mark(self, order: list[str], drilled: list[str]) -> None:
        marks = give_many(
            self.state.form,
            set_mm=self.known | {name: self.given[name] for name in drilled},
            order=order,
            drop_mm={s.seat: s.hole_y_mm - s.y_mm for s in self.state.current.seats},
            graduation_mm=self.state.job.graduation_mm,
            given_mm=self.given,
            installs=(AT_ONCE,),
        )
        self.given |= marks

    def drive(self) -> None:
        order = [name for name in self.state.order if name not in self.known]
        drilled = [name for name in order if self.state.is_drilled(name)]
        while order:
            self.mark(order, drilled)
            name = order.pop(0)
            drilled = [seat for seat in drilled if seat != name]
            self.place(name, self.given[name], self.placing_mm)

    def share_inside(self) -> float:
        form = self.state.form
        places = np.concatenate([[self.true[seat][k] for seat in form.seats] for k in (0, 1)])
        goal = all_criteria(self.state.job, self.state.plan.arrangement)
        ends = goal.matrix @ (places - form.planned_mm[:, None])
        return float(np.all(np.abs(ends) <= goal.tolerance_mm[:, None], axis=0).mean())


def played(state: JobState, placing_mm: float, seed: int) -> float:
    shares = []
    for batch in range(DRAWS // AT_ONCE):
        installs = Installs(state, placing_mm, (seed, batch))
        installs.drive()
        shares.append(installs.share_inside())
    return float(np.mean(shares))


def off(crew: Crew, seat: str, dx_mm: float, dy_mm: float) -> None:
    crew.walk(until=f"fasteners.measure:{seat}")
    x_mm, y_mm = crew.state.marks_mm[seat]
    crew.measure(seat, x_mm + dx_mm, y_mm + dy_mm)


def as_planned(crew: Crew, seat: str) -> None:
    crew.walk(until=f"fasteners.measure:{seat}")
    crew.do(f"fasteners.measure:{seat}")


def pilot_met(crew: Crew, met: str) -> None:
    pilots = (task for task in crew.tasks if task.kind.name == "fasteners.pilot")
    seat = next(task.subject for task in pilots if task.status != "done")
    crew.walk(until=f"fasteners.pilot:{seat}")
    crew.record(f"fasteners.pilot:{seat}", {"met": met})


EVENTS: tuple[Callable[[Crew], None], ...] = (
    lambda crew: off(crew, crew.state.order[0], 0.4, -0.3),
    lambda crew: off(crew, crew.state.order[1], -0.3, 0.3),
    lambda crew: pilot_met(crew, "wood"),
    lambda crew: off(crew, crew.state.order[2], 0.1, 0.5),
    lambda crew: as_planned(crew, crew.state.order[3]),
)
"""Read off their marks; another fastener, whose mark is made again; set as planned, unread."""


@pytest.mark.slow
def test_before_and_after_each_event_it_is_what_100_000_installs_end_like() -> None:
    placing_mm = 0.3
    crew = at_fasteners(sure("tidewrack", placing_mm))
    chances = []
    for seed, event in enumerate((None, *EVENTS)):
        before = crew.state
        if event is not None:
            event(crew)
        after = crew.state
        chances.append(chance_now(after))
        assert chances[-1] == pytest.approx(played(after, placing_mm, seed), abs=0.01), seed
        if event is not None:
            assert chance_now(before) == pytest.approx(chances[-2])
            assert chance_line(before, after).startswith("Chance that all ends inside: ")
    assert max(chances) > 0.2
    assert len({round(chance, 2) for chance in chances}) > 2


@pytest.mark.slow
@pytest.mark.parametrize(("name", "placing_mm"), [("tidewrack", 0.2), ("staithe", 0.3)])
def test_the_plan_says_what_100_000_installs_end_like(name: str, placing_mm: float) -> None:
    document = sure(name, placing_mm)
    said = plan_outlook(make_plan(parse_job(document))).chance
    assert said == outlook(Crew(document).state).chance
    assert 0.05 < said < 0.95
    assert said == pytest.approx(played(Crew(document).state, placing_mm, 7), abs=0.01)
