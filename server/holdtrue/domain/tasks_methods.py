"""Tasks that only some hanging methods have, and what other tasks ask for by method."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from types import MappingProxyType

from holdtrue.domain.task_kinds import Field, TaskKind

METHOD_TASKS: tuple[TaskKind, ...] = (
    TaskKind(
        name="work.wire",
        stage="work",
        scope="panel",
        title="Wire of {subject}",
        ask="Hang panel {subject} by its wire, or pull on it with its weight, and measure.",
        fields=(
            Field(name="apart", kind="length", label="Ring to ring", far_mm=10.0),
            Field(name="down", kind="length", label="Top edge down to the rings", far_mm=10.0),
            Field(
                name="rise",
                kind="length",
                label="Hook above the rings",
                hint="with the panel's weight on the wire, when it has settled",
                far_mm=15.0,
            ),
        ),
        has_plan=True,
        shapes_plan=True,
        instrument="tape",
        methods=("wire",),
    ),
    TaskKind(
        name="work.rail",
        stage="work",
        scope="panel",
        title="Rail of {subject}",
        ask="Measure from the top edge of panel {subject} down to where its rail bears.",
        fields=(
            Field(name="left", kind="length", label="At the rail's left end", far_mm=10.0),
            Field(name="right", kind="length", label="At its right end", far_mm=10.0),
        ),
        has_plan=True,
        shapes_plan=True,
        instrument="tape",
        methods=("cleat",),
    ),
)

ASKS: Mapping[str, Mapping[str, str]] = MappingProxyType(
    {
        "fasteners.anchor": {
            "wire": "Open the hole and set the hook.",
            "cleat": "Hold the rail on its marks, level, and drive this screw through it.",
            "standoff": "Open the hole and set the post square to the wall; its cap stays off.",
        },
        "fasteners.measure": {
            "cleat": "Measure where the rail bears above screw {subject}: across from the "
            "reference line, and up from the level line.",
        },
        "panels.lift": {
            "wire": "Phone down. Lift panel {subject} together, lay its wire on the hook, "
            "let go slowly.",
            "cleat": "Phone down. Lift panel {subject} together and lower its rail into the one "
            "on the wall.",
            "standoff": "Phone down. Hold panel {subject} on its four posts, one person turns "
            "the caps on.",
        },
        "panels.engaged": {
            "wire": "See that the wire of {subject} lies in its hook; push down and let settle.",
            "cleat": "Feel along the rail of {subject}: it bears all along and cannot jump out; "
            "slide it to its gap.",
            "standoff": "Tighten the four caps of {subject} crosswise; no corner is bent.",
        },
        "panels.level": {
            "wire": "Slide the wire of {subject} on its hook until level, then read the edge.",
        },
    }
)

ONLY: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {"work.hanger": ("hangers", "standoff"), "work.spacing": ("hangers", "standoff")}
)
"""Tasks of the table that not every method has: a wire's hooks and a rail's screws are not on the
panel's back."""


def with_methods(kinds: Iterable[TaskKind]) -> tuple[TaskKind, ...]:
    """The table's kinds with what they ask for by method."""
    return tuple(
        replace(
            kind,
            asks=tuple(ASKS.get(kind.name, {}).items()),
            methods=ONLY.get(kind.name, kind.methods),
        )
        for kind in kinds
    )
