"""How a panel of a job file hangs: hangers on fasteners each, a wire, a cleat, four stand-offs.

Whatever the method, the panel's seats are where the wall carries it. ``hangers`` in the file are
the hardware people measure on the back: for a wire its two rings, for a cleat the places of its
screws along the rail's bearing edge, for stand-offs the four posts.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any, cast

from holdtrue.core import model
from holdtrue.core.errors import CoreError
from holdtrue.core.hang_loads import POSTS, wire_rise_mm
from holdtrue.core.readout import format_length
from holdtrue.core.sources import FACTOR_WORKING
from holdtrue.core.sources_hanging import FACTOR_WIRE
from holdtrue.domain.errors import InputError
from holdtrue.domain.reader import Reader

Hangers = tuple[model.Hanger, ...]

_KEYS: dict[model.Method, tuple[str, ...]] = {
    "hangers": (),
    "wire": (
        *("hooks", "apart", "length", "rise", "stiffness"),
        *("capacity", "basis", "design_factor"),
    ),
    "cleat": ("up", "out", "rail"),
    "standoff": (),
}
METHODS = tuple(_KEYS)
SAME_LEVEL_MM = 1.0
"""Rings of one wire and screws of one rail stand at one height within this. Our choice."""
_TOO_LOW = "must bear above the bottom edge: check how far down they are"
LEAST_RISE_MM = 1.0
"""Least rise of a wire: flatter, its pull is beyond anything that could be hung."""


def method_of(panel: Reader) -> model.Method:
    """The panel's hanging method; hangers on fasteners each where nothing is said."""
    if not panel.has("hang"):
        return "hangers"
    return cast(model.Method, panel.child("hang").choice("method", METHODS, "hangers"))


def hang_of(
    panel: Reader,
    method: model.Method,
    hangers: Hangers,
    *,
    mass_kg: float,
    height_mm: float,
    cg_u_mm: float,
) -> tuple[model.Hang, Hangers]:
    """The method's own figures, and the seats: the hardware itself, or a wire's hooks."""
    if not panel.has("hang"):
        return model.Hang(), hangers
    reader = panel.child("hang")
    _check_keys(reader, method)
    if method == "hangers":
        return model.Hang(), hangers
    if method == "wire":
        return _wire(panel, reader, hangers, mass_kg, height_mm)
    if method == "cleat":
        return _cleat(panel, reader, hangers), hangers
    return model.Hang(method="standoff"), _by_corner(panel, hangers, height_mm, cg_u_mm)


def _check_keys(reader: Reader, method: model.Method) -> None:
    """What belongs to another method is said to, rather than that nobody knows it."""
    for other, keys in _KEYS.items():
        for key in keys:
            if other != method and reader.has(key):
                raise InputError(
                    reader.at(key),
                    reader.value[key],
                    f'belongs to the method "{other}": leave it out, or choose that',
                )
    reader.known(("method", *_KEYS[method]))


def _by_corner(panel: Reader, posts: Hangers, height_mm: float, cg_u_mm: float) -> Hangers:
    """Left column, right column, the upper post of each first."""
    middle_u = sum(h.u_mm for h in posts) / len(posts)
    middle_v = sum(h.v_mm for h in posts) / len(posts)
    corners = {(h.u_mm > middle_u, h.v_mm > middle_v) for h in posts}
    if len(posts) != POSTS or len(corners) != POSTS:
        raise InputError(
            panel.at("hangers"),
            f"{len(posts)} hangers",
            "stand-offs are four, one near each corner of the panel",
        )
    if any(h.v_mm <= -height_mm / 2 for h in posts):
        raise InputError(panel.at("hangers"), panel.value["hangers"], _TOO_LOW)
    ordered = tuple(sorted(posts, key=lambda h: (h.u_mm > middle_u, -h.v_mm)))
    left, right = (sum(h.u_mm for h in side) / 2 for side in (ordered[:2], ordered[2:]))
    if not left <= cg_u_mm <= right:
        raise InputError(
            panel.at("hangers"),
            panel.value["hangers"],
            "the centre of gravity lies outside the stand-offs: the panel would swing; check the "
            "numbers or move a stand-off",
        )
    return ordered


def _cleat(panel: Reader, reader: Reader, screws: Hangers) -> model.Hang:
    if len(screws) < 2:
        raise InputError(
            panel.at("hangers"),
            f"{len(screws)} hangers",
            "a cleat's rail needs at least two screws; list the place of each",
        )
    _check_level(panel, screws, "the screws of one rail")
    rail_mm = reader.length("rail", above=0.0) if reader.has("rail") else None
    apart_mm = screws[-1].u_mm - screws[0].u_mm
    if rail_mm is not None and rail_mm < apart_mm:
        raise InputError(
            reader.at("rail"),
            reader.value["rail"],
            f"is shorter than its screws are apart; give at least {reader.least(apart_mm)}",
        )
    return model.Hang(
        method="cleat",
        cleat=model.CleatSpec(
            screws_up_mm=reader.length("up", above=0.0),
            out_mm=reader.length("out", low=0.0) if reader.has("out") else None,
            rail_mm=rail_mm,
        ),
    )


