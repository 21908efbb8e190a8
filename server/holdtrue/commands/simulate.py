"""``holdtrue simulate JOB``: plays installs with stated errors and compares ways of working."""

from __future__ import annotations

import argparse
import sys
from functools import partial
from math import isfinite
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from holdtrue.core.crew import ErrorSizes
    from holdtrue.core.model import Plan
    from holdtrue.core.simulate import Outcome, Way

MOST_INSTALLS = 100_000
ALSO_PLACING_MM = (0.8, 1.5)
"""The target's line is played at these as well."""

_SIZES = (
    ("placing", "placing_mm", "of placing a fastener on its mark, mm"),
    ("marking", "marking_mm", "of the mark itself, where it is not in placing, mm"),
    ("drop", "drop_mm", "of a fastener's real drop, mm"),
    ("floor", "floor_mm", "of the height everything is counted from, mm"),
    ("stick", "stick_mm", "of what a story stick carries over, mm"),
)
_INSTRUMENTS = (
    ("tape", "tape_mm", "of one reading by tape, mm"),
    ("level", "level_mm", "of one reading by level, mm"),
    ("level-per-m", "level_mm_per_m", "of a level by distance, mm/m, besides the one above"),
    ("rule", "rule_mm", "of one reading by steel rule across a gap or step, mm"),
)
_SHARES = (
    ("surprise", "surprise", "chance that a pilot meets a stud nobody knew of"),
    ("drop-common", "drop_common", "share of a drop's variance common to its fastener kind"),
)


