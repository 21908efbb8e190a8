"""Path-named form fields and the nested document they stand for, both ways.

``panels[0].hangers[1].in=25 5/8`` becomes ``{"panels": [{"hangers": [..., {"in": "25 5/8"}]}]}``
and back. Everything typed stays the text it was. Blank fields stand for keys that are not there; a
list row with nothing typed in it is no row, and the rows behind it move up *before* anything is
checked, so that the paths of errors name the fields as they are shown again.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from holdtrue.domain.errors import InputError

Tree = dict[str, Any]
"""Nested dicts and lists with texts at the ends: a form as it was filled in, blanks included."""
Step = str | int

MOST_FIELDS = 300_000
"""More than the form of the largest job has that is taken in."""
DEEPEST = 8
PLACED_LISTS = frozenset({"gap"})
"""Lists of texts whose places mean something: a blank in the middle stays where it is."""

_NAME = re.compile(r"[a-z_][a-z0-9_]{0,40}")
_PATH = re.compile(rf"{_NAME.pattern}(?:\[[0-9]{{1,3}}\]|\.{_NAME.pattern})*")
_STEP = re.compile(rf"({_NAME.pattern})|\[([0-9]+)\]")


def split_path(path: str) -> tuple[Step, ...]:
    """The steps of a path.

    >>> split_path("panels[0].hangers[1].in")
    ('panels', 0, 'hangers', 1, 'in')
    """
    if not _PATH.fullmatch(path):
        raise InputError("form", path[:60], "is not the name of a field")
    steps = [name or int(place) for name, place in _STEP.findall(path)]
    if len(steps) > DEEPEST:
        raise InputError("form", path[:60], "is not the name of a field")
    return tuple(steps)


def join_path(steps: Iterable[Step]) -> str:
    """The path of steps; the inverse of ``split_path``."""
    path = ""
    for step in steps:
        path += f"[{step}]" if isinstance(step, int) else f".{step}" if path else step
    return path


def read_fields(fields: Iterable[tuple[str, str]]) -> Tree:
    """The tree of a sent form; the numbers in brackets only order the rows."""
    root: dict[Step, Any] = {}
    for count, (name, text) in enumerate(fields):
        if count >= MOST_FIELDS:
            raise InputError("form", None, f"has more than {MOST_FIELDS} fields")
        _put(root, split_path(name), text)
    tree: Tree = _with_lists(root, "form")
    return tree


def _put(root: dict[Step, Any], steps: tuple[Step, ...], text: str) -> None:
    place = root
    for step in steps[:-1]:
        inner = place.setdefault(step, {})
        if not isinstance(inner, dict):
            raise InputError(join_path(steps), None, "stands both for a text and for a group")
        place = inner
    if isinstance(place.get(steps[-1]), dict):
        raise InputError(join_path(steps), None, "stands both for a text and for a group")
    place[steps[-1]] = text


def _with_lists(node: Any, path: str) -> Any:
    if not isinstance(node, dict):
        return node
    kinds = {isinstance(step, int) for step in node}
    if len(kinds) > 1:
        raise InputError(path, None, "stands both for a list and for a group")
    if True in kinds:
        return [_with_lists(node[step], path) for step in sorted(node)]
    return {str(step): _with_lists(inner, str(step)) for step, inner in node.items()}


def write_fields(document: object) -> Iterator[tuple[str, str]]:
    """The fields of a document, in its order; numbers as people would type them."""
    yield from _write(document, ())


def _write(node: object, steps: tuple[Step, ...]) -> Iterator[tuple[str, str]]:
    if isinstance(node, Mapping):
        for name, inner in node.items():
            yield from _write(inner, (*steps, name))
    elif isinstance(node, list | tuple):
        for place, inner in enumerate(node):
            yield from _write(inner, (*steps, place))
    elif node is not None:
        yield join_path(steps), node if isinstance(node, str) else repr(node)


def tree_of(document: object) -> Tree:
    """A document as a filled-in form."""
    return read_fields(write_fields(document))


def without_blank_rows(tree: Tree) -> Tree:
    """The form with the rows nobody filled in left out; blank single fields stay."""
    cleaned: Tree = _without_blank_rows(tree, "")
    return cleaned


def _without_blank_rows(node: Any, name: str) -> Any:
    if isinstance(node, dict):
        return {key: _without_blank_rows(inner, key) for key, inner in node.items()}
    if not isinstance(node, list):
        return node
    rows = [_without_blank_rows(inner, "") for inner in node]
    if name not in PLACED_LISTS:
        return [row for row in rows if not is_blank(row)]
    while rows and is_blank(rows[-1]):
        rows.pop()
    return rows


def is_blank(node: Any) -> bool:
    """Whether nothing was typed anywhere in this part of the form."""
    if isinstance(node, dict):
        return all(is_blank(inner) for inner in node.values())
    if isinstance(node, list):
        return all(is_blank(inner) for inner in node)
    return not str(node).strip()


def document_of(tree: Tree) -> dict[str, Any]:
    """The document a form stands for: blank fields and empty groups left out, rows kept."""
    return {name: _filled(inner) for name, inner in tree.items() if not is_blank(inner)}


def _filled(node: Any) -> Any:
    if isinstance(node, dict):
        return document_of(node)
    if isinstance(node, list):
        return [_filled(inner) for inner in node]
    return node


def text_at(tree: Tree, path: str) -> str:
    """What stands in a field; "" where there is none."""
    node = node_at(tree, path)
    return node if isinstance(node, str) else ""


def node_at(tree: Tree, path: str) -> Any:
    """The part of the form at a path; None where there is none."""
    node: Any = tree
    for step in split_path(path):
        if isinstance(node, dict):
            node = node.get(step)
        elif isinstance(node, list) and isinstance(step, int) and step < len(node):
            node = node[step]
        else:
            return None
    return node


def with_row(tree: Tree, path: str, row: Any) -> Tree:
    """The form with one more row at the end of the list at ``path``."""
    rows = node_at(tree, path)
    if rows is not None and not isinstance(rows, list):
        raise InputError("action", path, "no row can be added here")
    return _changed(tree, split_path(path), [*(rows or []), row])


def without_row(tree: Tree, path: str) -> Tree:
    """The form without the list row at ``path`` (``panels[1]``)."""
    *parents, last = split_path(path)
    rows = node_at(tree, join_path(parents)) if parents else None
    if not isinstance(rows, list) or not isinstance(last, int) or last >= len(rows):
        raise InputError("action", path, "there is no such row")
    return _changed(tree, tuple(parents), rows[:last] + rows[last + 1 :])


def with_node(tree: Tree, path: str, node: Any) -> Tree:
    """The form with the part at ``path`` replaced (None: removed)."""
    return _changed(tree, split_path(path), node)


def _changed(tree: Tree, steps: tuple[Step, ...], node: Any) -> Tree:
    changed: Tree = _replaced(tree, steps, node)
    return changed


def _replaced(tree: Any, steps: tuple[Step, ...], node: Any) -> Any:
    if not steps:
        return node
    step, rest = steps[0], steps[1:]
    if isinstance(step, int):
        if not isinstance(tree, list) or step >= len(tree):
            raise InputError("action", step, "there is no such row")
        return [_replaced(old, rest, node) if i == step else old for i, old in enumerate(tree)]
    if tree is not None and not isinstance(tree, dict):
        raise InputError("action", step, "nothing can be put here")
    new = _replaced((tree or {}).get(step), rest, node)
    others = {
        name: inner for name, inner in (tree or {}).items() if name != step or new is not None
    }
    return {**others, step: new} if new is not None else others
