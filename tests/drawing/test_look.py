"""The stylesheet keeps its promises: contrast, touch sizes, no inline look, every sign drawn."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from holdtrue.drawing.strokes import PAPER

ROOT = Path(__file__).parents[2]
CSS = (ROOT / "static" / "css" / "holdtrue.css").read_text("utf-8")
DRAWING = ROOT / "server" / "holdtrue" / "drawing"

TEXT = ("ink", "ink-soft", "hand", "good", "bad")
GROUNDS = ("paper", "tint", "wall", "panel")


def colours(selector: str) -> dict[str, str]:
    """The custom colour properties of the first block with exactly this selector."""
    block = re.search(rf"^{re.escape(selector)} \{{(.*?)^\}}", CSS, re.DOTALL | re.MULTILINE)
    assert block, selector
    return dict(re.findall(r"--([\w-]+): (#[0-9a-f]{6});", block[1]))


def luminance(colour: str) -> float:
    """WCAG 2.2, relative luminance."""
    channels = [int(colour[k : k + 2], 16) / 255 for k in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(a: str, b: str) -> float:
    """WCAG 2.2, contrast ratio."""
    light, dark = sorted((luminance(a), luminance(b)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_the_ratio_agrees_with_known_pairs() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.005)
    assert contrast("#595959", "#ffffff") == pytest.approx(7.0, abs=0.005)


LOOKS = {"daylight": ":root", "dark": ':root[data-look="dark"]'}


@pytest.mark.parametrize("look", LOOKS)
@pytest.mark.parametrize("ink", TEXT)
@pytest.mark.parametrize("ground", GROUNDS)
def test_text_has_seven_to_one_in_both_looks(look: str, ink: str, ground: str) -> None:
    table = colours(LOOKS[look])
    assert contrast(table[ink], table[ground]) >= 7.0


@pytest.mark.parametrize("look", LOOKS)
def test_reversed_text_and_lines_can_be_told_from_their_ground(look: str) -> None:
    table = colours(LOOKS[look])
    for fill in ("ink", "good", "bad"):
        assert contrast(table["paper"], table[fill]) >= 7.0
    for stroke in ("line", "stud", "hand", "ink"):
        for ground in GROUNDS:
            assert contrast(table[stroke], table[ground]) >= 3.0


def test_both_looks_name_the_same_colours() -> None:
    assert colours(LOOKS["daylight"]).keys() == colours(LOOKS["dark"]).keys()


def test_touch_sizes_and_large_numbers() -> None:
    sizes = {name: float(v) * 16 for name, v in re.findall(r"--(touch[\w-]*): ([\d.]+)rem", CSS)}
    assert sizes == {"touch": 48.0, "touch-main": 64.0}
    least = {n: float(v) * 16 for n, v in re.findall(r"--t-(\w+): clamp\(([\d.]+)rem", CSS)}
    assert least["number"] >= 40
    assert least["readout"] >= 96


def test_every_class_a_drawing_uses_has_a_look_on_screen_and_on_paper() -> None:
    used = set()
    for module in DRAWING.glob("*.py"):
        if module.name != "strokes.py":
            used |= set(re.findall(r'"(d-[a-z-]+[a-z])"', module.read_text("utf-8")))
    used |= {f"d-stud-{m}" for m in ("wood", "steel", "unknown")}
    styled = set(re.findall(r"\.(d-[a-z-]+[a-z])\b", CSS))
    assert len(used) > 30
    assert used <= styled
    assert used <= set(PAPER)


def test_the_accent_means_the_mark_in_hand_and_nothing_else() -> None:
    """--hand may stand in rules about the hand, numbers in hand or the read-out only."""
    for selectors in re.findall(r"([^{}]+)\{[^{}]*var\(--hand\)[^{}]*\}", CSS):
        assert re.search(r"hand|readout-number", selectors), selectors


def test_no_foreign_addresses_and_no_imports() -> None:
    assert "url(" not in CSS
    assert "@import" not in CSS
