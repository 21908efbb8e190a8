"""Plain JSON values, checked once at the door and read-only from then on.

A store keeps in memory what it has on disk. A caller that changed a list inside an entry would
make the two differ without a trace, so whatever a store takes in or gives out goes through
``frozen``: a deep copy made of ``dict`` and ``list`` that refuse every change. They stay real
dicts and lists, so ``isinstance``, ``==`` and ``json.dumps`` work as usual; ``thawed`` gives a
copy that may be changed.
"""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from typing import Any, NoReturn

from holdtrue.store.port import AppendOnlyError, UnfitEntryError

MAX_DEPTH = 60
"""Levels of nesting taken; far below where Python's own parser gives up on reading back."""

MAX_INT = 2**63 - 1
"""Whole numbers beyond this are refused: not every store and no browser keeps them exactly."""


def _refuse(*_args: object, **_kwargs: object) -> NoReturn:
    raise AppendOnlyError("what is stored is never changed: make a copy, append a new entry")


class FrozenDict(dict[str, Any]):
    """A dict that refuses every change."""

    __slots__ = ()
    __setitem__ = __delitem__ = __ior__ = _refuse
    clear = pop = popitem = setdefault = update = _refuse

    def __copy__(self) -> dict[str, Any]:
        return dict(self)

    def __deepcopy__(self, memo: object) -> dict[str, Any]:
        copy: dict[str, Any] = thawed(self)
        return copy


class FrozenList(list[Any]):
    """A list that refuses every change."""

    __slots__ = ()
    __setitem__ = __delitem__ = __iadd__ = __imul__ = _refuse
    append = clear = extend = insert = pop = remove = reverse = sort = _refuse

    def __copy__(self) -> list[Any]:
        return list(self)

    def __deepcopy__(self, memo: object) -> list[Any]:
        copy: list[Any] = thawed(self)
        return copy


def frozen(value: object, path: str = "entry", depth: int = 0) -> Any:
    """A read-only deep copy of plain JSON; tuples become lists.

    Raises UnfitEntryError naming the path of the first value that JSON cannot carry unchanged.
    """
    if depth > MAX_DEPTH:
        raise UnfitEntryError(f"{path}: nested more than {MAX_DEPTH} deep")
    if value is None or isinstance(value, bool | FrozenDict | FrozenList):
        return value
    if isinstance(value, str):
        return _text(value, path)
    if isinstance(value, int | float):
        return _number(value, path)
    if isinstance(value, Mapping):
        return _frozen_dict(value, path, depth)
    if isinstance(value, list | tuple):
        items = (frozen(item, f"{path}[{i}]", depth + 1) for i, item in enumerate(value))
        return FrozenList(items)
    raise UnfitEntryError(f"{path}: {type(value).__name__} is not plain JSON")


def thawed(value: Any) -> Any:
    """A deep copy that may be changed."""
    if isinstance(value, Mapping):
        return {key: thawed(item) for key, item in value.items()}
    if isinstance(value, list):
        return [thawed(item) for item in value]
    return value


def canonical(value: object) -> str:
    """One text per JSON value: keys sorted, so that a repeat with reordered keys is the same.

    Compared as text because Python holds ``True == 1 == 1.0``, which are three things here.
    """
    return json.dumps(value, sort_keys=True, separators=(",", ":"), allow_nan=False)


def _frozen_dict(value: Mapping[Any, Any], path: str, depth: int) -> FrozenDict:
    for key in value:
        if not isinstance(key, str):
            raise UnfitEntryError(f"{path}: the key {key!r} is not text")
    return FrozenDict(
        (_text(key, path), frozen(item, f"{path}.{key}", depth + 1)) for key, item in value.items()
    )


def _text(value: str, path: str) -> str:
    try:
        value.encode()
    except UnicodeEncodeError:
        # Half a surrogate pair: JSON would join two halves into another text on reading back.
        raise UnfitEntryError(f"{path}: text with a broken character in it") from None
    # str.__str__ rather than str(): an enum of str prints its name, but its value is meant.
    return str.__str__(value)


def _number(value: float, path: str) -> float:
    if isinstance(value, int):
        if abs(value) > MAX_INT:
            raise UnfitEntryError(f"{path}: the whole number has more than 63 bits")
        return int(value)
    if not math.isfinite(value):
        raise UnfitEntryError(f"{path}: {value!r} is not a number JSON can carry")
    return float(value)
