"""Panels of a job file: sizes, masses, hangers, balance."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, cast

from holdtrue.core import model
from holdtrue.core.geometry import front_offset_mm
from holdtrue.core.materials import MATERIALS, TYPED_DENSITY_U, Layer, layers_mass_kg
from holdtrue.core.sources_trim import SHIM_MOST_MM
from holdtrue.domain.errors import InputError
from holdtrue.domain.jobfile_hang import hang_of, method_of
from holdtrue.domain.reader import Reader
from holdtrue.domain.subjects import FACING

SAME_X_MM = 0.01
"""Two hangers of one panel closer than this in x count as at the same x."""
LEAST_SIZE_MM = 1.0
"""Least width and height of a panel: anything smaller is a slip of the unit."""
MOST_SEATS = 400
"""More hangers than this in one job are refused: the time and memory of a recompute grow with their
square."""

_NO_PATH = ("", ".", "..")
"""Browsers and servers take these parts out of an address; the page would not be found."""


def panels_of(top: Reader, fasteners: dict[str, model.Fastener]) -> tuple[model.Panel, ...]:
    readers = top.children("panels", least_one="list at least one panel")
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


KEYS = (
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
    "hang",
    "shims",
    "bumper",
)


def _panel(reader: Reader, fasteners: dict[str, model.Fastener]) -> model.Panel:
    reader.known(KEYS)
    name = _name(reader)
    width = reader.length("width", low=LEAST_SIZE_MM)
    height = reader.length("height", low=LEAST_SIZE_MM)
    face = cast(Any, reader.choice("measured_on", ("back", "front"), "back"))
    mass, mass_u = _mass(reader, width * height)
    method = method_of(reader)
    hangers = _hangers(reader, fasteners, width, height, face, is_by_corner=method == "standoff")
    cg_u, cg_v = 0.0, 0.0
    if reader.has("centre_of_gravity"):
        cg = reader.child("centre_of_gravity")
        cg.known(("in", "down"))
        cg_u, cg_v = _offset(cg, "in", cg.length("in"), cg.length("down"), width, height, face)
    hang, hangers = hang_of(reader, method, hangers, mass_kg=mass, height_mm=height, cg_u_mm=cg_u)
    if method != "wire":
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
        hang=hang,
        shims_mm=_shims(reader, method),
        bumper_mm=reader.length("bumper", low=0.0) if reader.has("bumper") else None,
    )


def _name(reader: Reader) -> str:
    name = reader.text("name")
    if name[-1].isdigit():
        raise InputError(
            reader.at("name"),
            name,
            "must not end in a digit (seats are named panel + number); write e.g. A or 1a",
        )
    if FACING in name:
        raise InputError(reader.at("name"), name, f'must not contain "{FACING}"; write e.g. A')
    if "/" in name and any(part in _NO_PATH for part in name.split("/")):
        raise InputError(
            reader.at("name"), name, "cannot stand in the address of a page; write e.g. A or A/b"
        )
    return name


def _shims(reader: Reader, method: str) -> float:
    """Planned under each ring; only a ring that bears on its own fastener takes any."""
    if not reader.has("shims"):
        return 0.0
    mm = reader.length("shims", low=0.0)
    if mm > 0 and method != "hangers":
        raise InputError(
            reader.at("shims"),
            reader.value["shims"],
            f"a {method} has no ring; leave it out",
        )
    if mm > SHIM_MOST_MM:
        raise InputError(
            reader.at("shims"),
            reader.value["shims"],
            f"is more than a ring takes; give 0 to {SHIM_MOST_MM:g} mm, best half of that",
        )
    return mm


def _mass(reader: Reader, area_mm2: float) -> tuple[float, float]:
    """Mass and its standard uncertainty [kg]: weighed, or from layers."""
    if reader.has("mass"):
        if not reader.is_stored:  # weighed, they do not count, but they must not be wrong
            _layers(reader)
        return reader.mass("mass"), 0.0
    if not reader.has("layers"):
        raise InputError(
            reader.at("mass"),
            None,
            'is missing; weigh the panel and give e.g. "12.5 kg", or list its layers',
        )
    mass_kg, u_kg = layers_mass_kg(_layers(reader), area_mm2=area_mm2)
    if mass_kg <= 0:
        raise InputError(
            reader.at("layers"), reader.value["layers"], "must add up to a mass above 0"
        )
    return mass_kg, u_kg


def _layers(reader: Reader) -> list[Layer]:
    return [_layer(layer) for layer in reader.children("layers")]


def _layer(layer: Reader) -> Layer:
    layer.known(("material", "thickness", "share", "density", "density_u"))
    name = layer.text("material").casefold()
    known = MATERIALS.get(name)
    if layer.has("density"):
        density = layer.number("density", 0.0, low=1.0, high=25000.0)
        relative_u = layer.number("density_u", TYPED_DENSITY_U, low=0.0, high=1.0)
    elif known:
        density, relative_u = known.density_kg_m3, known.relative_u
    else:
        raise InputError(
            layer.at("material"),
            layer.value["material"],
            "is not in the table; add a density in "
            f"kg/m3, or use one of {', '.join(sorted(MATERIALS))}",
        )
    if layer.has("density_u") and not layer.has("density"):
        remedy = "goes with a density of your own; give one in kg/m3, or leave it out"
        raise InputError(layer.at("density_u"), layer.value["density_u"], remedy)
    return Layer(
        material=name,
        density_kg_m3=density,
        density_u=relative_u,
        thickness_mm=layer.length("thickness", above=0.0),
        share=layer.number("share", 1.0, low=0.0, high=1.0),
    )


def _hangers(
    reader: Reader,
    fasteners: dict[str, model.Fastener],
    width: float,
    height: float,
    face: str,
    *,
    is_by_corner: bool,
) -> tuple[model.Hanger, ...]:
    hangers: list[model.Hanger] = []
    readers = reader.children("hangers", least_one="list at least one hanger")
    for index, entry in enumerate(readers):
        entry.known(("in", "in_from_right", "down", "hole_down", "of", "capacity"))
        key, in_mm = _one_of(entry, "in", "in_from_right")
        if key == "in_from_right":
            in_mm = width - in_mm
        down_mm = _down(entry, fasteners)
        u, v = _offset(entry, key, in_mm, down_mm, width, height, face)
        for other in hangers:
            if abs(other.u_mm - u) < SAME_X_MM and not is_by_corner:
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
        entry.refuse("of", "belongs to hole_down, the hole of a sample fastener: leave it out")
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
            entry.at(key),
            entry.value[key],
            f"lies outside the panel; give 0 to {entry.most(width)}",
        )
    if not 0 <= down_mm <= height:
        down_key = "down" if entry.has("down") else "hole_down"
        raise InputError(
            entry.at(down_key),
            entry.value.get(down_key),
            f"lies outside the panel; give 0 to {entry.most(height)} from the top edge",
        )
    return front_offset_mm(in_mm, down_mm, width_mm=width, height_mm=height, measured_on=face)


def _check_balance(reader: Reader, hangers: Sequence[model.Hanger], cg_u: float) -> None:
    if len(hangers) > 1 and not hangers[0].u_mm <= cg_u <= hangers[-1].u_mm:
        is_given = reader.has("centre_of_gravity")
        raise InputError(
            reader.at("centre_of_gravity.in" if is_given else "hangers"),
            reader.value["centre_of_gravity"]["in"] if is_given else reader.value["hangers"],
            "the centre of gravity lies outside the outermost hangers: "
            "the panel would swing; check the numbers or move a hanger",
        )
    if sum(h.v_mm for h in hangers) / len(hangers) + reader.length("height") / 2 <= 0:
        raise InputError(
            reader.at("hangers"),
            reader.value["hangers"],
            "must bear above the bottom edge: check how far down they are",
        )
