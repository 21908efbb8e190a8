"""Where cables may run in a wall: zones in which no hole goes.

Method: a cable runs straight up, down or sideways from its outlet, so a strip of the outlet's own
width runs over the wall's whole height and one of its height over the whole length. "prescribed"
adds the strips along the wall's top and on this side of each of its ends (corners), where a cable
needs no outlet in sight. A zone tells where a careful electrician laid a cable; it finds none, and
outside it one may lie too.

Source: BS 7671:2018 522.6.202. Elsewhere cables also run straight from outlets by custom; the
default checks those strips only.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

from holdtrue.core.model import Finding, Wall
from holdtrue.core.sources_wall import CABLE_ZONE_MM

ZONE_RULE = "BS 7671:2018 522.6.202"


@dataclass(frozen=True, slots=True, kw_only=True)
class Zone:
    """A rectangle, edges included, that may be endless; ``why`` says what runs there."""

    x0_mm: float
    y0_mm: float
    x1_mm: float
    y1_mm: float
    why: str

    def holds(self, x_mm: float, y_mm: float) -> bool:
        return self.x0_mm <= x_mm <= self.x1_mm and self.y0_mm <= y_mm <= self.y1_mm


def cable_zones(wall: Wall) -> tuple[Zone, ...]:
    """Zones of a wall in which cables may run.

    Outlets: |x - outlet| <= width/2, and |y - outlet| <= height/2, each over the whole wall.
    Prescribed: also y >= top - 150 mm, x <= left + 150 mm and x >= right - 150 mm, where the wall's
    top and ends are given.

    Parameters: wall, lengths [mm].
    Returns: zones [mm], outlet by outlet, then top, left, right; some endless.
    Raises: nothing.
    Source: module head.

    >>> [zone.y0_mm for zone in cable_zones(Wall(top_mm=2400.0, cable_zones="prescribed"))]
    [2250.0]
    """
    zones: list[Zone] = []
    for i, outlet in enumerate(wall.outlets, start=1):
        half_x, half_y = outlet.width_mm / 2, outlet.height_mm / 2
        zones += [
            _zone(f"straight up or down from outlet {i}", x=(outlet.x_mm, half_x)),
            _zone(f"straight sideways from outlet {i}", y=(outlet.y_mm, half_y)),
        ]
    if wall.cable_zones == "prescribed":
        zones += _prescribed(wall)
    return tuple(zones)


def zone_notes(wall: Wall) -> list[Finding]:
    """What of the prescribed zones could not be checked, since the wall's top or ends are missing.

    Parameters: wall, lengths [mm].
    Returns: notes; empty unless prescribed zones are asked for.
    Raises: nothing.
    Source: the project's own rule: not known never looks like fine.

    >>> [note.text for note in zone_notes(Wall(cable_zones="prescribed", top_mm=2400.0,
    ...     left_mm=-900.0))]
    ["cable zones: the wall's right end is not given, so the zone along it is not checked"]
    """
    if wall.cable_zones != "prescribed":
        return []
    ends = {"top": wall.top_mm, "left end": wall.left_mm, "right end": wall.right_mm}
    return [
        Finding(
            kind="not known",
            seat=None,
            weight="note",
            text=f"cable zones: the wall's {name} is not given, so the zone along it is not "
            "checked",
        )
        for name, at_mm in ends.items()
        if at_mm is None
    ]


def _prescribed(wall: Wall) -> list[Zone]:
    zones: list[Zone] = []
    within = f"within {CABLE_ZONE_MM:g} mm of the wall's"
    if wall.top_mm is not None:
        zones.append(
            Zone(
                x0_mm=-inf,
                y0_mm=wall.top_mm - CABLE_ZONE_MM,
                x1_mm=inf,
                y1_mm=inf,
                why=f"{within} top",
            )
        )
    if wall.left_mm is not None:
        edge = wall.left_mm + CABLE_ZONE_MM
        zones.append(Zone(x0_mm=-inf, y0_mm=-inf, x1_mm=edge, y1_mm=inf, why=f"{within} left end"))
    if wall.right_mm is not None:
        edge = wall.right_mm - CABLE_ZONE_MM
        zones.append(Zone(x0_mm=edge, y0_mm=-inf, x1_mm=inf, y1_mm=inf, why=f"{within} right end"))
    return zones


def _zone(
    why: str, *, x: tuple[float, float] | None = None, y: tuple[float, float] | None = None
) -> Zone:
    """A strip: middle and half width across, or middle and half height up."""
    x_mm, half_x = x or (0.0, inf)
    y_mm, half_y = y or (0.0, inf)
    return Zone(
        x0_mm=x_mm - half_x,
        y0_mm=y_mm - half_y,
        x1_mm=x_mm + half_x,
        y1_mm=y_mm + half_y,
        why=why,
    )
