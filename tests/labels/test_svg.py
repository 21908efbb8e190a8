"""The label as a file: true size, no style, and both codes readable from a picture of it."""

from __future__ import annotations

import io
import json
from collections.abc import Callable
from xml.etree import ElementTree as ET

import pytest
import zxingcpp
from PIL import Image
from playwright.sync_api import Browser, Page

from holdtrue.core.model import Plan
from holdtrue.labels import SIZES_MM, LabelSize, label_svg

from .samples import CARD_URL, SHORT_ID, content_of, plan_of

PlanNamed = Callable[[str], Plan]
SVG = "{http://www.w3.org/2000/svg}"
# CSS px per mm
PX_PER_MM = 96 / 25.4
# 203 dpi, a plain label printer
DOTS_PER_MM = 8

# every text and code with its box in mm, whatever it was moved and scaled by
BOXES = """() => JSON.stringify(
    [...document.querySelectorAll('text, [data-code]')].map(e => {
        const b = e.getBBox(), m = e.getCTM(), s = e.ownerSVGElement.getCTM();
        const k = m.a / s.a, x = (m.e - s.e) / s.a, y = (m.f - s.f) / s.a;
        return {tag: e.tagName, text: e.textContent,
                x: x + k * b.x, y: y + k * b.y, w: k * b.width, h: k * b.height};
    }))"""


def shown(browser: Browser, markup: str) -> Page:
    """The label in a browser at 8 dots per mm."""
    page = browser.new_page(
        device_scale_factor=DOTS_PER_MM / PX_PER_MM, viewport={"width": 500, "height": 700}
    )
    page.set_content(f"<!doctype html><body>{markup}</body>")
    return page


def test_the_file_states_its_true_size_and_carries_no_style(plan_named: PlanNamed) -> None:
    wanted: dict[LabelSize, tuple[str, str]] = {
        "a6": ("105mm", "148mm"),
        "4x6": ("101.6mm", "152.4mm"),
    }
    for size, (width, height) in wanted.items():
        root = ET.fromstring(label_svg(content_of(plan_named("tidewrack")), size))  # noqa: S314 -- ours
        assert (root.attrib["width"], root.attrib["height"]) == (width, height)
        box = [float(v) for v in root.attrib["viewBox"].split()]
        assert box == [0.0, 0.0, *SIZES_MM[size]]
        names = {e.tag.removeprefix(SVG) for e in root.iter()}
        assert names <= {"svg", "title", "desc", "text", "path", "rect", "circle"}
        attributes = {k for e in root.iter() for k in e.attrib}
        assert not attributes & {"style", "class", "href"}
        crisp = [e for e in root.iter() if e.get("shape-rendering") == "crispEdges"]
        assert [e.attrib["data-code"] for e in crisp] == ["card", "text"]


@pytest.mark.parametrize("size", ["a6", "4x6"])
@pytest.mark.parametrize("name", ["tidewrack", "staithe"])
def test_both_codes_are_read_from_a_picture_of_the_label(
    chromium: Browser, plan_named: PlanNamed, name: str, size: LabelSize
) -> None:
    content = content_of(plan_named(name))
    page = shown(chromium, label_svg(content, size))
    picture = Image.open(io.BytesIO(page.locator("svg").screenshot()))
    width_mm, height_mm = SIZES_MM[size]
    assert picture.width == pytest.approx(width_mm * DOTS_PER_MM, abs=6)
    assert picture.height == pytest.approx(height_mm * DOTS_PER_MM, abs=6)
    texts = {found.text for found in zxingcpp.read_barcodes(picture)}
    assert texts == {CARD_URL.upper(), "\n".join(content.plain_text)}
    page.close()


def test_the_short_id_stands_under_the_first_code_large_enough_to_type(
    chromium: Browser, plan_named: PlanNamed
) -> None:
    page = shown(chromium, label_svg(content_of(plan_named("tidewrack")), "a6"))
    words = page.get_by_text(SHORT_ID, exact=True).last.bounding_box()
    code = page.locator("[data-code=card]").bounding_box()
    assert words
    assert code
    assert words["y"] >= code["y"] + code["height"]
    assert words["x"] + words["width"] / 2 == pytest.approx(code["x"] + code["width"] / 2, abs=2)
    assert words["height"] / PX_PER_MM >= 4.0
    page.close()


@pytest.mark.parametrize("count", [1, 2, 5, 12])
@pytest.mark.parametrize("size", ["a6", "4x6"])
def test_drawn_with_a_real_font_no_text_leaves_the_label_or_meets_a_code(
    chromium: Browser, count: int, size: LabelSize
) -> None:
    plan = plan_of([(900.0, 700.0)] * count, title="A very long title, " * 12, unit="in")
    page = shown(chromium, label_svg(content_of(plan, show_title=True), size))
    boxes = json.loads(page.evaluate(BOXES))
    width_mm, height_mm = SIZES_MM[size]
    codes = [b for b in boxes if b["tag"] == "path"]
    assert len(codes) == 2
    for box in (b for b in boxes if b["tag"] == "text"):
        assert box["x"] >= 3.5, box
        assert box["x"] + box["w"] <= width_mm - 3.5, box
        assert box["y"] >= 3.5, box
        assert box["y"] + box["h"] <= height_mm - 3.5, box
        for code in codes:
            beside = box["x"] + box["w"] <= code["x"] or code["x"] + code["w"] <= box["x"]
            assert beside or box["y"] + box["h"] <= code["y"] or code["y"] + code["h"] <= box["y"]
    page.close()


def test_hostile_names_and_titles_stay_text() -> None:
    name = '<script>"&'
    plan = plan_of([(500.0, 400.0)], names=[name], title="</svg><b onclick='x'>")
    root = ET.fromstring(label_svg(content_of(plan, show_title=True), "a6"))  # noqa: S314 -- ours
    texts = [e.text for e in root.iter(f"{SVG}text")]
    assert name in texts
    assert "</svg><b onclick='x'>" in texts
    assert not [e for e in root.iter() if e.tag == f"{SVG}script" or "onclick" in e.attrib]
