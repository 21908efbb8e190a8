"""Every public function of the core says what it takes, gives, refuses and where it comes from."""

from __future__ import annotations

import ast
import doctest
import importlib
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

import holdtrue.core

CORE = Path(holdtrue.core.__file__).parent
UNIT = re.compile(r"\[[^\[\]\n]{1,12}\]")
"""[mm], [N], ...; a function that deals in names and shares says [-]."""
SECTIONS = ("Parameters:", "Returns:", "Raises:", "Source:")


def public_functions(source: str) -> Iterator[ast.FunctionDef]:
    for node in ast.parse(source).body:
        if isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
            yield node


def faults(function: ast.FunctionDef) -> list[str]:
    said = ast.get_docstring(function) or ""
    missing = [section for section in SECTIONS if section not in said]
    if not UNIT.search(said):
        missing.append("a unit in brackets")
    arguments = [*function.args.posonlyargs, *function.args.args, *function.args.kwonlyargs]
    after = said.partition("Parameters:")[2].partition("Returns:")[0]
    missing += [
        f"parameter {argument.arg}"
        for argument in arguments
        if not re.search(rf"\b{argument.arg}\b", after)
    ]
    return missing


FUNCTIONS = [
    pytest.param(function, id=f"{path.stem}.{function.name}")
    for path in sorted(CORE.glob("*.py"))
    for function in public_functions(path.read_text(encoding="utf-8"))
]


@pytest.mark.parametrize("function", FUNCTIONS)
def test_it_says_its_parameters_units_errors_and_source(function: ast.FunctionDef) -> None:
    assert faults(function) == []


def test_there_are_functions_to_look_at() -> None:
    assert len(FUNCTIONS) > 30


@pytest.mark.parametrize(
    "docstring",
    [
        "",
        "Weight. Parameters: mass_kg [kg]. Returns: [N]. Raises: nothing.",
        "Weight. Parameters: mass_kg, a mass. Returns: it. Raises: nothing. Source: physics.",
        "Weight. Parameters: m [kg]. Returns: [N]. Raises: nothing. Source: physics.",
    ],
)
def test_what_is_missing_is_found(docstring: str) -> None:
    (function,) = public_functions(f'def weight(mass_kg):\n    """{docstring}"""')
    assert faults(function) != []


@pytest.mark.parametrize("path", sorted(CORE.glob("*.py")), ids=lambda path: str(path.stem))
def test_examples_in_docstrings_hold(path: Path) -> None:
    module = importlib.import_module(
        f"holdtrue.core.{path.stem}" if path.stem != "__init__" else "holdtrue.core"
    )
    assert doctest.testmod(module).failed == 0


def test_constants_say_their_unit_and_source() -> None:
    """Each constant of sources.py is followed by a text that opens with its unit in brackets."""
    body = ast.parse((CORE / "sources.py").read_text(encoding="utf-8")).body[2:]
    names, texts = body[::2], body[1::2]
    assert len(names) == len(texts) > 5
    for name, text in zip(names, texts, strict=True):
        assert isinstance(name, ast.Assign)
        assert isinstance(text, ast.Expr)
        assert isinstance(text.value, ast.Constant)
        assert re.match(r"\[[^\]]+\]", str(text.value.value)), ast.unparse(name)
