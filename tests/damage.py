"""Documents damaged at one place, for whatever reads them; drawn by a seed, so they come again."""

from __future__ import annotations

import json
import random
import re
from collections.abc import Iterator
from copy import deepcopy
from dataclasses import dataclass
from typing import Any

from holdtrue.domain.errors import InputError

GONE = object()
TWICE = object()
"""Put in place of a value: the key is left out, or the list's entry is there twice."""
VALUES: tuple[Any, ...] = (
    *(None, True, False, 0, -1, 3, 1e308, -1e308, 1e-320, 2**63, 10**30),
    *(float("nan"), float("inf"), float("-inf"), GONE, TWICE),
    *("", " ", "junk", "A", "0", "-1", "1e308", "NaN", "1/0", "1,500", "½", "x" * 300),
    *("\u0663", "\u096b mm", "-5 mm", "99999 m", "A\0", "A\x9b", "\u202e", "<b>"),
    *([], {}, [[[]]], [None], [1, 2, 3], ["A"], {"x": None}, {"in": 1}, {"surprise": 1}),
)
REMEDY = re.compile(
    r"\b(give|must|type|list|choose|leave|known|check|say|keep|use|write|name|take|weigh|make"
    r"|add|export|belongs?|stand|is not a (?:seat|panel|fastener))\b"
)
"""What tells a person what to do, or what would be right."""
LINE = re.compile(r"((?:[A-Za-z_]\w*|\[\d+\])(?:\.\w+|\[\d+\])*): (.+)")


@dataclass(frozen=True)
class Damage:
    path: str
    value: Any
    document: Any

    def text(self) -> bytes:
        return json.dumps(self.document).encode()


def damages(document: Any, seed: int, count: int) -> Iterator[Damage]:
    """``count`` copies, each with one value of another kind put somewhere."""
    draw = random.Random(seed)
    places = sorted(_places(document), key=str)
    for _ in range(count):
        *way, last = draw.choice(places)
        value = draw.choice(VALUES)
        copy = deepcopy(document)
        node = copy
        for step in way:
            node = node[step]
        if value is GONE:
            del node[last]
        elif value is TWICE and isinstance(node, list):
            node.append(deepcopy(node[last]))
        elif value is TWICE:
            node[f"{last}_"] = node[last]
        else:
            node[last] = value
        yield Damage(_shown((*way, last)), value, copy)


def _places(node: Any, way: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """Every key and every place of a list, however deep."""
    inner = node.items() if isinstance(node, dict) else enumerate(node)
    for step, below in inner:
        yield (*way, step)
        if isinstance(below, dict | list):
            yield from _places(below, (*way, step))


def _shown(way: tuple[Any, ...]) -> str:
    text = "".join(f"[{step}]" if isinstance(step, int) else f".{step}" for step in way)
    return text.removeprefix(".")


def says_what_is_wrong(said: str, damage: Damage) -> None:
    """The refusal names a place of the document, what stands there, and what would be right."""
    found = LINE.fullmatch(said)
    assert found, said
    path, rest = found.groups()
    remedy = rest
    is_there = damage.value is not None and damage.value not in (GONE, TWICE)
    if path == damage.path and is_there:
        # the text of an error as written, without its place: what json wrote and read is the value
        value = {"nan": "NaN", "inf": "Infinity", "-inf": "-Infinity"}.get(
            repr(damage.value), damage.value
        )
        shown = str(InputError("", value, ""))[2:]
        assert rest.startswith(shown), f"{said}: should show {shown}"
        remedy = rest.removeprefix(shown)
    assert REMEDY.search(remedy), said
