"""The whole job in one page: a template for every task that is left, and the job as JSON."""

from __future__ import annotations

import json
import re
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from gzip import compress
from typing import Any

import pytest
from flask import session

from holdtrue import create_app
from holdtrue.domain.checklist import checklist
from holdtrue.domain.needs import needs
from holdtrue.domain.problem import problem
from holdtrue.web.phone_form import form_values
from holdtrue.web.phone_here import Here, look
from holdtrue.web.phone_job import carries
from holdtrue.web.phone_pack import Packs, squeezed, thinned
from tests.domain.crew import Crew, at_fasteners, golden, panel, row
from tests.domain.test_needs import Wilder
from tests.web.phone.conftest import At, Site, stop_at
from tests.web.phone.page import read_screen
from tests.web.phone.test_outbox import send

TWO = row(panel("A"), panel("B", 1))


@contextmanager
def looking(crew: Crew) -> Iterator[Here]:
    """The job as its installer sees it."""
    with create_app(crew.services).test_request_context("/"):
        session.update(person=crew.installer.person, job=crew.job)
        yield look(crew.job)


def page_of(site: Site, where: str = "all") -> str:
    return site.visitor.get(site.url(where)).text


def job_of(html: str) -> dict[str, Any]:
    found = re.search(r'<script type="application/json" id="job">(.*?)</script>', html, re.DOTALL)
    assert found
    read: dict[str, Any] = json.loads(found[1])
    return read


def templates_of(html: str) -> dict[str, str]:
    found = re.findall(r'<template data-task="([^"]*)"([^>]*)>(.*?)</template>', html, re.DOTALL)
    return {name + more: inner for name, more, inner in found}


# -- templates -------------------------------------------------------------------------------------


def test_every_task_that_is_left_or_may_come_again_is_in_the_page(at: At) -> None:
    site = at("fasteners.mark:B1")
    html = page_of(site)
    listed = checklist(site.state)
    again = {t.id for t in listed if t.kind.stage in ("fasteners", "panels")} | {"before.services"}
    left = {t.id for t in listed if t.status != "done"} | again
    assert "fasteners.mark:C1" in left, "a measurement may move a mark that was made"
    shown = {name.partition(" ")[0] for name in templates_of(html)}
    spare = {f"panels.trim:{p.name}" for p in site.state.job.panels}
    assert shown == left | spare


def test_a_template_is_the_screen_that_is_shown_when_its_turn_comes(at: At) -> None:
    later = templates_of(page_of(at("before.tools")))["fasteners.anchor:B1"]
    assert 'data-screen="form" data-task="fasteners.anchor:B1"' in later
    assert ">It is in</button>" in later
    assert "Open the hole and set the fastener." in later


def test_a_template_holds_no_key_no_token_and_no_undo(at: At) -> None:
    site = at("fasteners.mark:B1")
    html = page_of(site)
    (csrf,) = {job_of(html)["csrf"]}
    for name, inner in templates_of(html).items():
        assert csrf not in inner, name
        assert 'name="key" value=""' in inner, name
        assert "hx-" not in inner, name
        assert 'id="undo"' not in inner, name


def test_a_hanger_can_be_measured_from_either_edge(at: At) -> None:
    found = templates_of(page_of(at("work.hanger:A1")))
    for edge in ("left", "right"):
        inner = found[f'work.hanger:A1 data-edge="{edge}"']
        assert f'name="edge" value="{edge}"' in inner


def test_an_installer_gets_no_screen_of_the_leads_hold_points() -> None:
    crew = Crew(TWO)
    crew.release(holds=("first_hole",))
    with looking(crew) as here:
        assert "hold.first_hole" not in Packs().screens(here)
        assert "hold.first_hole" in Packs().screens(replace(here, actor=crew.lead))


