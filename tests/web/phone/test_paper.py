"""The sheet of paper, and typing it in afterwards as "from paper"."""

from __future__ import annotations

import re
from urllib.parse import parse_qs, urlsplit

import pytest

from holdtrue.domain.checklist import checklist
from holdtrue.domain.timeline import timeline
from tests.walking import LEAD, do, off_by
from tests.web.conftest import Visitor
from tests.web.phone.conftest import At, Site, stop_at
from tests.web.phone.page import read_screen


def sheet_of(site: Site, query: str = "") -> str:
    answer = site.visitor.get(f"/jobs/{site.job_id}/sheet{query}")
    assert answer.status_code == 200
    return answer.text


def number_of(html: str) -> str:
    found = re.search(r"<strong>Sheet (\d+)</strong>", html)
    assert found
    return found[1]


def plain(html: str) -> str:
    return " ".join(re.sub(r"<[^>]*>", " ", html).split())


# -- the sheet -------------------------------------------------------------------------------------


def test_the_sheet_has_every_mark_in_driving_order(at: At) -> None:
    site = at("fasteners.mark:C1")
    html = sheet_of(site)
    marks = html[html.index("Marks, in the order") : html.index("</table>")]
    assert re.findall(r'<th scope="row">([A-Z]\d)</th>', marks) == list(site.state.order)
    assert "22 1/4 in left of the reference line" in plain(marks)
    assert "above the level line" in plain(marks)


def test_the_sheet_has_every_task_that_is_left_with_room_to_write(at: At) -> None:
    site = at("level.check")
    words = plain(sheet_of(site))
    for task in checklist(site.state):
        if not task.kind.is_optional:
            assert (task.ask in words) == (task.status != "done"), task.id
    assert "☐ Nothing: hollow" in words
    assert "☐ Marked" in words
    assert 'class="sheet-write"' in sheet_of(site)


def test_the_plan_stands_beside_what_is_measured(at: At) -> None:
    html = sheet_of(at("work.hanger:A1"))
    row = html[html.index("Hanger A1") :]
    assert "In from that edge" in plain(row[: row.index("</tr>")])


def test_a_sheet_is_numbered_by_the_log_and_can_be_printed_again(at: At) -> None:
    site = at("fasteners.measure:C1")
    first = sheet_of(site)
    number = number_of(first)
    assert number == str(site.state.seq)
    do(site.services, LEAD, site.job_id, "fasteners.measure:C1", off_by(site.state, "C1", 4, 3))
    assert number_of(sheet_of(site)) != number
    assert plain(sheet_of(site, f"?of={number}")) == plain(first)


def test_a_stop_and_a_missing_release_are_said_on_paper(at: At) -> None:
    site = at("fasteners.mark:B1")
    stop_at(site, "B1")
    assert "Stop at B1: cable." in plain(sheet_of(site))


@pytest.mark.parametrize("of", ["0", "99999", "-1", "x", "²", "1" * 20])
def test_a_sheet_that_never_was_is_not_found(at: At, of: str) -> None:
    site = at("before.tools")
    assert site.visitor.get(f"/jobs/{site.job_id}/sheet?of={of}").status_code == 404
    assert site.visitor.get(f"/jobs/{site.job_id}/sheet/{of}/type-in").status_code == 404


def test_the_sheet_is_for_members(at: At, stranger: Visitor, installer: Visitor) -> None:
    site = at("before.tools")
    url = f"/jobs/{site.job_id}/sheet"
    assert stranger.get(url).status_code == 303
    assert installer.get(url).status_code == 404  # joined another job


def test_the_sheet_is_linked_from_the_phone_and_the_jobs_page(at: At, lead: Visitor) -> None:
    site = at("before.tools")
    assert f'href="/jobs/{site.job_id}/sheet"' in site.visitor.get(site.url("all")).text
    assert f'href="/jobs/{site.job_id}/sheet"' in lead.get(f"/jobs/{site.job_id}").text


# -- typing it in ----------------------------------------------------------------------------------


