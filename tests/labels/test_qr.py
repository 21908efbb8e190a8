"""The symbols: strong, large enough to print, one path, read back by another library."""

from __future__ import annotations

import re

import numpy as np
import pytest
import zxingcpp
from hypothesis import given, settings
from hypothesis import strategies as st

from holdtrue.labels import CodeDoesNotFitError
from holdtrue.labels.qr import DOT_MM, LEAST_MODULE_MM, QUIET_MODULES, Code, text_code, url_code

from .samples import CARD_URL, content_of, plan_of

RUN = re.compile(r"M(\d+) (\d+)h(\d+)v(\d+)h-(\d+)z")


def painted(code: Code) -> list[list[int]]:
    """How often the path covers each module, quiet zone included."""
    side = len(code.modules) + 2 * QUIET_MODULES
    counts = [[0] * side for _ in range(side)]
    rest = RUN.sub("", code.path())
    assert rest == ""
    for x, y, w, h, back in (map(int, m.groups()) for m in RUN.finditer(code.path())):
        assert w == back
        for row in range(y, y + h):
            for column in range(x, x + w):
                counts[row][column] += 1
    return counts


def decode(code: Code) -> zxingcpp.Barcode:
    counts = np.array(painted(code), dtype=np.uint8)
    picture = np.kron(np.where(counts > 0, 0, 255).astype(np.uint8), np.ones((4, 4), np.uint8))
    found = zxingcpp.read_barcodes(picture)
    assert len(found) == 1
    return found[0]


def test_the_path_covers_every_dark_module_once_and_nothing_else() -> None:
    code = url_code(CARD_URL, 40.0)
    counts = painted(code)
    q = QUIET_MODULES
    inner = [row[q:-q] for row in counts[q:-q]]
    assert inner == [[int(cell) for cell in row] for row in code.modules]
    assert sum(map(sum, counts)) == sum(map(sum, code.modules))


def test_merging_makes_the_path_far_shorter_than_a_square_per_module() -> None:
    code = url_code(CARD_URL, 40.0)
    assert len(RUN.findall(code.path())) < 0.6 * sum(map(sum, code.modules))


def test_an_address_is_read_back_in_capitals_at_level_h() -> None:
    code = url_code(CARD_URL, 40.0)
    read = decode(code)
    assert read.text == CARD_URL.upper()
    assert code.level == "H"
    assert read.ec_level == "H"
    # alphanumeric: 53 characters at H are version 5 (37 modules), bytes would need version 6
    assert len(code.modules) == 37


def test_a_small_place_gets_level_q() -> None:
    assert url_code(CARD_URL, 25.0).level == "Q"


@settings(max_examples=30)
@given(
    room_mm=st.floats(33.0, 60.0),
    host=st.from_regex(r"[a-z]{1,10}(\.[a-z]{2,5}){1,3}", fullmatch=True),
)
def test_modules_are_whole_dots_of_at_least_half_a_millimetre_and_the_quiet_zone_fits(
    room_mm: float, host: str
) -> None:
    code = url_code(f"https://{host}/c/7K3FQ2XW7K3FQ2XW7K3FQ2XW7K", room_mm)
    assert code.module_mm >= LEAST_MODULE_MM
    assert code.module_mm / DOT_MM == pytest.approx(round(code.module_mm / DOT_MM))
    assert code.side_mm <= room_mm + 1e-9
    assert code.side_mm == pytest.approx((len(code.modules) + 8) * code.module_mm)
    # the next whole dot would not have fitted
    assert (len(code.modules) + 8) * (code.module_mm + DOT_MM) > room_mm
    assert all(v == 0 for row in painted(code)[:QUIET_MODULES] for v in row)


@pytest.mark.parametrize("room_mm", [49.6, 53.0])
def test_a_crate_of_twelve_panels_with_three_hangers_each_fits(room_mm: float) -> None:
    sizes = [(1234.5 + k, 2345.6 + k) for k in range(12)]
    content = content_of(plan_of(sizes, hangers=3))
    assert text_code(content.plain_text, room_mm).module_mm >= LEAST_MODULE_MM


@settings(max_examples=40)
@given(
    lines=st.lists(
        st.text(
            alphabet=st.characters(codec="utf-8", exclude_categories=["Cc", "Cs"]), max_size=40
        ),
        min_size=1,
        max_size=4,
    ).filter(any)
)
def test_plain_text_comes_back_line_by_line(lines: list[str]) -> None:
    assert decode(text_code(lines, 60.0)).bytes.decode("utf-8") == "\n".join(lines)


def test_plain_text_takes_the_strongest_level_that_fits() -> None:
    assert text_code(["SHORT"], 50.0).level == "H"
    levels = [text_code(["A" * n], 50.0).level for n in (100, 400, 600, 800)]
    assert levels == sorted(levels, key="HQML".index)
    assert levels[0] != levels[-1]


@pytest.mark.parametrize("room_mm", [10.0, 40.0])
def test_what_does_not_fit_is_refused_with_place_and_remedy(room_mm: float) -> None:
    with pytest.raises(CodeDoesNotFitError, match="crate") as refused:
        text_code(["A" * 5000], room_mm)
    assert refused.value.path == "label.plain_text"
    with pytest.raises(CodeDoesNotFitError, match="shorter address"):
        url_code("https://" + "very-long." * 60 + "example/c/X", room_mm)
    with pytest.raises(CodeDoesNotFitError, match="give the address"):
        url_code(" ", room_mm)