def test_a_drawing_loses_nothing_that_is_read() -> None:
    drawing = (
        '<svg xmlns="x" viewBox="0 0 358 161.71" data-origin-x="4.21" '
        'aria-labelledby="d0a1b2c3d-t"><title id="d0a1b2c3d-t">t</title>'
        '<path class="d-line" d="M45.36 46.68L140.76 46.68"/>'
        '<text x="51.36" y="102.28" font-size="18">52.71 cm</text></svg>'
    )
    (name,) = set(re.findall(r"id='(.*)-t'", thinned(drawing)))
    assert thinned(drawing) == (
        f"<svg viewBox='0 0 358 161.71' aria-labelledby='{name}-t'><title id='{name}-t'>t</title>"
        "<path class='d-line' d='M45.3 46.6L140.7 46.6'/>"
        "<text x='51.3' y='102.2' font-size='18'>52.71 cm</text></svg>"
    )


def test_drawings_are_named_in_their_places_and_put_by() -> None:
    drawings: dict[str, str] = {}
    screen = (
        "<p>\n  52.71 cm</p>\n"
        '<figure class="drawing"><svg a="1"><g/></svg></figure><div><svg b="2"></svg>x</div>'
    )
    short = squeezed(screen, drawings)
    first, second = drawings
    assert short == (
        f'<p>\n52.71 cm</p>\n<figure class="drawing" data-drawing="{first}"></figure>'
        f'<div><div data-drawing="{second}"></div>x</div>'
    )
    assert drawings == {first: "<svg a='1'><g/></svg>", second: "<svg b='2'></svg>"}


def test_every_drawing_a_template_names_can_be_fetched(at: At) -> None:
    site = at("fasteners.mark:C1")
    named = set(
        re.findall(r'data-drawing="([^"]*)"', "".join(templates_of(page_of(site)).values()))
    )
    every = site.visitor.get(site.url("drawings")).json
    assert every is not None
    assert every.keys() == named
    assert all(svg.startswith("<svg ") for svg in every.values())
    two = sorted(named)[:2]
    some = site.visitor.get(site.url(f"drawings?ids={two[0]},{two[1]},nothere")).json
    assert some == {name: every[name] for name in two}


def test_drawings_come_like_beside_like_which_is_lighter(at: At) -> None:
    site = at("fasteners.mark:C1")
    answer = site.visitor.get(site.url("drawings"))
    by_name = json.dumps(dict(sorted(json.loads(answer.text).items())), separators=(",", ":"))
    assert len(answer.text) == len(by_name)
    assert len(compress(answer.data)) < len(compress(by_name.encode()))


def test_the_first_screen_keeps_its_own_drawing(at: At) -> None:
    html = page_of(at("fasteners.mark:C1"), "fasteners.mark:C1")
    assert "<svg " in html[: html.index('<div id="pack"')]
    assert "<svg " not in html[html.index('<div id="pack"') :]


def test_ids_within_one_screen_are_not_shared(at: At) -> None:
    for name, inner in templates_of(page_of(at("fasteners.mark:C1"))).items():
        ids = re.findall(r' id="([^"]*)"', inner)
        assert len(ids) == len(set(ids)), name


@pytest.mark.parametrize("seed", range(2))
def test_what_is_kept_between_requests_is_what_would_be_rendered_afresh(seed: int) -> None:
    """Over a random walk, after every entry, undone and revised ones included."""
    crew = at_fasteners(TWO) if seed else Crew(TWO)
    if not crew.state.is_released:
        crew.release()
    wanderer = Wilder(crew, seed)
    kept = Packs()
    for _ in range(40):
        wanderer.go(1)
        with looking(crew) as here:
            assert kept.screens(here) == Packs().screens(here), f"after entry {here.state.seq}"


def test_no_job_waits_while_another_is_rendered(monkeypatch: pytest.MonkeyPatch) -> None:
    crew, kept, goes_on = at_fasteners(TWO), Packs(), threading.Event()
    with looking(crew) as here:
        other = replace(here, job_id="77777777")

    def rendering(asked: Here, _kept: dict[str, Any]) -> dict[str, str]:
        if asked is here:
            goes_on.wait(20)
        return {}

    monkeypatch.setattr("holdtrue.web.phone_pack._rendered", rendering)
    slow = threading.Thread(target=kept.screens, args=(here,))
    quick = threading.Thread(target=kept.screens, args=(other,))
    slow.start()
    quick.start()
    quick.join(10)
    is_done, is_waiting = not quick.is_alive(), slow.is_alive()
    goes_on.set()
    slow.join(10)
    assert (is_done, is_waiting) == (True, True)


