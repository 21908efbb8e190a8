"""Exact factors from the units people write to mm, kg and N.

The unit library is asked once, when this module is imported, for a closed list of units, and knows
no others: to read its own list would be a third of a start. It never sees what a person typed: it
reads "5 1/2 in" as 2.5 in. It works in fractions here, so that 1 in is 25.4 mm and nothing near it.
"""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from types import MappingProxyType

import pint

from holdtrue.core.sources import STANDARD_GRAVITY, UNITS

# Built at import: a registry that builds itself on first use is not safe under threads. In its
# usual floats it makes a pound 0.4535923700000001 kg, also when asked with a fraction.
_REGISTRY: pint.UnitRegistry[Fraction] = pint.UnitRegistry(None, non_int_type=Fraction)
_REGISTRY.load_definitions(UNITS)


def _factors(units: tuple[str, ...], base: str) -> Mapping[str, Fraction]:
    one = Fraction(1)
    return MappingProxyType(
        {unit: Fraction(_REGISTRY.Quantity(one, unit).to(base).magnitude) for unit in units}
    )


MM_PER = _factors(("mm", "cm", "m", "in", "ft"), "mm")
"""Millimetres in one unit of length, exact."""
KG_PER = _factors(("kg", "g", "lb", "oz"), "kg")
"""Kilograms in one unit of mass, exact."""
N_PER = _factors(("N", "kN", "lbf"), "N")
"""Newtons in one unit of force, exact."""

LENGTH_ALIASES: Mapping[str, str] = MappingProxyType(
    {unit: unit for unit in MM_PER}
    | {'"': "in", "inch": "in", "inches": "in", "'": "ft", "foot": "ft", "feet": "ft"}
)
"""What people write for a unit of length, in lower case."""
MASS_ALIASES: Mapping[str, str] = MappingProxyType({unit: unit for unit in KG_PER} | {"lbs": "lb"})
"""What people write for a unit of mass, in lower case."""
FORCE_ALIASES: Mapping[str, str] = MappingProxyType({unit.lower(): unit for unit in N_PER})
"""What people write for a unit of force, in lower case."""

G = Fraction(str(STANDARD_GRAVITY))
"""Standard gravity [m/s^2], exact."""


def is_inch_like(unit: str) -> bool:
    """Whether lengths in this unit are read in fractions: inches and feet.

    Parameters: unit [-], one of mm, cm, m, in, ft.
    Returns: bool [-].
    Raises: nothing.
    Source: how tapes are divided.

    >>> is_inch_like("ft"), is_inch_like("mm")
    (True, False)
    """
    return unit in ("in", "ft")
