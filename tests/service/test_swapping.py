"""Panels in each other's places: what is in the wall stays, and answers to the panel that comes."""

from __future__ import annotations

from collections.abc import Mapping
from copy import deepcopy
from dataclasses import replace
from typing import Any

import pytest

from holdtrue.domain import events
from holdtrue.domain.errors import ConflictError, InputError, NotAllowedError
from holdtrue.domain.jobfile import parse_job
from holdtrue.domain.logexport import log_document
from holdtrue.domain.logfile import parse_log, replay
from holdtrue.domain.state import JobState, Point
from holdtrue.domain.timeline import timeline
from holdtrue.service import tasks
from tests.domain.crew import Crew, at_fasteners, differences, panel, row
from tests.service.test_meanwhile import late, shown

THREE = row(panel("A"), panel("B"), panel("C"))


def panel_with(name: str, **more: Any) -> dict[str, Any]:
    return {**panel(name), **more}


def unlike() -> dict[str, Any]:
    """B's hangers are 4 mm lower and up to 20 mm elsewhere than A's."""
    hangers = [{"in": 120, "down": 104}, {"in": 490, "down": 104}]
    return row(panel("A"), panel_with("B", hangers=hangers), panel("C"))


def begun(document: Mapping[str, Any] = THREE) -> Crew:
    """The first panel to be driven is set, a little off; the next one is marked."""
    crew = at_fasteners(document)
    first, second, third, *_ = crew.state.order
    for seat in (first, second):
        crew.walk(until=f"fasteners.measure:{seat}")
        x, y = crew.state.marks_mm[seat]
        crew.measure(seat, x + 0.6, y - 0.4)
    crew.walk(until=f"fasteners.pilot:{third}")
    return crew


def places(state: JobState, panels: tuple[str, str]) -> dict[str, Point]:
    """Set seats by their names after these two changed places."""
    one, other = panels
    turned = {one: other, other: one}
    return {turned.get(seat[:-1], seat[:-1]) + seat[-1]: at for seat, at in state.set_mm.items()}


def close(found: Mapping[str, Point], wanted: Mapping[str, Point]) -> None:
    assert found.keys() == wanted.keys()
    for name, place in found.items():
        assert place == pytest.approx(wanted[name], abs=1e-6), name


def two(crew: Crew) -> tuple[str, str]:
    """The panel that is set and the one that is marked."""
    order = crew.state.order
    return order[0][:-1], order[2][:-1]


def test_alike_panels_change_places_and_nothing_on_the_wall_changes() -> None:
    crew = begun()
    one, other = two(crew)
    before = crew.state
    crew.swap(one, other)
    after = crew.state
    close(after.set_mm, places(before, (one, other)))
    assert set(after.holes) == {f"{other}1", f"{other}2"}
    assert {k: v for k, v in after.marked.items() if k[0] == one} == {
        f"{one}{k[-1]}": v for k, v in before.marked.items() if k[0] == other
    }
    # the marks that are left stay, to the calm of the tape
    assert after.marks_mm[f"{one}1"] == before.marks_mm[f"{other}1"]
    assert after.reopened == frozenset()
    assert crew.status(f"fasteners.measure:{other}1") == "done"
    assert crew.status(f"fasteners.pair:{one}1-{one}2") == "done"
    assert crew.status("stand_back.yes") == "done"
    assert crew.walk()[-1] == "close.hand_over"


def test_unlike_panels_are_measured_again_and_the_marks_left_answer_to_them() -> None:
    crew = begun(unlike())
    one, other = two(crew)
    assert {one, other} == {"A", "B"}
    before = crew.state
    crew.swap(one, other)
    again = [f"work.hanger:{name}{i}" for name in ("A", "B") for i in (1, 2)]
    assert [crew.status(task) for task in again] == ["ready"] * 4
    assert crew.task(f"fasteners.pilot:{crew.state.order[2]}").why.startswith("no hole before")
    # fasteners driven for A carry B, whose hangers are lower: B would hang 4 mm higher
    after = crew.state
    close(after.set_mm, places(before, (one, other)))
    assert after.marks_mm != before.marks_mm
    for task in again:
        crew.do(task)
    crew.walk(until=f"fasteners.pilot:{after.order[2]}")


def test_a_hanger_read_again_after_the_swap_moves_the_marks() -> None:
    crew = begun(unlike())
    one, other = two(crew)
    crew.swap(one, other)
    marks = dict(crew.state.marks_mm)
    task = f"work.hanger:{one}1"
    planned = crew.do(task).body["planned"]
    down = planned["down"]["mm"] + 5
    crew.record(
        task,
        {"edge": planned["edge"], "in": f"{planned['in']['mm']}", "down": f"{down}"},
        is_sure=True,
    )
    assert crew.state.marks_mm != marks


@pytest.mark.parametrize("kind", ["row", "column", "grid", "free"])
def test_in_every_layout_each_comes_where_the_other_was(kind: str) -> None:
    document = deepcopy(THREE)
    height = {"of": "centre", "at": 1500}
    document["layout"] = {
        "row": {"kind": "row", "gap": 50, "height": height},
        "column": {"kind": "column", "gap": 50, "height": height},
        "grid": {"kind": "grid", "gap": 50, "rows": [["A", "B"], ["C"]], "height": height},
        "free": {"kind": "free"},
    }[kind]
    if kind == "free":
        for k, one in enumerate(document["panels"]):
            one["centre"] = {"x": 700 * k, "y": 1500 + 10 * k}
    crew = at_fasteners(document)

    def centres() -> dict[str, Point]:
        arrangement = crew.state.plan.arrangement
        names = [panel.name for panel in crew.state.job.panels]
        return dict(zip(names, arrangement.centres_mm, strict=True))

    before = centres()
    crew.swap("A", "C")
    after = centres()
    close(after, {"A": before["C"], "B": before["B"], "C": before["A"]})
    assert parse_job(crew.state.document).panels == crew.state.job.panels


