"""How the panels of a job file stand to each other and where the group hangs."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from holdtrue.core import model
from holdtrue.domain.errors import InputError
from holdtrue.domain.reader import Reader, read_length


def layout_of(reader: Reader, panels: Sequence[model.Panel], top: Reader) -> model.Layout:
    reader.known(("kind", "gap", "align", "height", "offset", "rows"))
    kind = reader.choice("kind", ("row", "column", "grid", "free"))
    aligns = ("left", "centre", "right") if kind == "column" else ("top", "centre", "bottom")
    common: dict[str, Any] = {
        "kind": kind,
        "align": reader.choice("align", aligns, "centre"),
        "slope_mm_per_m": top.number("slope", 0.0, low=-100.0, high=100.0),
    }
    if kind == "free":
        return model.Layout(**common, centres_mm=_free_centres(top.children("panels")))
    height = reader.child("height")
    height.known(("of", "at"))
    common |= {
        "height_of": height.choice("of", ("centre", "top", "bottom"), "centre"),
        "height_at_mm": height.length("at"),
        "offset_mm": reader.length("offset", 0.0),
    }
    if kind == "grid":
        gap_x, gap_y = _grid_gap(reader)
        return model.Layout(
            **common, gap_x_mm=gap_x, gap_y_mm=gap_y, rows=_grid_rows(reader, panels)
        )
    return model.Layout(**common, gaps_mm=_gaps(reader, len(panels) - 1))


def _gaps(reader: Reader, count: int) -> tuple[float, ...]:
    value = reader.value.get("gap")
    if not isinstance(value, list):
        return (reader.length("gap", 0.0, low=0.0),) * count
    if len(value) != count:
        raise InputError(
            reader.at("gap"),
            value,
            f"must have one entry fewer than the panels: {count}, not {len(value)}",
        )
    return tuple(
        _gap(item, f"{reader.at('gap')}[{i}]", reader.unit) for i, item in enumerate(value)
    )


def _gap(value: object, path: str, unit: str) -> float:
    gap = read_length(value, path, unit)
    if gap < 0:
        raise InputError(path, value, "must not be negative")
    return gap


def _grid_gap(reader: Reader) -> tuple[float, float]:
    if isinstance(reader.value.get("gap"), dict):
        gap = reader.child("gap")
        gap.known(("x", "y"))
        return gap.length("x", 0.0, low=0.0), gap.length("y", 0.0, low=0.0)
    both = reader.length("gap", 0.0, low=0.0)
    return both, both


def _grid_rows(reader: Reader, panels: Sequence[model.Panel]) -> tuple[tuple[int, ...], ...]:
    index = {panel.name: k for k, panel in enumerate(panels)}
    rows, seen = [], set[int]()
    for r, names in enumerate(reader.items("rows", required=True)):
        path = f"{reader.at('rows')}[{r}]"
        if not isinstance(names, list) or not names:
            raise InputError(path, names, 'must be a list of panel names, e.g. ["A", "B"]')
        row = []
        for i, name in enumerate(names):
            if not isinstance(name, str) or name not in index:
                raise InputError(f"{path}[{i}]", name, "is not a panel; known: " + ", ".join(index))
            if index[name] in seen:
                raise InputError(f"{path}[{i}]", name, "stands in the grid twice")
            seen.add(index[name])
            row.append(index[name])
        rows.append(tuple(row))
    missing = [panel.name for k, panel in enumerate(panels) if k not in seen]
    if missing:
        raise InputError(
            reader.at("rows"),
            None,
            "every panel must stand in a row; missing: " + ", ".join(missing),
        )
    return tuple(rows)


def _free_centres(panels: Sequence[Reader]) -> tuple[tuple[float, float], ...]:
    centres = []
    for reader in panels:
        centre = reader.child("centre")
        centre.known(("x", "y"))
        centres.append((centre.length("x"), centre.length("y")))
    return tuple(centres)
