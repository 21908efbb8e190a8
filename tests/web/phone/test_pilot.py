"""The pilot hole: what it met decides before the hole is opened."""

from __future__ import annotations

from tests.web.phone.conftest import At


def test_it_works(at: At) -> None:
    site = at("fasteners.pilot:C1")

    shown = site.tap("fasteners.pilot:C1", "Record", {"met": "nothing"})

    assert shown.heading == "Open the hole and set the fastener."


def test_wood_where_hollow_was_planned_changes_the_fastener_and_says_so(at: At) -> None:
    site = at("fasteners.pilot:C2")

    shown = site.tap("fasteners.pilot:C2", "Record", {"met": "wood"})

    assert shown.heading == "C2: wood screw #10"
    assert "now wood screw #10" in shown.words
    assert "rub out the old mark" in shown.words


def test_cannot_tell_says_what_to_do_and_opens_nothing(at: At) -> None:
    site = at("fasteners.pilot:C1")

    shown = site.tap("fasteners.pilot:C1", "Record", {"met": "unclear"})

    assert "No opening before it is known what is behind." in shown.words
    assert "ask the lead" in shown.words
    assert site.see("fasteners.anchor:C1").heading == "Anchor C1"
    assert "This waits" in site.see("fasteners.anchor:C1").words


def test_nothing_chosen_is_asked_for(at: At) -> None:
    site = at("fasteners.pilot:C1")

    shown = site.refused("fasteners.pilot:C1", "Record")

    assert "choose one of" in shown.words
