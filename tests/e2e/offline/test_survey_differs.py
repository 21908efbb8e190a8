"""A hanger, studs or the mark not where the plan had them, found without network: work goes on."""

from __future__ import annotations

from typing import Any

import pytest
from playwright.sync_api import expect

from holdtrue.service import installers, jobs
from tests.e2e.offline.fieldwork import (
    Job,
    installer,
    log_of,
    log_without_refusals,
    of_task,
    offline,
    prepare,
    prepared,
    recorded,
    switch_off,
)
from tests.e2e.offline.test_whole_install import (
    assert_marks_as_shown,
    assert_same,
    work_and_read,
)
from tests.e2e.people import Crew
from tests.e2e.server import Server
from tests.walking import do, golden, walk

HANGER = "work.hanger:A1"
SPACING = "work.spacing:A1-A2"
READ = {"in": "4 3/4", "down": "7 1/4"}
"""A1's hanger is 3/8 in further in and 1/8 in lower than planned."""
STUDS = {"studs[2].x": "7", "studs[4].x": "22 5/8"}
"""Two studs are an inch nearer to the reference line."""
MARK = "reference.mark"
ELSEWHERE = {"meaning": "left", "height": "58 7/8"}
"""The mark is the left edge of the work, which was to hang around it, 7/8 in lower."""
B1_THERE = {"x": "35 11/16", "x.side": "right", "above": "4 15/16"}
"""A little left and high of its mark."""


@pytest.mark.parametrize("slope", [0, 3])
def test_an_install_goes_on_by_hangers_and_studs_as_measured_without_network(
    server: Server, crew: Crew, slope: float
) -> None:
    document = golden() | {"slope": slope}
    with server.opened() as services:
        away, at_home = (prepare(services, document=document) for _ in range(2))
    server.start()
    ivo = installer(crew, server, away)
    with offline(ivo):
        ivo.work(until=HANGER)
        ivo.do(HANGER, READ)
        ivo.work(until=SPACING)
        # 21 1/8 in was planned, and would not agree with what was read from the edges
        assert ivo.page.locator('[name="spacing"]').input_value() == "20 3/4"
        expect(ivo.page.locator("figure svg [data-live^=spacing]")).to_have_text("20 3/4 in")
        ivo.work(until="behind.studs")
        ivo.do("behind.studs", STUDS)
        shown = work_and_read(ivo)
        assert ivo.main.get_by_text("tasks are done").count() == 1
    switch_off(server, crew)
    measured = {HANGER, "behind.studs", "fasteners.measure:B1", "fasteners.measure:C2"}
    assert_as_online(server, away, at_home, measured, shown)


def assert_as_online(
    server: Server,
    away: Job,
    at_home: Job,
    measured: set[str],
    shown: dict[str, tuple[float, float]],
) -> None:
    """What was recorded away is what the same readings come to with the network."""
    entries = log_without_refusals(server, away)
    readings = {str(e.body["task"]): typed(e.body["values"]) for e in entries if is_measured(e)}
    assert set(readings) == measured
    with server.opened() as services:
        who = installers.join(
            services, code=at_home.code, name="Ivo", unit="in", hand="left", key=services.ids.key()
        )
        for task in recorded(entries):
            do(services, who, at_home.id, task, readings.pop(task, None))
        online = services.store.read(jobs.stream_of(at_home.id))
    assert_same(entries, online)
    assert_marks_as_shown(shown, entries)


