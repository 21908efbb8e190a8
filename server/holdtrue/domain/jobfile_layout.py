"""How the panels of a job file stand to each other and where the group hangs."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from holdtrue.core import model
from holdtrue.domain.errors import InputError
from holdtrue.domain.reader import Reader, read_length

_ROWS = "list the rows, the top one first, each with the names of its panels"


def layout_of(reader: Reader, panels: Sequence[model.Panel], top: Reader) -> model.Layout:
    reader.known(("kind", "gap", "align", "height", "offset", "rows"))
    kind = reader.choice("kind", ("row", "column", "grid", "free"))
    _refuse_other_kinds(reader, kind, top)
    aligns = ("left", "centre", "right") if kind == "column" else ("top", "centre", "bottom")
    common: dict[str, Any] = {
        "kind": kind,
        "align": reader.choice("align", aligns, "centre"),
        "slope_mm_per_m": top.number("slope", 0.0, low=-100.0, high=100.0),
    }
    if kind == "free":
        _check_idle(reader, len(panels) - 1)
        return model.Layout(**common, centres_mm=_free_centres(top.children("panels")))
    common |= _height(reader)
    if kind == "grid":
        gap_x, gap_y = _grid_gap(reader)
        return model.Layout(
            **common, gap_x_mm=gap_x, gap_y_mm=gap_y, rows=_grid_rows(reader, panels)
        )
    return model.Layout(**common, gaps_mm=_gaps(reader, len(panels) - 1))


def _refuse_other_kinds(reader: Reader, kind: str, top: Reader) -> None:
    if kind != "grid":
        reader.refuse("rows", "belong to a grid: leave them out, or make the layout one")
    if kind != "free":
        for panel in top.children("panels"):
            panel.refuse("centre", "belongs to a free layout: leave it out, or make the layout one")


def _check_idle(reader: Reader, gaps: int) -> None:
    """What a free layout does not use may be given all the same, but not wrongly."""
    if reader.is_stored:
        return
    if reader.has("height"):
        _height(reader)
    reader.length("offset", 0.0)
    _gaps(reader, gaps)


def _height(reader: Reader) -> dict[str, Any]:
    height = reader.child("height", "give the height above the floor, e.g. its centre at 1500 mm")
    height.known(("of", "at"))
    return {
        "height_of": height.choice("of", ("centre", "top", "bottom"), "centre"),
        "height_at_mm": height.length("at"),
        "offset_mm": reader.length("offset", 0.0),
    }


def _gaps(reader: Reader, count: int) -> tuple[float, ...]:
    value = reader.value.get("gap")
    if isinstance(value, dict):
        raise InputError(
            reader.at("gap"), value, "x and y belong to a grid; give one gap, or a list of them"
        )
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
    if isinstance(reader.value.get("gap"), list):
        raise InputError(
            reader.at("gap"), reader.value["gap"], "a grid has one gap, or x and y: give these"
        )
    both = reader.length("gap", 0.0, low=0.0)
    return both, both


def _grid_rows(reader: Reader, panels: Sequence[model.Panel]) -> tuple[tuple[int, ...], ...]:
    index = {panel.name: k for k, panel in enumerate(panels)}
    rows, seen = [], set[int]()
    for r, names in enumerate(reader.items("rows", least_one=_ROWS)):
        path = f"{reader.at('rows')}[{r}]"
        if not isinstance(names, list) or not names:
            raise InputError(path, names, 'must be a list of panel names, e.g. ["A", "B"]')
        row = []
        for i, name in enumerate(names):
            if not isinstance(name, str) or name not in index:
                raise InputError(f"{path}[{i}]", name, "is not a panel; known: " + ", ".join(index))
            if index[name] in seen:
                raise InputError(f"{path}[{i}]", name, "stands in the grid twice; name it once")
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
        centre = reader.child("centre", "give x and y of the panel's centre")
        centre.known(("x", "y"))
        centres.append((centre.length("x"), centre.length("y")))
    return tuple(centres)
