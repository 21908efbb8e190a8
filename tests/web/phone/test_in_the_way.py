"""Something is in the way: one tap says what, and the plan follows with each seat kept."""

from __future__ import annotations

from copy import deepcopy

import pytest

from holdtrue.service import jobs
from tests.walking import LEAD
from tests.web.phone.conftest import At, Site
from tests.web.phone.page import Screen, read_screen


def answer(site: Site, seat: str, words: str, note: str = "") -> Screen:
    form = site.see(f"way/{seat}").forms[0].filled({"note": note})
    return site.see(site.send(form.pressed(words)).headers["Location"])


def test_it_works(at: At) -> None:
    """Wood where hollow was planned: a screw with its own drop, the seat where it was."""
    site = at("fasteners.pilot:C2")
    planned = site.state.seat("C2")
    assert planned.fastener is not None
    assert planned.fastener.name == "hook on a toggle"

    shown = answer(site, "C2", "Wood stud", note="double stud")

    now = site.state.seat("C2")
    assert now.fastener is not None
    assert now.fastener.name == "wood screw #10"
    assert (now.x_mm, now.y_mm) == pytest.approx((planned.x_mm, planned.y_mm), abs=1.6)
    assert shown.heading == "C2: wood screw #10"
    assert "Mark C2 again." in shown.words
    assert site.entries[-1].body["note"] == "double stud"


def test_it_is_reached_from_the_task(at: At) -> None:
    site = at("fasteners.mark:C1")

    shown = site.see(site.see("fasteners.mark:C1").link("Something is in the way"))

    assert shown.heading == "What is in the way at C1?"
    assert shown.link("Nothing, go back") == f"{site.base}/fasteners.mark:C1"


def test_a_task_without_a_seat_has_none(at: At) -> None:
    assert not at("before.tools").see("before.tools").has_link("Something is in the way")


def test_a_wrong_hole_is_given_up_and_marked_again(at: At) -> None:
    site = at("fasteners.measure:C1")

    shown = answer(site, "C1", "Hole in the wrong place")

    assert shown.heading == "C1 is given up"
    assert "C1" not in site.state.holes
    assert len(site.state.spoilt_mm) == 1
    assert site.see("fasteners.mark:C1").heading == "Mark the hole for C1."


def test_nothing_is_given_up_before_there_is_a_hole(at: At) -> None:
    site = at("fasteners.mark:C1")

    assert "Give this one up" not in site.see("way/C1").words
    form = site.see("way/C1").forms[0]
    sent = site.visitor.client.post(form.action, data={**form.fields, "what": "free:spent"})
    assert sent.status_code == 409
    assert "nothing to give up" in sent.text


def test_only_fasteners_meant_for_what_is_there_are_offered(at: At) -> None:
    site = at("fasteners.mark:C1")

    shown = site.see("way/C1")

    assert "No other fastener is listed for what is behind this seat." in shown.words
    form = shown.forms[0]
    sent = site.visitor.client.post(form.action, data={**form.fields, "what": "use:1"})
    assert sent.status_code == 422
    assert "is for stud, and here is hollow" in sent.text


def test_a_fastener_that_fails_the_load_check_stops_the_seat(at: At) -> None:
    """A stud of unknown material has no load check: the lead must look."""
    site = at("fasteners.pilot:C1")

    shown = answer(site, "C1", "Stud, not known which")

    assert shown.heading == "Stop at C1"
    assert "The lead must look" in shown.words
    waiting = site.see("fasteners.mark:C1")
    assert "Stop: the lead must look" in waiting.words


@pytest.mark.parametrize(
    "what",
    ["", "x", "stop:", "stop:fire", "found:", "found:jelly", "found:stud:oak", "use:", "use:99",
     "use:-1", "use:\u0661", "free:", "free:bored", ":", "found:stud:wood:extra"],
)  # fmt: skip
def test_an_odd_answer_is_refused_and_the_note_kept(at: At, what: str) -> None:
    site = at("fasteners.measure:C1")
    form = site.see("way/C1").forms[0].filled({"note": "a hum in the wall"})
    before = len(site.entries)

    sent = site.visitor.client.post(form.action, data={**form.fields, "what": what})

    screen = read_screen(sent, 422)
    assert screen.forms[0].fields["note"] == "a hum in the wall"
    assert len(site.entries) == before


