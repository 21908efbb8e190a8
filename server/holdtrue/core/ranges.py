"""Guards at the door of a formula: what is outside its range is refused, never bent into it."""

from __future__ import annotations

from math import inf, isfinite

from holdtrue.core.errors import CoreError


def in_range(
    what: str, value: float, *, low: float = 0.0, high: float = inf, unit: str = ""
) -> float:
    """The value, if it is finite and lies in low to high, ends included.

    Parameters: what names the value; value, low, high [in ``unit``]; unit, its sign.
    Returns: the value itself [in ``unit``].
    Raises: CoreError when it is not finite or outside; the text gives the range.
    Source: none, a guard; each range is stated where it is asked for.

    >>> in_range("angle", 45.0, high=90.0, unit="degrees")
    45.0
    """
    if not isfinite(value) or not low <= value <= high:
        upper = f"{low:g} to {high:g}" if isfinite(high) else f"a finite value of at least {low:g}"
        raise CoreError(what, value, f"give {upper} {unit}".rstrip())
    return value


def above_zero(what: str, value: float, *, unit: str = "") -> float:
    """The value, if it is finite and above 0.

    Parameters: what names the value; value [in ``unit``]; unit, the sign it is said with.
    Returns: the value itself [in ``unit``].
    Raises: CoreError when it is not finite or not above 0.
    Source: none, a guard.

    >>> above_zero("width", 610.0, unit="mm")
    610.0
    """
    if not isfinite(value) or value <= 0:
        raise CoreError(what, value, f"give a finite value above 0 {unit}".rstrip())
    return value


def finite(what: str, value: float, *, unit: str = "") -> float:
    """The value, if it is a finite number.

    Parameters: what names the value; value [in ``unit``]; unit, the sign it is said with.
    Returns: the value itself [in ``unit``].
    Raises: CoreError when it is infinite or not a number.
    Source: none, a guard.

    >>> finite("offset", -5.0, unit="mm")
    -5.0
    """
    if not isfinite(value):
        raise CoreError(what, value, f"give a finite value {unit}".rstrip())
    return value
