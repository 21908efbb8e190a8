"""Figures of walls and what runs in them, with unit and source."""

from __future__ import annotations

CABLE_ZONE_MM = 150.0
"""[mm] Cables less than 50 mm deep may lie within this of the wall's top and of a corner, and
straight up, down or sideways from any accessory. BS 7671:2018 522.6.202."""

OUTLET_MM = 86.0
"""[mm] Width and height of an outlet whose size is not given: the square plate of a common
accessory. Our choice, from memory of such plates; the job's own figure prevails."""

SHIFT_REACH_MM = 600.0
"""[mm] A shift of the whole work farther than this is another plan, not a suggestion. Our
choice."""

SHIFT_LEAST_MM = 1.0
"""[mm] Shifts are suggested on a grid of whole graduations, not finer than this. Our choice."""

LEAN_MM = 1.0
"""[mm] A panel that stands out more at its top than at its lower edge is said to lean. Our choice:
a steel rule's reading."""

TWIST_MM = 0.05
"""[mm] Standoffs on one panel that differ by less are the same. Our choice."""
