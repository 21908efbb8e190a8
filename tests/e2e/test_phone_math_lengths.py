"""The phone reads and writes lengths as the server does: the same value, or the same word."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Iterator, Sequence
from random import Random
from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from holdtrue.core.lengths import LengthError, echo, format_length, parse_length, tape_slip
from tests.core.test_lengths import INCHES, METRIC, REFUSED
from tests.core.test_lengths_random import DEFAULTS, PIECES
from tests.e2e.phone_modules import open_modules

AGREE_MM = 1e-9
COUNT = 20_000
Typed = tuple[str, str | None]

# texts travel as code points: half a character is no JSON text
READ = """
async (cases) => {
  const { parseLength, recorded, echo } = await import("/static/js/core/lengths.js");
  return cases.map(([points, unit]) => {
    const text = points.map((point) => String.fromCodePoint(point)).join("");
    try {
      const length = parseLength(text, unit);
      const typed = [...length.typed].map((char) => char.codePointAt(0));
      return { mm: length.mm, stored: recorded(length).mm, unit: length.unit, typed,
               echo: echo(text, unit) };
    } catch (error) {
      if (error.name !== "LengthError") throw error;
      return { remedy: error.remedy };
    }
  });
}
"""
WRITE = """
async (cases) => {
  const { formatLength } = await import("/static/js/core/lengths.js");
  return cases.map(([mm, unit, how]) => formatLength(mm, unit, how));
}
"""


@pytest.fixture(scope="module")
def modules(chromium: Browser) -> Iterator[Page]:
    with open_modules(chromium) as page:
        yield page


def points(text: str) -> list[int]:
    return [ord(char) for char in text]


def server_reads(text: str, unit: str | None) -> dict[str, Any]:
    try:
        length = parse_length(text, unit)
    except LengthError as error:
        return {"remedy": error.remedy}
    return {
        "mm": pytest.approx(float(length.mm), abs=AGREE_MM, rel=0),
        "stored": round(float(length.mm), 6),
        "unit": length.unit,
        "typed": points(length.typed),
        "echo": echo(text, unit),
    }


def compare(modules: Page, cases: Sequence[Typed]) -> int:
    """Every case on both sides; returns how many were read."""
    read = 0
    phone = modules.evaluate(READ, [[points(text), unit] for text, unit in cases])
    for (text, unit), own in zip(cases, phone, strict=True):
        assert own == server_reads(text, unit), (text, unit)
        read += "mm" in own
    return read


def test_every_length_of_the_table_is_read_alike(modules: Page) -> None:
    cases = [(text, unit) for text, unit, _, _ in INCHES + METRIC]
    assert compare(modules, cases) == len(cases)


def test_every_text_refused_by_the_server_is_refused_in_the_same_words(modules: Page) -> None:
    cases = [(text, unit) for text, unit, _ in REFUSED]
    cases += [("5", "furlong"), ("5 1/2", "furlong"), ("1234567890123456789 1/2 mm", "in")]
    assert compare(modules, cases) == 0


def test_generated_spellings_are_read_alike(modules: Page) -> None:
    assert compare(modules, list(spellings(Random(20)))) > COUNT * 0.9


def spellings(random: Random) -> Iterable[Typed]:
    """Lengths as people and phones write them, nearly all of them clear."""
    for _ in range(COUNT):
        sign = random.choice(("", "", "", "-", "+", "−", "- "))
        space = random.choice(("", " ", " ", "\u00a0", "\u2009"))
        unit = random.choice(("in", '"', "”", "″", " inches", "ft", "'", "’", "mm", "cm", " M", ""))
        default = random.choice(("in", "mm", "ft", "cm"))
        feet = random.choice(
            ("", "", f"{random.randrange(20)}{random.choice(chr(39) + '′’')}{space}")
        )
        if feet:
            unit, default = random.choice(("", '"', "″", " in")), "in"
        elif unit in ("mm", "cm", " M") or (not unit and default in ("mm", "cm")):
            yield f"{sign}{_decimal(random)}{space}{unit}", default
            continue
        yield f"{sign}{feet}{_inches(random)}{space}{unit}", default


def _decimal(random: Random) -> str:
    whole, part = random.randrange(90), random.randrange(10**6)
    return random.choice(
        (
            str(whole),
            f"{whole}.{part}",
            f"{whole},{part % 100:02d}",
            f"0,{part % 1000:03d}",
            f".{part}",
            f"00{whole}",
        )
    )


def _inches(random: Random) -> str:
    whole, bottom = random.randrange(12), random.choice((2, 4, 8, 16, 32, 64))
    part = f"{random.randrange(bottom)}{random.choice('/⁄∕')}{bottom}"
    vulgar = random.choice("½¼¾⅛⅜⅝⅞")
    joint = random.choice(" -")
    return random.choice(
        (str(whole), f"{whole}{joint}{part}", part, f"{whole}{vulgar}", f"{whole} {vulgar}", vulgar)
        + (f"{whole}.{random.randrange(1000)}",)
    )


def test_texts_made_to_confuse_are_read_alike_or_refused_in_the_same_words(modules: Page) -> None:
    random = Random(20_750)
    cases = [
        ("".join(random.choices(PIECES, k=1 + i % 9)), DEFAULTS[i & 3]) for i in range(COUNT // 2)
    ]
    cases += [
        ("".join(random.choices(spelled, k=random.randint(1, 40))), "in")
        for spelled in ("0123456789 .,/-'\"½in", "\t\n\x0b\x0c\r\x1c\x1f\x85\u2028\ufeff 5")
        for _ in range(COUNT // 8)
    ]
    cases += [(text, "mm") for text in texts_of_all_characters(random, COUNT // 4)]
    read = compare(modules, cases)
    assert COUNT // 100 < read < COUNT // 2


def texts_of_all_characters(random: Random, count: int) -> Iterable[str]:
    """Characters of all kinds around a digit; no low surrogates, which JavaScript would join."""
    known = [
        chr(code)
        for code in range(0x20000)
        if unicodedata.category(chr(code)) != "Cn" and not 0xDC00 <= code <= 0xDFFF
    ]
    for _ in range(count):
        char = random.choice(known[: random.choice((300, 0x3000, len(known)))])
        yield random.choice((char + "5", "5" + char, f"5{char}1", f" {char}5 mm"))


def test_lengths_are_written_alike(modules: Page) -> None:
    random = Random(64)
    graduations = (None, 1.0, 0.5, 0.1, 5.0, 25.4 / 8, 25.4 / 16, 25.4 / 32, 25.4 / 64, 0.37)
    cases: list[tuple[float, str, dict[str, Any]]] = []
    for _ in range(COUNT):
        mm = random.choice(
            (
                random.gauss(0, 900),
                random.randrange(-80_000, 80_000) * 25.4 / 128,  # on and between graduations
                random.randrange(-80_000, 80_000) / 128,  # halves of the sixth decimal
                random.randrange(-40_000, 40_000) / 20,
            )
        )
        how: dict[str, Any] = {
            "signed": random.random() < 0.3,
            "withUnit": random.random() < 0.7,
        }
        graduation = random.choice(graduations)
        if graduation is not None:
            how["graduationMm"] = graduation
        cases.append((mm, random.choice(("mm", "cm", "m", "in", "ft", '"')), how))
    for (mm, unit, how), own in zip(cases, modules.evaluate(WRITE, cases), strict=True):
        wanted = format_length(
            mm,
            unit,
            graduation_mm=how.get("graduationMm"),
            signed=how["signed"],
            with_unit=how["withUnit"],
        )
        assert own == wanted, (mm, unit, how)


@pytest.mark.parametrize(
    ("mm", "unit", "how"),
    [("NaN", "mm", {}), ("Infinity", "in", {}), ("1", "yd", {}), ("1", "mm", {"graduationMm": 0})],
)
def test_what_cannot_be_written_is_refused(
    modules: Page, mm: str, unit: str, how: dict[str, float]
) -> None:
    refused = modules.evaluate(
        """async ([mm, unit, how]) => {
          const { formatLength } = await import("/static/js/core/lengths.js");
          try { return formatLength(Number(mm), unit, how); } catch (error) { return error.name; }
        }""",
        [mm, unit, how],
    )
    assert refused == "LengthError"


def test_a_tape_started_from_the_1_is_noticed_alike(modules: Page) -> None:
    random = Random(1)
    pairs = [
        (round(random.uniform(-130, 130), 1) + planned, planned)
        for planned in (527.05, -300.0, 0.0)
        for _ in range(2000)
    ]
    own = modules.evaluate(
        """async (pairs) => {
          const { tapeSlip } = await import("/static/js/core/lengths.js");
          return pairs.map(([measured, planned]) => tapeSlip(measured, planned));
        }""",
        pairs,
    )
    assert own == [tape_slip(*pair) for pair in pairs]
    assert set(own) == {None, "1 in", "100 mm"}