def add_parser(sub: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    parser = sub.add_parser(
        "simulate", help="play installs and compare ways of working", description=__doc__
    )
    parser.add_argument("job", metavar="JOB", help="a job file; - reads standard input")
    parser.add_argument("--installs", type=_installs, default=2000, metavar="N")
    parser.add_argument("--seed", type=_seed, default=1, metavar="S")
    parser.add_argument("--json", action="store_true", help="print JSON instead of tables")
    parser.add_argument("--picture", metavar="FILE.svg", help="draw the distributions")
    errors = parser.add_argument_group(
        "error sizes", "standard uncertainties; what is not given is the job's or our default"
    )
    for names, read in ((_SIZES, _size), (_INSTRUMENTS, _instrument), (_SHARES, _share)):
        for option, field, what in names:
            errors.add_argument(f"--{option}", dest=field, type=read, metavar="U", help=what)
    parser.set_defaults(run=run)


def _number(text: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = float("nan")
    if not isfinite(value) or value > 1000.0:
        raise argparse.ArgumentTypeError(f"{text!r} is not a number up to 1000")
    return value


def _size(text: str) -> float:
    value = _number(text)
    if value < 0:
        raise argparse.ArgumentTypeError(f"{text!r} is negative")
    return value


def _instrument(text: str) -> float:
    value = _number(text)
    if value < 0.001:
        raise argparse.ArgumentTypeError(f"{text!r} is not at least 0.001: no reading is exact")
    return value


def _share(text: str) -> float:
    value = _number(text)
    if not 0 <= value <= 1:
        raise argparse.ArgumentTypeError(f"{text!r} is not between 0 and 1")
    return value


def _installs(text: str) -> int:
    if not text.isascii() or not text.isdigit() or not 1 <= int(text[:9]) <= MOST_INSTALLS:
        raise argparse.ArgumentTypeError(f"{text!r} is not a whole number, 1 to {MOST_INSTALLS}")
    return int(text)


def _seed(text: str) -> int:
    if not text.isascii() or not text.isdigit() or len(text) > 18:
        raise argparse.ArgumentTypeError(f"{text!r} is not a whole number from 0 up")
    return int(text)


def run(args: argparse.Namespace) -> int:
    import json

    from holdtrue.commands import _files, _out
    from holdtrue.core.plan import make_plan
    from holdtrue.core.simulate import FULL, PAPER, WAYS
    from holdtrue.domain.jobfile import parse_job

    plan = make_plan(_files.read_as(args.job, parse_job))
    sizes = _sizes(args, plan)
    ends = [way for way in WAYS if way.name in (PAPER, FULL)]
    bar = _Bar(len(WAYS) + len(ends) * len(ALSO_PLACING_MM))
    play = partial(_play, args, plan, bar.tell)
    outcomes = play(sizes, WAYS)
    also = {u_mm: play(_placing(sizes, u_mm), ends) for u_mm in ALSO_PLACING_MM}
    bar.end()
    if args.picture:
        _draw(args.picture, plan, outcomes)
    if args.json:
        _out.write(json.dumps(values(args, plan, sizes, outcomes, also), indent=1))
    else:
        _out.write(as_text(args, plan, sizes, outcomes, also))
    return 0


def _sizes(args: argparse.Namespace, plan: Plan) -> ErrorSizes:
    from dataclasses import replace

    from holdtrue.core.crew import error_sizes

    named = [field for _, field, _ in (*_SIZES, *_INSTRUMENTS, *_SHARES)]
    given = {field: getattr(args, field) for field in named}
    known = {field: value for field, value in given.items() if value is not None}
    return replace(error_sizes(plan.job), **known)


def _placing(sizes: ErrorSizes, u_mm: float) -> ErrorSizes:
    from dataclasses import replace

    return replace(sizes, placing_mm=u_mm)


def _play(
    args: argparse.Namespace,
    plan: Plan,
    told: Callable[[str], None],
    sizes: ErrorSizes,
    ways: Sequence[Way],
) -> tuple[Outcome, ...]:
    import numpy as np

    from holdtrue.core.simulate import compare_ways

    return compare_ways(
        plan,
        sizes,
        installs=args.installs,
        draws=partial(np.random.default_rng, args.seed),
        ways=ways,
        told=told,
    )


class _Bar:
    """Progress on standard error, for a person: nothing where it goes to a file."""

    WIDTH = 30

    def __init__(self, total: int) -> None:
        self.total, self.done = total, 0
        self.is_shown = sys.stderr is not None and sys.stderr.isatty()

    def tell(self, name: str) -> None:
        if self.is_shown:
            full = self.WIDTH * self.done // self.total
            bar = "#" * full + "." * (self.WIDTH - full)
            print(f"\r[{bar}] {name:<30.30}", end="", file=sys.stderr, flush=True)
        self.done += 1

    def end(self) -> None:
        if self.is_shown:
            print(f"\r{'':<{self.WIDTH + 33}}\r", end="", file=sys.stderr, flush=True)


def _draw(name: str, plan: Plan, outcomes: Sequence[Outcome]) -> None:
    from pathlib import Path

    from holdtrue.domain.errors import InputError
    from holdtrue.drawing.outcomes import outcomes_picture

    try:
        Path(name).write_text(outcomes_picture(plan.job.title, outcomes), encoding="utf-8")
    except OSError as error:
        raise InputError(
            name, None, f"cannot be written: {error.strerror or error}; check the folder"
        ) from error


def values(
    args: argparse.Namespace,
    plan: Plan,
    sizes: ErrorSizes,
    outcomes: Sequence[Outcome],
    also: dict[float, tuple[Outcome, ...]],
) -> dict[str, object]:
    """Everything as plain JSON values."""
    from dataclasses import asdict

    from holdtrue.core.simulate import target_met
    from holdtrue.core.sources_play import TARGET_TRIMS

    return {
        "job": plan.job.title,
        "installs": args.installs,
        "seed": args.seed,
        "errors": asdict(sizes),
        "few_trims": TARGET_TRIMS,
        "ways": [_value(outcome) for outcome in outcomes],
        "at_placing_mm": {
            f"{u_mm:g}": [_value(outcome) for outcome in played] for u_mm, played in also.items()
        },
        "target_met": target_met(outcomes),
    }


def _value(outcome: Outcome) -> dict[str, object]:
    def both(pair: tuple[float, float]) -> dict[str, float]:
        return {"mean": round(pair[0], 4), "at_95": pair[1]}

    return {
        "way": outcome.way,
        "share_inside": outcome.share_inside,
        "standard_error": round(outcome.standard_error, 5),
        "share_inside_few_trims": outcome.share_inside_few_trims,
        "worst_at_95_mm": {kind: round(mm, 4) for kind, mm in outcome.worst_mm.items()},
        "trims": both(outcome.trims),
        "lift_offs": both(outcome.lift_offs),
        "packed_rings": both(outcome.packed),
        "corrected_holes": both(outcome.corrected),
        "limiting": [{"criterion": c, "share_outside": s} for c, s in outcome.limiting],
    }


def as_text(
    args: argparse.Namespace,
    plan: Plan,
    sizes: ErrorSizes,
    outcomes: Sequence[Outcome],
    also: dict[float, tuple[Outcome, ...]],
) -> str:
    """What came of each way, for a person."""
    from holdtrue.commands import _outcomes

    return _outcomes.as_text(plan, sizes, outcomes, also, seed=args.seed)
