"""Played installs as tables, and as plain JSON values."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass

from holdtrue.commands._tables import paragraph, table
from holdtrue.core.model import Plan
from holdtrue.core.sources_play import TARGET_TRIMS
from holdtrue.simulation.errors import ErrorSizes
from holdtrue.simulation.habits import FULL, PAPER
from holdtrue.simulation.play import Outcome, Part, is_met, verdict


@dataclass(frozen=True, slots=True, kw_only=True)
class Played:
    """All that was played: every way; the target's at other sizes of placing; and without each
    source of error in turn ("" for with all of them), where the target is not met."""

    sizes: ErrorSizes
    outcomes: tuple[Outcome, ...]
    also: Mapping[float, tuple[Outcome, ...]]
    sources: Mapping[str, Outcome]

    def of(self, way: str) -> Outcome:
        return next(one for one in self.outcomes if one.way == way)


def values(plan: Plan, played: Played, seed: int) -> dict[str, object]:
    """Everything as plain JSON values."""
    return {
        "job": plan.job.title,
        "installs": played.of(FULL).installs,
        "seed": seed,
        "errors": asdict(played.sizes),
        "few_trims": TARGET_TRIMS,
        "ways": [_value(outcome) for outcome in played.outcomes],
        "at_placing_mm": {
            f"{u_mm:g}": [_value(one) for one in some] for u_mm, some in played.also.items()
        },
        "without": {name: _value(one) for name, one in played.sources.items()},
        "target": [asdict(part) for part in verdict(played.outcomes)],
        "target_met": is_met(played.outcomes),
    }


def _value(outcome: Outcome) -> dict[str, object]:
    def both(pair: tuple[float, float]) -> dict[str, float]:
        return {"mean": round(pair[0], 4), "at_95": pair[1]}

    return {
        "way": outcome.way,
        "installs": outcome.installs,
        "share_inside": outcome.share_inside,
        "share_inside_few_trims": outcome.share_inside_few_trims,
        "standard_error": round(outcome.standard_error, 5),
        "worst_at_95_mm": {kind: round(mm, 4) for kind, mm in outcome.worst_mm.items()},
        "trims": both(outcome.trims),
        "lift_offs": both(outcome.lift_offs),
        "rings_shimmed_before_lift": both(outcome.shims),
        "corrected_holes": both(outcome.holes),
        "pilots_given_up": both(outcome.pilots),
        "limiting": [{"criterion": c, "share_outside": s} for c, s in outcome.limiting],
    }


def as_text(plan: Plan, played: Played, seed: int) -> str:
    """Ways of working, what limits them, the worst finish, and the target."""
    parts = [
        paragraph(plan.job.title),
        paragraph(_played(played, seed)),
        _ways(played.outcomes),
        paragraph(
            "Means, with what 95 % of the installs stay within in brackets. Inside: every "
            f"criterion inside its tolerance; few: that with at most {TARGET_TRIMS} trims. Trims: "
            "touches on hung panels; a panel slid to its gap while it is seated is none. Shims: "
            "rings shimmed on the floor, before the lift. Holes: made again, each with a patch and "
            "paint. Pilots given up for a stud nobody knew of, "
            f"{played.of(FULL).pilots[0]:.1f} a job, are small patches besides."
        ),
        _limits(played.outcomes),
        _worst(plan, played),
        _also(played.also),
    ]
    if played.sources:
        parts.append(_sources(played.sources))
    parts.append(paragraph(_target(played)))
    return "\n\n".join(parts)


def _played(played: Played, seed: int) -> str:
    sizes, most = played.sizes, played.of(FULL).installs
    others = min(outcome.installs for outcome in played.outcomes)
    return (
        f"{most} installs by paper and by all of it, {others} by each other way, seed {seed}. "
        f"Standard uncertainties, mm: placing {sizes.placing_mm:g}, marking {sizes.marking_mm:g}, "
        f"tape {sizes.tape_mm:g}, level {sizes.level_mm:g} and {sizes.level_mm_per_m:g} mm/m, rule "
        f"{sizes.rule_mm:g}, drop {sizes.drop_mm:g} ({sizes.drop_common:.0%} of its variance "
        f"common to a kind), floor {sizes.floor_mm:g}, story stick {sizes.stick_mm:g}; an unknown "
        f"stud at {sizes.surprise:.0%} of the seats."
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
            _both(outcome.shims),
            _both(outcome.holes),
        ]
        for outcome in outcomes
    ]
    head = ["way", "inside", "few", "trims", "lifts", "shims", "holes"]
    return table(head, rows, left=frozenset({0}))


def _limits(outcomes: Sequence[Outcome]) -> str:
    rows = []
    for outcome in outcomes:
        worst = [f"{name} {_percent(share)}" for name, share in outcome.limiting if share > 0]
        rows.append([outcome.way, ", ".join(worst[:2]) or "nothing"])
    return table(["way", "most often outside"], rows, left=frozenset({0, 1}))


def _worst(plan: Plan, played: Played) -> str:
    shown = [played.of(name) for name in (PAPER, "recompute", FULL)]
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


def _short(outcome: Outcome) -> str:
    return "all of it" if outcome.way == FULL else outcome.way


def _also(also: Mapping[float, Sequence[Outcome]]) -> str:
    rows = [
        [
            f"{u_mm:g}",
            _short(outcome),
            _percent(outcome.share_inside),
            _percent(outcome.share_inside_few_trims),
            _both(outcome.trims),
            _both(outcome.shims),
            _both(outcome.holes),
            outcome.limiting[0][0],
        ]
        for u_mm, some in also.items()
        for outcome in some
    ]
    head = ["placing", "way", "inside", "few", "trims", "shims", "holes", "limited by"]
    return table(head, rows, left=frozenset({1, 7}))


def _sources(sources: Mapping[str, Outcome]) -> str:
    whole = sources[""].share_inside_few_trims
    rows = [
        [name, _percent(one.share_inside_few_trims), f"{100 * gain:+.1f}"]
        for name, one in sources.items()
        if name
        for gain in (one.share_inside_few_trims - whole,)
    ]
    rows.sort(key=lambda row: -float(row[2]))
    head = [f"all of it ({_percent(whole)}) without", "few", "points"]
    return table(head, rows, left=frozenset({0}))


def _target(played: Played) -> str:
    parts = verdict(played.outcomes)
    said = "; ".join(_part(part) for part in parts)
    if is_met(played.outcomes):
        return f"Asked for, by all of it at the placing played: {said}. Met."
    full = played.of(FULL)
    name, share = full.limiting[0]
    limits = f" Most often outside: {name}, in {_percent(share)}."
    off = {source: one for source, one in played.sources.items() if source}
    if off:
        source = max(off, key=lambda key: off[key].share_inside_few_trims)
        limits += (
            f" Limited most by {source}: without, "
            f"{_percent(off[source].share_inside_few_trims)} would."
        )
    return f"Asked for, by all of it at the placing played: {said}. Not met.{limits}"


def _part(part: Part) -> str:
    number = f"{part.found:.2f}" if part.found >= 1 or "holes" in part.what else ""
    found = number or _percent(part.found)
    return f"{part.what} {part.asked}: {found}{'' if part.is_met else ', not met'}"
