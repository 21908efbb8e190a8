"""What the readings teach about a fastener kind: its real drop.

Method: every fastener kind may bear a little lower or higher than its stated drop, all of the kind
alike. Each loaded seat read where its fastener was driven gives one observation of that common
bias: seat found - seat aimed for = -bias + placing + own spread + reading. Their weighted mean
estimates it, u = (sum 1/u_i^2)^-1/2; what is known beforehand about drops counts as one more
observation of 0.

Whether the readings scatter more than is said of them is told by chi2 = sum((miss - mean)^2 / u^2)
over f = n - 1 degrees of freedom: sqrt(chi2 / f) is 1 on average where the uncertainties are right.
It speaks against them where (chi2 / f)^(1/3) lies above 1 - 2/(9 f) by more than
BIAS_SIGNIFICANT_U times sqrt(2/(9 f)).

Source: weighted mean as least squares, GUM (JCGM 100:2008) 5.1 and H.3 (one parameter); offering
it from the second reading on is the project's own rule. Scatter: R. T. Birge, Phys. Rev. 40 (1932)
207; its limit: E. B. Wilson, M. M. Hilferty, PNAS 17 (1931) 684 (both from memory; the limit is
checked against scipy's chi-square).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import cbrt, sqrt

from holdtrue.core.ranges import above_zero, finite
from holdtrue.core.sources_trim import BIAS_FROM, BIAS_SIGNIFICANT_U, SCATTER_FREEDOM


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
    chi2: float
    """Squares of the readings' distances from their mean, each over its own uncertainty."""
    assumed_mm: float
    """Standard uncertainty of one reading, as said."""

    @property
    def scatter_mm(self) -> float:
        """Standard deviation of one reading, as found; as said where there is one only."""
        freedom = self.count - 1
        return self.assumed_mm * (sqrt(self.chi2 / freedom) if freedom else 1.0)

    @property
    def is_scattered(self) -> bool:
        """The readings scatter more than chance lets them where what is said of them is right."""
        freedom = self.count - 1
        if freedom < SCATTER_FREEDOM:
            return False
        middle, spread = 1.0 - 2.0 / (9.0 * freedom), sqrt(2.0 / (9.0 * freedom))
        return cbrt(self.chi2 / freedom) > middle + BIAS_SIGNIFICANT_U * spread

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
    by_kind: dict[str, list[tuple[float, float]]] = {}
    for reading in readings:
        miss = finite("miss", reading.miss_mm, unit="mm")
        weight = above_zero("uncertainty", reading.u_mm, unit="mm") ** -2
        by_kind.setdefault(reading.fastener, []).append((miss, weight))
    return {name: _bias(name, found, known) for name, found in by_kind.items()}


def _bias(name: str, found: Sequence[tuple[float, float]], known: float) -> Bias:
    """Of one kind, from its misses and their weights."""
    weights = sum(weight for _, weight in found)
    total = sum(weight * miss for miss, weight in found)
    mean = total / weights
    return Bias(
        fastener=name,
        bias_mm=-total / (weights + known),
        u_mm=1 / sqrt(weights + known),
        count=len(found),
        chi2=sum(weight * (miss - mean) ** 2 for miss, weight in found),
        assumed_mm=sqrt(len(found) / weights),
    )