def begin(site: Site, number: str) -> str:
    answer = site.visitor.get(f"/jobs/{site.job_id}/sheet/{number}/type-in")
    assert answer.status_code == 303
    return str(answer.headers["Location"])


def test_what_is_typed_in_is_recorded_as_from_paper_with_its_time(at: At) -> None:
    site = at("before.tools")
    where = begin(site, number_of(sheet_of(site)))
    form = site.see(where).form("task-form")
    site.send(form.filled({"written": "2026-03-01T14:05"}).pressed("All here"), 303)
    body = site.entries[-1].body
    assert (body["paper"], body["written"]) == (True, "2026-03-01 14:05")
    line = timeline(site.entries, {}, "in")[-1]
    assert (line.is_paper, line.written) == (True, "2026-03-01 14:05")


def test_the_review_says_from_paper(at: At, lead: Visitor) -> None:
    site = at("before.tools")
    form = site.see(begin(site, str(site.state.seq))).form("task-form")
    site.send(form.filled({"written": "2026-03-01T14:05"}).pressed("All here"), 303)
    page = lead.get(f"/jobs/{site.job_id}/review").text
    assert "from paper, written 2026-03-01 14:05" in page


def test_one_task_leads_to_the_next_with_the_time_kept(at: At) -> None:
    site = at("before.tools")
    number = str(site.state.seq)
    form = site.see(begin(site, number)).form("task-form")
    answer = site.send(form.filled({"written": "2026-03-01T14:05"}).pressed("All here"), 303)
    asked = parse_qs(urlsplit(answer.headers["Location"]).query)
    assert asked["paper"] == [number]
    assert asked["written"] == ["2026-03-01T14:05"]
    after = site.see(answer.headers["Location"])
    assert after.form("task-form").fields["written"] == "2026-03-01T14:05"
    assert "Tools and fasteners: saved" in after.words


@pytest.mark.parametrize("written", ["yesterday", "2026-02-30T10:00", "2026-03-01", "14:05"])
def test_a_time_that_is_none_is_refused_and_nothing_is_lost(at: At, written: str) -> None:
    site = at("before.people")
    before = len(site.entries)
    form = site.see(begin(site, str(site.state.seq))).form("task-form")
    typed = {"people": "3", "platform": "floor", "written": written}
    answer = site.send(form.filled(typed).pressed("Record"), 422)
    assert len(site.entries) == before
    assert 'value="3"' in answer.text
    assert "stand on the sheet" in answer.text


def test_without_a_time_it_is_from_paper_all_the_same(at: At) -> None:
    site = at("before.tools")
    site.send(site.see(begin(site, str(site.state.seq))).form("task-form").pressed("All here"), 303)
    assert site.entries[-1].body["paper"] is True
    assert "written" not in site.entries[-1].body


def test_marks_made_by_the_sheet_stand_where_the_sheet_put_them(at: At) -> None:
    """Between printing and typing in, a reading moved the marks that were still to be made."""
    site = at("fasteners.measure:C1")
    number = str(site.state.seq)
    on_paper = site.state.seat("B1")
    do(site.services, LEAD, site.job_id, "fasteners.measure:C1", off_by(site.state, "C1", 5, 4))
    now = site.state.seat("B1")
    assert abs(now.x_mm - on_paper.x_mm) > 0.5
    form = site.see(f"fasteners.mark:B1?paper={number}").form("task-form")
    site.send(form.pressed("Marked"), 303)
    assert site.state.marked["B1"].seat_mm == (on_paper.x_mm, on_paper.y_mm)
    (task,) = [task for task in checklist(site.state) if task.id == "fasteners.mark:B1"]
    assert task.status == "ready"  # to be made again