def test_however_the_id_is_typed_the_screens_name_the_job_as_issued(at: At) -> None:
    site = at("fasteners.mark:B1")
    typed = site.url("all").replace(site.job_id, site.job_id.lower())
    assert typed != site.url("all")
    html = site.visitor.get(typed).text
    assert html.count(f"/jobs/{site.job_id.lower()}/") == 1, "where the page says it is itself"
    assert html.count(f"/jobs/{site.job_id}/phone/") > 5


def test_a_mark_made_shows_in_the_drawings_around_it() -> None:
    crew = at_fasteners(TWO)
    kept = Packs()
    while crew.status("fasteners.measure:B1") != "done":
        with looking(crew) as here:
            assert kept.screens(here) == Packs().screens(here), f"after entry {here.state.seq}"
        ready = (t for t in crew.tasks if t.status == "ready" and not t.kind.is_optional)
        crew.do(next(ready).id)


# -- numbers that move -----------------------------------------------------------------------------


def test_numbers_a_recompute_can_move_are_named(at: At) -> None:
    found = templates_of(page_of(at("fasteners.mark:C1")))
    mark = found["fasteners.mark:B1"]
    for name in ("hole-x", "hole-above", "x-side", "hole-over", "fastener-words", "check"):
        assert f'data-live="{name}:B1"' in mark, name
    assert 'data-live-value="seen:fasteners.mark:B1"' in mark
    measure = found["fasteners.measure:B1"]
    for name in ("seat-x", "seat-above"):
        assert f'data-live-value="{name}:B1"' in measure, name
        assert f'data-live="{name}:B1"' in measure, name
    pair = next(inner for name, inner in found.items() if name.startswith("fasteners.pair:B"))
    for name in ("pair-spacing", "pair-by", "pair-higher"):
        assert f'data-live-value="{name}:B1-B2"' in pair, name
    assert 'data-live="expected:B1"' in found["fasteners.pilot:B1"]


def test_a_prefilled_length_carries_the_plan_unrounded(at: At) -> None:
    site = at("fasteners.mark:C1")
    found = templates_of(page_of(site))["fasteners.measure:B1"]
    x_mm = site.state.marks_mm["B1"][0]
    assert f'data-plan-mm="{round(x_mm, 6)}"' in found


def test_the_drawing_names_its_numbers_too(at: At) -> None:
    site = at("fasteners.mark:C1")
    (name,) = re.findall(
        r'<figure class="drawing" data-drawing="([^"]*)"',
        templates_of(page_of(site))["fasteners.mark:B1"],
    )
    drawings = site.visitor.get(site.url(f"drawings?ids={name}")).json
    assert drawings is not None
    number = r"<text [^>]*data-live='hole-x:B1'[^>]*>22\s1/4\sin</text>"
    assert re.search(number, drawings[name])
    assert "data-live='hole-said:B1'" in drawings[name]


# -- the JSON --------------------------------------------------------------------------------------


def test_the_json_says_what_each_task_needs(at: At) -> None:
    site = at("fasteners.mark:B1")
    job = job_of(page_of(site))
    found = needs(site.state)
    tasks = checklist(site.state)
    assert [task["id"] for task in job["tasks"]] == [task.id for task in tasks]
    for said, task in zip(job["tasks"], tasks, strict=True):
        assert (said["status"], said["why"]) == (task.status, task.why)
        assert set(spelt_out(job, said)) == set(found[task.id].after)
        assert (said["bar"], said["done"]) == (found[task.id].bar, found[task.id].is_done)


