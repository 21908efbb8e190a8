"""Shims before the lift: planned in, asked for ring by ring, and what comes of them."""

from __future__ import annotations

import random
from typing import Any

import pytest

from holdtrue.core.plan import make_plan
from holdtrue.domain.checklist import next_task
from holdtrue.domain.documents import with_shims
from holdtrue.domain.errors import ConflictError, InputError
from holdtrue.domain.jobfile import parse_job
from holdtrue.domain.outlook import outlook, plan_outlook
from holdtrue.domain.prefill import planned_values
from holdtrue.domain.review import residual_rows
from holdtrue.domain.rings import in_rings_mm, laid_mm
from holdtrue.domain.shims import could_have_shims, planned_with_shims, shims_for_mm, usual_mm
from holdtrue.domain.trimming import kit_of
from holdtrue.service import jobs
from tests.domain.crew import Crew, at_fasteners, panel, row
from tests.domain.papers import changed, smallest

RAIL: dict[str, Any] = {
    "hangers": [{"in": x, "down": 60} for x in (100, 500)],
    "hang": {"method": "cleat", "up": 20},
}
TWO = row(panel("A", shims=2), panel("B"))


def thick(crew: Crew, seat: str) -> float:
    return float(planned_values(crew.state, f"panels.shim:{seat}")["thick"]["mm"])


def to_shims(left_mm: float = 0.0, right_mm: float = 0.0, document: Any = None) -> Crew:
    """A's seats measured that much too high, and everything else as planned."""
    crew = at_fasteners(document or TWO)
    high = {"A1": left_mm, "A2": right_mm}
    for seat, up in ((one, high[one]) for one in crew.state.order if one in high):
        crew.walk(until=f"fasteners.measure:{seat}")
        x, y = crew.state.marks_mm[seat]
        crew.measure(seat, x, y + up)
    crew.walk(until="fasteners.cross:A1-A2")
    rise = right_mm - left_mm
    higher = "right" if rise > 0 else "left"
    raw = {"higher": higher, "by": f"{abs(rise)} mm"} if rise else {"higher": "level"}
    crew.record("fasteners.cross:A1-A2", raw, is_sure=True)
    crew.walk(until="panels.shim:A1")
    return crew


# -- planned


def test_shims_planned_in_a_ring_lower_its_seat_and_its_hole_by_as_much() -> None:
    plain, shimmed = (make_plan(parse_job(row(panel("A", shims=mm)))) for mm in (0, 2))
    for before, after in zip(plain.seats, shimmed.seats, strict=True):
        assert before.y_mm - after.y_mm == pytest.approx(2.0)
        assert before.hole_y_mm - after.hole_y_mm == pytest.approx(2.0)
        assert before.x_mm == after.x_mm
    assert plain.arrangement.centres_mm == shimmed.arrangement.centres_mm


def test_only_a_ring_on_its_own_fastener_takes_shims() -> None:
    job = parse_job(row(panel("A"), {**panel("B"), **RAIL}, panel("C", shims=1)))
    assert could_have_shims(job) == ("A",)
    assert [p.shims_mm for p in planned_with_shims(job).panels] == [2.0, 0.0, 1.0]


@pytest.mark.parametrize(
    ("unit", "graduation", "mm"),
    [("mm", 1, 2.0), ("in", '1/16"', 25.4 / 16), ("mm", 0.5, 2.0), ("mm", 5, 5.0)],
)
def test_what_is_planned_can_be_read_off_the_tape(unit: str, graduation: Any, mm: float) -> None:
    job = parse_job({**row(panel("A")), "unit": unit, "tape": graduation})
    assert usual_mm(job) == pytest.approx(mm)
    # on a tape as coarse as that a mark cannot be lowered by what a ring takes
    assert could_have_shims(job) == (("A",) if mm <= 4.0 else ())


@pytest.mark.parametrize(
    ("shims", "says"),
    [(-1, "must not be negative"), (4.5, "more than a ring takes"), ("x", "none of the units")],
    ids=str,
)
def test_shims_that_make_no_sense_are_refused(shims: Any, says: str) -> None:
    with pytest.raises(InputError) as refused:
        parse_job(changed(smallest(), "panels[0].shims", shims))
    assert refused.value.path == "panels[0].shims"
    assert says in refused.value.remedy


def test_a_rail_with_shims_is_refused() -> None:
    with pytest.raises(InputError, match="no ring"):
        parse_job(row({**panel("A"), **RAIL, "shims": 2}))


# -- offered


def test_the_plan_says_what_shims_would_raise_the_chance_to() -> None:
    seen = plan_outlook(make_plan(parse_job(row(panel("A"), panel("B")))))
    assert seen.with_shims > seen.with_sticks >= seen.chance
    assert seen.are_shims_offered


