"""Whether two questions are asked of the same numbers, so that one answer serves both."""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Set
from dataclasses import fields, is_dataclass
from typing import Generic, TypeVar

import numpy as np

T = TypeVar("T")


class Same(Generic[T]):
    """A question's numbers: equal to another's where every one of them is the same."""

    __slots__ = ("_hash", "_key", "value")

    def __init__(self, value: T) -> None:
        self.value = value
        self._key = _key(value)
        self._hash = hash(self._key)

    def __hash__(self) -> int:
        return self._hash

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Same) and self._key == other._key


def _key(value: object) -> Hashable:
    if isinstance(value, np.ndarray):
        return (value.dtype.str, value.shape, value.tobytes())
    if is_dataclass(value):
        return (type(value), *(_key(getattr(value, one.name)) for one in fields(value)))
    if isinstance(value, Mapping):
        return tuple((name, _key(one)) for name, one in value.items())
    if isinstance(value, list | tuple):
        return tuple(_key(one) for one in value)
    if isinstance(value, Set):
        return frozenset(_key(one) for one in value)
    if isinstance(value, Hashable):
        return value
    raise TypeError(f"cannot be compared: {type(value).__name__}")
