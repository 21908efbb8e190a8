"""What a touch asks of a screw or a hanger, which move otherwise than the panel does."""

from __future__ import annotations

from types import SimpleNamespace
from typing import cast

import pytest

from holdtrue.core.model import Fastener
from holdtrue.domain.touches import Touched
from holdtrue.web.phone_here import Here
from holdtrue.web.phone_hung import touch_line
from holdtrue.web.phone_task_hung import how_words


def here(turn_mm: float | None) -> Here:
    seat = SimpleNamespace(fastener=Fastener(name="hook", into="hollow", turn_mm=turn_mm))
    state = SimpleNamespace(seat=lambda name: seat)
    return cast(Here, SimpleNamespace(state=state, unit="mm"))


def touched(means: str, by_mm: float) -> Touched:
    return Touched(means=means, seat="A2", by_mm=by_mm)


@pytest.mark.parametrize(
    ("by_mm", "words"),
    [
        (0.5, "1/2 turn"),
        (-1.0, "1 turn"),
        (1.5, "1 1/2 turns"),
        (2.0, "2 turns"),
    ],
)
def test_a_screw_is_told_in_turns(by_mm: float, words: str) -> None:
    assert how_words(touched("screw", by_mm), here(1.0)) == words
    assert touch_line(touched("screw", by_mm), "A", here(1.0)).endswith(f"\xa0mm, {words}.")


def test_a_screw_nobody_knows_the_turn_of_is_told_in_height_only() -> None:
    assert how_words(touched("screw", 1.0), here(None)) == ""


@pytest.mark.parametrize(("by_mm", "way"), [(2.0, "down"), (-2.0, "up")])
def test_a_hanger_goes_the_other_way_than_its_panel(by_mm: float, way: str) -> None:
    panel_way = {"down": "up", "up": "down"}[way]
    said = touch_line(touched("hanger", by_mm), "A", here(None))
    assert said == f"By its hanger, move A2 {panel_way} 2.0\xa0mm, the hanger itself {way} on it."


@pytest.mark.parametrize("means", ["shim", "slide", "bumper"])
def test_what_moves_as_the_panel_does_is_told_once(means: str) -> None:
    assert how_words(touched(means, 1.0), here(1.0)) == ""
