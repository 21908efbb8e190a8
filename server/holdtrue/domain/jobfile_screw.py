"""A wood screw described in a job file: what its published formula needs to know."""

from __future__ import annotations

from typing import Any, cast

from holdtrue.core import model
from holdtrue.core.sources_wood import (
    BENDING_YIELD_PSI,
    GAUGES,
    GRAVITY_MAX,
    GRAVITY_MIN,
    SPECIES_GRAVITY,
)
from holdtrue.core.wood_screws import IN_MM
from holdtrue.domain.errors import InputError
from holdtrue.domain.reader import Reader

KEYS = (
    "gauge",
    "diameter",
    "root",
    "length",
    "thread",
    "lining",
    "side",
    "side_thickness",
    "side_gravity",
    "species",
    "specific_gravity",
    "service",
    "heat",
)
THICKEST_MM = BENDING_YIELD_PSI[-1][0] * IN_MM
"""Thickest screw whose bending yield strength the formula knows."""
_SPECIES = {name.casefold(): gravity for name, gravity in SPECIES_GRAVITY.items()}


def screw_of(fastener: Reader) -> model.ScrewSpec:
    """The ``screw`` of a fastener that goes into studs."""
    reader = fastener.child("screw")
    reader.known(KEYS)
    if fastener.value.get("into") != "stud":
        raise InputError(
            reader.path,
            reader.value,
            'belongs to a fastener into "stud", its formula holds for wood only: leave it out',
        )
    length_mm = reader.length("length", above=0.0)
    thread_mm = reader.length("thread", above=0.0) if reader.has("thread") else None
    if thread_mm is not None and thread_mm > length_mm:
        raise InputError(
            reader.at("thread"),
            reader.value["thread"],
            f"is longer than the screw itself; give at most {reader.most(length_mm)}",
        )
    return model.ScrewSpec(
        length_mm=length_mm,
        thread_mm=thread_mm,
        gravity=_gravity(reader),
        service=cast(Any, reader.choice("service", ("dry", "wet"), "dry")),
        heat=cast(Any, reader.choice("heat", ("usual", "warm", "hot"), "usual")),
        **_diameters(reader),
        **_before_wood(fastener, reader),
    )


def _diameters(reader: Reader) -> dict[str, Any]:
    """The gauge, or diameter and root as measured."""
    if not reader.has("diameter"):
        listed = ", ".join(map(str, GAUGES))
        if reader.has("root"):
            raise InputError(
                reader.at("root"), reader.value["root"], "belongs to a diameter; give both"
            )
        if not reader.has("gauge"):
            raise InputError(
                reader.at("gauge"), None, f"is missing; give one of {listed}, or diameter and root"
            )
        gauge = reader.number("gauge", 0.0, low=min(GAUGES), high=max(GAUGES))
        if gauge not in GAUGES:
            raise InputError(reader.at("gauge"), reader.value["gauge"], f"give one of {listed}")
        return {"gauge": int(gauge)}
    if reader.has("gauge"):
        raise InputError(
            reader.at("diameter"), reader.value["diameter"], "give gauge or diameter, not both"
        )
    diameter_mm, root_mm = reader.length("diameter", above=0.0), reader.length("root", above=0.0)
    if diameter_mm > THICKEST_MM:
        raise InputError(
            reader.at("diameter"),
            reader.value["diameter"],
            f"is beyond the formula's table; give at most {reader.most(THICKEST_MM)}",
        )
    if root_mm >= diameter_mm:
        raise InputError(
            reader.at("root"),
            reader.value["root"],
            "must be less than the diameter over the thread",
        )
    return {"diameter_mm": diameter_mm, "root_mm": root_mm}


def _gravity(reader: Reader) -> float | None:
    """Specific gravity of the stud; None: not known, the lightest is counted."""
    if not reader.has("species"):
        if not reader.has("specific_gravity"):
            return None
        return reader.number("specific_gravity", 0.0, low=GRAVITY_MIN, high=GRAVITY_MAX)
    name = reader.text("species")
    if reader.has("specific_gravity"):
        raise InputError(reader.at("species"), name, "give species or specific_gravity, not both")
    if name.casefold() not in _SPECIES:
        raise InputError(
            reader.at("species"),
            name,
            "is not in the table; give a specific_gravity, or use one of "
            + ", ".join(SPECIES_GRAVITY),
        )
    return _SPECIES[name.casefold()]


def _before_wood(fastener: Reader, reader: Reader) -> dict[str, Any]:
    """What lies between the screw's head and the stud: a lining, or hardware that touches it."""
    lining_mm = reader.length("lining", 0.0, low=0.0)
    side = reader.choice("side", ("none", "steel", "wood"), "none")
    if side == "none":
        for key in ("side_thickness", "side_gravity"):
            if reader.has(key):
                raise InputError(
                    reader.at(key), reader.value[key], 'belongs to a side of "steel" or "wood"'
                )
        return {"lining_mm": lining_mm}
    if lining_mm > 0:
        raise InputError(
            reader.at("lining"),
            reader.value["lining"],
            "a side member counts only where it touches the stud; leave one of the two out",
        )
    side_mm = reader.length("side_thickness", above=0.0)
    if fastener.length("standoff", 0.0) < side_mm:
        raise InputError(
            fastener.at("standoff"),
            fastener.value.get("standoff"),
            "the screw passes its whole side member; give at least side_thickness",
        )
    given: dict[str, Any] = {"side": side, "side_mm": side_mm}
    if reader.has("side_gravity"):
        given["side_gravity"] = reader.number(
            "side_gravity", 0.0, low=GRAVITY_MIN, high=GRAVITY_MAX
        )
    return given