def test_an_unknown_seat_is_not_found(at: At) -> None:
    site = at("fasteners.mark:C1")

    assert site.visitor.get(site.url("way/Z9")).status_code == 404


def test_sent_twice_it_is_stored_once(at: At) -> None:
    site = at("fasteners.pilot:C2")
    form = site.see("way/C2").forms[0].pressed("Wood stud")

    first, second = site.send(form), site.send(form)

    assert first.headers["Location"] == second.headers["Location"]
    assert sum(entry.type == "SeatBlocked" for entry in site.entries) == 1


def test_the_same_screen_sent_with_another_answer_says_so(at: At) -> None:
    site = at("fasteners.pilot:C2")
    form = site.see("way/C2").forms[0]
    site.send(form.pressed("Wood stud"))

    again = read_screen(site.send(form.pressed("Hollow"), 422), 422)

    assert "sent before" in again.words
    assert again.forms[0].fields["key"] != form.fields["key"]


# -- will not hold ---------------------------------------------------------------------------------


def test_what_crumbles_where_no_other_fastener_is_listed_is_a_stop_for_the_lead(at: At) -> None:
    site = at("fasteners.press:D2")
    shown = site.see("way/D2?back=fasteners.press:D2")
    assert "No other fastener is listed for what is behind this seat." in shown.words

    form = shown.forms[0].filled({"note": "it turns with a finger"})
    form = form.pressed("Crumbling / will not holda stop: the lead decides")
    stopped = site.see(site.send(form).headers["Location"])

    assert stopped.heading == "Stop at D2"
    assert "Crumbling, or will not hold: it turns with a finger" in stopped.words
    assert site.state.open_stops[0].what == "will not hold"
    assert site.see("fasteners.press:D2").heading == "Stop at D2"


def test_other_fasteners_come_first_and_the_stop_is_still_there(at: At) -> None:
    site = at("fasteners.mark:C1")
    document = deepcopy(dict(site.state.document))
    document["fasteners"].append({"name": "bigger toggle", "into": "hollow", "drop": "1/4"})
    key = site.services.ids.key()
    jobs.revise_plan(site.services, LEAD, site.job_id, document=document, key=key)

    shown = site.see("way/C1")

    asked = [value for form in shown.forms for _, value, _ in form.buttons]
    (other,) = (at for at, value in enumerate(asked) if value.startswith("use:"))
    assert asked[other + 1] == "stop:will not hold"
    assert "None of these will hold" in shown.words
    assert "No other fastener is listed" not in shown.words


def test_a_fastener_that_does_not_hold_when_pressed_has_the_same_ways_on(at: At) -> None:
    site = at("fasteners.press:C1")
    shown = site.see("fasteners.press:C1")
    assert site.see(shown.link("It does not hold")).heading == "What is in the way at C1?"


def test_a_panel_that_does_not_hold_stays_to_be_tried_with_what_gave_way(at: At) -> None:
    site = at("secure.try:C")
    failed = site.tap("secure.try:C", "It does not hold", {"found": "slides left"})
    assert failed.heading == "C does not hold"
    assert "The lead must look. Nobody below it meanwhile." in failed.words

    again = site.see("secure.try:C")
    assert "C did not hold when Ivo tried it: slides left." in again.words
    assert "C did not hold when Ivo tried it: slides left." in site.see("all").words
    site.tap("secure.try:C", "It holds", {"found": ""})
    assert "did not hold" not in site.see("all").words
    assert site.record_of("secure.try:C").outcome == "done"


def test_what_does_not_hold_says_where_and_what_holds_says_nothing(at: At) -> None:
    site = at("secure.try:C")
    assert "type what moved" in site.refused("secure.try:C", "It does not hold").words
    shown = site.refused("secure.try:C", "It holds", {"found": "slides left"})
    assert "clear it if the panel holds" in shown.words
    assert shown.form("task-form").fields["found"] == "slides left"


def test_a_button_of_another_task_is_refused(at: At) -> None:
    site = at("fasteners.press:C1")
    form = site.see("fasteners.press:C1").form("task-form")
    sent = site.visitor.client.post(form.action, data={**form.fields, "outcome": "failed"})
    assert sent.status_code == 422
