"""How often and for how long a person lifts, in the terms of the lifting equation.

Method: lifts are counted over a quarter of an hour; work is sorted by its longest stretch without
enough recovery after it.

Source: DHHS (NIOSH) Publication 94-110, revised 9/2021, pp. 14 and 16.
"""

from __future__ import annotations

from collections.abc import Sequence

from holdtrue.core import sources_lifting as niosh
from holdtrue.core.errors import CoreError
from holdtrue.core.ranges import in_range
from holdtrue.core.sources_lifting import Duration


def special_frequency_per_min(lifts_per_min: float, *, lifting_min: float) -> float:
    """F of work that does not go on through the quarter of an hour it is counted over.

    F = lifts per minute * minutes of lifting / 15.

    Parameters: lifts_per_min, while lifting [1/min], 0 to 15; lifting_min, of 15 minutes [min],
    0 to 15.
    Returns: F [1/min].
    Raises: CoreError outside those ranges.
    Source: NIOSH 94-110, p. 16; the limit of 15 a minute from memory.

    >>> round(special_frequency_per_min(10.0, lifting_min=8.0), 2)
    5.33
    """
    in_range("lifts a minute", lifts_per_min, high=niosh.FREQUENCY_MAX, unit="a minute")
    in_range("minutes of lifting", lifting_min, high=niosh.SAMPLE_MIN, unit="min")
    return lifts_per_min * lifting_min / niosh.SAMPLE_MIN


def duration_of(sessions_min: Sequence[tuple[float, float]]) -> Duration:
    """Category of a day of lifting sessions with lighter work or rest after each.

    A stretch of work ends where the recovery after it is enough: as long as the work (short, up to
    1 h), or 0.3 of it (moderate, up to 2 h); otherwise the next session counts to the same stretch.
    The longest stretch decides.

    Parameters: sessions_min, (lifting, recovery after it) [min], each >= 0, at least one; the last
    recovery is taken as enough.
    Returns: short, moderate or long [-].
    Raises: CoreError outside those ranges, or beyond 8 h in one stretch: not covered.
    Source: NIOSH 94-110, p. 14. A stretch of up to an hour with less recovery than
    its own length goes on even after 0.3 of it: our reading, on the safe side.

    >>> duration_of([(30.0, 10.0), (45.0, 60.0)]), duration_of([(30.0, 30.0), (45.0, 60.0)])
    ('moderate', 'short')
    """
    if not sessions_min:
        raise CoreError("sessions", 0, "give at least one")
    longest_min = stretch_min = 0.0
    for lifting_min, recovery_min in sessions_min:
        stretch_min += in_range("lifting", lifting_min, unit="min")
        in_range("recovery", recovery_min, unit="min")
        longest_min = max(longest_min, stretch_min)
        is_short = stretch_min <= niosh.SHORT_MIN
        share = niosh.SHORT_RECOVERY if is_short else niosh.MODERATE_RECOVERY
        if stretch_min <= niosh.MODERATE_MIN and recovery_min >= share * stretch_min:
            stretch_min = 0.0
    in_range("lifting in one stretch", longest_min, high=niosh.LONG_MIN, unit="min")
    if longest_min <= niosh.SHORT_MIN:
        return "short"
    return "moderate" if longest_min <= niosh.MODERATE_MIN else "long"
