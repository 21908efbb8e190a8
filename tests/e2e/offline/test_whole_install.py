"""The whole install without network, from the first task to the hand-over, and then back."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

import pytest

from holdtrue.core.lengths import parse_length
from holdtrue.service import installers, jobs
from holdtrue.service.services import Services
from holdtrue.store.port import Entry
from tests.e2e.offline.fieldwork import Job, installer, log_of, offline, prepare, recorded, unsent
from tests.e2e.people import MANY, Crew, Person
from tests.e2e.server import Server
from tests.walking import walk

B1 = {"x": "22 5/16", "x.side": "left", "above": "5 1/16"}
"""What is read at B1: a little left and high of its mark."""
READINGS = {"fasteners.measure:B1": B1}


def test_a_whole_install_without_network_ends_as_the_same_one_with_it(
    server: Server, crew: Crew
) -> None:
    with server.opened() as services:
        away, at_home = prepare(services), prepare(services)
    server.start()
    ivo = installer(crew, server, away)
    with offline(ivo):
        shown = work_and_read(ivo)
        assert ivo.main.get_by_text("tasks are done").count() == 1
        assert unsent(ivo) > 100
    assert (
        ivo.page.evaluate(
            "Object.keys(localStorage).filter((name) => name.startsWith('holdtrue:outbox:'))"
        )
        == []
    )
    server.stop()
    entries = log_of(server, away)
    assert typed_in(entries).keys() == {"fasteners.measure:B1", "fasteners.measure:C2"}
    assert len({entry.key for entry in entries}) == len(entries)
    with server.opened() as services:
        online = the_same_online(services, at_home, typed_in(entries))
    assert recorded(entries) == recorded(online)
    assert_same(entries, online)
    assert_marks_as_shown(shown, entries)


def work_and_read(
    ivo: Person,
    readings: Mapping[str, Mapping[str, str]] = READINGS,
    *,
    high: str | None = "fasteners.measure:C2",
) -> dict[str, tuple[float, float]]:
    """Do everything; what each mark's screen showed, mm from the reference and the level line.

    ``high``: the seat that comes out high, by a quick tap.
    """
    shown: dict[str, tuple[float, float]] = {}
    left = dict(readings)
    for _ in range(MANY):
        task = ivo.task
        if task is None:
            main = ivo.page.locator(".thumb .button-main")
            if not main.count():
                assert not left
                return shown
            ivo.tap(main)
            continue
        if task.startswith("fasteners.mark:"):
            shown[task.partition(":")[2]] = mark_on_screen(ivo)
        if task == high:
            come_out_high(ivo)
        else:
            ivo.do(task, left.pop(task, None))
    raise AssertionError(f"goes in circles at {ivo.page.url}")


def come_out_high(ivo: Person) -> None:
    """By quick taps: nothing is typed."""
    ivo.button("Off by… high, low, left, right").tap()
    ivo.button("high by 1/8 in").tap()
    ivo.tap(ivo.button("Record what I measured"))


def typed_in(entries: tuple[Entry, ...]) -> dict[str, dict[str, str]]:
    """What was typed for the seats that were measured off their marks."""
    return {
        e.body["task"]: {
            "x": e.body["values"]["x"]["typed"],
            "x.side": e.body["values"]["x"]["side"],
            "above": e.body["values"]["above"]["typed"],
        }
        for e in entries
        if str(e.body.get("task")).startswith("fasteners.measure")
        and e.body["outcome"] == "measured"
    }


def mark_on_screen(ivo: Person) -> tuple[float, float]:
    """The two large numbers of a mark, with their side, as mm."""
    across, above = ivo.page.locator(".number-row").all()
    values = []
    for row in (across, above):
        text = row.locator("dd").evaluate(
            """(dd) => [...dd.childNodes].map((node) => node.nodeName === "SPAN"
                 && node.className === "frac" ? node.textContent.replace("⁄", "/")
                 : node.textContent).join("")"""
        )
        values.append(parse_length(re.sub(r"\s+", " ", text).strip(), None).mm)
    is_left = "left" in across.locator(".number-where").inner_text()
    return (-float(values[0]) if is_left else float(values[0]), float(values[1]))


def the_same_online(
    services: Services, job: Job, readings: dict[str, dict[str, str]]
) -> tuple[Entry, ...]:
    """The same readings recorded through the service, one by one, as with the network."""
    who = installers.join(
        services, code=job.code, name="Ivo", unit="in", hand="left", key=services.ids.key()
    )
    walk(services, who, job.id, answers=readings)
    return services.store.read(jobs.stream_of(job.id))


def assert_same(one: tuple[Entry, ...], other: tuple[Entry, ...]) -> None:
    told = [e.body for e in one if e.type == "TaskRecorded"]
    for body, same in zip(told, (e.body for e in other if e.type == "TaskRecorded"), strict=True):
        assert body["outcome"] == same["outcome"], body["task"]
        for part in ("planned", "mark", "place", "given"):
            assert close(body.get(part)) == close(same.get(part)), (body["task"], part)
        if body["task"] not in ("close.photo", "before.wall_yes"):
            assert close(body["values"]) == close(same["values"]), body["task"]


def close(value: Any) -> Any:
    """Numbers to a millionth of a millimetre, the rest as it is; typed texts left out."""
    if isinstance(value, float):
        return pytest.approx(value, abs=1e-5)
    if isinstance(value, dict) or hasattr(value, "items"):
        return {k: close(v) for k, v in value.items() if k != "typed"}
    return [close(v) for v in value] if isinstance(value, list | tuple) else value


def assert_marks_as_shown(
    shown: dict[str, tuple[float, float]], entries: tuple[Entry, ...]
) -> None:
    """Every mark in the log stands where the phone, alone, said it goes."""
    marks = {
        str(e.body["task"]).partition(":")[2]: e.body["mark"]
        for e in entries
        if e.type == "TaskRecorded" and "mark" in e.body
    }
    line_mm = next(
        e.body["values"]["height"]["mm"] for e in entries if e.body.get("task") == "level.line:1"
    )
    assert shown.keys() == marks.keys()
    for seat, (across, above) in shown.items():
        assert across == pytest.approx(marks[seat]["x_mm"], abs=0.01), seat
        assert above == pytest.approx(marks[seat]["hole_y_mm"] - line_mm, abs=0.2), seat
