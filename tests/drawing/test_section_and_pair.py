"""One fastener in section, two marks against each other, and the figures of the site."""

from __future__ import annotations

from functools import partial
from typing import Literal

import pytest

from holdtrue.core.model import Fastener
from holdtrue.core.readout import format_length
from holdtrue.drawing.pair import pair_of_marks
from holdtrue.drawing.section import fastener_section
from holdtrue.drawing.site_figures import SITE_FIGURE_KINDS, site_figure
from tests.drawing.ruler import SVG, read

inches = partial(format_length, unit="in")


def texts(svg: str) -> list[str]:
    return [one.text or "" for one in read(svg).root.iter(f"{SVG}text")]


def desc(svg: str) -> str:
    return str(read(svg).root.findtext(f"{SVG}desc"))


def height_of(svg: str, word: str) -> float:
    (found,) = (one for one in read(svg).root.iter(f"{SVG}text") if one.text == word)
    return float(found.attrib["y"])


def fastener(drop_mm: float) -> Fastener:
    return Fastener(name="hook", into="hollow", drop_mm=drop_mm)


def test_a_hooks_seat_is_drawn_below_its_hole() -> None:
    svg = fastener_section(fastener(6.35), fmt=inches, in_hand="hole")

    assert height_of(svg, "seat") > height_of(svg, "hole")
    assert "1/4 in" in texts(svg)
    assert desc(svg) == "The hanger bears 1/4 in below the hole."


def test_a_ring_that_rides_on_a_screw_is_drawn_above_its_hole() -> None:
    svg = fastener_section(fastener(-2.38125), fmt=inches, in_hand="seat")

    assert height_of(svg, "seat") < height_of(svg, "hole")
    assert desc(svg) == "The hanger bears 3/32 in above the hole."


def test_without_a_drop_there_is_one_height() -> None:
    svg = fastener_section(fastener(0.0), fmt=inches, in_hand="hole")

    assert texts(svg) == ["hole"]
    assert desc(svg) == "The hanger bears at the height of the hole."


@pytest.mark.parametrize("in_hand", ["hole", "seat"])
def test_only_what_is_in_hand_carries_its_colour(in_hand: Literal["hole", "seat"]) -> None:
    svg = fastener_section(fastener(6.35), fmt=inches, in_hand=in_hand)

    hand = [one.text for one in read(svg).root.iter() if one.get("class") == "d-text-hand"]
    assert hand == [in_hand]


@pytest.mark.parametrize(
    ("rise_mm", "higher"), [(1.5875, "right"), (-1.5875, "left"), (0.0, "none")]
)
def test_the_higher_mark_is_drawn_higher(rise_mm: float, higher: str) -> None:
    svg = pair_of_marks("C1", "C2", apart_mm=422.275, right_higher_mm=rise_mm, fmt=inches)

    marks = {one.get("data-seat"): one for one in read(svg).root.iter() if one.get("data-seat")}
    at = {name: float(next(one.iter(f"{SVG}circle")).attrib["cy"]) for name, one in marks.items()}
    found = "none" if at["C1"] == at["C2"] else "right" if at["C2"] < at["C1"] else "left"
    assert found == higher
    assert "16 5/8 in" in texts(svg)
    assert ("same height" in texts(svg)) == (higher == "none")
    assert ("1/16 in" in texts(svg)) == (higher != "none")


def test_the_pair_says_the_same_in_words() -> None:
    svg = pair_of_marks("C1", "C2", apart_mm=422.275, right_higher_mm=1.5875, fmt=inches)

    assert desc(svg) == "C1 and C2 are 16 5/8 in apart; C2 is higher by 1/16 in."


def test_names_are_escaped() -> None:
    svg = pair_of_marks("<b>1", "<b>2", apart_mm=100, right_higher_mm=0, fmt=inches)

    assert "<b>" not in svg
    assert "<b>1" in texts(svg)


@pytest.mark.parametrize("kind", SITE_FIGURE_KINDS)
def test_every_figure_has_a_name_and_a_description(kind: str) -> None:
    svg = site_figure(kind)  # type: ignore[arg-type]

    root = read(svg).root
    assert root.findtext(f"{SVG}title")
    assert len(desc(svg)) > 40
    assert root.get("role") == "img"


def test_an_unknown_figure_is_refused() -> None:
    with pytest.raises(ValueError, match="give one of bow, try"):
        site_figure("fog")  # type: ignore[arg-type]
