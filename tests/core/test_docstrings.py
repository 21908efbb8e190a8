"""Every public function of the core says what it takes, gives, refuses and where it comes from."""

from __future__ import annotations

import ast
import doctest
import importlib
import re
from collections.abc import Iterator
from itertools import pairwise
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
    missing += [
        f"unit of {a.arg}" for a in arguments if is_number(a) and not has_unit(a.arg, after)
    ]
    source = said.partition("Source:")[2].strip()
    if re.match(r"(none|nothing|unknown|-)?\.?$", source, re.IGNORECASE):
        missing.append("a source that is one")
    return missing


def is_number(argument: ast.arg) -> bool:
    """A measured quantity or an array of them, by its annotation."""
    said = ast.unparse(argument.annotation) if argument.annotation else ""
    return bool(re.search(r"\b(float|Vector|Array|ArrayLike|NDArray)\b", said))


def has_unit(name: str, said: str) -> bool:
    """Its unit follows its name, before the next one's: names may share one."""
    return bool(re.search(rf"\b{name}\b[^;]*?\[[^\[\]\n]{{1,24}}\]", said))


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
        "Weight. Parameters: mass_kg; g [-]. Returns: [N]. Raises: nothing. Source: physics.",
        "Weight. Parameters: mass_kg [kg]. Returns: [N]. Raises: nothing. Source: none.",
    ],
)
def test_what_is_missing_is_found(docstring: str) -> None:
    (function,) = public_functions(f'def weight(mass_kg: float):\n    """{docstring}"""')
    assert faults(function) != []


@pytest.mark.parametrize("path", sorted(CORE.glob("*.py")), ids=lambda path: str(path.stem))
def test_examples_in_docstrings_hold(path: Path) -> None:
    module = importlib.import_module(
        f"holdtrue.core.{path.stem}" if path.stem != "__init__" else "holdtrue.core"
    )
    assert doctest.testmod(module).failed == 0


@pytest.mark.parametrize("path", sorted(CORE.glob("*.py")), ids=lambda path: str(path.stem))
def test_a_source_named_as_the_module_head_stands_there(path: Path) -> None:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    refers = [
        function.name
        for function in public_functions(ast.unparse(tree))
        if "module head" in (ast.get_docstring(function) or "").partition("Source:")[2]
    ]
    assert not refers or re.search("^Source", ast.get_docstring(tree) or "", re.MULTILINE), refers


@pytest.mark.parametrize("path", sorted(CORE.glob("sources*.py")), ids=lambda p: str(p.stem))
def test_constants_say_their_unit_and_source(path: Path) -> None:
    """Each figure is followed by a text that opens with its unit in brackets and says more."""
    body = ast.parse(path.read_text(encoding="utf-8")).body
    figures = 0
    for name, text in pairwise(body):
        if not isinstance(name, ast.Assign | ast.AnnAssign) or re.search(
            r"Literal|\[str\b|= '", ast.unparse(name)
        ):
            continue
        target = name.target if isinstance(name, ast.AnnAssign) else name.targets[0]
        if ast.unparse(target).startswith("_"):
            continue
        figures += 1
        said = text.value if isinstance(text, ast.Expr) else None
        assert isinstance(said, ast.Constant), ast.unparse(name)
        assert re.match(r"\(?\[[^\]]+\]\D* \S", str(said.value)), ast.unparse(name)
    assert figures > 1