def test_planned_in_they_are_in_the_forecast_and_offered_no_more() -> None:
    document = with_shims(row(panel("A"), panel("B")), ["A", "B"], 2.0)
    seen = plan_outlook(make_plan(parse_job(document)))
    plain = plan_outlook(make_plan(parse_job(row(panel("A"), panel("B")))))
    assert seen.chance > plain.chance
    assert not seen.are_shims_offered


def test_they_can_be_planned_in_until_there_is_a_hole() -> None:
    crew = Crew(row(panel("A"), panel("B")))
    once = crew.key()
    jobs.plan_shims(crew.services, crew.lead, crew.job, key=once)
    assert [p.shims_mm for p in crew.state.job.panels] == [2.0, 2.0]
    assert crew.state.document["panels"][0]["shims"] == "2 mm"
    revision = crew.state.revision
    jobs.plan_shims(crew.services, crew.lead, crew.job, key=once)
    assert crew.state.revision == revision
    with pytest.raises(ConflictError, match="is planned with some"):
        jobs.plan_shims(crew.services, crew.lead, crew.job, key=crew.key())

    drilled = at_fasteners(row(panel("A"), panel("B")))
    assert outlook(drilled.state).are_shims_offered
    drilled.walk(until="fasteners.anchor:B1")
    assert not outlook(drilled.state).are_shims_offered
    with pytest.raises(ConflictError, match="There are holes already"):
        jobs.plan_shims(drilled.services, drilled.lead, drilled.job, key=drilled.key())


def test_a_hole_given_up_is_a_hole() -> None:
    crew = at_fasteners(row(panel("A"), panel("B")))
    crew.walk(until="fasteners.pilot:B1")
    # nothing is listed for steel: the pilot is left, and B1 waits for the lead
    crew.record("fasteners.pilot:B1", {"met": "steel"})
    assert [hole.seat for hole in crew.state.old_holes] == ["B1"]
    assert not outlook(crew.state).are_shims_offered
    with pytest.raises(ConflictError, match="There are holes already"):
        jobs.plan_shims(crew.services, crew.lead, crew.job, key=crew.key())


# -- asked for


def test_a_panel_planned_with_shims_has_them_between_its_seats_and_its_lift() -> None:
    crew = at_fasteners(TWO)
    own = [i for i in crew.ids if i.startswith("panels.") and i.endswith(("A", "A1", "A2"))]
    assert own[:3] == ["panels.shim:A1", "panels.shim:A2", "panels.lift:A"]
    assert not [i for i in crew.ids if i.startswith("panels.shim:B")]
    # seats against each other: by them the shims are laid, so nobody passes over that
    crossed = {t.id: t.kind.is_optional for t in crew.tasks if t.kind.name == "fasteners.cross"}
    assert crossed == {"fasteners.cross:A1-A2": False, "fasteners.cross:B1-B2": True}


def test_who_lays_what_was_said_is_asked_for_nothing_else() -> None:
    crew = at_fasteners(row(*(panel(name, shims=2) for name in "ABC")))
    high = {"A1": 0.0, "A2": -1.0, "B1": -1.0, "B2": -1.0, "C1": -0.5, "C2": 0.0}
    said = {}
    while (task := next_task(crew.tasks)) is not None and task.kind.name != "panels.lift":
        if task.kind.name == "panels.shim":
            said[task.subject] = thick(crew, task.subject)
        if task.kind.name == "fasteners.measure":
            x, y = crew.state.marks_mm[task.subject]
            crew.measure(task.subject, x, y + high[task.subject])
        else:
            crew.do(task.id)
        assert said == {seat: thick(crew, seat) for seat in said}
    assert said.keys() == {"B1", "B2"}


def test_each_waits_for_what_it_is_worked_out_from() -> None:
    crew = at_fasteners(TWO, way="panel_by_panel")
    assert planned_values(crew.state, "panels.shim:A1") == {}
    assert shims_for_mm(crew.state, "A1") is None
    crew.walk(until="fasteners.cross:A1-A2")
    assert crew.task("panels.shim:A1").why.startswith("first finish: Seat to seat A1 to A2")
    crew.do("fasteners.cross:A1-A2")
    assert crew.status("panels.lift:A") == "waiting"
    crew.walk(until="panels.lift:A")
    assert laid_mm(crew.state) == {"A1": 2.0, "A2": 2.0}


def test_a_seat_too_high_gets_fewer_shims() -> None:
    crew = to_shims(0.0, 1.0)
    assert thick(crew, "A1") - thick(crew, "A2") == pytest.approx(1.0)


def test_the_next_ring_answers_to_what_was_laid() -> None:
    crew = to_shims()
    assert (thick(crew, "A1"), thick(crew, "A2")) == (2.0, 2.0)
    crew.record("panels.shim:A1", {"thick": "3 mm"}, is_sure=True)
    # level again, and as near the plan as can be
    assert thick(crew, "A2") == pytest.approx(3.0, abs=0.5)
    # and what was laid is where the panel will bear
    assert crew.state.bearing_mm["A1"][1] == pytest.approx(crew.state.set_mm["A1"][1] + 1.0)
    # what it was told stays what it was told
    assert thick(crew, "A1") == 2.0


