"""Tapes and levels: how far they may be off, and finding and taking off a level's own error.

Method: a level that is turned end for end is wrong by the same amount the other way round, so the
middle of the two readings is true and half their difference is its error.

Signs: "the level's right end too high" is positive, with the level held as in the FIRST reading
(mark its left end then). A rise is the height of b over a, positive when b is higher, read from the
level's line; to the right is positive in distances.

Source: two-reading reversal, surveying practice; tape classes, Directive 2014/32/EU.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, hypot

from holdtrue.core.ranges import above_zero, finite, in_range
from holdtrue.core.sources_measure import LEVEL_U_MM, LEVEL_U_MM_PER_M, TAPES, TapeClass

MM_PER_M = 1000.0
"""[mm/m]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reversal:
    """What two readings of one span say: the true rise, and the level's error over that span."""

    true_mm: float
    error_mm: float
    error_mm_per_m: float


def level_reversal(*, first_mm: float, turned_mm: float, span_mm: float) -> Reversal:
    """True rise and the level's own error from two readings of one span, turned between them.

    true = (first + turned)/2; error = (turned - first)/2, per metre error/span.

    Parameters: first_mm, turned_mm, rise of the right end over the left as read from the level's
    line [mm], finite; span_mm, between them [mm], > 0.
    Returns: Reversal [mm], [mm/m]; error > 0: held as first, its right end is too high, so that it
    reads rises to the right too small.
    Raises: CoreError outside those ranges.
    Source: module head.

    >>> level_reversal(first_mm=4.0, turned_mm=6.0, span_mm=2000.0)
    Reversal(true_mm=5.0, error_mm=1.0, error_mm_per_m=0.5)
    """
    finite("first reading", first_mm, unit="mm")
    finite("turned reading", turned_mm, unit="mm")
    error_mm = (turned_mm - first_mm) / 2.0
    return Reversal(
        true_mm=(first_mm + turned_mm) / 2.0,
        error_mm=error_mm,
        error_mm_per_m=error_mm / above_zero("span", span_mm, unit="mm") * MM_PER_M,
    )


def drawn_reversal(*, first_end_mm: float, turned_end_mm: float, span_mm: float) -> Reversal:
    """The same from two lines drawn from one point at the left, their right ends' heights measured.

    true = (first + turned)/2, where the true level line meets the right end; error =
    (first - turned)/2: a line drawn too high shows a right end too high.

    Parameters: first_end_mm, turned_end_mm, heights of the two right ends over any one mark [mm],
    finite; span_mm, length of the lines [mm], > 0.
    Returns: Reversal [mm], [mm/m]; the sign of the error as in ``level_reversal``.
    Raises: CoreError outside those ranges.
    Source: module head.

    >>> drawn_reversal(first_end_mm=6.0, turned_end_mm=4.0, span_mm=2000.0)
    Reversal(true_mm=5.0, error_mm=1.0, error_mm_per_m=0.5)
    """
    return level_reversal(first_mm=turned_end_mm, turned_mm=first_end_mm, span_mm=span_mm)


def corrected_rise_mm(
    rise_mm: float, *, span_mm: float, error_mm_per_m: float, is_turned: bool = False
) -> float:
    """A rise read by level, with the level's own error taken off.

    true = rise + error span, or - error span with the level turned.

    Parameters: rise_mm, of b over a as read [mm]; span_mm, b right of a [mm], negative when b is
    left of a; error_mm_per_m, of the level [mm/m]; all finite; is_turned: end for end against the
    first reading of its reversal.
    Returns: rise [mm].
    Raises: CoreError for a value that is not finite.
    Source: module head.

    >>> corrected_rise_mm(4.0, span_mm=2000.0, error_mm_per_m=0.5)
    5.0
    """
    finite("rise", rise_mm, unit="mm")
    error_mm = finite("error", error_mm_per_m, unit="mm/m") * finite("span", span_mm) / MM_PER_M
    return rise_mm - error_mm if is_turned else rise_mm + error_mm


def shown_rise_mm(
    rise_mm: float, *, span_mm: float, error_mm_per_m: float, is_turned: bool = False
) -> float:
    """What a level with an error of its own shows of a true rise.

    shown = true - error span, or + error span with the level turned: ``corrected_rise_mm`` undone.

    Parameters: rise_mm, of b over a [mm]; span_mm, b right of a [mm]; error_mm_per_m, of the level
    [mm/m]; all finite; is_turned: end for end against the first reading of its reversal.
    Returns: rise as read [mm].
    Raises: CoreError for a value that is not finite.
    Source: module head.

    >>> shown_rise_mm(5.0, span_mm=2000.0, error_mm_per_m=0.5)
    4.0
    """
    return corrected_rise_mm(
        rise_mm, span_mm=span_mm, error_mm_per_m=error_mm_per_m, is_turned=not is_turned
    )


def level_u_mm(
    span_mm: float, *, fixed_mm: float = LEVEL_U_MM, per_m_mm: float = LEVEL_U_MM_PER_M
) -> float:
    """Standard uncertainty of a height carried over a distance by level: sqrt(f^2 + (p L)^2).

    Parameters: span_mm [mm], finite, its sign does not count; fixed_mm, f [mm], >= 0; per_m_mm, p
    [mm/m], >= 0.
    Returns: standard uncertainty [mm].
    Raises: CoreError outside those ranges.
    Source: root-sum-square of independent parts, GUM (JCGM 100:2008) 5.1.2; its figures are our
    choice, ``sources_measure``.

    >>> round(level_u_mm(800.0), 3)
    0.5
    """
    in_range("level's uncertainty", fixed_mm, unit="mm")
    in_range("level's uncertainty", per_m_mm, unit="mm/m")
    return hypot(fixed_mm, per_m_mm * finite("span", span_mm, unit="mm") / MM_PER_M)


def tape_limit_mm(length_mm: float, *, tape: TapeClass, from_surface: bool = False) -> float:
    """Greatest permissible error of a new tape: a + b L, L in metres rounded UP to a whole one.

    Parameters: length_mm [mm], > 0; tape: class I, II or III; from_surface: one end is a surface,
    such as the tape's hook.
    Returns: error either way [mm], at 20 degrees C and the stated pull.
    Raises: CoreError for a length not above 0; KeyError for another class.
    Source: Directive 2014/32/EU, material measures of length (UK SI 2016/1153, schedule 1I,
    paragraph 2).

    >>> round(tape_limit_mm(2100.0, tape="II"), 1)
    0.9
    """
    errors = TAPES[tape]
    metres = ceil(above_zero("length", length_mm, unit="mm") / MM_PER_M)
    surface_mm = errors.surface_mm if from_surface else 0.0
    return errors.a_mm + errors.b_mm_per_m * metres + surface_mm


def laser_check_mm(distance_mm: float, *, per_m_mm: float) -> float:
    """Greatest miss of a laser turned end for end between two walls: d = 2 L p.

    Parameters: distance_mm, between the walls [mm], > 0; per_m_mm, the laser's stated accuracy
    [mm/m], > 0.
    Returns: miss [mm]; beyond it the laser is to be adjusted or left.
    Raises: CoreError outside those ranges.
    Source: self check of a cross-line laser's operating manual.

    >>> laser_check_mm(5000.0, per_m_mm=0.3)
    3.0
    """
    above_zero("accuracy", per_m_mm, unit="mm/m")
    return 2.0 * above_zero("distance", distance_mm, unit="mm") * per_m_mm / MM_PER_M
