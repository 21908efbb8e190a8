"""Typed masses and capacities, in the grammar of ``typed``."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from math import floor, log10

from holdtrue.core.typed import ForceError, Kind, MassError, number_of, read_amount
from holdtrue.core.units import FORCE_ALIASES, KG_PER, MASS_ALIASES, N_PER, G

MAX_KG = 10_000
"""The largest mass accepted; beyond it a unit was mistaken."""
MAX_N = 100_000
"""The largest capacity accepted, 100 kN."""

_MASS = Kind(
    name="mass",
    error=MassError,
    aliases=MASS_ALIASES,
    fraction_units=frozenset({"lb", "oz"}),
    example="8.8 kg or 19 1/2 lb",
    fraction_example="19 1/2 lb",
)
_CAPACITY = Kind(
    name="capacity",
    error=ForceError,
    aliases={**MASS_ALIASES, **FORCE_ALIASES},
    fraction_units=frozenset({"lb", "oz", "lbf"}),
    example="20 kg, 45 lb or 200 N",
    fraction_example="22 1/2 lb",
)


def mass_unit(text: object) -> str:
    """The unit of mass meant by one of its names.

    Parameters:
        text [-]: kg, g, lb, lbs or oz, in any case.
    Returns:
        one of kg, g, lb, oz.
    Raises:
        MassError: another unit, or not text.
    Source: our grammar (module ``typed``).

    >>> mass_unit("LBS")
    'lb'
    """
    return _MASS.unit(text)


def parse_mass(value: str | int | float | Decimal, default: str | None = "kg") -> Fraction:
    """Read a mass exactly.

    kg = value kg_per_unit

    Parameters:
        value: text such as "19 1/2 lb", or a finite number [default]; 0 to 10 000 kg.
        default: the unit of a number without one: kg, g, lb or oz; None demands one in the text.
    Returns:
        the mass [kg], exact.
    Raises:
        MassError: anything else, with an example of what to type.
    Source: factors from ``units.KG_PER``.

    >>> float(parse_mass("19 1/2 lb"))
    8.845051215
    """
    if isinstance(value, str):
        amount = read_amount(value, default, _MASS)
        kg = amount.value * KG_PER[amount.unit]
    else:
        kg = number_of(value, _MASS) * KG_PER[_MASS.unit(default)]
    if not 0 <= kg <= MAX_KG:
        _MASS.refuse(value, "give a mass from 0 to 10 000 kg, such as 8.8 kg or 19 1/2 lb")
    return kg


def parse_capacity_N(value: str | int | float | Decimal, default: str | None = "kg") -> float:
    """Read what a fastener or a hanger may carry: a mass, whose weight counts, or a force.

    F = m g, or F = value N_per_unit

    Parameters:
        value: text such as "40 lb", "20 kg" or "200 N", or a finite number [kg]; 0 to 100 kN.
        default: the unit of a text without one; None demands one in the text.
    Returns:
        the force [N].
    Raises:
        ForceError: anything else, with an example of what to type.
    Source: factors from ``units``; g from ``sources.STANDARD_GRAVITY``.

    >>> parse_capacity_N("20 kg"), parse_capacity_N("200 N")
    (196.133, 200.0)
    """
    if isinstance(value, str):
        amount = read_amount(value, default, _CAPACITY)
        factor = N_PER[amount.unit] if amount.unit in N_PER else KG_PER[amount.unit] * G
        force_N = amount.value * factor
    else:
        force_N = number_of(value, _CAPACITY) * G
    if not 0 <= force_N <= MAX_N:
        _CAPACITY.refuse(value, "give a capacity from 0 to 100 kN, such as 20 kg, 45 lb or 200 N")
    return float(force_N)


def names_unit(text: str) -> bool:
    """Whether a typed mass or capacity says its unit.

    Parameters:
        text [-]: as typed.
    Returns:
        bool [-]: every name of a unit ends in a letter, and no number does.
    Raises:
        nothing.
    Source: our grammar (module ``typed``).

    >>> names_unit("31 lb"), names_unit("19 1/2")
    (True, False)
    """
    return text.strip()[-1:].isalpha()


def echo_mass(text: str) -> str:
    """What a typed mass was understood as, to show before saving.

    Parameters:
        text [-]: a typed mass, as for ``parse_mass``.
    Returns:
        one line, in the unit typed and in kg.
    Raises:
        MassError: as ``parse_mass``.
    Source: our choice of wording.

    >>> echo_mass("19 1/2 lb"), echo_mass("8.8")
    ('19 1/2 lb = 8.85 kg', '8.8 kg')
    """
    return _echo(text, f"{float(parse_mass(text)):.2f} kg", "kg")


def echo_capacity(text: str) -> str:
    """What a typed capacity was understood as, to show before saving.

    Parameters:
        text [-]: a typed capacity, as for ``parse_capacity_N``.
    Returns:
        one line, as typed and the force [N].
    Raises:
        ForceError: as ``parse_capacity_N``.
    Source: our choice of wording.

    >>> echo_capacity("40 lb"), echo_capacity("20"), echo_capacity("200 N")
    ('40 lb = 177.9 N', '20 kg = 196.1 N', '200 N')
    """
    return _echo(text, f"{parse_capacity_N(text):.1f} N", "N")


def _echo(text: str, understood: str, unit: str) -> str:
    typed = text.strip() if names_unit(text) else f"{text.strip()} kg"
    is_same = typed.lower().endswith(f" {unit.lower()}")
    return typed if is_same else f"{typed} = {understood}"


def force_text(newton: float) -> str:
    """A force in pounds of force, to a tenth.

    lbf = N / 4.4482216152605

    Parameters:
        newton: force [N], finite.
    Returns:
        text with its unit [lbf].
    Raises:
        nothing.
    Source: factors from ``units.N_PER``.

    >>> force_text(200.0)
    '45.0 lbf'
    """
    return f"{newton / float(N_PER['lbf']):.1f} lbf"


def mass_text(kg: float, u_kg: float, unit: str = "kg") -> str:
    """A mass with its standard uncertainty, to the uncertainty's first digit.

    Parameters:
        kg: mass [kg], finite.
        u_kg: standard uncertainty [kg], > 0.
        unit: kg, g, lb or oz.
    Returns:
        text: "12.5 kg ± 0.6".
    Raises:
        MassError: another unit.
    Source: GUM 7.2.6, no more digits than the uncertainty knows.

    >>> mass_text(12.46, 0.63), mass_text(3.5, 0.035)
    ('12.5 kg ± 0.6', '3.50 kg ± 0.04')
    """
    per_unit = float(KG_PER[_MASS.unit(unit)])
    value, u = kg / per_unit, u_kg / per_unit
    digits = max(0, -floor(log10(u)))
    return f"{value:.{digits}f} {unit} ± {u:.{digits}f}"