def test_the_marks_that_are_left_answer_to_where_a_shimmed_panel_bears() -> None:
    crew = at_fasteners(TWO, way="panel_by_panel")
    first = crew.ids[crew.ids.index(next(i for i in crew.ids if "fasteners.mark" in i))]
    assert first.startswith("fasteners.mark:A")
    crew.walk(until="panels.shim:A1")
    before = crew.state.marks_mm["B1"][1]
    crew.record("panels.shim:A1", {"thick": "4 mm"}, is_sure=True)
    crew.record("panels.shim:A2", {"thick": "4 mm"}, is_sure=True)
    assert crew.state.marks_mm["B1"][1] >= before + 1.0


def test_more_than_a_ring_takes_is_refused() -> None:
    crew = to_shims()
    with pytest.raises(InputError, match=r"more than a ring takes: at most 4\.0 mm"):
        crew.record("panels.shim:A1", {"thick": "4.5 mm"}, is_sure=True)


def test_a_seat_read_otherwise_before_the_lift_asks_again() -> None:
    crew = to_shims()
    crew.do("panels.shim:A1")
    crew.do("panels.shim:A2")
    assert crew.status("panels.shim:A1") == "done"
    x, y = crew.state.set_mm["A1"]
    line = crew.state.set_seats["A1"].line_mm
    raw = {"x": f"{abs(x):.3f} mm", "x.side": "left", "above": f"{y + 6 - line:.3f} mm"}
    crew.record("fasteners.again:A1", raw, is_sure=True)
    assert crew.status("panels.shim:A1") == "ready"
    assert crew.status("panels.lift:A") == "waiting"


def test_once_lifted_what_was_said_stands() -> None:
    crew = to_shims(0.0, 1.0)
    said = thick(crew, "A1")
    crew.walk(until="panels.level:A")
    crew.record("panels.level:A", {"low": "right", "by": "3"})
    assert thick(crew, "A1") == said


def test_taken_back_they_are_asked_for_again() -> None:
    crew = to_shims()
    entry = crew.record("panels.shim:A1", {"thick": "3 mm"}, is_sure=True)
    crew.undo(entry)
    assert laid_mm(crew.state) == {}
    assert crew.status("panels.shim:A1") == "ready"
    assert crew.state.bearing_mm["A1"] == crew.state.set_mm["A1"]


# -- once hung


def test_a_trim_knows_what_is_in_each_ring() -> None:
    crew = to_shims(0.0, 1.0)
    crew.walk(until="panels.level:A")
    rings = in_rings_mm(crew.state)
    assert rings == {**laid_mm(crew.state), "B1": 0.0, "B2": 0.0}
    assert {seat: kit_of(crew.state).at_mm["shim", seat] for seat in rings} == rings
    crew.record("panels.level:A", {"low": "right", "by": "4"})
    trim = planned_values(crew.state, "panels.trim:A")["touches"]
    down = [one for one in trim if one["way"] == "down"]
    # a ring that lies on shims can be lowered; a bare one cannot
    assert down
    assert all(one["by"]["mm"] <= rings[one["seat"]] for one in down)


def test_the_review_counts_them_where_nobody_read_the_hung_work() -> None:
    crew = to_shims(0.0, 3.0)
    crew.walk()
    rows = {row.name: row for row in residual_rows(crew.state)}
    assert abs(rows["level A"].value_mm) < 1.5


@pytest.mark.parametrize("seed", range(4))
def test_after_a_swap_each_ring_is_laid_once_more_in_whatever_order(seed: int) -> None:
    """Laid one by one on old shims, one would ask for another again and again."""
    rng = random.Random(seed)
    crew = Crew(with_shims(row(panel("A"), panel("B"), panel("C")), "ABC", 1.5))
    crew.release()
    while len(rings_ready(crew)) < 6:
        task = next_task(t for t in crew.tasks if t.kind.stage != "panels")
        assert task is not None
        if task.kind.name == "fasteners.measure":
            x_mm, y_mm = crew.state.marks_mm[task.subject]
            crew.measure(task.subject, x_mm + rng.gauss(0, 1.5), y_mm + rng.gauss(0, 1.5))
        else:
            crew.do(task.id)
    for _ in range(2):
        crew.do(rng.choice(rings_ready(crew)))
    crew.swap("A", "C")
    laid = []
    while rings_ready(crew):
        laid.append(rng.choice(rings_ready(crew)))
        crew.do(laid[-1])
    assert sorted(laid) == [f"panels.shim:{panel}{n}" for panel in "ABC" for n in (1, 2)]


def rings_ready(crew: Crew) -> list[str]:
    return [t.id for t in crew.tasks if t.kind.name == "panels.shim" and t.status == "ready"]
