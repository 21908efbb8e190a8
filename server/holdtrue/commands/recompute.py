"""``holdtrue recompute JOB LOG``: where every seat should go now, and how the work will finish."""

from __future__ import annotations

import argparse
from functools import partial
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from holdtrue.domain.results import Recomputed


def add_parser(sub: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    parser = sub.add_parser(
        "recompute", help="recompute a job file after a log", description=__doc__
    )
    parser.add_argument("job", metavar="JOB", help="a job file; - reads standard input")
    parser.add_argument("log", metavar="LOG", help="a log file; - reads standard input")
    parser.add_argument("--json", action="store_true", help="print JSON instead of a table")
    parser.set_defaults(run=partial(run, parser))


def run(parser: argparse.ArgumentParser, args: argparse.Namespace) -> int:
    import json

    from holdtrue.commands import _files, _out
    from holdtrue.domain.jobfile import parse_job
    from holdtrue.domain.results import (
        recompute_job,
        recompute_values,
        stop_findings,
        weightiest_first,
    )

    if args.job == args.log == "-":
        parser.error("only one of JOB and LOG can be standard input")
    job = _files.read_as(args.job, parse_job)
    result = _files.read_as(args.log, partial(recompute_job, job))
    text = json.dumps(recompute_values(result), indent=1) if args.json else as_text(result)
    _files.say(weightiest_first(stop_findings(result) + result.plan.findings))
    _out.write(text)
    return 0


def as_text(result: Recomputed) -> str:
    """The recomputed job for a person: where each seat is or goes, then the finish."""
    from holdtrue.commands._tables import graduation, paragraph, unit_word

    job = result.plan.job
    return "\n".join(
        [
            paragraph(job.title),
            "",
            paragraph(
                f"{unit_word(job)}, set seats as measured, marks to do (x and hole) to "
                f"{graduation(job)}: x from the reference line, right is +; heights from the floor."
            ),
            "",
            _places(result),
            "",
            _finish(result),
        ]
    )


def _places(result: Recomputed) -> str:
    from holdtrue.commands._tables import mark, reading, table
    from holdtrue.commands.plan import fastener_name
    from holdtrue.domain.results import marks_mm

    job = result.plan.job
    places = {**marks_mm(result.plan, result.set_mm), **result.set_mm}
    where, moved = [], []
    for seat, before in zip(result.plan.seats, result.planned.seats, strict=True):
        is_set = seat.seat in result.set_mm
        write = reading if is_set else mark
        x_mm, y_mm = places[seat.seat]
        hole_y_mm = y_mm + seat.hole_y_mm - seat.y_mm
        at = [write(job, x_mm), write(job, hole_y_mm), reading(job, y_mm)]
        where.append([seat.seat, "set" if is_set else "to do", *at, fastener_name(seat)])
        off = (x_mm - before.x_mm, y_mm - before.y_mm)
        moved.append([seat.seat, *(reading(job, mm, signed=True) for mm in off)])
    head = ["seat", "", "x", "hole height", "seat height", "fastener"]
    return "\n\n".join(
        [
            table(head, where, left=frozenset({0, 1, 5})),
            table(["from plan", "right", "up"], moved, left=frozenset({0})),
        ]
    )


def _finish(result: Recomputed) -> str:
    from holdtrue.commands._tables import table

    tolerance = result.plan.job.tolerance
    rows = []
    for kind, worst_mm in result.finish_mm.items():
        allowed_mm = getattr(tolerance, kind)
        verdict = "inside" if worst_mm <= allowed_mm else "OUTSIDE"
        rows.append([kind, f"{worst_mm:.2f} mm", f"{allowed_mm:.2f} mm", verdict])
    return table(["finish", "worst", "tolerance", ""], rows, left=frozenset({0, 3}))
