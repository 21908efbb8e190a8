"""Error sizes and ways of a played install (``simulate``), with unit and source.

All are defaults; the command's options change them.
"""

from __future__ import annotations

DROP_U_MM = 0.5
"""[mm] Standard uncertainty of a fastener's real drop. Our choice."""
DROP_COMMON = 0.5
"""[-] Share of a drop's variance that all fasteners of one kind have in common. Our choice: nothing
is known, so half."""
SURPRISE = 0.25
"""[-] Chance that a pilot meets a stud nobody knew of. Our choice."""
FLOOR_U_MM = 1.0
"""[mm] Standard uncertainty of the height everything is counted from. Our choice."""
TRIM_U_MM = 0.1
"""[mm] Standard uncertainty of a shim's or a screw's step: thickness and seating. Our choice."""
SLIDE_U_MM = 0.2
"""[mm] Standard uncertainty of a slide: friction, and a rule watched while pushing. Our choice."""
ROUNDS = 4
"""[-] Panels trimmed one after the other before what is still outside is left to the lead. Our
choice."""
TARGET_TRIMS = 4
"""[-] Trims a job may take and still count as well done. The project's own target."""
TARGET_SHARE = 0.95
"""[-] Installs to end inside with no more trims than that. The project's own target."""
TARGET_PAPER = 0.05
"""[-] Installs that may end inside by a paper plan alone, at most: else the errors are too small to
tell the ways apart. The project's own target."""
TARGET_HOLES = 1.5
"""[-] Holes made again in a job, on average, at most. The project's own target."""