def test_an_install_goes_on_where_the_mark_says_without_network(server: Server, crew: Crew) -> None:
    document = golden()
    # in the hollow wall there, D2 is no wood screw any more: this hook carries it
    document["fasteners"][0]["capacity"] = "60 lb"
    with server.opened() as services:
        away, at_home = (prepare(services, document=document) for _ in range(2))
    server.start()
    ivo = installer(crew, server, away)
    with offline(ivo):
        ivo.work(until=MARK)
        ivo.do(MARK, ELSEWHERE)
        ivo.work(until="level.line:1")
        # 66 in was planned
        assert ivo.page.locator('[name="height"]').input_value() == "67"
        expect(ivo.main).to_contain_text("the work hangs elsewhere")
        ivo.work(until="stand_back.corners")
        expect(ivo.main.locator("[data-live='wall-corners:A']")).to_have_text(
            "on the line to 30 in right; 38 7/8 in to 78 7/8 in up"
        )
        shown = work_and_read(ivo, {"fasteners.measure:B1": B1_THERE})
        assert ivo.main.get_by_text("tasks are done").count() == 1
    switch_off(server, crew)
    measured = {MARK, "fasteners.measure:B1", "fasteners.measure:C2"}
    assert_as_online(server, away, at_home, measured, shown)


def test_a_seat_that_comes_where_its_load_was_not_checked_waits_for_the_lead(
    server: Server, crew: Crew
) -> None:
    """The other panels go on meanwhile."""
    job = prepared(server, until=MARK)
    server.start()
    ivo = installer(crew, server, job)
    with offline(ivo):
        ivo.do(MARK, ELSEWHERE)
        ivo.work(until="fasteners.measure:C1")
        ivo.go_to("Mark D2")
        words = "whether hook on a toggle may carry the load at D2 is not known here"
        expect(ivo.main).to_contain_text(f"The lead must look first: {words}")
    ivo.go_to("Mark D2")
    expect(ivo.main).to_contain_text("D2")
    switch_off(server, crew)
    entries = log_without_refusals(server, job)
    assert len(of_task(entries, "fasteners.anchor:C1")) == 1


def test_a_mark_read_anew_under_level_lines_waits_for_the_server(
    server: Server, crew: Crew
) -> None:
    job = prepared(server, until=MARK)
    server.start()
    ivo = installer(crew, server, job)
    with offline(ivo):
        ivo.work(until="stand_back.corners")
        ivo.go_to("The venue's mark")
        ivo.tap(ivo.main.get_by_text("Record again"))
        ivo.do(MARK, ELSEWHERE)
        ivo.go_to("Corners on the wall")
        expect(ivo.main).to_contain_text("Send first: what you measured changes the plan")
    switch_off(server, crew)
    assert len(of_task(log_of(server, job), MARK)) == 2


def is_measured(entry: Any) -> bool:
    return bool(entry.type == "TaskRecorded" and entry.body["outcome"] == "measured")


def typed(values: Any, path: str = "") -> dict[str, str]:
    """The form's fields once more, from what was stored of them."""
    fields: dict[str, str] = {}
    for name, value in values.items():
        at = f"{path}.{name}" if path else name
        if isinstance(value, list | tuple):
            for i, one in enumerate(value):
                fields |= typed(one, f"{at}[{i}]")
        elif hasattr(value, "items"):
            fields[at] = value["typed"]
            if "side" in value:
                fields[f"{at}.side"] = value["side"]
        elif value:
            fields[at] = value
    return fields


@pytest.mark.parametrize("reading", [{"in": "5 1/2"}, {"down": "8"}])
def test_a_hanger_far_off_plan_waits_for_the_server(
    server: Server, crew: Crew, reading: dict[str, str]
) -> None:
    """How the panel's weight is shared then is the server's to say."""
    job = prepared(server, until=HANGER)
    server.start()
    ivo = installer(crew, server, job)
    with offline(ivo):
        for name, text in reading.items():
            ivo.put(name, text)
        ivo.button("Record what I measured").tap()
        ivo.tap(ivo.button("Yes, save it"))
        ivo.go_to("Mark A1")
        expect(ivo.main).to_contain_text("Send first: what you measured changes the plan")
    ivo.go_to("Mark A1")
    expect(ivo.main).not_to_contain_text("Send first")
    switch_off(server, crew)
    assert len(of_task(log_of(server, job), HANGER)) == 1


