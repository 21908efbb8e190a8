"""What the readings teach about a fastener kind: its real drop.

Method: every fastener kind may bear a little lower or higher than its stated drop, all of the kind
alike. Each loaded seat read where its fastener was driven gives one observation of that common
bias: seat found - seat aimed for = -bias + placing + own spread + reading. Their weighted mean
estimates it, u = (sum 1/u_i^2)^-1/2; what is known beforehand about drops counts as one more
observation of 0.

Source: weighted mean as least squares, GUM (JCGM 100:2008) 5.1 and H.3 (one parameter); offering
it from the second reading on is the project's own rule.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt

from holdtrue.core.ranges import above_zero, finite
from holdtrue.core.sources_trim import BIAS_FROM, BIAS_SIGNIFICANT_U


@dataclass(frozen=True, slots=True, kw_only=True)
class DropReading:
    """One loaded seat: where it was found over where it was aimed for, and all that blurs it."""

    fastener: str
    miss_mm: float
    """Seat found - seat aimed for, up is +."""
    u_mm: float
    """Placing, the fastener's own spread and the reading, root-sum-square."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bias:
    """How much farther below its hole a kind really bears than its stated drop says."""

    fastener: str
    bias_mm: float
    u_mm: float
    count: int

    @property
    def is_offered(self) -> bool:
        """Enough readings, and too large to be chance."""
        return self.count >= BIAS_FROM and abs(self.bias_mm) >= BIAS_SIGNIFICANT_U * self.u_mm


def learned_biases(
    readings: Sequence[DropReading], *, prior_u_mm: float | None = None
) -> dict[str, Bias]:
    """Estimate of each fastener kind's common drop bias.

    Parameters: readings [mm], u > 0; prior_u_mm, how far off stated drops are known to be [mm], > 0
    (nothing is known if not given).
    Returns: fastener name to Bias; add ``bias_mm`` to the kind's stated drop.
    Raises: CoreError for a value that is not finite or an uncertainty not above 0.
    Source: module head.

    >>> found = learned_biases([
    ...     DropReading(fastener="hook", miss_mm=-1.0, u_mm=0.5),
    ...     DropReading(fastener="hook", miss_mm=-2.0, u_mm=0.5)])
    >>> found["hook"].bias_mm, round(found["hook"].u_mm, 3), found["hook"].is_offered
    (1.5, 0.354, True)
    """
    known = 0.0 if prior_u_mm is None else above_zero("prior", prior_u_mm, unit="mm") ** -2
    sums: dict[str, tuple[float, float, int]] = {}
    for reading in readings:
        miss = finite("miss", reading.miss_mm, unit="mm")
        weight = above_zero("uncertainty", reading.u_mm, unit="mm") ** -2
        total, weights, count = sums.get(reading.fastener, (0.0, known, 0))
        sums[reading.fastener] = (total - weight * miss, weights + weight, count + 1)
    return {
        name: Bias(fastener=name, bias_mm=total / weights, u_mm=1 / sqrt(weights), count=count)
        for name, (total, weights, count) in sums.items()
    }
