"""A million random texts: each is read exactly or refused, and nothing else ever happens."""

from __future__ import annotations

from fractions import Fraction
from random import Random

import pytest

from holdtrue.core.lengths import Length, LengthError, parse_length
from holdtrue.core.readout import write_exactly
from holdtrue.core.typed import MAX_CHARS

# Pieces that get far into the grammar, and characters that do not belong in it.
PIECES = [
    *"0123456789" * 2, *"  .,/-'\"", "½", "⅞", "⅓", "1/2", "3/4", "15/16", "1/0", " in", "in", "ft",
    "mm", "cm", "m", "MM", "’", "”", "″", "′", "−", "–", "⁄", "\u00a0", "\u2009", "+", "e", "nan",
    "inf", "**", "_", "٣", "\u200b", "\n", "\x00", "\ud800", "(", "K", "5' 6", "527", "20 3/4",
]  # fmt: skip
DEFAULTS = (None, "in", "mm", "ft")


def read(text: str, default: str | None) -> Length | None:
    try:
        return parse_length(text, default)
    except LengthError:
        return None


def check(text: str, length: Length) -> None:
    assert type(length.mm) is Fraction
    assert abs(length.mm) <= 100_000
    assert length.typed == text.strip()
    assert len(length.typed) <= MAX_CHARS
    again = parse_length(write_exactly(length.mm, length.unit), None)
    assert again.mm == length.mm


@pytest.mark.slow
def test_a_million_random_texts_are_read_exactly_or_refused() -> None:
    random = Random(20_750)
    accepted = 0
    for i in range(1_000_000):
        text = "".join(random.choices(PIECES, k=1 + i % 9))
        length = read(text, DEFAULTS[i & 3])
        if length is not None:
            accepted += 1
            check(text, length)
    # Neither a parser that refuses all nor one that takes all would pass.
    assert 50_000 < accepted < 500_000


def test_inches_written_in_any_accepted_way_mean_the_number_they_were_made_from() -> None:
    random = Random(64)
    for _ in range(20_000):
        sign, feet, inches = random.choice("-+−"), random.randrange(9), random.randrange(12)
        bottom = random.choice((2, 4, 8, 16, 32, 64))
        top = random.randrange(1, bottom)
        part = f"{random.choice(' -')}{top}{random.choice('/⁄')}{bottom}"
        space, mark = random.choice(["", " ", "\u00a0"]), random.choice(["", '"', "”", "″", " in"])
        foot = random.choice(["'", "’", "′", "ft", " ft", " feet"])
        size = inches + Fraction(top, bottom)
        expected = (1 if sign == "+" else -1) * Fraction(254, 10)
        single = parse_length(f"{sign}{inches}{part}{mark}", "in")
        assert single.mm == expected * size
        double = parse_length(f"{sign}{feet}{foot}{space}{inches}{part}{mark}", None)
        assert double.mm == expected * (12 * feet + size)


def test_random_characters_of_all_of_unicode_never_crash_it() -> None:
    random = Random(5)
    for _ in range(50_000):
        text = "".join(chr(random.randrange(0x110000)) for _ in range(random.randrange(1, 12)))
        length = read(text, "mm")
        if length is not None:
            check(text, length)


@pytest.mark.parametrize(
    "text",
    ["1" * 32, " " * 1_000_000, "1 " * 500_000, "-" * 32, "½" * 32, "1/" * 16, "' " * 16, "1'" * 16,
     "0" * 31 + "'", "5'" + "1" * 30, "5'" + " 1" * 15, "5' " + "-1" * 14 + "x"],
    ids=range(12),
)  # fmt: skip
def test_texts_made_to_cost_time_are_refused_or_read(text: str) -> None:
    length = read(text, "mm")
    assert length is None or abs(length.mm) <= 100_000
