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


def test_where_no_fastener_is_listed_nothing_is_said_to_move_and_a_mistap_is_undone(
    at: At,
) -> None:
    site = at("fasteners.pilot:C1")

    shown = site.tap("fasteners.pilot:C1", "Record", {"met": "masonry"})

    assert shown.heading == "Stop at C1"
    assert "C1: no fastener is listed for a solid wall" in shown.words
    assert "hole now" not in shown.words
    assert "rub out" not in shown.words
    assert "If the bit met something else, undo it and record it again." in shown.words
    assert "Undo Pilot C1" in site.see("fasteners.pilot:C1").words
    back = site.see(site.send(shown.form("undo")).headers["Location"])
    assert back.heading.startswith("Drill C1 with the thinnest bit.")
    assert "fasteners.mark:C1" in site.state.records
    assert site.tap("fasteners.pilot:C1", "Record", {"met": "nothing"}).heading.startswith("Open")
