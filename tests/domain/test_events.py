"""Every event that can stand in a log is named for developers, and no other."""

from __future__ import annotations

import re
from pathlib import Path

from holdtrue.domain import events, house

DEVELOPERS = Path(__file__).parents[2] / "DEVELOPERS.md"


def test_the_table_for_developers_names_every_event() -> None:
    text = DEVELOPERS.read_text(encoding="utf-8")
    table = text[text.index("### Events") : text.index("## How to add")]
    named = re.findall(r"^\| `([A-Z]\w+)` \|", table, re.MULTILINE)
    of_the_house = {
        value for name, value in vars(house).items() if name.isupper() and _is_name(value)
    }
    assert len(named) == len(set(named))
    assert set(named) == set(events.EVENTS) | of_the_house


def _is_name(value: object) -> bool:
    return isinstance(value, str) and value.startswith("Lead")
