"""Densities against figures as printed, and what a panel of them weighs."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holdtrue.core.errors import CoreError
from holdtrue.core.materials import MATERIALS, Layer, layers_mass_kg
from holdtrue.core.uncertainty import u_rectangular

LB_FT3 = 0.45359237 / 0.3048**3
"""[kg/m3] One pound in a cubic foot; both exact."""
PSF = 0.45359237 / 0.3048**2
"""[kg/m2] One pound on a square foot."""


@pytest.mark.parametrize(
    ("material", "low", "high"),
    [
        # Architectural Woodwork Institute, ANSI A208.1 class M
        ("particleboard", 640, 800),
        # trade pages: 37 to 49 lb/ft3
        ("mdf", 37 * LB_FT3, 49 * LB_FT3),
        # FPL-GTR-190 Table 12-3, specific gravity
        ("osb", 510, 800),
        # encyclopaedia: 800 to 1040 kg/m3
        ("hardboard", 800, 1040),
        # materials tables, g/cm3
        ("acrylic", 1170, 1190),
        ("polycarbonate", 1200, 1220),
        ("epoxy", 1120, 1180),
    ],
)
def test_a_density_and_its_spread_are_those_of_the_printed_range(
    material: str, low: float, high: float
) -> None:
    known = MATERIALS[material]
    assert low <= known.density_kg_m3 <= high
    # rectangular, GUM 4.3.7
    printed = u_rectangular((high - low) / 2)
    assert known.density_kg_m3 * known.relative_u >= 0.95 * printed
    assert known.relative_u <= 0.15


@pytest.mark.parametrize(
    ("material", "printed"),
    [
        # Oregon State University from the Wood Handbook, air dry
        ("douglas fir", 545),
        ("spruce", 432),
        # CORRIM life-cycle inventory
        ("mdf", 741),
        # materials pages and tables
        ("laminated glass", 2470),
        ("aluminium", 2700),
        ("steel", 7850),
    ],
)
def test_a_single_figure_is_as_printed(material: str, printed: float) -> None:
    assert MATERIALS[material].density_kg_m3 == printed


@pytest.mark.parametrize(
    ("material", "thickness_mm", "kg_m2"),
    [
        # float glass, trade pages after EN 572-1
        ("glass", 4.0, 10.0),
        ("glass", 6.0, 15.0),
        ("glass", 10.0, 25.0),
        ("glass", 12.0, 30.0),
        # ASCE 7-05 Table C3-1: 0.55 psf per 1/8 in
        ("gypsum board", 12.7, 4 * 0.55 * PSF),
        ("gypsum board", 15.875, 5 * 0.55 * PSF),
    ],
)
def test_a_square_metre_weighs_what_is_printed(
    material: str, thickness_mm: float, kg_m2: float
) -> None:
    layer = Layer(
        material=material,
        density_kg_m3=MATERIALS[material].density_kg_m3,
        density_u=MATERIALS[material].relative_u,
        thickness_mm=thickness_mm,
    )
    assert layers_mass_kg([layer], area_mm2=1e6)[0] == pytest.approx(kg_m2, rel=0.006)


@given(st.floats(1.0, 50.0), st.floats(1.0, 50.0), st.floats(0.01, 1.0))
def test_two_sheets_weigh_what_one_of_both_thicknesses_does(
    one_mm: float, other_mm: float, share: float
) -> None:
    def sheet(thickness_mm: float) -> Layer:
        return Layer(
            material="mdf",
            density_kg_m3=741.0,
            density_u=0.08,
            thickness_mm=thickness_mm,
            share=share,
        )

    both, u_both = layers_mass_kg([sheet(one_mm), sheet(other_mm)], area_mm2=2e6)
    whole, _ = layers_mass_kg([sheet(one_mm + other_mm)], area_mm2=2e6)
    assert both == pytest.approx(whole)
    # of one material their densities are off together: two sheets are no surer of it than one
    assert u_both >= 0.08 * whole * (1 - 1e-9)


@pytest.mark.parametrize(
    "change",
    [{"density_kg_m3": 0.0}, {"thickness_mm": -1.0}, {"share": 1.5}, {"density_u": -0.1}],
)
def test_values_outside_their_range_are_refused(change: dict[str, float]) -> None:
    values = {"density_kg_m3": 700.0, "density_u": 0.1, "thickness_mm": 10.0, "share": 1.0}
    layer = Layer(material="mdf", **{**values, **change})
    with pytest.raises(CoreError):
        layers_mass_kg([layer], area_mm2=1e6)
