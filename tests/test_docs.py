"""What README and DEVELOPERS say is there, is there, and the other way round."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import asdict
from pathlib import Path

from holdtrue import create_app
from holdtrue.bootstrap import compose
from holdtrue.cli import build_parser
from holdtrue.settings import OPTIONS, Settings, read_settings
from holdtrue.store.memory import MemoryStore
from tests.web.conftest import SECRET, Clock, counting_bytes

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")


def table(title: str) -> Iterator[list[str]]:
    """The rows of the table under a heading, without its head."""
    part = DEVELOPERS[DEVELOPERS.index(f"\n### {title}\n") :].split("\n#", 2)[1]
    lines = [line for line in part.splitlines() if line.startswith("|")]
    for line in lines[2:]:
        yield [cell.strip() for cell in line.strip("|").split("|")]


def test_the_table_of_settings_has_every_variable_with_its_option_and_default() -> None:
    def default(value: object) -> str:
        return "none" if value is None else "off" if value is False else f"`{value}`"

    fields = {
        name.removesuffix("_dir").upper(): value for name, value in asdict(Settings()).items()
    }
    assert read_settings({}) == Settings()
    assert fields.keys() == OPTIONS.keys()
    expected = {
        f"`HOLDTRUE_{short}`": (f"`{OPTIONS[short]}`", default(value))
        for short, value in fields.items()
    }
    rows = list(table("Settings"))
    assert {variable: (option, last) for variable, option, _, last in rows} == expected
    assert len(rows) == len(expected)
    assert all(meaning for _, _, meaning, _ in rows)


def test_every_command_of_the_help_is_named() -> None:
    listed = _commands()
    assert {"plan", "serve"} < set(listed)
    for name in listed:
        assert re.search(rf"`(holdtrue )?{name}\b", README + DEVELOPERS), name


def _commands() -> list[str]:
    """As the help lists them."""
    listed = build_parser().format_help().partition("COMMAND\n")[2]
    return re.findall(r"^    ([a-z]+)", listed, re.MULTILINE)


def test_the_table_of_addresses_has_every_view_with_who_may_call_it() -> None:
    services = compose(MemoryStore(), secret=SECRET, clock=Clock(), random_bytes=counting_bytes())
    app = create_app(services)
    there = set()
    for rule in app.url_map.iter_rules():
        if rule.endpoint == "static":
            continue
        access = getattr(app.view_functions[rule.endpoint], "holdtrue_access", "nobody said")
        address = re.sub(r"<\w+:", "<", rule.rule).replace("/jobs/<job_id>", "…", 1)
        there.add((rule.endpoint.partition(".")[0], access, address))
    named = {
        (module.strip("`"), who, address)
        for module, who, addresses in table("Addresses")
        for address in re.findall(r"`([^`]+)`", addresses)
    }
    assert named == there
