"""Constants of the formulas: each a plain number with unit and source in the text below it.

A figure that is our own choice says so.
"""

from __future__ import annotations

STANDARD_GRAVITY = 9.80665
"""[m/s^2], exact by definition. 3rd General Conference on Weights and Measures (1901), declaration
on the unit of mass and the definition of weight; NIST Special Publication 811, appendix B.8."""

UNITS = (
    "milli- = 1/1000 = m-",
    "centi- = 1/100 = c-",
    "kilo- = 1000 = k-",
    "meter = [length] = m",
    "gram = [mass] = g",
    "second = [time] = s",
    "newton = kilogram * meter / second**2 = N",
    "inch = 25.4 * millimeter = in",
    "foot = 12 * inch = ft",
    "pound = 453.59237 * gram = lb",
    "ounce = pound / 16 = oz",
    f"pound_force = {STANDARD_GRAVITY} * pound * meter / second**2 = lbf",
)
"""[-] Exact by definition, as the unit library reads it: name, what it is, sign. NIST Special
Publication 811, appendices B.6 and B.8."""

OVERLAP_MM = 1.0
"""[mm] Panels of adjacent grid rows are neighbours when their x ranges overlap by more.
Our choice."""

STUD_WIDTH_MM = 38.1
"""[mm] Actual width of a nominal 2 x 4, 1 1/2 in. American Softwood Lumber Standard PS 20."""

STUD_CLEARANCE_MM = 6.0
"""[mm] Beyond a stud's edge still too close for a hollow-wall fastener. Our choice, editable."""

FACTOR_ULTIMATE = 4.0
"""[-] Default design factor on an ultimate figure. Consumer guidance on drywall fasteners: divide
published ultimate loads by at least 4. Editable per fastener; the maker's own factor prevails."""

FACTOR_WORKING = 1.0
"""[-] Default design factor on a working load, which already holds the maker's factor."""

PLACING_U_MM = 1.0
"""[mm] Standard uncertainty of placing a fastener on its mark. Our choice, editable."""

MOVE_SHARE = 0.5
"""[-] Share of a graduation below which a mark already given stays. Our choice."""

KEEP_RISE = 0.1
"""[-] A given mark stays unless keeping it raises the worst residual by more than this many
tolerances. Our choice."""

LINE_BELOW_MM = 100.0
"""[mm] A level line is put this far below the lowest seat it serves. Our choice."""

LINE_NEAREST_MM = 50.0
"""[mm] Nearest a level line may lie below a seat, room for a short rule. Our choice."""

LINE_REACH_MM = 250.0
"""[mm] Farthest a level line may lie below a seat, a short rule's reach. Our choice."""

STOP_REACH_MM = 300.0
"""[mm] A stop locks every seat this near to it: cables and pipes run on. Our choice."""