def test_the_form_shows_the_numbers_of_the_sheet(at: At) -> None:
    site = at("fasteners.measure:C1")
    number = str(site.state.seq)
    on_paper = site.see("fasteners.mark:B1").words
    do(site.services, LEAD, site.job_id, "fasteners.measure:C1", off_by(site.state, "C1", 5, 4))
    hole = re.search(r"Hole left of the reference line [\d /⁄]+in", on_paper)
    assert hole
    assert hole[0] in site.see(f"fasteners.mark:B1?paper={number}").words
    assert hole[0] not in site.see("fasteners.mark:B1").words


def test_a_seat_measured_on_paper_is_asked_back_and_kept(at: At) -> None:
    site = at("fasteners.measure:C1")
    number = str(site.state.seq)
    raw = off_by(site.state, "C1", 0, 3)
    form = site.see(f"fasteners.measure:C1?paper={number}").form("task-form")
    typed = {"x": raw["x"], "x.side": raw["x.side"], "above": raw["above"]}
    asked = site.send(form.filled(typed).pressed("Record what I measured"), 422)
    again = read_screen(asked, 422).form("task-form")
    assert again.fields["sheet"] == number
    site.send(again.pressed("Save"), 303)
    body = site.entries[-1].body
    assert (body["paper"], body["outcome"]) == (True, "measured")
    assert site.state.set_seats["C1"].is_measured


def test_a_seat_ticked_as_planned_is_where_the_sheet_planned_it(at: At) -> None:
    site = at("fasteners.measure:C1")
    number, planned = str(site.state.seq), site.state.marks_mm["C1"]
    form = site.see(f"fasteners.measure:C1?paper={number}").form("task-form")
    site.send(form.pressed("As planned"), 303)
    seat = site.state.set_seats["C1"]
    assert (seat.x_mm, seat.y_mm) == pytest.approx(planned, abs=1e-6)
    assert site.entries[-1].body["given"] == {"x_mm": planned[0], "y_mm": planned[1]}


def test_the_line_drawn_since_lifts_the_sheets_marks_with_it(at: At) -> None:
    """Heights on paper count from the line as it was drawn, wherever that came out."""
    site = at("level.line:1")
    number = str(site.state.seq)
    on_paper = site.state.seat("B1").y_mm
    line = site.state.lines[0]
    services, job_id = site.services, site.job_id
    do(services, LEAD, job_id, "level.line:1", {"height": f"{line.y_mm + 6:.2f} mm"})
    while (task := site_next(site)) != "fasteners.mark:C1":
        do(services, LEAD, job_id, task)
    form = site.see(f"fasteners.mark:B1?paper={number}").form("task-form")
    assert float(form.fields["shown.y_mm"]) == pytest.approx(on_paper + 6, abs=0.01)


def site_next(site: Site) -> str:
    return next(task.id for task in checklist(site.state) if task.status == "ready")


def test_a_task_recorded_by_phone_meanwhile_is_not_overwritten_by_paper(at: At) -> None:
    site = at("fasteners.measure:C1")
    form = site.see(f"fasteners.measure:C1?paper={site.state.seq}").form("task-form")
    do(site.services, LEAD, site.job_id, "fasteners.measure:C1")
    answer = site.send(form.pressed("As planned"), 409)
    assert "recorded meanwhile" in answer.text


def test_what_must_wait_is_shown_waiting_and_no_script_takes_over(at: At) -> None:
    site = at("before.tools")
    assert "This waits" in site.see(f"fasteners.mark:B1?paper={site.state.seq}").words
    page = site.visitor.get(begin(site, str(site.state.seq))).text
    assert re.findall(r"<script src=.*?/(\w+\.js)", page) == ["unsent.js"]
    assert page.count("<script") == 1
    assert 'id="pack"' not in page


def test_a_sheet_that_never_was_shows_the_task_as_ever(at: At) -> None:
    site = at("before.tools")
    assert "From paper sheet" not in site.see("before.tools?paper=99999").words


def test_typing_in_ends_at_all_tasks(at: At) -> None:
    site = at("close.hand_over")
    form = site.see(begin(site, str(site.state.seq))).form("task-form")
    answer = site.send(form.pressed("Hand over"), 303)
    assert answer.headers["Location"] == site.url("all")
