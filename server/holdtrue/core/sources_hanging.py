"""Figures of the hanging methods and of slings, with unit and source."""

from __future__ import annotations

ANGLE_MIN_DEG = 30.0
"""[deg] From horizontal: a flatter sling or wire is not recommended. ASME B30.9 and B30.26, as
cited by a training body."""

PLUMB_DEG = 90.0
"""[deg] From horizontal: steepest a wire or sling can be."""

NEAR_VERTICAL_DEG = 85.0
"""[deg] From horizontal: within 5 degrees of vertical may be treated as vertical.
OSHA 1910.184(b)."""

RIGID_LEGS = 2
"""[-] Legs of a rigid load that may carry practically all of it, however many there are.
US Navy training manual NAVEDTRA 14081 p. 13-28; a measured load on four nominally equal legs put
94 % on two."""

MIDDLE_SHARE = 1.0 / 6.0
"""[-] A resultant within this share of the length from the middle presses on the whole length:
the middle third. Textbook statics of a no-tension joint, from memory."""

UNDER_LOAD_MM = 0.001
"""[mm] A load this near to a screw hangs on it. Our choice, far below what anyone measures."""

FACTOR_WIRE = 5.0
"""[-] Default design factor on a wire's breaking load: rigging hardware holds at least 5 times the
intended load. OSHA 1926.1431(g)(3). Editable per panel; the maker's own factor prevails."""
