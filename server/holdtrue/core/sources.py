"""Constants of the formulas: each a plain number with unit and source in the text below it.

A figure that is our own choice says so.
"""

from __future__ import annotations

STANDARD_GRAVITY = 9.80665
"""[m/s^2], exact by definition. 3rd General Conference on Weights and Measures (1901), declaration
on the unit of mass and the definition of weight; NIST Special Publication 811, appendix B.8."""

OVERLAP_MM = Constant(
    value=1.0,
    unit="mm",
    source="our choice",
    note="Panels of adjacent grid rows are neighbours when their x ranges overlap by more.",
)

STUD_WIDTH_MM = Constant(
    value=38.1,
    unit="mm",
    source="American Softwood Lumber Standard PS 20, actual width of a nominal 2 x 4: 1 1/2 in",
)

STUD_CLEARANCE_MM = Constant(
    value=6.0,
    unit="mm",
    source="our choice, editable per wall",
    note="Beyond a stud's edge still too close for a hollow-wall fastener.",
)

FACTOR_ULTIMATE = Constant(
    value=4.0,
    unit="-",
    source="consumer guidance on drywall fasteners: divide published ultimate loads by at least 4",
    note="Editable per fastener; the maker's own factor prevails.",
)

FACTOR_WORKING = Constant(
    value=1.0,
    unit="-",
    source="a working load already holds the maker's factor",
)

PLACING_U_MM = Constant(
    value=1.0,
    unit="mm",
    source="our choice, editable",
    note="Standard uncertainty of placing a fastener on its mark.",
)

MOVE_SHARE = Constant(
    value=0.5,
    unit="-",
    source="our choice",
    note="Share of a graduation below which a mark already given stays.",
)

KEEP_RISE = Constant(
    value=0.1,
    unit="-",
    source="our choice",
    note="A given mark stays unless keeping it raises the worst residual by more, in tolerances.",
)