def test_a_load_that_just_holds_is_checked_by_the_server_before_its_seats_are_made(
    server: Server, crew: Crew
) -> None:
    """The other panels go on meanwhile."""
    document = golden()
    # half of it on each hook, which may carry 20 lb: not with a hanger half an inch off
    document["panels"][1]["mass"] = "39 lb"
    with server.opened() as services:
        job = prepare(services, until="work.hanger:B1", document=document)
    server.start()
    ivo = installer(crew, server, job)
    with offline(ivo):
        ivo.do("work.hanger:B1", {"in": "3 3/8"})
        ivo.work(until="fasteners.mark:C1")
        ivo.go_to("Mark B1")
        expect(ivo.main).to_contain_text("Send first: the server checks the load at B1 again")
    assert ivo.task == "fasteners.mark:B1"
    switch_off(server, crew)
    assert len(of_task(log_of(server, job), "work.hanger:B1")) == 1


def test_a_rail_read_otherwise_leaves_only_its_own_load_to_the_server(
    server: Server, crew: Crew
) -> None:
    """The other panels go on meanwhile, where they go now."""
    document = golden()
    document["panels"][1]["hang"] = {"method": "cleat", "up": "1/2"}
    with server.opened() as services:
        job = prepare(services, until="work.rail:B", document=document)
    server.start()
    ivo = installer(crew, server, job)
    with offline(ivo):
        ivo.do("work.rail:B", {"left": "7 1/8", "right": "7 1/8"})
        ivo.work(until="fasteners.mark:D1")
        ivo.go_to("Mark B1")
        expect(ivo.main).to_contain_text("Send first: the server checks the load at B1 again")
    assert ivo.task == "fasteners.mark:B1"
    switch_off(server, crew)
    entries = log_without_refusals(server, job)
    assert len(of_task(entries, "fasteners.measure:C2")) == 1


def test_wall_ends_read_without_network_bar_what_lies_beyond_them(
    server: Server, crew: Crew
) -> None:
    job = prepared(server, until="reference.ends")
    server.start()
    ivo = installer(crew, server, job)
    with offline(ivo):
        ivo.do("reference.ends", {"right": "40"})
        ivo.work(until="fasteners.measure:C1")
        ivo.go_to("Mark D3")
        expect(ivo.main).to_contain_text("The lead must look first: no hole may go where D3's")
        ivo.go_to("Mark D1")
        assert ivo.task == "fasteners.mark:D1"
    ivo.go_to("Mark D3")
    expect(ivo.main).to_contain_text("beyond the wall's right end")
    switch_off(server, crew)
    assert len(of_task(log_of(server, job), "fasteners.anchor:C1")) == 1


def test_what_is_between_the_studs_is_planned_for_without_network(
    server: Server, crew: Crew
) -> None:
    document = golden()
    board = {"name": "board screw", "into": "backed", "drop": "1/8", "capacity": "90 lb"}
    document["fasteners"].append(board | {"basis": "working", "design_factor": 2})
    with server.opened() as services:
        away, at_home = (
            prepare(services, until="behind.wall", document=document) for _ in range(2)
        )
    server.start()
    ivo = installer(crew, server, away)
    with offline(ivo):
        ivo.do("behind.wall", {"behind": "backed"})
        ivo.work(until="fasteners.mark:B1")
        expect(ivo.main).to_contain_text("board screw")
        shown = ivo.main.locator(".number-row").all_inner_texts()
    expect(ivo.main).to_contain_text("board screw")
    assert ivo.main.locator(".number-row").all_inner_texts() == shown
    switch_off(server, crew)
    entries = log_without_refusals(server, away)
    mark = of_task(entries, "fasteners.mark:B2")[0].body["mark"]
    assert mark["fastener"] == "board screw"
    with server.opened() as services:
        who = installers.join(
            services, code=at_home.code, name="Ivo", unit="in", hand="left", key=services.ids.key()
        )
        answers = {"behind.wall": {"behind": "backed"}}
        walk(services, who, at_home.id, answers=answers, until="fasteners.mark:B1")
        online = services.store.read(jobs.stream_of(at_home.id))
    assert of_task(online, "fasteners.mark:B2")[0].body["mark"] == mark
