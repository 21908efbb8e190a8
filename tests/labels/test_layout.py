"""Nothing on a label overflows it or covers something else, whatever is packed."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holdtrue.labels import layout
from holdtrue.labels.layout import (
    MARGIN_MM,
    SIZES_MM,
    LabelSize,
    Outline,
    Ring,
    Symbol,
    Words,
    lay_out,
)
from holdtrue.labels.metrics import fitting, text_width_mm, wrapped
from holdtrue.labels.qr import QUIET_MODULES, Code, text_code

from .samples import content_of, plan_of

Box = tuple[float, float, float, float]

SIZES: st.SearchStrategy[LabelSize] = st.sampled_from(["a6", "4x6"])
PANELS = st.lists(
    st.tuples(st.floats(100.0, 4000.0), st.floats(100.0, 4000.0)), min_size=1, max_size=12
)


def box_of(item: Words | Outline | Ring | Symbol) -> Box:
    """Left, top, right, bottom in mm."""
    if isinstance(item, Words):
        return (
            item.left,
            item.y - item.size * 0.95,
            item.left + text_width_mm(item.text, item.size),
            item.y + item.size * 0.25,
        )
    if isinstance(item, Ring):
        return (item.x - item.r, item.y - item.r, item.x + item.r, item.y + item.r)
    if isinstance(item, Symbol):
        return (item.x, item.y, item.x + item.code.side_mm, item.y + item.code.side_mm)
    xs, ys = zip(*item.points, strict=True)
    return (min(xs), min(ys), max(xs), max(ys))


@pytest.fixture(autouse=True, scope="module")
def codes_of_full_size() -> Iterator[None]:
    """Symbols as large as they may be, made once: weighing masks takes most of a second each."""
    drawn = text_code(["ANY"], 40.0)

    def full(_: object, room_mm: float) -> Code:
        side = len(drawn.modules) + 2 * QUIET_MODULES
        return Code(modules=drawn.modules, level="H", module_mm=room_mm / side)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(layout, "url_code", full)
        patch.setattr(layout, "text_code", full)
        yield


@settings(max_examples=100)
@given(
    size=SIZES,
    sizes_mm=PANELS,
    hangers=st.integers(1, 3),
    unit=st.sampled_from(["mm", "in", "cm"]),
    title=st.text(max_size=300),
    prefix=st.text(alphabet="ABCabc Ω字-", max_size=12),
)
def test_content_never_overflows(
    size: LabelSize,
    sizes_mm: list[tuple[float, float]],
    hangers: int,
    unit: str,
    title: str,
    prefix: str,
) -> None:
    names = [prefix + letter for letter in "ABCDEFGHIJKL"]
    if len(sizes_mm) > 6:
        names = list("ABCDEFGHIJKL")
    plan = plan_of(sizes_mm, names=names, hangers=hangers, title=title, unit=unit)
    placed = lay_out(content_of(plan, show_title=True), size)
    width, height = SIZES_MM[size]
    assert (placed.width_mm, placed.height_mm) == (width, height)
    for item in placed.items:
        left, top, right, bottom = box_of(item)
        assert left >= MARGIN_MM - 1.3, item
        assert right <= width - MARGIN_MM + 1.3, item
        assert top >= MARGIN_MM - 1e-6, item
        assert bottom <= height - MARGIN_MM + 1e-6, item
    codes = [box_of(item) for item in placed.items if isinstance(item, Symbol)]
    for item in placed.items:
        if not isinstance(item, Symbol):
            assert not any(overlap(box_of(item), code) for code in codes), item


def overlap(a: Box, b: Box) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


@pytest.mark.parametrize("count", range(1, 13))
@pytest.mark.parametrize("size", ["a6", "4x6"])
def test_lines_of_text_do_not_run_into_each_other(count: int, size: LabelSize) -> None:
    placed = lay_out(content_of(plan_of([(700.0, 500.0)] * count)), size)
    words = [item for item in placed.items if isinstance(item, Words)]
    for i, a in enumerate(words):
        for b in words[i + 1 :]:
            # from x-height to baseline
            boxes = [(w.left, w.y - 0.7 * w.size, box_of(w)[2], w.y) for w in (a, b)]
            assert not overlap(boxes[0], boxes[1]), (a, b)


def test_hangers_are_drawn_mirrored_on_the_backs() -> None:
    plan = plan_of([(1000.0, 500.0)], hangers=1)
    content = content_of(plan)
    placed = lay_out(content, "a6")
    ring = next(item for item in placed.items if isinstance(item, Ring))
    back = next(
        item
        for item in placed.items
        if isinstance(item, Outline) and item.closed and not item.filled
    )
    left, _, right, _ = box_of(back)
    share = (ring.x - left) / (right - left)
    assert share == pytest.approx(content.panels[0].hangers[0].in_mm / 1000.0)


def test_text_shrinks_before_it_is_cut() -> None:
    said, size = fitting("abcdef", 100.0, 5.0, 2.0)
    assert (said, size) == ("abcdef", 5.0)
    said, size = fitting("a" * 40, 100.0, 5.0, 2.0)
    assert said == "a" * 40
    assert size < 5.0
    said, size = fitting("a" * 400, 100.0, 5.0, 2.0)
    assert said.endswith("…")
    assert size == 2.0
    assert text_width_mm(said, size) <= 100.0


def test_wrapping_keeps_words_and_says_when_it_cut() -> None:
    assert wrapped("one two three", 1000.0, 3.0, 2) == ["one two three"]
    lines = wrapped("word " * 60, 60.0, 3.0, 2)
    assert len(lines) == 2
    assert lines[1].endswith("…")
    assert all(text_width_mm(line, 3.0) <= 60.0 for line in lines)
