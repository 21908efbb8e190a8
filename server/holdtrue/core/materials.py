"""Densities for masses estimated from layers, each with its spread and source.

``relative_u`` is the standard uncertainty of the density as a share: half the published range
divided by sqrt(3) (rectangular, GUM 4.3.7), or our own choice where a page gives one figure only.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType


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


def layer_mass_kg(
    *, density_kg_m3: float, thickness_mm: float, area_mm2: float, share: float = 1.0
) -> float:
    """Mass of one layer: density * thickness * area * share.

    Parameters: density_kg_m3 [kg/m3], > 0; thickness_mm [mm], > 0; area_mm2 [mm2], > 0; share of
    the face it covers [-], above 0 to 1.
    Returns: mass [kg].
    Raises: nothing.
    Source: definition of density.

    >>> round(layer_mass_kg(density_kg_m3=2500.0, thickness_mm=4.0, area_mm2=1e6), 3)
    10.0
    """
    return density_kg_m3 * thickness_mm * area_mm2 * share * 1e-9