def spelt_out(job: dict[str, Any], task: dict[str, Any]) -> list[str]:
    """What a task needs, with every stage named as a whole written out."""
    ids: list[str] = []
    for need in task["needs"]:
        stage = need.removeprefix("stage:")
        if stage == need:
            ids.append(need)
            continue
        ids += [
            other["id"]
            for other in job["tasks"]
            if other["stage"] == stage and not other["optional"] and other.get("awaited", True)
        ]
    return ids


def test_whole_stages_are_named_once(at: At) -> None:
    job = job_of(page_of(at("fasteners.mark:B1")))
    said = {task["id"]: task["needs"] for task in job["tasks"]}
    assert said["secure.key"] == ["stage:panels"]
    assert said["fasteners.anchor:B1"][-1] == "fasteners.pilot:B1"
    assert all(need.startswith("stage:") for need in said["fasteners.mark:B1"])


def test_the_json_says_what_stands_and_who_recorded_it(at: At) -> None:
    site = at("fasteners.mark:B1")
    said = {task["id"]: task for task in job_of(page_of(site))["tasks"]}
    done = said["level.check"]
    record = site.state.records["level.check"]
    assert (done["stands"], done["outcome"]) == (record.seq, "done")
    assert done["values"]["higher"] == "same"
    assert done["who"]
    assert "values" not in said["fasteners.mark:B1"]
    assert said["work.hanger:A1"]["planned"]["in"] == record_mm(site, "work.hanger:A1", "in")


def record_mm(site: Site, task: str, name: str) -> float:
    return float(site.state.records[task].planned[name]["mm"])


def test_the_json_carries_the_problem_and_where_to_send(at: At) -> None:
    site = at("fasteners.mark:B1")
    job = job_of(page_of(site, "fasteners.mark:B1?look=readout"))
    assert job["problem"] == json.loads(json.dumps(problem(site.state)))
    assert job["at"] == site.url("fasteners.mark:B1?look=readout")
    assert job["urls"]["base"] == site.base
    assert site.visitor.get(job["urls"]["join"]).status_code == 200
    assert (job["unit"], job["hand"], job["name"], job["is_lead"]) == ("in", "right", "Ivo", False)


def test_the_json_cannot_end_its_element() -> None:
    document = row(panel("A"), gap=10) | {"title": "</script><script>alert(1)</script>"}
    crew = Crew(document)
    client = create_app(crew.services).test_client()
    with client.session_transaction() as kept:
        kept.update(person=crew.installer.person, job=crew.job)
    html = client.get(f"/jobs/{crew.job}/phone/all").text
    assert "<script>alert(1)" not in html
    assert job_of(html)["title"] == "</script><script>alert(1)</script>"


def test_stops_findings_and_what_can_be_taken_back_are_told(at: At) -> None:
    site = at("fasteners.mark:B1")
    send(site, "before.tools", {"outcome": "done"})
    stop_at(site, "A1")
    job = job_of(page_of(site))
    (stop,) = job["stops"]
    assert (stop["seat"], stop["what"], len(stop["at_mm"])) == ("A1", "cable", 2)
    assert job["undo"]["text"] == "Tools and fasteners"


def test_fasteners_a_seat_can_carry_are_named_and_no_others() -> None:
    crew = at_fasteners(row(panel("A")))
    named = carries(crew.state)["A1"]
    assert {"hook", "wood screw", "plug"} <= set(named)
    assert not {"weak hook", "tired hook", "unlabelled hook", "wood screw|unknown"} & set(named)


def test_spare_trims_wait_in_the_json_until_a_reading_asks_for_them() -> None:
    crew = Crew(row(panel("A"), panel("B")))
    crew.release()
    crew.walk(until="panels.level:A")
    with looking(crew) as here:
        before = {task.id for task in here.tasks}
        assert "panels.trim:A" not in before
        assert "data-spare" in Packs().screens(here)["panels.trim:A"]
    crew.record("panels.level:A", {"low": "left", "by": "5"})
    with looking(crew) as here:
        if "panels.trim:A" in {task.id for task in here.tasks}:
            assert "data-spare" not in Packs().screens(here)["panels.trim:A"]