def test_changed_twice_all_is_as_it_was() -> None:
    crew = begun()
    before = crew.state
    crew.swap("A", "B")
    crew.swap("A", "B")
    after = replace(crew.state, seq=before.seq, revision=before.revision)
    left = [place for place in differences(after, before) if not place.startswith("state.records")]
    assert left == []
    assert crew.state.records.keys() == before.records.keys()


@pytest.mark.parametrize(
    ("one", "other", "error", "said"),
    [
        ("A", "A", InputError, "changed places with"),
        ("A", "Z", InputError, "choose one of A, B, C"),
    ],
)
def test_only_two_panels_of_the_job_change_places(
    one: str, other: str, error: type[Exception], said: str
) -> None:
    with pytest.raises(error, match=said):
        begun().swap(one, other)


def test_it_is_a_change_of_the_work_the_leads_with_the_makers_yes() -> None:
    crew = begun()
    with pytest.raises(NotAllowedError):
        crew.swap("A", "B", by=crew.installer)
    with pytest.raises(InputError) as refusal:
        crew.swap("A", "B", agreed="  ")
    assert refusal.value.path == "agreed"
    with pytest.raises(InputError, match="Mara, maker"):
        crew.swap("A", "B", agreed="the maker")
    entry = crew.swap("A", "B", agreed="Mara, maker")
    line = timeline(crew.entries, {}, "mm")[-1]
    assert (entry.seq, line.is_otherwise) == (line.seq, True)
    assert line.text == "Panels A and B hang in each other's places, agreed by Mara, maker"


def test_a_hung_panel_is_taken_down_first() -> None:
    crew = at_fasteners(THREE, way="panel_by_panel")
    first = crew.state.order[0][:-1]
    crew.walk(until=f"panels.engaged:{first}")
    other = next(name for name in "ABC" if name != first)
    with pytest.raises(ConflictError, match=f"Panel {first} hangs"):
        crew.swap(other, first)


def test_panels_on_another_number_of_hangers_do_not_fit_each_other() -> None:
    crew = at_fasteners(row(panel("A"), panel("B", 3)))
    with pytest.raises(ConflictError, match="do not hang by the same hangers"):
        crew.swap("A", "B")


def test_a_stop_stays_where_its_cable_is() -> None:
    crew = begun()
    crew.stop("A1")
    (stop,) = crew.state.open_stops
    crew.swap("A", "B")
    (after,) = crew.state.open_stops
    assert (after.seat, after.at_mm) == ("B1", stop.at_mm)


# ---- phones that did not know


def test_what_was_done_at_a_place_with_another_name_is_refused_with_the_name_of_now() -> None:
    crew = begun()
    one, other = two(crew)
    seat = crew.state.order[2]
    as_of, place = str(crew.state.seq), shown(crew, seat)
    crew.swap(one, other)
    with pytest.raises(ConflictError, match=f"what was {seat} is {one}{seat[-1]} now"):
        late(crew, f"fasteners.pilot:{seat}", {"met": "nothing"}, as_of=as_of, shown=place)
    pair = f"fasteners.pair:{other}1-{other}2"
    with pytest.raises(ConflictError, match="changed places meanwhile"):
        late(crew, pair, outcome="as_planned", as_of=as_of)
    for give in ("free", "block"):
        with pytest.raises(ConflictError, match="changed places meanwhile"):
            _way(crew, give, f"{one}1", as_of)
    # a phone that knows by now, and a panel that stayed
    late(crew, f"fasteners.pilot:{one}{seat[-1]}", {"met": "nothing"}, as_of=str(crew.state.seq))


def _way(crew: Crew, what: str, seat: str, stands: str) -> None:
    if what == "free":
        tasks.free_seat(
            crew.services,
            crew.installer,
            crew.job,
            seat,
            why="spent",
            key=crew.key(),
            stands=stands,
        )
    else:
        tasks.block_seat(
            crew.services,
            crew.installer,
            crew.job,
            seat,
            found="hollow",
            key=crew.key(),
            stands=stands,
        )


def test_a_stop_called_on_a_phone_that_did_not_know_locks_the_place_it_was_called_at() -> None:
    crew = begun()
    as_of = str(crew.state.seq)
    row_ = crew.state.seat("A1")
    crew.swap("A", "B")
    key = crew.key()
    for _ in range(2):  # sent twice: the reply was lost
        entry = tasks.call_stop(
            crew.services,
            crew.installer,
            crew.job,
            "A1",
            what="cable",
            key=key,
            stands=as_of,
        )
    assert entry.body["seat"] == "B1"
    (stop,) = crew.state.open_stops
    assert stop.at_mm == pytest.approx((row_.x_mm, row_.hole_y_mm))


def test_what_came_before_is_not_taken_back() -> None:
    crew = begun()
    of = next(e for e in reversed(crew.entries) if e.type == events.TASK_RECORDED)
    crew.swap("A", "B")
    with pytest.raises(ConflictError, match="builds on this"):
        crew.undo(of)


def test_the_log_as_a_file_names_each_place_as_the_exported_job_does() -> None:
    crew = begun()
    one, other = two(crew)
    crew.swap(one, other)
    state = crew.state
    log = log_document(crew.entries, state, {})
    read = replay(state.form, parse_log(log, state.form.seats))
    close(
        read.set_mm,
        {seat: (built.x_mm, built.y_mm) for seat, built in state.set_seats.items()},
    )
    assert {entry["seat"] for entry in log["entries"]} >= {f"{other}1", f"{other}2"}
