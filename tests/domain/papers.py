"""Documents to read: the reference ones, a smallest job, and places in them to change."""

from __future__ import annotations

import json
import re
from copy import deepcopy
from pathlib import Path
from typing import Any

from holdtrue.domain.errors import InputError

REFERENCE = Path(__file__).parents[1] / "reference"
TOLERANCES = (
    *("level", "slack", "bearing", "gap", "step"),
    *("centre", "height", "taper", "line", "flush"),
)
GONE = object()
"""Put in place of a value: the key is left out."""


def reference(name: str) -> dict[str, Any]:
    document: dict[str, Any] = json.loads((REFERENCE / name).read_text(encoding="utf-8"))
    return document


def smallest() -> dict[str, Any]:
    """A job that says only what it must."""
    return {
        "format": "holdtrue.job/1",
        "title": "One panel",
        "panels": [
            {
                "name": "A",
                "width": 500,
                "height": 700,
                "mass": 10,
                "hangers": [{"in": 100, "down": 50}, {"in": 400, "down": 60}],
            }
        ],
        "layout": {"kind": "row", "height": {"at": 1500}},
    }


def full() -> dict[str, Any]:
    """A job that says everything once."""
    return {
        **smallest(),
        "unit": "mm",
        "panels": [
            {
                "name": "A",
                "width": 500,
                "height": 700,
                "depth": 40,
                "layers": [{"material": "mdf", "thickness": 18, "share": 0.5, "density": 700}],
                "measured_on": "front",
                "centre_of_gravity": {"in": 250, "down": 350},
                "centre_depth": 20,
                "bumper": 10,
                "hangers": [
                    {"in": 100, "down": 50, "capacity": "30 kg"},
                    {"in_from_right": 100, "hole_down": 60, "of": "toggle"},
                ],
            },
            {
                "name": "B",
                "width": 300,
                "height": 300,
                "mass": "4 kg",
                "hangers": [{"in": 150, "down": 20}],
            },
        ],
        "layout": {
            "kind": "grid",
            "rows": [["A"], ["B"]],
            "gap": {"x": 20, "y": 30},
            "align": "top",
            "height": {"of": "bottom", "at": 800},
            "offset": -35,
        },
        "slope": 2,
        "wall": {
            "behind": "hollow",
            "studs": [{"x": -200, "width": 38, "material": "wood"}],
            "stud_clearance": 5,
            "keep_clear": [{"x0": 900, "y0": 0, "x1": 1000, "y1": 2000, "why": "a cable"}],
            "left": -3000,
            "right": 2000,
        },
        "fasteners": [
            {
                "name": "toggle",
                "into": "hollow",
                "drop": 4,
                "standoff": 2,
                "capacity": "20 kg",
                "basis": "ultimate",
                "design_factor": 3,
            }
        ],
        "tolerance": {
            name: index + 1
            for index, name in enumerate(
                [
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
                ]
            )
        },
        "tape": 0.5,
    }


def changed(document: dict[str, Any], path: str, value: object) -> dict[str, Any]:
    """A copy with the value at ``panels[0].hangers[1].in`` replaced, added or taken out."""
    new = deepcopy(document)
    *way, last = [int(p) if p.isdigit() else p for p in re.findall(r"[^.\[\]]+", path)]
    node: Any = new
    for part in way:
        node = node[part]
    if value is GONE:
        del node[last]
    else:
        node[last] = value
    return new


def says(error: InputError, path: str, value: object, remedy: str) -> None:
    """The error names the place, what stood there and what would be right; so does its text."""
    assert error.path == path
    assert error.value == value
    assert remedy in error.remedy
    assert path in str(error)
    assert error.remedy in str(error)
