"""Before anything: cautions, loads, what to carry, people."""

from __future__ import annotations

import re

from tests.web.phone.conftest import At

PREVAIL = "Local codes, the hardware maker's figures and a licensed professional prevail."


def test_loads_are_compared_in_words_and_not_known_is_not_fine(at: At) -> None:
    site = at("before.loads")

    shown = site.see("before.loads")

    assert PREVAIL in shown.words
    assert re.search(r"A1 1\d(\.\d)? lb of 20 lb \d\d%", shown.words)
    assert re.search(r"D2 \d\d(\.\d)? lb not known", shown.words)
    assert 'verdict-unknown">not known' in shown.html


def test_fasteners_to_carry_come_with_spares(at: At) -> None:
    shown = at("before.tools").see("before.tools")

    assert "8 + 2 hook on a toggle" in shown.words
    assert "1 + 1 wood screw #10: D2" in shown.words
    assert "0 + 1 steel-stud anchor: spares only" in shown.words


def test_the_heaviest_panel_is_named_for_the_lift(at: At) -> None:
    shown = at("before.people").see("before.people")

    assert "Heaviest panel panel D 34 lb" in shown.words
    assert "Never lift from a ladder." in shown.words


def test_who_lifts_is_said_again_at_the_lift(at: At) -> None:
    site = at("panels.lift:C")

    assert "Counted for the lift: 2 people, on a platform." in site.see("panels.lift:C").words
    typed = {"people": "3", "platform": "two_ladders"}
    site.tap("before.people?again=1", "Record", typed)
    words = "Counted for the lift: 3 people, on two ladders, a third person steadying."
    assert words in site.see("panels.lift:C").words


def test_metric_people_read_kilograms(at: At) -> None:
    shown = at("before.people", unit="mm").see("before.people")

    assert "15.4 kg" in shown.words


def test_cautions_are_one_line_each(at: At) -> None:
    shown = at("before.cautions").see("before.cautions")

    assert shown.html.count("<li>") >= 8
    assert "Nobody below a panel until it is secured." in shown.words