def _check_level(panel: Reader, hardware: Hangers, what: str) -> None:
    heights = [h.v_mm for h in hardware]
    if max(heights) - min(heights) > SAME_LEVEL_MM:
        raise InputError(
            panel.at("hangers"),
            panel.value["hangers"],
            f"{what} stand at one height (within {panel.most(SAME_LEVEL_MM)}): check how far "
            "down each is",
        )


def _wire(
    panel: Reader, reader: Reader, rings: Hangers, mass_kg: float, height_mm: float
) -> tuple[model.Hang, Hangers]:
    if len(rings) != 2:
        raise InputError(
            panel.at("hangers"), f"{len(rings)} hangers", "a wire has two rings: list both"
        )
    _check_level(panel, rings, "the two rings of a wire")
    spec = replace(_strength(reader), **_shape(reader, rings))
    rise_mm = _rise(reader, spec, mass_kg)
    if rise_mm < LEAST_RISE_MM:
        raise InputError(
            reader.at("length"),
            reader.value.get("length"),
            "is hardly more than the rings are apart: such a flat wire carries nothing; give a "
            "longer one",
        )
    up_mm = sum(ring.v_mm for ring in rings) / 2 + rise_mm
    key = "rise" if reader.has("rise") else "length"
    if up_mm > height_mm / 2:
        raise InputError(
            reader.at(key),
            reader.value[key],
            f"the hook would stand {format_length(up_mm - height_mm / 2, panel.unit)} above the "
            "panel's top edge; take a shorter wire or lower rings",
        )
    if sum(ring.v_mm for ring in rings) / 2 + height_mm / 2 <= 0:
        raise InputError(panel.at("hangers"), panel.value["hangers"], _TOO_LOW)
    middle = (rings[0].u_mm + rings[1].u_mm) / 2
    half = spec.hooks_mm / 2
    at = (middle,) if spec.hooks_mm == 0 else (middle - half, middle + half)
    hooks = tuple(model.Hanger(u_mm=u, v_mm=up_mm, source_index=i) for i, u in enumerate(at))
    return model.Hang(method="wire", wire=spec), hooks


def _shape(reader: Reader, rings: Hangers) -> dict[str, Any]:
    """Rings, hooks, and the wire's length or its rise under load."""
    hooks = reader.number("hooks", 1.0, low=1.0, high=2.0)
    if hooks not in (1.0, 2.0):
        raise InputError(reader.at("hooks"), reader.value["hooks"], "give 1 or 2")
    if hooks == 1 and reader.has("apart"):
        raise InputError(
            reader.at("apart"), reader.value["apart"], "belongs to two hooks: leave it out"
        )
    apart_mm = reader.length("apart", above=0.0) if hooks == 2 else 0.0
    rings_mm = rings[1].u_mm - rings[0].u_mm
    if apart_mm >= rings_mm:
        raise InputError(
            reader.at("apart"),
            reader.value["apart"],
            f"must be less than the rings are apart, {reader.most(rings_mm)}",
        )
    if reader.has("length") == reader.has("rise"):
        raise InputError(
            reader.at("length"),
            reader.value.get("length"),
            "give the wire's length from ring to ring, or its rise under load: one of the two",
        )
    capacities = [ring.capacity_N for ring in rings if ring.capacity_N is not None]
    return {
        "rings_mm": tuple((ring.u_mm, ring.v_mm) for ring in rings),
        "hooks_mm": apart_mm,
        "length_mm": reader.length("length", above=0.0) if reader.has("length") else None,
        "rise_mm": reader.length("rise", low=LEAST_RISE_MM) if reader.has("rise") else None,
        "ring_capacity_N": min(capacities, default=None),
    }


def _strength(reader: Reader) -> model.WireSpec:
    basis = reader.choice("basis", ("working", "ultimate"), "ultimate")
    factor = FACTOR_WIRE if basis == "ultimate" else FACTOR_WORKING
    return model.WireSpec(
        rings_mm=((0.0, 0.0), (0.0, 0.0)),
        stiffness_N=reader.capacity("stiffness"),
        capacity_N=reader.capacity("capacity"),
        basis=cast(Any, basis),
        basis_stated=reader.has("basis"),
        design_factor=reader.number("design_factor", factor, low=1.0, high=10.0),
    )


def _rise(reader: Reader, spec: model.WireSpec, mass_kg: float) -> float:
    try:
        return wire_rise_mm(mass_kg, spec)
    except CoreError as error:
        raise InputError(reader.at("length"), reader.value.get("length"), error.remedy) from error
