"""The wall of a job file: what is behind it, and what to keep clear of."""

from __future__ import annotations

from typing import Any, cast

from holdtrue.core import model
from holdtrue.core.sources import STUD_CLEARANCE_MM, STUD_WIDTH_MM
from holdtrue.core.sources_wall import OUTLET_MM
from holdtrue.domain.errors import InputError
from holdtrue.domain.reader import Reader

KEYS = (
    "behind",
    "studs",
    "stud_clearance",
    "keep_clear",
    "left",
    "right",
    "top",
    "outlets",
    "cable_zones",
)
ZONES = ("outlets", "prescribed")


def wall_of(reader: Reader) -> model.Wall:
    reader.known(KEYS)
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
        top_mm=reader.length("top", above=0.0) if reader.has("top") else None,
        outlets=tuple(_outlet(entry) for entry in reader.children("outlets")),
        cable_zones=cast(Any, reader.choice("cable_zones", ZONES, "outlets")),
    )


def _outlet(entry: Reader) -> model.Outlet:
    entry.known(("x", "y", "width", "height"))
    return model.Outlet(
        x_mm=entry.length("x"),
        y_mm=entry.length("y"),
        width_mm=entry.length("width", OUTLET_MM, above=0.0),
        height_mm=entry.length("height", OUTLET_MM, above=0.0),
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
