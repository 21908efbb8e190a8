"""The revised NIOSH lifting equation: what one person may lift from the floor, and a team's share.

Method: RWL = LC HM VM DM AM FM CM, each multiplier at most 1 and 0 outside its range; the lifting
index is load / RWL. Where the load must be placed with control, both ends of the lift are computed
and the lower limit counts. FM uses the height at the origin at both ends; CM the height of the end
in question. Printed worksheets multiply multipliers rounded to two places and so may differ in the
last digit; here nothing is rounded.

What it does not cover is in ``sources_lifting.LIMITS``; lifts by two or more people are not covered
either (module ``lifting_team``). Lifts from ladders are not lifts from the floor.

Source: DHHS (NIOSH) Publication 94-110, revised 9/2021.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from math import prod
from typing import Literal

from holdtrue.core import sources_lifting as niosh
from holdtrue.core.ranges import in_range
from holdtrue.core.sources_lifting import METRIC, Coupling, Duration, System


@dataclass(frozen=True, slots=True, kw_only=True)
class End:
    """One end of a lift, in the system's lengths: hands out from the ankles (H), up from the floor
    (V), and the body's turn (A)."""

    out: float
    up: float
    turn_deg: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Task:
    """A lift repeated: lifts per minute, how long, how well it can be held.

    ``has_control``: whether the load must be placed with care, so that the destination counts.
    """

    origin: End
    destination: End
    lifts_per_min: float
    duration: Duration
    coupling: Coupling
    has_control: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Multipliers:
    """The six multipliers at one end of a lift [-]."""

    horizontal: float
    vertical: float
    distance: float
    asymmetry: float
    frequency: float
    coupling: float

    @property
    def product(self) -> float:
        return prod(
            (
                self.horizontal,
                self.vertical,
                self.distance,
                self.asymmetry,
                self.frequency,
                self.coupling,
            )
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """Recommended weight limit at both ends, and the lower one that counts (kg or lb)."""

    origin: float
    destination: float
    counts: float


def horizontal_multiplier(out: float, system: System = METRIC) -> float:
    """HM = 25/H (metric) or 10/H; 1 for a nearer hold, 0 beyond 63 cm (25 in).

    Parameters: out, H, hands from the ankles' midpoint [cm or in], >= 0; system.
    Returns: multiplier [-], 0 to 1.
    Raises: CoreError for a negative or not finite distance.
    Source: NIOSH 94-110. Its table prints 0.46 at 22 in and 0.44 at 23 in; the formula gives 0.4545
    and 0.4348.

    >>> horizontal_multiplier(50.0), horizontal_multiplier(20.0), horizontal_multiplier(64.0)
    (0.5, 1.0, 0.0)
    """
    in_range("hands out from the ankles", out, unit=system.length)
    if out > system.horizontal_max:
        return 0.0
    return system.horizontal / max(out, system.horizontal)


def vertical_multiplier(up: float, system: System = METRIC) -> float:
    """VM = 1 - 0.003 |V - 75| (metric) or 1 - 0.0075 |V - 30|; 0 above 175 cm (70 in).

    Parameters: up, V, hands above the floor [cm or in], >= 0; system.
    Returns: multiplier [-], 0 to 1.
    Raises: CoreError for a negative or not finite height.
    Source: NIOSH 94-110.

    >>> vertical_multiplier(75.0), round(vertical_multiplier(175.0), 3), vertical_multiplier(176.0)
    (1.0, 0.7, 0.0)
    """
    in_range("hands above the floor", up, unit=system.length)
    if up > system.vertical_max:
        return 0.0
    return 1.0 - system.vertical_rise * abs(up - system.vertical_best)


def distance_multiplier(travel: float, system: System = METRIC) -> float:
    """DM = 0.82 + 4.5/D (metric) or 0.82 + 1.8/D; 1 below 25 cm (10 in), 0 above 175 cm (70 in).

    Parameters: travel, D, between the heights of both ends [cm or in], >= 0; system.
    Returns: multiplier [-], 0 to 1.
    Raises: CoreError for a negative or not finite distance.
    Source: NIOSH 94-110. Its table prints 0.86 at 130 cm; the formula gives 0.8546.

    >>> distance_multiplier(25.0), round(distance_multiplier(100.0), 3), distance_multiplier(176.0)
    (1.0, 0.865, 0.0)
    """
    in_range("travel", travel, unit=system.length)
    if travel > system.distance_max:
        return 0.0
    return system.distance_share + system.distance_part / max(travel, system.distance_min)


def asymmetry_multiplier(turn_deg: float) -> float:
    """AM = 1 - 0.0032 A; 0 beyond 135 degrees.

    Parameters: turn_deg, A, of the load from straight ahead [deg], 0 to 180.
    Returns: multiplier [-], 0 to 1.
    Raises: CoreError outside that range.
    Source: NIOSH 94-110.

    >>> asymmetry_multiplier(0.0), round(asymmetry_multiplier(45.0), 3), asymmetry_multiplier(136.0)
    (1.0, 0.856, 0.0)
    """
    in_range("turn", turn_deg, high=niosh.TURN_MAX_DEG, unit="degrees")
    if turn_deg > niosh.ASYMMETRY_MAX_DEG:
        return 0.0
    return 1.0 - niosh.ASYMMETRY_PER_DEG * turn_deg


def frequency_multiplier(
    lifts_per_min: float, *, duration: Duration, up: float, system: System = METRIC
) -> float:
    """FM by table, linear between its rows; rarer than 0.2 a minute counts as 0.2, beyond 15: 0.

    Parameters: lifts_per_min, F [1/min], >= 0; duration, of the work; up, V at the ORIGIN
    [cm or in], >= 0; system.
    Returns: multiplier [-], 0 to 1.
    Raises: CoreError for a negative or not finite value.
    Source: NIOSH 94-110, Table 5.

    >>> round(frequency_multiplier(2.4, duration="short", up=80.0), 3)
    0.898
    """
    in_range("lifts a minute", lifts_per_min, unit="a minute")
    in_range("hands above the floor", up, unit=system.length)
    if lifts_per_min > niosh.FREQUENCY_MAX:
        return 0.0
    column = niosh.FREQUENCY_MULTIPLIER[duration, _band(up, system)]
    rate = max(lifts_per_min, niosh.FREQUENCY_MIN)
    rows = niosh.FREQUENCIES
    i = min(bisect_right(rows, rate), len(rows) - 1) - 1
    part = (rate - rows[i]) / (rows[i + 1] - rows[i])
    return column[i] * (1.0 - part) + column[i + 1] * part


def coupling_multiplier(coupling: Coupling, *, up: float, system: System = METRIC) -> float:
    """CM by table.

    Parameters: coupling: good (handles, or a comfortable grip round it), fair or poor (a bare
    panel's edge is poor); up, V at the end in question [cm or in], >= 0; system.
    Returns: multiplier [-], 0.9 to 1.
    Raises: CoreError for a negative or not finite height.
    Source: NIOSH 94-110, Table 7.

    >>> coupling_multiplier("fair", up=60.0), coupling_multiplier("fair", up=75.0)
    (0.95, 1.0)
    """
    in_range("hands above the floor", up, unit=system.length)
    return niosh.COUPLING_MULTIPLIER[coupling, _band(up, system)]


def hands_out(width: float, *, up: float, system: System = METRIC) -> float:
    """H estimated from what is lifted: 20 + W/2 cm (8 + W/2 in), below 25 cm (10 in) 25 (10) + W/2.

    Parameters: width, W, of the load from the body outwards [cm or in], >= 0; up, V [cm or in],
    >= 0; system.
    Returns: H [cm or in].
    Raises: CoreError for a negative or not finite value.
    Source: NIOSH 94-110.

    >>> hands_out(10.0, up=75.0), hands_out(10.0, up=10.0)
    (25.0, 30.0)
    """
    in_range("width", width, unit=system.length)
    in_range("hands above the floor", up, unit=system.length)
    hand = system.near_hand if up >= system.near_height else system.low_hand
    return hand + width / 2.0


def multipliers(task: Task, end: End, system: System = METRIC) -> Multipliers:
    """The six multipliers at one end of a task.

    D = |V destination - V origin|; FM at the origin's height, CM at this end's.

    Parameters: task; end: one of its two; lengths [cm or in], angles [deg]; system.
    Returns: Multipliers [-].
    Raises: CoreError as the multipliers do.
    Source: NIOSH 94-110, pp. 7, 21, 26.

    >>> lift = Task(origin=End(out=23.0, up=15.0), destination=End(out=23.0, up=64.0),
    ...     lifts_per_min=0.1, duration="short", coupling="fair")
    >>> round(51.0 * multipliers(lift, lift.origin, niosh.US).product, 1)
    16.0
    """
    return Multipliers(
        horizontal=horizontal_multiplier(end.out, system),
        vertical=vertical_multiplier(end.up, system),
        distance=distance_multiplier(abs(task.destination.up - task.origin.up), system),
        asymmetry=asymmetry_multiplier(end.turn_deg),
        frequency=frequency_multiplier(
            task.lifts_per_min, duration=task.duration, up=task.origin.up, system=system
        ),
        coupling=coupling_multiplier(task.coupling, up=end.up, system=system),
    )


def weight_limit(task: Task, system: System = METRIC) -> Limit:
    """Recommended weight limit of a task for ONE person: RWL = LC times the multipliers.

    Parameters: task, lengths [cm or in]; system.
    Returns: Limit [kg or lb]; 0 where the task lies outside the equation.
    Raises: CoreError as the multipliers do.
    Source: NIOSH 94-110, pp. 1, 7; the lower end counts where control is needed, pp. 21, 26.

    >>> lift = Task(origin=End(out=25.0, up=75.0), destination=End(out=50.0, up=75.0),
    ...     lifts_per_min=0.1, duration="short", coupling="good")
    >>> weight_limit(lift)
    Limit(origin=23.0, destination=11.5, counts=11.5)
    """
    origin, destination = (
        system.load_constant * multipliers(task, end, system).product
        for end in (task.origin, task.destination)
    )
    counts = min(origin, destination) if task.has_control else origin
    return Limit(origin=origin, destination=destination, counts=counts)


def _band(up: float, system: System) -> Literal["low", "high"]:
    return "high" if up >= system.coupling_height else "low"
