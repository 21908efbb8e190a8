"""Figures of trimming, story sticks and holes made again, with unit and source.

Where a figure was chosen by playing installs, ``holdtrue simulate`` is the play.
"""

from __future__ import annotations

RULE_U_MM = 0.3
"""[mm] Standard uncertainty of one reading of a steel rule with half millimetres, held across a gap
or a step: two ends rounded to 0.5 mm give 0.5 * sqrt(2 / 12) = 0.2 (GUM 4.3.7), the rest is left
for parallax. Our choice, editable."""

SHIM_MM = 0.5
"""[mm] One shim in a hanger's ring. Our choice, editable; 1/64 in is 0.397 mm."""
SHIM_MOST_MM = 4.0
"""[mm] Most a ring takes in shims. Our choice, editable."""
SLIDE_MM = 0.5
"""[mm] A hung panel is slid sideways by whole multiples of this. Our choice."""
INCH_STEP_MM = 25.4 / 32
"""[mm] A slide where tapes read inches: 1/32 in, which such a tape shows. Our choice."""
INCH_SHIM_MM = 25.4 / 64
"""[mm] One shim there: 1/64 in, the nearest to half a millimetre that is sold. Our choice."""
TURN_SHARE = 0.5
"""[-] A screw is turned by whole multiples of this share of a turn. Our choice."""
SCREW_MOST_MM = 2.0
"""[mm] Most a screw is turned up or down from where it was driven. Our choice."""
BUMPER_MM = 1.0
"""[mm] One layer of bumper behind an edge. Our choice, editable."""
BUMPER_MOST_MM = 4.0
"""[mm] Most that is put behind an edge. Our choice."""
HANGER_MOST_MM = 10.0
"""[mm] Most a hanger is moved on its panel. Our choice."""
HANGER_U_MM = 0.5
"""[mm] Standard uncertainty of moving a hanger on its panel, measured on a bench. Our choice."""

PLAY_SHARE = 0.5
"""[-] Play of one hanger each way over the slack tolerance. Two hangers that each give way by p
take a spacing that is off by 2 p; the slack tolerance says what they can take, so p is half of
it."""

TRIM_GUARD = 0.8
"""[-] Share of each tolerance to come within where that takes no more lift-offs and touches: the
rest is left for the readings' errors. Chosen by playing installs of a four-panel job (placing
1.0 mm) by a crew that trims whatever is beyond it: of 0.5, 0.6, 0.7, 0.8 and 0.9 this one left the
most installs inside with at most four trims."""
TRIM_AIM = 0.4
"""[-] Share to come within rather, on the same terms. Chosen the same way; from 0.5 down it makes
no difference that can be told from chance."""
MOST_NODES = 1_000
"""[-] Sets of touches looked at in one part of a problem before the answer is given as the best
found: about a second's work for two rows of four panels. Our choice."""
GUARD_U = 1.5
"""[-] Standard uncertainties by which what is judged on hung panels must be within its tolerance:
of values at the limit 93 % are inside. Chosen by playing installs of a four-panel job: of 0, 1,
1.25, 1.5 and 1.75 this one left the most inside with at most four trims."""
NEAR_U = 2.0
"""[-] Standard uncertainties of the tolerance within which a panel is read once more before it is
touched or left. Chosen the same way: 1.5 reads less and ends half a point lower, 3 reads three
times as much for as little more."""
MOST_READINGS = 3
"""[-] Readings of the same that are asked for at most. Chosen the same way: the third one is worth
most of a point."""
SLIP_U = 4.0
"""[-] A reading farther than this many standard uncertainties from what was known of a panel says
that it hangs elsewhere: one in 16,000 would be so by chance. Our choice."""
SLIP_MM = 3.0
"""[mm] Standard uncertainty of where such a panel's seats bear, but for that reading. Our choice:
ten times a reading's."""
NEAR_SHARE = 0.05
"""[-] Where no touch brings all inside, the nearest is found to this share of a tolerance. Our
choice."""

STICK_U_MM = 0.3
"""[mm] Standard uncertainty of what a story stick carries from one seat to the next. Our choice."""
STICK_LEAST_GAIN = 0.002
"""[-] A story stick is offered where it raises the chance by at least this much; below it the
chance itself is not known (see ``forecast``). Our choice."""

SHIMS_LEAST_GAIN = 0.02
"""[-] Shims before the lift are offered where they raise the chance by at least this much: marks
move for them, and every ring is laid. Our choice."""

APART_PILOT_MM = 6.0
"""[mm] Least distance of a new hole's centre from a pilot hole: twice a 3 mm bit, so that the bit
does not wander into the old hole. Our choice, editable."""
APART_FULL_MM = 25.0
"""[mm] The same from a hole opened for an anchor: twice a 12 mm hole, and a little. Our choice,
editable; the maker's figure prevails."""

BIAS_FROM = 2
"""[-] Loaded readings of a fastener kind before its common drop bias is offered. Our choice."""
BIAS_SIGNIFICANT_U = 2.0
"""[-] A bias of at least this many of its standard uncertainties is offered. Coverage factor for
about 95 %, GUM 6.3.3 and G.6.6."""
SCATTER_FREEDOM = 2
"""[-] Degrees of freedom before a kind is said to scatter: of three readings. Our choice."""
