"""``holdtrue simulate JOB``: plays installs with stated errors and compares ways of working."""

from __future__ import annotations

import argparse
import os
import sys
from functools import partial
from math import isfinite
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.random import Generator

    from holdtrue.commands._outcomes import Played
    from holdtrue.core.model import Plan
    from holdtrue.simulation.errors import ErrorSizes
    from holdtrue.simulation.play import Outcome, Trial

MOST_INSTALLS = 100_000
INSTALLS = 400
OTHERS = 4
"""Ways that are only compared are played a quarter as often: where much is trimmed, it is slow."""
SOURCES = 2
"""So are half as many installs without each source of error: they meet the same luck."""
ALSO_PLACING_MM = (0.8, 1.5)
"""The target's lines are played at these as well."""
AT_ONCE = 200
"""Fewer installs than this are played in this process: others take longer to start."""

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
    parser.add_argument("--installs", type=_installs, default=INSTALLS, metavar="N")
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

    # many small products, side by side in several processes: one thread is the quickest for each
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

    from holdtrue.commands import _files, _out, _outcomes
    from holdtrue.core.plan import make_plan
    from holdtrue.domain.jobfile import parse_job

    plan = make_plan(_files.read_as(args.job, parse_job))
    played = _play(args, plan, _sizes(args, plan))
    if args.picture:
        _draw(args.picture, plan, played.outcomes)
    if args.json:
        _out.write(json.dumps(_outcomes.values(plan, played, args.seed), indent=1))
    else:
        _out.write(_outcomes.as_text(plan, played, args.seed))
    return 0


def _sizes(args: argparse.Namespace, plan: Plan) -> ErrorSizes:
    from dataclasses import replace

    from holdtrue.simulation.errors import error_sizes

    named = [field for _, field, _ in (*_SIZES, *_INSTRUMENTS, *_SHARES)]
    given = {field: getattr(args, field) for field in named}
    known = {field: value for field, value in given.items() if value is not None}
    return replace(error_sizes(plan.job), **known)


def _play(args: argparse.Namespace, plan: Plan, sizes: ErrorSizes) -> Played:
    """Every way, the target's at other sizes of placing, and where it is not met what limits it."""
    from dataclasses import replace

    from holdtrue.commands._outcomes import Played
    from holdtrue.simulation.habits import FULL, OF_TARGET, WAYS
    from holdtrue.simulation.play import is_met, trials, without_each

    draws = partial(generator, args.seed)
    target, others = args.installs, -(-args.installs // OTHERS)
    ways = [
        trial if trial.way in OF_TARGET else replace(trial, installs=others)
        for trial in trials(plan, sizes, WAYS, installs=target, draws=draws)
    ]
    also = {
        u_mm: trials(plan, replace(sizes, placing_mm=u_mm), OF_TARGET, installs=target, draws=draws)
        for u_mm in ALSO_PLACING_MM
    }
    full = next(trial for trial in ways if trial.way.name == FULL)
    full = replace(full, installs=-(-args.installs // SOURCES))
    bar = _Bar(len(ways) + sum(map(len, also.values())))
    outcomes = list(_played(ways, bar))
    placed = {u_mm: tuple(_played(some, bar)) for u_mm, some in also.items()}
    sources: dict[str, Outcome] = {}
    if not is_met(outcomes):
        off = [full, *without_each(full)]
        bar.total += len(off)
        sources = {one.without: came for one, came in zip(off, _played(off, bar), strict=True)}
    bar.end()
    return Played(sizes=sizes, outcomes=tuple(outcomes), also=placed, sources=sources)


def generator(seed: int, name: str) -> Generator:
    """Random numbers by the name of what they are for: the same name, the same numbers."""
    from zlib import crc32

    import numpy as np

    return np.random.default_rng([seed, crc32(name.encode())])


def _played(some: Sequence[Trial], bar: _Bar) -> Iterator[Outcome]:
    """What came of each trial, in their order; several at once where there are many installs."""
    if sum(trial.installs for trial in some) < AT_ONCE * len(some):
        for trial in some:
            bar.tell(trial.name)
            yield trial.play()
        return
    from concurrent.futures import ProcessPoolExecutor
    from multiprocessing import get_context

    with ProcessPoolExecutor(mp_context=get_context("spawn")) as pool:
        for trial, came in zip(some, pool.map(_play_one, some), strict=True):
            bar.tell(trial.name)
            yield came


def _play_one(trial: Trial) -> Outcome:
    return trial.play()


class _Bar:
    """Progress on standard error, for a person: nothing where it goes to a file."""

    WIDTH = 30

    def __init__(self, total: int) -> None:
        self.total, self.done = total, 0
        self.is_shown = sys.stderr.isatty()

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
