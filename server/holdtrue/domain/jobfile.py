"""Job files, ``holdtrue.job/1``: from plain JSON to the core's values."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, cast

from holdtrue.core import model
from holdtrue.core.geometry import front_offset_mm
from holdtrue.core.materials import MATERIALS, layer_mass_kg
from holdtrue.core.sources import (
    FACTOR_ULTIMATE,
    FACTOR_WORKING,
    STUD_CLEARANCE_MM,
    STUD_WIDTH_MM,
)
from holdtrue.domain.errors import InputError
from holdtrue.domain.reader import Reader, read_length
from holdtrue.domain.subjects import FACING

FORMAT = "holdtrue.job/1"
UNITS = ("mm", "cm", "m", "in", "ft")
DEFAULT_TAPE_MM = {"in": 25.4 / 16, "ft": 25.4 / 16, "mm": 1.0, "cm": 1.0, "m": 1.0}
SAME_X_MM = 0.01
"""Two hangers of one panel closer than this in x count as at the same x."""
LEAST_SIZE_MM = 1.0
"""Least width and height of a panel: anything smaller is a slip of the unit."""
FINEST_MM = 0.01
"""Least tolerance and graduation: finer than anyone measures on a wall, and safe to divide by."""
MOST_SEATS = 400
"""More hangers than this in one job are refused: the time and memory of a recompute grow with their
square."""


def parse_job(document: object) -> model.Job:
    """The job a document describes; InputError with path, value and remedy when it is wrong."""
    top = Reader(document, "", "mm")
    # first: what is wrong with a file of another kind is its kind, not its keys
    check_format(top, FORMAT)
    top.known(
        (
            "format",
            "title",
            "unit",
            "panels",
            "layout",
            "slope",
            "wall",
            "fasteners",
            "tolerance",
            "uncertainty",
            "tape",
        )
    )
    top.unit = top.choice("unit", UNITS, "mm")
    title = top.text("title")
    fasteners = _fasteners(top.children("fasteners"))
    panels = _panels(top, {f.name: f for f in fasteners})
    return model.Job(
        title=title,
        unit=top.unit,
        panels=panels,
        layout=_layout(top.child("layout"), panels, top),
        wall=_wall(top.child("wall")) if top.has("wall") else model.Wall(),
        fasteners=fasteners,
        tolerance=_tolerance(top.child("tolerance")) if top.has("tolerance") else model.Tolerance(),
        uncertainty=_uncertainty(top.child("uncertainty"))
        if top.has("uncertainty")
        else model.Uncertainty(),
        graduation_mm=top.length("tape", DEFAULT_TAPE_MM[top.unit], low=FINEST_MM),
    )


def check_format(top: Reader, wanted: str) -> None:
    """Refuse a document of another kind or version."""
    value = top.need("format", f'"{wanted}"')
    if value != wanted:
        raise InputError("format", value, f'must be "{wanted}"')


def _panels(top: Reader, fasteners: dict[str, model.Fastener]) -> tuple[model.Panel, ...]:
    readers = top.children("panels", required=True)
    if not readers:
        raise InputError("panels", None, "must list at least one panel")
    panels: list[model.Panel] = []
    for reader in readers:
        panel = _panel(reader, fasteners)
        if any(panel.name.casefold() == other.name.casefold() for other in panels):
            raise InputError(
                reader.at("name"),
                panel.name,
                "is used twice; give each panel its own name, e.g. A, B, C",
            )
        panels.append(panel)
    seats = sum(len(panel.hangers) for panel in panels)
    if seats > MOST_SEATS:
        raise InputError(
            "panels", f"{seats} hangers", f"one job may have at most {MOST_SEATS}; split the work"
        )
    return tuple(panels)


def _panel(reader: Reader, fasteners: dict[str, model.Fastener]) -> model.Panel:
    reader.known(
        (
            "name",
            "width",
            "height",
            "depth",
            "mass",
            "layers",
            "measured_on",
            "centre_of_gravity",
            "centre_depth",
            "centre",
            "hangers",
            "bumper",
        )
    )
    name = reader.text("name")
    if name[-1].isdigit():
        raise InputError(
            reader.at("name"),
            name,
            "must not end in a digit (seats are named panel + number); write e.g. A or 1a",
        )
    if FACING in name:
        raise InputError(reader.at("name"), name, f'must not contain "{FACING}"; write e.g. A')
    width = reader.length("width", low=LEAST_SIZE_MM)
    height = reader.length("height", low=LEAST_SIZE_MM)
    face = cast(Any, reader.choice("measured_on", ("back", "front"), "back"))
    mass, mass_u = _mass(reader, width * height)
    hangers = _hangers(reader, fasteners, width, height, face)
    cg_u, cg_v = 0.0, 0.0
    if reader.has("centre_of_gravity"):
        cg = reader.child("centre_of_gravity")
        cg.known(("in", "down"))
        cg_u, cg_v = _offset(cg, "in", cg.length("in"), cg.length("down"), width, height, face)
    _check_balance(reader, hangers, cg_u)
    return model.Panel(
        name=name,
        width_mm=width,
        height_mm=height,
        depth_mm=reader.length("depth", 0.0, low=0.0),
        mass_kg=mass,
        mass_u_kg=mass_u,
        hangers=hangers,
        cg_u_mm=cg_u,
        cg_v_mm=cg_v,
        centre_depth_mm=reader.length("centre_depth", low=0.0)
        if reader.has("centre_depth")
        else None,
        measured_on=face,
        bumper_mm=reader.length("bumper", low=0.0) if reader.has("bumper") else None,
    )


def _mass(reader: Reader, area_mm2: float) -> tuple[float, float]:
    """Mass and its standard uncertainty [kg]: weighed, or from layers."""
    if reader.has("mass"):
        return reader.mass("mass"), 0.0
    if not reader.has("layers"):
        raise InputError(
            reader.at("mass"),
            None,
            'is missing; weigh the panel and give e.g. "12.5 kg", or list its layers',
        )
    total, variance = 0.0, 0.0
    for layer in reader.children("layers"):
        layer.known(("material", "thickness", "share", "density"))
        name = layer.text("material")
        known = MATERIALS.get(name.casefold())
        if layer.has("density"):
            density, share_u = layer.number("density", 0.0, low=1.0, high=25000.0), 0.0
        elif known:
            density, share_u = known.density_kg_m3, known.relative_u
        else:
            raise InputError(
                layer.at("material"),
                name,
                "is not in the table; add a density in "
                f"kg/m3, or use one of {', '.join(sorted(MATERIALS))}",
            )
        mass = layer_mass_kg(
            density_kg_m3=density,
            area_mm2=area_mm2,
            thickness_mm=layer.length("thickness", above=0.0),
            share=layer.number("share", 1.0, low=0.0, high=1.0),
        )
        total, variance = total + mass, variance + (mass * share_u) ** 2
    if total <= 0:
        raise InputError(reader.at("layers"), None, "must add up to a mass above 0")
    return total, variance**0.5


def _hangers(
    reader: Reader, fasteners: dict[str, model.Fastener], width: float, height: float, face: str
) -> tuple[model.Hanger, ...]:
    hangers: list[model.Hanger] = []
    readers = reader.children("hangers", required=True)
    if not readers:
        raise InputError(reader.at("hangers"), "[]", "must list at least one hanger")
    for index, entry in enumerate(readers):
        entry.known(("in", "in_from_right", "down", "hole_down", "of", "capacity"))
        key, in_mm = _one_of(entry, "in", "in_from_right")
        if key == "in_from_right":
            in_mm = width - in_mm
        down_mm = _down(entry, fasteners)
        u, v = _offset(entry, key, in_mm, down_mm, width, height, face)
        for other in hangers:
            if abs(other.u_mm - u) < SAME_X_MM:
                raise InputError(
                    entry.at(key),
                    entry.value[key],
                    f"is the same x as hangers[{other.source_index}]; two hangers of "
                    "one panel must stand apart sideways",
                )
        hangers.append(
            model.Hanger(u_mm=u, v_mm=v, capacity_N=entry.capacity("capacity"), source_index=index)
        )
    return tuple(sorted(hangers, key=lambda h: h.u_mm))


def _one_of(entry: Reader, first: str, second: str) -> tuple[str, float]:
    if entry.has(first) and entry.has(second):
        raise InputError(
            entry.at(second), entry.value[second], f"give {first} or {second}, not both"
        )
    key = second if entry.has(second) else first
    return key, entry.length(key)


def _down(entry: Reader, fasteners: dict[str, model.Fastener]) -> float:
    """Top edge down to the bearing point; from a hole measured with a sample fastener: + drop."""
    key, down = _one_of(entry, "down", "hole_down")
    if key == "down":
        return down
    name = entry.text("of")
    if name not in fasteners:
        raise InputError(
            entry.at("of"),
            name,
            "is not a fastener of this job; known: " + (", ".join(fasteners) or "none listed"),
        )
    return down + fasteners[name].drop_mm


def _offset(
    entry: Reader, key: str, in_mm: float, down_mm: float, width: float, height: float, face: str
) -> tuple[float, float]:
    if not 0 <= in_mm <= width:
        raise InputError(
            entry.at(key), entry.value[key], f"lies outside the panel; give 0 to {width:g} mm"
        )
    if not 0 <= down_mm <= height:
        down_key = "down" if entry.has("down") else "hole_down"
        raise InputError(
            entry.at(down_key),
            entry.value.get(down_key),
            f"lies outside the panel; give 0 to {height:g} mm from the top edge",
        )
    return front_offset_mm(in_mm, down_mm, width_mm=width, height_mm=height, measured_on=face)


def _check_balance(reader: Reader, hangers: Sequence[model.Hanger], cg_u: float) -> None:
    if len(hangers) > 1 and not hangers[0].u_mm <= cg_u <= hangers[-1].u_mm:
        path = reader.at("centre_of_gravity.in" if reader.has("centre_of_gravity") else "hangers")
        value = reader.value["centre_of_gravity"]["in"] if reader.has("centre_of_gravity") else None
        raise InputError(
            path,
            value,
            "the centre of gravity lies outside the outermost hangers: "
            "the panel would swing; check the numbers or move a hanger",
        )
    if sum(h.v_mm for h in hangers) / len(hangers) + reader.length("height") / 2 <= 0:
        raise InputError(reader.at("hangers"), None, "must bear above the bottom edge")


def _layout(reader: Reader, panels: Sequence[model.Panel], top: Reader) -> model.Layout:
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


def _wall(reader: Reader) -> model.Wall:
    reader.known(("behind", "studs", "stud_clearance", "keep_clear", "left", "right"))
    studs = []
    for entry in reader.children("studs"):
        entry.known(("x", "width", "material"))
        studs.append(
            model.Stud(
                x_mm=entry.length("x"),
                width_mm=entry.length("width", STUD_WIDTH_MM, above=0.0),
                material=cast(
                    Any, entry.choice("material", ("wood", "steel", "unknown"), "unknown")
                ),
            )
        )
    left, right = reader.optional_length("left"), reader.optional_length("right")
    if left is not None and right is not None and left >= right:
        raise InputError(
            reader.at("right"), reader.value["right"], "must lie right of the wall's left end"
        )
    return model.Wall(
        behind=cast(Any, reader.choice("behind", ("hollow", "backed", "solid"), "hollow")),
        studs=tuple(studs),
        stud_clearance_mm=reader.length("stud_clearance", STUD_CLEARANCE_MM, low=0.0),
        keep_clear=tuple(_keep_clear(entry) for entry in reader.children("keep_clear")),
        left_mm=left,
        right_mm=right,
    )


def _keep_clear(entry: Reader) -> model.KeepClear:
    entry.known(("x0", "y0", "x1", "y1", "why"))
    return model.KeepClear(
        x0_mm=entry.length("x0"),
        y0_mm=entry.length("y0"),
        x1_mm=entry.length("x1"),
        y1_mm=entry.length("y1"),
        why=entry.text("why", "keep clear"),
    )


def _fasteners(readers: Sequence[Reader]) -> tuple[model.Fastener, ...]:
    fasteners: list[model.Fastener] = []
    for entry in readers:
        entry.known(
            ("name", "into", "drop", "standoff", "capacity", "basis", "design_factor", "placing")
        )
        name = entry.text("name")
        if any(f.name == name for f in fasteners):
            raise InputError(entry.at("name"), name, "is used twice; give each fastener its name")
        basis = entry.choice("basis", ("working", "ultimate"), "working")
        fasteners.append(
            model.Fastener(
                name=name,
                into=cast(
                    Any, entry.choice("into", ("hollow", "stud", "steel", "backed", "solid"))
                ),
                drop_mm=entry.length("drop", 0.0),
                standoff_mm=entry.length("standoff", 0.0, low=0.0),
                capacity_N=entry.capacity("capacity"),
                basis=cast(Any, basis),
                basis_stated=entry.has("basis"),
                design_factor=entry.number(
                    "design_factor",
                    FACTOR_ULTIMATE if basis == "ultimate" else FACTOR_WORKING,
                    low=1.0,
                    high=10.0,
                ),
                placing_u_mm=entry.length("placing", above=0.0) if entry.has("placing") else None,
            )
        )
    return tuple(fasteners)


def _uncertainty(reader: Reader) -> model.Uncertainty:
    names = ("tape", "level", "placing", "stick")
    reader.known((*names, "level_per_m"))
    given = {name: reader.length(name, above=0.0) for name in names if reader.has(name)}
    if reader.has("level_per_m"):
        given["level_per_m"] = reader.number("level_per_m", 0.0, low=0.0, high=10.0)
    return model.Uncertainty(**given)


def _tolerance(reader: Reader) -> model.Tolerance:
    names = (
        "level",
        "slack",
        "bearing",
        "gap",
        "step",
        "centre",
        "height",
        "taper",
        "line",
        "flush",
    )
    reader.known(names)
    return model.Tolerance(
        **{name: reader.length(name, low=FINEST_MM) for name in names if reader.has(name)}
    )
