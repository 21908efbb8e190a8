"""Masses and capacities, read as strictly as lengths."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest

from holdtrue.core.lengths import ForceError, MassError, parse_capacity_N, parse_mass
from holdtrue.core.masses import mass_unit

POUND_KG = Fraction("0.45359237")


@pytest.mark.parametrize(
    ("value", "kg"),
    [
        ("8.8 kg", Fraction("8.8")),
        ("8,8 KG", Fraction("8.8")),
        ("12.5", Fraction("12.5")),
        ("500 g", Fraction(1, 2)),
        ("19 1/2 lb", Fraction(39, 2) * POUND_KG),
        ("19½ lbs", Fraction(39, 2) * POUND_KG),
        ("16 oz", POUND_KG),
        (8.8, Fraction("8.8")),
        (12, Fraction(12)),
        (Decimal("0.1"), Fraction(1, 10)),
        (0, Fraction(0)),
        ("10000 kg", Fraction(10_000)),
    ],
)
def test_a_mass_is_read_exactly(value: str | float | Decimal, kg: Fraction) -> None:
    assert parse_mass(value) == kg


def test_the_default_unit_of_a_mass_can_be_pounds() -> None:
    assert parse_mass(10, "lb") == parse_mass("10", "LBS") == 10 * POUND_KG


@pytest.mark.parametrize(
    ("value", "remedy"),
    [
        ("", "such as 8.8 kg or 19 1/2 lb"),
        ("-1 kg", "from 0 to 10 000 kg"),
        (-1, "from 0 to 10 000 kg"),
        ("10001 kg", "from 0 to 10 000 kg"),
        ("8 1/2 kg", "8 1/2 lb or 8.5 kg"),
        ("8 1/3 lb", "such as 19 1/2 lb"),
        ("8⅓ lb", "such as 19 1/2 lb"),
        ("1,500 kg", "type 1500 or 1.5"),
        ("20 mm", "none of the units kg, g, lb, oz"),
        ("200 N", "none of the units kg, g, lb, oz"),
        ("12 lb 8 oz", "type one number"),
        ("nan kg", "type one number"),
        ("1e3 kg", "type one number"),
        (float("nan"), "finite"),
        (float("inf"), "finite"),
        (True, "give a number"),
        (None, "give a number"),
        ([1], "give a number"),
        (10**5000, "sensible size"),
    ],
    ids=lambda value: str(value)[:20] if isinstance(value, str) else type(value).__name__,
)
def test_a_mass_that_is_not_clear_is_refused(value: object, remedy: str) -> None:
    with pytest.raises(MassError) as caught:
        parse_mass(value)  # type: ignore[arg-type]
    assert remedy in caught.value.remedy


def test_a_mass_in_an_unknown_default_unit_is_refused() -> None:
    with pytest.raises(MassError, match="kg, g, lb, oz"):
        parse_mass(5, "stone")


def test_a_unit_of_mass_is_known_in_any_case() -> None:
    assert mass_unit("Lbs") == "lb"
    with pytest.raises(MassError, match="kg, g, lb, oz"):
        mass_unit("N")


@pytest.mark.parametrize(
    ("value", "newton"),
    [
        ("40 lb", 177.92886461042),  # 40 * 4.4482216152605
        ("40 lbf", 177.92886461042),
        ("40 1/2 lbf", 180.15297541805),
        ("20 kg", 196.133),
        ("20", 196.133),
        (20, 196.133),
        (20.0, 196.133),
        (Decimal(20), 196.133),
        ("180 N", 180.0),
        ("180 n", 180.0),
        ("0,18 kN", 180.0),
        ("1.5 KN", 1500.0),
        (0, 0.0),
    ],
)
def test_a_capacity_is_a_force_or_the_weight_of_a_mass(
    value: str | float | Decimal, newton: float
) -> None:
    assert parse_capacity_N(value) == pytest.approx(newton, rel=1e-15)


@pytest.mark.parametrize(
    ("value", "remedy"),
    [
        ("20 mm", "kg, g, lb, oz, N, kN, lbf"),
        ("20 1/2 N", "20 1/2 lb or 20.5 N"),
        ("-20 kg", "from 0 to 100 kN"),
        (-20, "from 0 to 100 kN"),
        ("101 kN", "from 0 to 100 kN"),
        ("1,500 N", "type 1500 or 1.5"),
        (float("inf"), "finite"),
        (None, "give a number"),
    ],
)
def test_a_capacity_that_is_not_clear_is_refused(value: object, remedy: str) -> None:
    with pytest.raises(ForceError) as caught:
        parse_capacity_N(value)  # type: ignore[arg-type]
    assert remedy in caught.value.remedy
