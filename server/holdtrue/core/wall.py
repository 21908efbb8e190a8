"""What is behind each mark, and what a hole there would hit.

Source of the bands: the project's own rules; a stud's default width is the actual size of a
nominal 2 x 4, see ``sources.STUD_WIDTH_MM``.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from math import inf

from holdtrue.core.cables import ZONE_RULE, Zone, cable_zones
from holdtrue.core.model import Fastener, Finding, Into, Material, Met, Wall


@dataclass(frozen=True, slots=True, kw_only=True)
class Behind:
    """What a fastener at some x would meet, and of what material the stud there is."""

    into: Met
    material: Material = "unknown"


def behind_at(wall: Wall, x_mm: float) -> Behind:
    """What is behind the wall's face at x.

    |x - stud centre| <= width/2 is ``stud`` (``steel`` for a steel one); up to the clearance beyond
    that is ``edge``; elsewhere the wall's own ``behind``. A solid wall has no studs.

    Parameters: wall, lengths [mm]; x_mm [mm], any finite value.
    Returns: Behind. The nearest stud decides where bands overlap.
    Raises: nothing.
    Source: module head.

    >>> from holdtrue.core.model import Stud
    >>> behind_at(Wall(studs=(Stud(x_mm=0.0, width_mm=38.1),)), 19.05).into
    'stud'
    """
    if wall.behind == "solid":
        return Behind(into="solid")
    stud = min(wall.studs, key=lambda s: abs(x_mm - s.x_mm) - s.width_mm / 2, default=None)
    if stud is not None:
        beyond_mm = abs(x_mm - stud.x_mm) - stud.width_mm / 2
        # 1e-9 mm: a stud edge entered in inches must not miss its own edge by a rounding error
        if beyond_mm <= 1e-9:
            return Behind(
                into="steel" if stud.material == "steel" else "stud", material=stud.material
            )
        if beyond_mm <= wall.stud_clearance_mm + 1e-9:
            return Behind(into="edge", material=stud.material)
    return Behind(into=wall.behind)


def fastener_for(behind: Behind, fasteners: Sequence[Fastener]) -> Fastener | None:
    """The first fastener listed for what is behind; at a stud's edge that stud's.

    Parameters: behind; fasteners in the order listed.
    Returns: Fastener, or None when none is listed [-].
    Raises: nothing.
    Source: module head.
    """
    wanted = into_wanted(behind)
    return next((f for f in fasteners if f.into == wanted), None)


def into_wanted(behind: Behind) -> Into:
    """What a fastener must be meant for, given what is behind: at a stud's edge, that stud.

    Parameters: behind.
    Returns: hollow, stud, steel, backed or solid [-].
    Raises: nothing.
    Source: module head.
    """
    if behind.into == "edge":
        return "steel" if behind.material == "steel" else "stud"
    return behind.into


def is_same_ground(wall: Wall, behind: Behind, x_mm: float) -> bool:
    """Whether a hole at x meets, by all that is known of the wall, what is said to be behind.

    A stud's edge may as well become its middle, never the other way round.

    Parameters: wall, lengths [mm]; behind, what is wanted; x_mm of the hole [mm].
    Returns: bool [-].
    Raises: nothing.
    Source: module head.
    """
    there = behind_at(wall, x_mm)
    if behind.into == "edge":
        return into_wanted(there) == into_wanted(behind)
    return there.into == behind.into


@lru_cache(maxsize=8)
def closed_areas(wall: Wall) -> tuple[Zone, ...]:
    """Where no hole goes: keep-clear areas, cable zones, beyond the wall's ends; edges included.

    Parameters: wall, lengths [mm].
    Returns: areas [mm], some endless; each says why, after "the hole".
    Raises: nothing.
    Source: module head.
    """
    areas = []
    for area in wall.keep_clear:
        (x0, x1), (y0, y1) = sorted((area.x0_mm, area.x1_mm)), sorted((area.y0_mm, area.y1_mm))
        areas.append(
            Zone(
                x0_mm=x0,
                y0_mm=y0,
                x1_mm=x1,
                y1_mm=y1,
                why=f"lies in a keep-clear area ({area.why})",
            )
        )
    areas += [
        replace(zone, why=f"lies where cables may run, {zone.why} ({ZONE_RULE})")
        for zone in cable_zones(wall)
    ]
    if wall.left_mm is not None:
        areas.append(_beyond(-inf, wall.left_mm, "left"))
    if wall.right_mm is not None:
        areas.append(_beyond(wall.right_mm, inf, "right"))
    return tuple(areas)


def _beyond(x0_mm: float, x1_mm: float, end: str) -> Zone:
    why = f"lies beyond the wall's {end} end"
    return Zone(x0_mm=x0_mm, y0_mm=-inf, x1_mm=x1_mm, y1_mm=inf, why=why)


def hole_findings(seat: str, x_mm: float, hole_y_mm: float, wall: Wall) -> list[Finding]:
    """Conflicts of one hole with keep-clear areas, cable zones and wall ends, edges included.

    Parameters: seat name; x_mm, hole_y_mm [mm], where the hole goes; wall.
    Returns: findings that bar release, naming the seat; empty when clear.
    Raises: nothing.
    Source: module head.
    """
    return [
        Finding(kind="conflict", seat=seat, weight="bar", text=f"{seat}: the hole {area.why}")
        for area in closed_areas(wall)
        if area.holds(x_mm, hole_y_mm)
    ]
