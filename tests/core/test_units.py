"""The factors are exact, and two outside routes agree with them."""

from __future__ import annotations

import doctest
from fractions import Fraction
from types import ModuleType

import pint
import pytest

from holdtrue.core import lengths, masses, readout, typed, units
from holdtrue.core.sources import STANDARD_GRAVITY
from holdtrue.core.units import KG_PER, MM_PER, N_PER, G, is_inch_like


def test_an_inch_is_exactly_25_4_mm_and_a_foot_twelve_of_them() -> None:
    assert MM_PER["in"] == Fraction(254, 10)
    assert MM_PER["ft"] == 12 * MM_PER["in"]


def test_metric_lengths_are_powers_of_ten() -> None:
    assert [MM_PER[unit] for unit in ("mm", "cm", "m")] == [1, 10, 1000]


def test_a_pound_is_exactly_0_45359237_kg_and_sixteen_ounces() -> None:
    assert KG_PER["lb"] == Fraction("0.45359237")
    assert KG_PER["lb"] == 16 * KG_PER["oz"]
    assert KG_PER["kg"] == 1000 * KG_PER["g"] == 1


def test_a_pound_force_is_the_printed_figure_and_the_weight_of_a_pound() -> None:
    """4.448 221 615 260 5 N: NIST Special Publication 811, appendix B.8."""
    assert N_PER["lbf"] == Fraction("4.4482216152605")
    assert N_PER["lbf"] == KG_PER["lb"] * G
    assert N_PER["kN"] == 1000 * N_PER["N"] == 1000


def test_standard_gravity_is_the_conventional_value() -> None:
    assert STANDARD_GRAVITY == 9.80665
    assert Fraction("9.80665") == G


@pytest.mark.parametrize(
    ("factors", "base"), [(MM_PER, "mm"), (KG_PER, "kg"), (N_PER, "N")], ids=["mm", "kg", "N"]
)
def test_a_plain_floating_point_registry_agrees(factors: dict[str, Fraction], base: str) -> None:
    """The factors come from our own few units in fractions; the library's own are in floats."""
    floats: pint.UnitRegistry[float] = pint.UnitRegistry()
    for unit, factor in factors.items():
        assert floats.Quantity(1.0, unit).to(base).magnitude == pytest.approx(
            float(factor), rel=1e-14
        )


def test_the_tables_of_factors_cannot_be_changed() -> None:
    with pytest.raises(TypeError):
        MM_PER["in"] = Fraction(25)  # type: ignore[index]


def test_every_alias_stands_for_a_unit_with_a_factor() -> None:
    assert set(units.LENGTH_ALIASES.values()) == set(MM_PER)
    assert set(units.MASS_ALIASES.values()) == set(KG_PER)
    assert set(units.FORCE_ALIASES.values()) == set(N_PER)


def test_only_inches_and_feet_are_read_in_fractions() -> None:
    assert {unit for unit in MM_PER if is_inch_like(unit)} == {"in", "ft"}


@pytest.mark.parametrize("module", [units, typed, masses, readout, lengths])
def test_the_examples_in_the_docstrings_hold(module: ModuleType) -> None:
    failed, _ = doctest.testmod(module)
    assert failed == 0
