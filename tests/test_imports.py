"""Who may import whom, and what the pure parts may use at all.

Imports go one way: web, cli -> bootstrap, service -> domain -> core. What is computed must come out
the same on any machine at any time, so core, domain, drawing and labels get clock, randomness, ids
and files handed in. Modules are listed as allowed rather than as forbidden: a new one is looked at
once, here, before it is used.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

import holdtrue

PACKAGE = Path(holdtrue.__file__).resolve().parent

BELOW_WEB = {
    *("bootstrap", "settings", "service", "store", "drawing", "labels", "simulation"),
    *("domain", "core"),
}
MAY_IMPORT = {
    "core": set[str](),
    "domain": {"core"},
    "simulation": {"domain", "core"},
    # how played installs ended is a picture too
    "drawing": {"simulation", "domain", "core"},
    "labels": {"drawing", "domain", "core"},
    "store": {"domain", "core"},
    # handlers talk to the port; which store stands behind it is chosen in bootstrap
    "service": {"store.port", "drawing", "labels", "domain", "core"},
    "settings": set[str](),
    "staticfiles": set[str](),
    "demo": set[str](),
    "bootstrap": {"settings", "service", "store", "domain", "core"},
    "web": {*BELOW_WEB, "staticfiles", "demo"},
    "commands": {*BELOW_WEB, "staticfiles", "demo", "web", "create_app"},
    "cli": {*BELOW_WEB, "staticfiles", "demo", "web", "create_app", "commands"},
    # the package itself only offers create_app
    "": {"service", "web"},
}

PURE_STANDARD = {
    *("__future__", "abc", "bisect", "collections", "copy", "dataclasses", "enum", "functools"),
    *("heapq", "itertools", "math", "numbers", "operator", "types", "typing"),
    *("decimal", "fractions", "statistics"),
    *("html", "json", "re", "string", "textwrap", "unicodedata"),
    # types of a time that was handed in; its ways to ask the clock are refused below
    "datetime",
    *("hashlib", "hmac", "base64", "binascii", "struct", "zlib"),
}
PURE_OTHERS = {
    "core": {"numpy", "pint"},
    # the core's vectors
    "domain": {"numpy"},
    "simulation": {"numpy"},
    "drawing": set[str](),
    "labels": {"qrcode"},
}

# what reaches outside although its module is allowed
IMPURE_NAMES = {"open", "print", "input", "exec", "eval", "breakpoint", "__import__"}
IMPURE_ATTRIBUTES = {
    *("now", "utcnow", "today"),
    # numpy's own draws and files
    *("random", "fromfile", "tofile", "loadtxt", "savetxt", "genfromtxt", "memmap"),
}


def module_name(path: Path) -> str:
    """Dotted name within the package: core.units; the package itself has the empty name."""
    parts = path.relative_to(PACKAGE).with_suffix("").parts
    return ".".join(part for part in parts if part != "__init__")


def imported(tree: ast.AST, module: str, *, is_package: bool = False) -> Iterator[str]:
    """Full dotted names of everything imported, relative ones resolved."""
    package = f"holdtrue.{module}".rstrip(".").split(".")
    if not is_package:
        package = package[:-1]
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            base = package[: len(package) - node.level + 1] if node.level else []
            origin = ".".join([*base, *([node.module] if node.module else [])])
            yield from (f"{origin}.{alias.name}" for alias in node.names)


def wrong_way(module: str, names: Iterator[str]) -> list[str]:
    """Imports of our own that the rule does not allow in ``module``."""
    layer = module.split(".", maxsplit=1)[0]
    allowed = {layer} | MAY_IMPORT[layer]
    inside = (name.removeprefix("holdtrue.") for name in names if name.startswith("holdtrue."))
    return [
        name
        for name in inside
        if not any(name == target or name.startswith(f"{target}.") for target in allowed if target)
    ]


def impurities(tree: ast.AST, layer: str, names: Iterator[str]) -> list[str]:
    """What a pure module uses that it must not."""
    allowed = PURE_STANDARD | PURE_OTHERS[layer] | {"holdtrue"}
    found = [f"import {name}" for name in names if name.split(".")[0] not in allowed]
    for node in ast.walk(tree):
        if isinstance(node, ast.Name) and node.id in IMPURE_NAMES:
            found.append(node.id)
        elif isinstance(node, ast.Attribute) and node.attr in IMPURE_ATTRIBUTES:
            found.append(f"{ast.unparse(node)}")
    return found


MODULES = [pytest.param(path, id=module_name(path) or "holdtrue") for path in PACKAGE.rglob("*.py")]
PURE_MODULES = [param for param in MODULES if str(param.id).split(".")[0] in PURE_OTHERS]


@pytest.mark.parametrize("path", MODULES)
def test_imports_go_one_way(path: Path) -> None:
    module = module_name(path)
    assert module.split(".")[0] in MAY_IMPORT, "a new part of the package: say what it may import"
    tree = ast.parse(path.read_text(encoding="utf-8"))
    names = imported(tree, module, is_package=path.name == "__init__.py")
    assert wrong_way(module, names) == []


@pytest.mark.parametrize("path", PURE_MODULES)
def test_the_pure_parts_reach_for_nothing_outside(path: Path) -> None:
    module = module_name(path)
    tree = ast.parse(path.read_text(encoding="utf-8"))
    names = imported(tree, module, is_package=path.name == "__init__.py")
    assert impurities(tree, module.split(".")[0], names) == []


@pytest.mark.parametrize(
    ("module", "source"),
    [
        ("core.wall", "from holdtrue.domain import jobfile"),
        ("core.wall", "def f():\n    import holdtrue.web.app"),
        ("domain.state", "from holdtrue.store.port import Entry"),
        ("domain.state", "from ..store import port"),
        ("service.marks", "from holdtrue.store.tinydb import TinyStore"),
        ("service.marks", "from holdtrue.store import tinydb"),
        ("store.tinydb", "from holdtrue.service.services import Services"),
        ("web.marks", "from holdtrue.cli import main"),
        ("drawing.svg", "from holdtrue import labels"),
    ],
)
def test_an_import_against_the_direction_is_found(module: str, source: str) -> None:
    assert wrong_way(module, imported(ast.parse(source), module)) != []


@pytest.mark.parametrize(
    ("module", "source"),
    [
        ("core.wall", "from holdtrue.core.units import MM_PER\nfrom . import units"),
        (
            "service.marks",
            "from holdtrue.store.port import Entry\nfrom holdtrue.domain import house",
        ),
        ("web.marks", "from holdtrue.service.marks import record"),
    ],
)
def test_an_import_along_the_direction_is_allowed(module: str, source: str) -> None:
    assert wrong_way(module, imported(ast.parse(source), module)) == []


@pytest.mark.parametrize(
    "source",
    [
        "import os",
        "from pathlib import Path",
        "from os.path import join",
        "import random",
        "import secrets",
        "import time",
        "import flask",
        "from datetime import datetime\ndatetime.now()",
        "from datetime import date\ndate.today()",
        "import numpy as np\nnp.random.default_rng()",
        "open('wall')",
        "print('wall')",
    ],
)
def test_reaching_outside_is_found(source: str) -> None:
    tree = ast.parse(source)
    assert impurities(tree, "core", imported(tree, "core.wall")) != []


def test_pure_parts_are_there_to_be_looked_at() -> None:
    found = {str(param.id).split(".")[0] for param in PURE_MODULES}
    assert found == set(PURE_OTHERS)
