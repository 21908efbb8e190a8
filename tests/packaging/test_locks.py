"""The lock files hold what pyproject.toml asks for, with hashes, and nothing of any machine."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).resolve().parents[2]
RUNTIME = "requirements.lock"
TEST = "requirements-test.lock"

PIN = re.compile(r"([a-z0-9-]+)==([^ ]+)( ; [^\\]+)? \\")
HASH = re.compile(r"    --hash=sha256:[0-9a-f]{64}( \\)?")


def lines(lock: str) -> list[str]:
    return (ROOT / "deploy" / lock).read_text(encoding="utf-8").splitlines()


def pins(lock: str) -> set[str]:
    found = (PIN.fullmatch(line) for line in lines(lock))
    return {f"{match[1]}=={match[2]}" for match in found if match}


def asked_for(project: dict[str, Any], group: str) -> set[str]:
    """Runtime dependencies and those of a group with the groups it includes."""
    wanted = set(project["project"]["dependencies"])
    for entry in project["dependency-groups"][group]:
        if isinstance(entry, dict):
            wanted |= asked_for(project, entry["include-group"])
        else:
            wanted.add(entry)
    return wanted


@pytest.mark.parametrize(("lock", "group"), [(RUNTIME, "build"), (TEST, "test")])
def test_everything_pyproject_asks_for_is_locked_as_it_is_pinned_there(
    lock: str, group: str
) -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    assert asked_for(project, group) - pins(lock) == set(), "run python3 deploy/lock.py"


def test_the_tests_run_on_the_versions_that_are_served() -> None:
    assert pins(RUNTIME) <= pins(TEST)


@pytest.mark.parametrize("lock", [RUNTIME, TEST])
def test_every_locked_package_has_a_hash(lock: str) -> None:
    content = [line for line in lines(lock) if not line.lstrip().startswith("#")]
    for line, following in zip(content, [*content[1:], ""], strict=True):
        if PIN.fullmatch(line):
            assert HASH.fullmatch(following), line
        else:
            assert HASH.fullmatch(line), line


@pytest.mark.parametrize("lock", [RUNTIME, TEST])
def test_no_lock_names_an_address_or_a_place_on_a_machine(lock: str) -> None:
    text = "\n".join(lines(lock))
    assert "://" not in text
    assert "--index" not in text
    assert "--find-links" not in text
    assert re.search(r"(^|\s)(/|~|[A-Z]:\\)", text) is None
