"""After a deviation the result screen says what can be done; one tap does it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from holdtrue.domain import events
from holdtrue.domain.checklist import checklist
from tests.web.phone.conftest import At, Site
from tests.web.phone.page import Screen, read_screen

SEAT = "C2"
TASK = f"fasteners.measure:{SEAT}"


def read_low(site: Site, by_mm: float = 5.0, task: str = TASK) -> Screen:
    """The result of a seat read low by that much."""
    seat = task.partition(":")[2]
    form = site.see(task).form("task-form")
    x_mm, y_mm = site.state.marks_mm[seat]
    above = y_mm - by_mm - site.state.line_height_mm(site.state.line_of(seat))
    typed = {"x": f"{abs(x_mm):.2f} mm", "above": f"{above:.2f} mm"}
    echoed = read_screen(site.send(form.filled(typed).pressed("Record what I measured"), 422), 422)
    answer = site.send(echoed.form("task-form").pressed("Save"))
    return site.see(answer.headers["Location"])


def choose(site: Site, screen: Screen, name: str, status: int = 303) -> Screen:
    form = screen.form(f"choose-{name}")
    sent = replace(form, fields={**form.fields, "choice": name})
    answer = site.send(sent, status)
    return site.see(answer.headers["Location"]) if status == 303 else read_screen(answer, status)


@pytest.fixture
def site(at: At) -> Site:
    return at(TASK)


def test_it_works(site: Site) -> None:
    screen = read_low(site)

    assert "What next for C2?" in screen.words
    for title in (
        "True panel C first",
        "Carry on",
        "Trim it once it hangs",
        "Make this hole again",
    ):
        assert title in screen.words
    assert "at worst" in screen.words
    assert "Chance that all ends inside: under 1 %" in screen.words
    assert "Chance under 1 %, once trimmed" in screen.words
    after = choose(site, screen, "carry_on")
    assert after.heading != "Not recorded"
    assert [c.choice for c in site.state.choices] == ["carry_on"]
    # chosen for this reading: not asked again
    entry = next(e for e in reversed(site.entries) if e.type == events.TASK_RECORDED)
    assert "What next" not in site.see(f"result/{entry.seq}").words


def test_a_reading_inside_its_tolerance_asks_nothing(site: Site) -> None:
    screen = read_low(site, 0.4)

    assert "What next" not in screen.words
    assert "Chance that all ends inside" in screen.words


def test_a_hole_made_again_is_a_mark_to_make(site: Site) -> None:
    after = choose(site, read_low(site), "correct")

    assert after.heading == "C2 is given up"
    assert "C2" not in site.state.set_seats
    assert "C2" in site.state.aims


def test_a_panel_trued_first_hangs_next(site: Site) -> None:
    screen = read_low(site)

    after = choose(site, screen, "true_first")

    assert site.state.true_first == ("C",)
    assert "panels.lift:C" in _ready(site)
    assert after.status == 200


def test_a_hanger_moves_only_by_the_leads_record_of_the_makers_yes(site: Site) -> None:
    after = choose(site, read_low(site), "move_hanger")

    assert "The lead asks the maker" in after.words
    waiting = site.see("panels.move:C2")
    assert "Move hanger C2" in waiting.words
    assert not any(form.id == "task-form" for form in waiting.forms)


def test_what_is_gone_is_said_and_nothing_is_stored(site: Site) -> None:
    screen = read_low(site)
    choose(site, screen, "correct")
    before = len(site.entries)

    refused = choose(site, screen, "carry_on", status=409)

    assert refused.heading == "Not recorded" or "read again or given up" in refused.words
    assert len(site.entries) == before


def test_nonsense_is_refused_in_words(site: Site) -> None:
    form = read_low(site).form("choose-carry_on")

    for fields in ({"choice": "pray"}, {"choice": "carry_on", "of": "x"}):
        answer = site.send(replace(form, fields={**form.fields, **fields}), 409)
        assert "choose" in answer.text or "open the result again" in answer.text
    answer = site.visitor.client.post(f"{site.base}/drop/99", data={**form.fields, "drop": "nan"})
    assert answer.status_code == 409


def test_a_learned_drop_is_offered_with_its_readings_and_taken_with_one_tap(at: At) -> None:
    site = at("fasteners.measure:C1")
    screen = read_low(site, 4.0, "fasteners.measure:C1")
    assert not any(form.id.startswith("drop-") for form in screen.forms)
    for task in ("pilot", "anchor", "press"):
        site.tap(
            f"fasteners.{task}:C2",
            {"pilot": "Record", "anchor": "It is in", "press": "It holds"}[task],
            {"met": "nothing"} if task == "pilot" else None,
        )
    hole = site.state.holes["C2"]
    drop = site.state.seat("C2").fastener.drop_mm
    _, mark_y = site.state.marks_mm["C2"]
    screen = read_low(site, mark_y - (hole[1] - drop - 4.0))

    (form,) = [form for form in screen.forms if form.id.startswith("drop-")]
    assert "than planned, from 2 readings" in screen.words
    answer = site.send(form)
    after = site.see(answer.headers["Location"])

    assert "The plan follows" in after.words
    assert site.state.seat("A1").fastener.drop_mm == pytest.approx(drop + 4.0, abs=0.06)


def _ready(site: Site) -> list[str]:
    return [task.id for task in checklist(site.state) if task.status == "ready"]
