"""Withdrawal of screws from the side grain of wood, per inch of thread.

Method: a power law of specific gravity and nominal diameter, one for each kind. Units are those of
the source. Not for end grain; not for sheet goods, of which it promises too much (tests on plywood
lay below it).

Source: NDS 2018 (American Wood Council) 12.2; constants in ``sources_wood``.
"""

from __future__ import annotations

from holdtrue.core import sources_wood as nds
from holdtrue.core.ranges import above_zero, in_range


def screw_withdrawal_lb_per_in(gravity: float, *, nominal_in: float) -> float:
    """Withdrawal of a wood screw from side grain: W = 2850 G^2 D.

    Parameters: gravity, specific gravity [-], 0.35 to 0.73; nominal_in, nominal diameter [in],
    above 0 to 1.
    Returns: allowable load per inch of thread in the wood [lb/in], load duration of ten years.
    Raises: CoreError outside those ranges.
    Source: NDS 2018 12.2.2.

    >>> round(screw_withdrawal_lb_per_in(0.45, nominal_in=0.190), 1)
    109.7
    """
    _check_wood(gravity, nominal_in)
    return float(nds.SCREW_WITHDRAWAL * gravity**nds.SCREW_WITHDRAWAL_G_POWER * nominal_in)


def lag_withdrawal_lb_per_in(gravity: float, *, nominal_in: float) -> float:
    """Withdrawal of a lag screw from side grain: W = 1800 G^1.5 D^0.75.

    Parameters: gravity, specific gravity [-], 0.35 to 0.73; nominal_in, nominal diameter [in],
    above 0 to 1.
    Returns: allowable load per inch of thread in the wood [lb/in], load duration of ten years.
    Raises: CoreError outside those ranges.
    Source: NDS 2018 eq. 12.2-1.

    >>> round(lag_withdrawal_lb_per_in(0.50, nominal_in=0.375))
    305
    """
    _check_wood(gravity, nominal_in)
    per_diameter = nominal_in**nds.LAG_WITHDRAWAL_D_POWER
    return float(nds.LAG_WITHDRAWAL * gravity**nds.LAG_WITHDRAWAL_G_POWER * per_diameter)


def _check_wood(gravity: float, nominal_in: float) -> None:
    in_range("specific gravity", gravity, low=nds.GRAVITY_MIN, high=nds.GRAVITY_MAX)
    above_zero("nominal diameter", nominal_in, unit="in")
    in_range("nominal diameter", nominal_in, high=nds.DIAMETER_MAX_IN, unit="in")