# -- news ------------------------------------------------------------------------------------------


def test_nothing_new_is_said_without_a_body(at: At) -> None:
    site = at("fasteners.mark:B1")
    answer = site.visitor.get(site.url(f"pack?since={site.state.seq}"))
    assert (answer.status_code, answer.data) == (204, b"")


def test_a_survey_task_that_is_done_is_gone(at: At) -> None:
    site = at("before.cautions")
    page_of(site)
    since = site.state.seq
    assert send(site, "before.cautions", {"outcome": "done"}).status_code == 200
    news = site.visitor.get(site.url(f"pack?since={since}")).json
    assert news is not None
    assert news["gone"] == ["before.cautions"]


def test_news_are_what_changed(at: At) -> None:
    site = at("fasteners.measure:B1")
    page_of(site)
    since = site.state.seq
    x_mm, y_mm = site.state.marks_mm["B1"]
    line = site.state.line_height_mm(site.state.line_of("B1"))
    raw = {
        "outcome": "measured",
        "x": f"{abs(x_mm) + 4:.2f} mm",
        "x.side": "left" if x_mm < 0 else "right",
        "above": f"{y_mm - line:.2f} mm",
    }
    assert send(site, "fasteners.measure:B1", raw).status_code == 200
    news = site.visitor.get(site.url(f"pack?since={since}")).json
    assert news is not None
    assert news["gone"] == []
    assert "fasteners.measure:B1" in news["templates"], "it names the record that stands now"
    assert news["job"]["seq"] == since + 1
    changed = news["templates"]
    assert any(id_.startswith("fasteners.mark:") for id_ in changed)
    assert "close.note" not in changed
    for id_, html in changed.items():
        assert html.startswith(f'<template data-task="{id_}"')


@pytest.mark.parametrize("since", ["", "0", "x", "-1", "99999999999", "7"])
def test_who_knows_nothing_gets_everything(at: At, since: str) -> None:
    site = at("fasteners.mark:B1")
    news = site.visitor.get(site.url(f"pack?since={since}")).json
    assert news is not None
    assert set(news["templates"]) == {
        name.partition(" ")[0] for name in templates_of(page_of(site))
    }
    assert news["gone"] == []


def test_news_are_for_those_who_are_signed_in(at: At) -> None:
    site = at("fasteners.mark:B1")
    site.visitor.client.delete_cookie("holdtrue")
    answer = site.visitor.get(site.url("pack"), headers={"Accept": "application/json"})
    assert answer.status_code == 401


# -- without scripts -------------------------------------------------------------------------------


def test_the_page_is_the_same_page_without_scripts(at: At) -> None:
    """What the pack holds stays out of sight, and the screen itself stands before it."""
    html = page_of(at("fasteners.mark:B1"), "fasteners.mark:B1")
    assert html.index('<main id="main"') < html.index('<div id="pack" hidden>')
    outside = re.sub(r'<div id="pack" hidden>.*?</div>\s*<script', "", html, flags=re.DOTALL)
    assert outside.count('id="task-form"') == 1


def test_a_form_that_comes_back_still_says_what_its_page_had_shown(at: At) -> None:
    """A record made meanwhile is not overwritten by the answer to "is this what you read?"."""
    site = at("fasteners.measure:B1")
    form = site.see("fasteners.measure:B1").form("task-form")
    send(site, "fasteners.measure:B1", {"outcome": "as_planned"})
    typed = {"x": "22", "above": "5"}
    answer = site.send(form.filled(typed).pressed("Record what I measured"), 422)
    again = read_screen(answer, 422).form("task-form")
    answer = site.send(again.pressed("Save"), 409)
    assert "recorded meanwhile by Ivo" in answer.text


def test_golden_jobs_have_a_screen_for_every_task() -> None:
    for name in ("tidewrack", "staithe"):
        crew = Crew(golden(name))
        with looking(crew) as here:
            screens = Packs().screens(here)
            assert len(screens) >= len(here.tasks)
            for task in here.tasks:
                assert form_values(here, task)["task"] is task
