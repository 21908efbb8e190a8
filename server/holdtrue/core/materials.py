"""Densities for masses estimated from layers, each with its spread and source.

``relative_u`` is the standard uncertainty of the density as a share: half the published range
divided by sqrt(3) (rectangular, GUM 4.3.7), or our own choice where a page gives one figure only.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import hypot
from types import MappingProxyType

from holdtrue.core.ranges import above_zero, in_range
from holdtrue.core.uncertainty import root_sum_square, u_rectangular

TYPED_DENSITY_U = 0.05
"""[-] Relative standard uncertainty of a density that somebody typed without one: about that of the
table's own materials. Our choice."""

THICKNESS_U_MM = u_rectangular(0.5)
"""[mm] A thickness read by rule to the nearest millimetre."""

THICKNESS_MOST_U = 0.1
"""[-] ... and at most this share of it: a thin sheet is known from its maker. Our choice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Material:
    density_kg_m3: float
    relative_u: float
    source: str


MATERIALS: Mapping[str, Material] = MappingProxyType(
    {
        "mdf": Material(
            density_kg_m3=741.0,
            relative_u=0.08,
            source="CORRIM life-cycle inventory, oven-dry; range 593-785 kg/m3",
        ),
        "particleboard": Material(
            density_kg_m3=720.0,
            relative_u=0.065,
            source="Architectural Woodwork Institute, ANSI A208.1 class M, 640-800 kg/m3",
        ),
        "osb": Material(
            density_kg_m3=655.0,
            relative_u=0.13,
            source="FPL-GTR-190 Table 12-3, specific gravity 0.51-0.80",
        ),
        "hardboard": Material(
            density_kg_m3=920.0, relative_u=0.075, source="encyclopaedia, 800-1040 kg/m3"
        ),
        "plywood": Material(
            density_kg_m3=500.0,
            relative_u=0.12,
            source="softwood plywood 400-600 kg/m3, from memory",
        ),
        "douglas fir": Material(
            density_kg_m3=545.0,
            relative_u=0.08,
            source="Oregon State University from the Wood Handbook, air dry",
        ),
        "spruce": Material(
            density_kg_m3=432.0,
            relative_u=0.08,
            source="Engelmann spruce; Oregon State University from the Wood Handbook",
        ),
        "glass": Material(
            density_kg_m3=2500.0,
            relative_u=0.01,
            source="float glass 2.5 kg/m2 per mm, trade pages after EN 572-1",
        ),
        "laminated glass": Material(density_kg_m3=2470.0, relative_u=0.02, source="trade page"),
        "acrylic": Material(
            density_kg_m3=1180.0, relative_u=0.01, source="materials tables, 1170-1190 kg/m3"
        ),
        "polycarbonate": Material(
            density_kg_m3=1200.0, relative_u=0.01, source="materials tables, 1200-1220 kg/m3"
        ),
        "epoxy": Material(
            density_kg_m3=1150.0,
            relative_u=0.015,
            source="materials table, cured unfilled 1120-1180 kg/m3",
        ),
        "aluminium": Material(density_kg_m3=2700.0, relative_u=0.01, source="materials pages"),
        "steel": Material(density_kg_m3=7850.0, relative_u=0.01, source="materials pages"),
        "gypsum board": Material(
            density_kg_m3=842.0, relative_u=0.08, source="ASCE 7-05 Table C3-1, 0.55 psf per 1/8 in"
        ),
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Layer:
    """One layer of a panel. ``share``: of the face it covers. ``density_u``: relative."""

    material: str
    density_kg_m3: float
    density_u: float
    thickness_mm: float
    share: float = 1.0


def layers_mass_kg(layers: Sequence[Layer], *, area_mm2: float) -> tuple[float, float]:
    """Mass of a panel from its layers, and its standard uncertainty.

    m = sum(density thickness area share). Layers of one material are off by the same density error,
    so theirs add up; those of different materials, and the thicknesses, are independent.

    Parameters: layers, densities [kg/m3], > 0, thicknesses [mm], > 0, shares [-], 0 to 1, relative
    uncertainties [-], >= 0; area_mm2, of the face [mm2], > 0.
    Returns: mass [kg], standard uncertainty [kg].
    Raises: CoreError outside those ranges.
    Source: definition of density; GUM (JCGM 100:2008) 5.1.2, 5.2.2 (fully correlated parts).

    >>> glass = Layer(material="glass", density_kg_m3=2500.0, density_u=0.01, thickness_mm=4.0)
    >>> mass, u = layers_mass_kg([glass], area_mm2=1e6)
    >>> round(mass, 3), round(u, 2)
    (10.0, 0.73)
    """
    by_material: dict[str, float] = {}
    thicknesses_kg: list[float] = []
    total_kg = 0.0
    for layer in layers:
        mass_kg = _layer_kg(layer, area_mm2)
        total_kg += mass_kg
        by_material[layer.material] = by_material.get(layer.material, 0.0) + mass_kg * in_range(
            "density's uncertainty", layer.density_u
        )
        share_u = min(THICKNESS_U_MM / layer.thickness_mm, THICKNESS_MOST_U)
        thicknesses_kg.append(mass_kg * share_u)
    u_kg = hypot(root_sum_square([*by_material.values()]), root_sum_square(thicknesses_kg))
    return total_kg, u_kg


def _layer_kg(layer: Layer, area_mm2: float) -> float:
    density = above_zero("density", layer.density_kg_m3, unit="kg/m3")
    thickness_mm = above_zero("thickness", layer.thickness_mm, unit="mm")
    share = in_range("share", layer.share, high=1.0)
    return density * thickness_mm * above_zero("area", area_mm2, unit="mm2") * share * 1e-9
