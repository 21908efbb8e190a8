"""A load beside the weight limit: the lifting index, and a team's share of a load.

The lifting equation describes one person. What one of a team holds is reported as a share, with
that sentence, and never as a clearance; nothing here says that one person is enough.

Source: DHHS (NIOSH) Publication 94-110, revised 9/2021, pp. 7 and 20.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from holdtrue.core import sources_lifting as niosh
from holdtrue.core.errors import CoreError
from holdtrue.core.ranges import above_zero, in_range


@dataclass(frozen=True, slots=True, kw_only=True)
class TeamShare:
    """The largest share of a load one of a team holds, its lifting index, and what that does not
    mean; ``verdict`` is about the share alone."""

    share: float
    index: float
    verdict: Literal["within", "above", "far above"]
    statements: tuple[str, ...]


def lifting_index(load: float, limit: float) -> float:
    """LI = L / RWL: design to at most 1; above 3 nearly all workers are at a higher risk.

    Parameters: load, L [kg or lb], >= 0; limit, RWL [the same], > 0.
    Returns: index [-].
    Raises: CoreError for a limit of 0: the lift lies outside the equation and must be changed.
    Source: NIOSH 94-110, pp. 7, 20.

    >>> round(lifting_index(44.0, 16.3), 1)
    2.7
    """
    in_range("load", load, unit="kg or lb")
    if limit == 0:
        raise CoreError(
            "weight limit", limit, "bring the lift nearer, lower or slower: not covered"
        )
    return load / above_zero("weight limit", limit, unit="kg or lb")


def team_share(
    load: float, *, people: int, limit: float, largest_share: float | None = None
) -> TeamShare:
    """The largest share of a load that one of a team holds, beside one person's weight limit.

    share = load / people, or load * largest share; index = share / RWL.

    Parameters: load [kg or lb], >= 0; people [-], >= 1; limit, RWL of one person for the same
    movement [the same], > 0; largest_share of the heaviest end [-], 1/people to 1, equal shares
    where not given.
    Returns: TeamShare; its statements are to be shown with it, always.
    Raises: CoreError outside those ranges; a limit of 0 as in ``lifting_index``.
    Source: division is ours; NIOSH 94-110 covers one person only.

    >>> two = team_share(24.0, people=2, limit=15.0)
    >>> two.share, two.index, two.verdict, two.statements[0][:31]
    (12.0, 0.8, 'within', 'Lifts by two or more people are')
    """
    if people < 1:
        raise CoreError("people", people, "give at least 1")
    in_range("load", load, unit="kg or lb")
    equal = 1.0 / people
    part = equal if largest_share is None else largest_share
    in_range("largest share", part, low=equal, high=1.0)
    index = lifting_index(load * part, limit)
    verdict: Literal["within", "above", "far above"] = "within"
    if index > niosh.INDEX_DESIGN:
        verdict = "far above" if index > niosh.INDEX_HIGH else "above"
    first = niosh.TEAM_LIMIT if people > 1 else niosh.ALONE_LIMIT
    return TeamShare(
        share=load * part,
        index=index,
        verdict=verdict,
        statements=(first, "Not covered: " + "; ".join(niosh.LIMITS) + "."),
    )
