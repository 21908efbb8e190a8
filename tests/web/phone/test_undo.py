"""Undo takes one's own last entry back; the log keeps both."""

from __future__ import annotations

from flask import Flask

from holdtrue.service.services import Services
from tests.web.phone.conftest import At, Site, joined
from tests.web.phone.page import read_screen


def test_it_works(at: At) -> None:
    site = at("fasteners.mark:C1")
    shown = site.tap("fasteners.mark:C1", "Marked")
    assert shown.form("undo").buttons[0][2] == "Undo Mark C1"

    back = site.see(site.send(shown.form("undo")).headers["Location"])

    assert back.heading == "Mark the hole for C1."
    assert "fasteners.mark:C1" not in site.state.records
    assert [entry.type for entry in site.entries[-2:]] == ["TaskRecorded", "EntryUndone"]


def test_a_second_undo_goes_one_further_back(at: At) -> None:
    site = at("fasteners.mark:C1")
    site.tap("fasteners.mark:C1", "Marked")
    shown = site.tap("fasteners.mark:C2", "Marked")

    first = site.see(site.send(shown.form("undo")).headers["Location"])
    assert first.heading == "Mark the hole for C2."
    second = site.see(site.send(first.form("undo")).headers["Location"])

    assert second.heading == "Mark the hole for C1."


def test_sent_twice_it_is_stored_once(at: At) -> None:
    site = at("fasteners.mark:C1")
    form = site.tap("fasteners.mark:C1", "Marked").form("undo")

    site.send(form)
    site.send(form)

    assert sum(entry.type == "EntryUndone" for entry in site.entries) == 1


def test_a_done_task_offers_it_while_nothing_builds_on_it(at: At) -> None:
    site = at("fasteners.mark:C1")
    site.tap("fasteners.mark:C1", "Marked")
    assert site.see("fasteners.mark:C1").form("undo").buttons[0][2] == "Undo"

    site.tap("fasteners.mark:C2", "Marked")

    assert not [form for form in site.see("fasteners.mark:C1").forms if form.id == "undo"]


def test_who_did_nothing_yet_has_nothing_to_undo(at: At) -> None:
    site = at("fasteners.mark:C1")

    assert [form.id for form in site.see("fasteners.mark:C1").forms] == ["task-form"]


def test_somebody_elses_entry_is_not_ones_own_to_undo(
    at: At, app: Flask, services: Services
) -> None:
    site = at("fasteners.mark:C1")
    form = site.tap("fasteners.mark:C1", "Marked").form("undo")
    una = Site(services, site.job_id, joined(app, services, site.job_id, "Una", unit="mm",
                                             hand="left"))  # fmt: skip
    own = una.see("fasteners.mark:C2").form("task-form").fields

    sent = una.visitor.client.post(form.action, data={**own, "of": form.fields["of"]})

    assert read_screen(sent, 403).heading == "Not allowed"
    assert "fasteners.mark:C1" in site.state.records


def test_what_is_no_entry_is_refused(at: At) -> None:
    site = at("fasteners.mark:C1")
    form = site.tap("fasteners.mark:C1", "Marked").form("undo")

    for odd in ("", "x", "-1", "0", "1", "99999", "9" * 30, "\u0661"):
        sent = site.visitor.client.post(form.action, data={**form.fields, "of": odd})
        assert sent.status_code in (404, 409), odd
