"""Another panel stands where one goes: put back, or recorded by the lead with the maker's yes."""

from __future__ import annotations

from dataclasses import replace

import pytest

from holdtrue.domain import events
from tests.web.conftest import Visitor
from tests.web.phone.conftest import At, Site
from tests.web.phone.page import read_screen

ANOTHER = "Another panel stands where this one goes"


@pytest.fixture
def lead_at(at: At, lead: Visitor) -> At:
    """The same job, on the lead's own phone."""

    def arrive(task_id: str) -> Site:
        site = at(task_id)
        return replace(site, visitor=lead)

    return arrive


def test_it_works(lead_at: At) -> None:
    site = lead_at("fasteners.mark:B2")
    built = site.state.set_seats["C1"]
    form = site.see(site.see("way/C1").link(ANOTHER)).forms[0]

    typed = form.filled({"other": "B", "agreed": "Mara, maker"}).pressed("They stay swapped")
    shown = site.see(site.send(typed).headers["Location"])

    assert shown.heading == "C and B have changed places"
    assert "What was marked and drilled for C is B's now" in shown.words
    assert "Finish: at worst" in shown.words
    assert "Chance that all ends inside" in shown.words
    assert site.entries[-1].type == events.PANELS_SWAPPED
    assert site.entries[-1].body["agreed"] == "Mara, maker"
    assert site.state.set_seats["B1"] == built


def test_what_is_not_alike_is_said_before_and_after(lead_at: At) -> None:
    site = lead_at("fasteners.mark:B2")
    before = site.see("swap/C")
    assert "not alike" in before.words

    typed = before.forms[0].filled({"other": "B", "agreed": "Mara"}).pressed("They stay swapped")
    shown = site.see(site.send(typed).headers["Location"])

    assert "measure the hangers of C and B on the back again" in shown.words
    assert site.see("work.hanger:C1").form("task-form").fields["edge"]


def test_an_installer_reads_what_to_do_and_has_no_button_for_it(at: At) -> None:
    site = at("fasteners.mark:B2")

    shown = site.see(site.see("way/C1").link(ANOTHER))

    assert "Hang each where it was planned, and nothing changes" in shown.words
    assert "only the lead records it, with the maker's yes" in shown.words
    assert shown.forms == [] or all("swap" not in form.action for form in shown.forms)
    hidden = site.see("fasteners.mark:B2").forms[0].fields
    data = {"csrf": hidden["csrf"], "key": "k" * 22, "other": "B", "agreed": "me"}
    answer = site.visitor.client.post(f"{site.base}/swap/C", data=data)
    assert answer.status_code == 403
    assert site.entries[-1].type != events.PANELS_SWAPPED


@pytest.mark.parametrize(
    ("typed", "status", "words"),
    [
        ({"other": "B"}, 422, "Type the name of who says yes"),
        ({"agreed": "Mara"}, 422, "Choose one of"),
        ({"other": "C", "agreed": "Mara"}, 422, "changed places with"),
        ({"other": "D", "agreed": "Mara"}, 409, "do not hang by the same hangers"),
    ],
)
def test_what_is_refused_says_why_and_keeps_what_was_typed(
    lead_at: At, typed: dict[str, str], status: int, words: str
) -> None:
    site = lead_at("fasteners.mark:B2")
    form = site.see("swap/C").forms[0]
    sent = replace(form, fields={**form.fields, "note": "crates mixed up", **typed})

    screen = read_screen(site.send(sent, status), status)

    assert words in screen.words
    assert screen.forms[0].fields["note"] == "crates mixed up"
    assert site.entries[-1].type != events.PANELS_SWAPPED


def test_there_is_no_such_panel(at: At) -> None:
    site = at("fasteners.mark:B2")
    assert site.visitor.get(site.url("swap/Z")).status_code == 404


def test_sent_twice_it_is_stored_once(lead_at: At) -> None:
    site = lead_at("fasteners.mark:B2")
    form = site.see("swap/C").forms[0].filled({"other": "B", "agreed": "Mara"})

    first, second = site.send(form), site.send(form)

    assert first.headers["Location"] == second.headers["Location"]
    assert [entry.type for entry in site.entries].count(events.PANELS_SWAPPED) == 1
