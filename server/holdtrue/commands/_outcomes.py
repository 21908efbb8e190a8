"""Played installs as tables."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from holdtrue.commands._tables import paragraph, table
from holdtrue.core.crew import ErrorSizes
from holdtrue.core.model import Plan
from holdtrue.core.simulate import FULL, PAPER, Outcome, target_met
from holdtrue.core.sources_play import TARGET_HOLES, TARGET_PAPER, TARGET_SHARE, TARGET_TRIMS


def as_text(
    plan: Plan,
    sizes: ErrorSizes,
    outcomes: Sequence[Outcome],
    also: Mapping[float, Sequence[Outcome]],
    *,
    seed: int,
) -> str:
    """Ways of working, what limits them, the worst finish, and the target."""
    first = outcomes[0]
    return "\n".join(
        [
            paragraph(plan.job.title),
            "",
            paragraph(_played(sizes, first.installs, seed)),
            "",
            _ways(outcomes),
            "",
            paragraph(
                "Means, with what 95 % of the installs stay within in brackets. Inside: every "
                f"criterion inside its tolerance, and that with at most {TARGET_TRIMS} trims. "
                "Trims: touches on hung panels; sliding a panel to its gap while hanging it is "
                "none. Packed: rings whose shims are changed before the lift. Holes: made again, "
                "each with a patch and paint."
            ),
            "",
            _limits(outcomes),
            "",
            _worst(plan, outcomes),
            "",
            _also(also),
            "",
            paragraph(_target(outcomes)),
        ]
    )


def _played(sizes: ErrorSizes, installs: int, seed: int) -> str:
    return (
        f"{installs} installs of each way, seed {seed}. Standard uncertainties, mm: placing "
        f"{sizes.placing_mm:g}, marking {sizes.marking_mm:g}, tape {sizes.tape_mm:g}, level "
        f"{sizes.level_mm:g} and {sizes.level_mm_per_m:g} mm/m, rule {sizes.rule_mm:g}, drop "
        f"{sizes.drop_mm:g} ({sizes.drop_common:.0%} of its variance common to a kind), floor "
        f"{sizes.floor_mm:g}, story stick {sizes.stick_mm:g}; an unknown stud at "
        f"{sizes.surprise:.0%} of the seats."
    )


def _percent(share: float) -> str:
    return f"{100 * share:.1f} %"


def _both(pair: tuple[float, float]) -> str:
    return f"{pair[0]:.1f} ({pair[1]:.0f})"


def _ways(outcomes: Sequence[Outcome]) -> str:
    rows = [
        [
            outcome.way,
            _percent(outcome.share_inside),
            _percent(outcome.share_inside_few_trims),
            _both(outcome.trims),
            _both(outcome.lift_offs),
            _both(outcome.packed),
            _both(outcome.corrected),
        ]
        for outcome in outcomes
    ]
    head = ["way", "inside", "few trims", "trims", "lifts", "packed", "holes"]
    return table(head, rows, left=frozenset({0}))


def _limits(outcomes: Sequence[Outcome]) -> str:
    rows = []
    for outcome in outcomes:
        worst = [f"{name} {_percent(share)}" for name, share in outcome.limiting if share > 0]
        rows.append([outcome.way, ", ".join(worst[:2]) or "nothing"])
    return table(["way", "most often outside"], rows, left=frozenset({0, 1}))


def _worst(plan: Plan, outcomes: Sequence[Outcome]) -> str:
    by_name = {outcome.way: outcome for outcome in outcomes}
    shown = [by_name[name] for name in (PAPER, "recompute", FULL)]
    rows = [
        [
            kind,
            f"{getattr(plan.job.tolerance, kind):.2f}",
            *(f"{outcome.worst_mm[kind]:.2f}" for outcome in shown),
        ]
        for kind in shown[0].worst_mm
    ]
    head = ["worst at 95 %, mm", "tolerance", "paper plan", "recompute", "all of it"]
    return table(head, rows, left=frozenset({0}))


def _also(also: Mapping[float, Sequence[Outcome]]) -> str:
    rows = [
        [
            f"{u_mm:g}",
            "all of it" if outcome.way == FULL else outcome.way,
            _percent(outcome.share_inside),
            _percent(outcome.share_inside_few_trims),
            _both(outcome.trims),
            _both(outcome.corrected),
            outcome.limiting[0][0],
        ]
        for u_mm, played in also.items()
        for outcome in played
    ]
    head = ["placing", "way", "inside", "few trims", "trims", "holes", "limited by"]
    return table(head, rows, left=frozenset({1, 6}))


def _target(outcomes: Sequence[Outcome]) -> str:
    by_name = {outcome.way: outcome for outcome in outcomes}
    full, paper = by_name[FULL], by_name[PAPER]
    asked = (
        f"Asked for: at least {TARGET_SHARE:.0%} inside with at most {TARGET_TRIMS} trims, at most "
        f"{TARGET_HOLES:g} holes made again on average, and less than {TARGET_PAPER:.0%} by paper "
        "alone. "
    )
    found = (
        f"All of it: {_percent(full.share_inside_few_trims)} (paper plan "
        f"{_percent(paper.share_inside)}), {full.corrected[0]:.2f} holes: "
    )
    if target_met(outcomes):
        return asked + found + "met."
    name, share = full.limiting[0]
    return asked + found + f"not met. Limited by {name}, outside in {_percent(share)}."
