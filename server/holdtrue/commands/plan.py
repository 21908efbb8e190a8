"""``holdtrue plan JOB``: every seat, its hole, what is behind it and what it carries."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from holdtrue.core.model import Plan, PlannedSeat
    from holdtrue.domain.loadrows import LoadRow


def add_parser(sub: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    parser = sub.add_parser("plan", help="plan a job file", description=__doc__)
    parser.add_argument("job", metavar="JOB", help="a job file; - reads standard input")
    parser.add_argument("--json", action="store_true", help="print JSON instead of a table")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    import json

    from holdtrue.commands import _files, _out
    from holdtrue.core.plan import make_plan
    from holdtrue.core.suggest import suggest
    from holdtrue.domain.jobfile import parse_job
    from holdtrue.domain.results import plan_values, weightiest_first
    from holdtrue.domain.suggestions import suggestion_texts

    plan = make_plan(_files.read_as(args.job, parse_job))
    text = json.dumps(plan_values(plan), indent=1) if args.json else as_text(plan)
    _files.say(weightiest_first(plan.findings))
    _files.suggest(suggestion_texts(suggest(plan), plan.job))
    _out.write(text)
    return 0


def as_text(plan: Plan) -> str:
    """The plan for a person: where the marks go, then what each fastener carries."""
    from holdtrue.commands._tables import graduation, paragraph, unit_word

    return "\n".join(
        [
            paragraph(plan.job.title),
            "",
            paragraph(
                f"{unit_word(plan.job)}, marks (x and hole) to {graduation(plan.job)}: x from "
                "the reference line, right is +; heights from the floor."
            ),
            "",
            _places(plan),
            "",
            _loads(plan),
        ]
    )


def _places(plan: Plan) -> str:
    from holdtrue.commands._tables import mark, reading, table
    from holdtrue.domain.results import marks_mm

    marks = marks_mm(plan, {})
    rows = []
    for seat in plan.seats:
        x_mm, y_mm = marks[seat.seat]
        hole_y_mm = y_mm + seat.hole_y_mm - seat.y_mm
        at = [mark(plan.job, x_mm), mark(plan.job, hole_y_mm), reading(plan.job, y_mm)]
        rows.append([seat.seat, *at, seat.into, fastener_name(seat)])
    head = ["seat", "x", "hole height", "seat height", "into", "fastener"]
    return table(head, rows, left=frozenset({0, 4, 5}))


def _loads(plan: Plan) -> str:
    """Loads in newtons, in an inch job also in pounds of force; then the one-fastener check."""
    from holdtrue.core.units import N_PER, is_inch_like
    from holdtrue.domain.loadrows import load_rows

    rows = load_rows(plan)
    tables = [_load_table(rows, "N", 1.0)]
    if is_inch_like(plan.job.unit):
        tables.append(_load_table(rows, "lbf", float(N_PER["lbf"])))
    return "\n\n".join([*tables, _alone_table(rows)])


def _load_table(rows: tuple[LoadRow, ...], unit: str, newton: float) -> str:
    from holdtrue.commands._tables import table
    from holdtrue.domain.loadrows import share_text

    lines = [
        [
            row.seat,
            f"{row.load_N / newton:.1f} {unit}",
            f"{row.pull_N / newton:.1f} {unit}",
            f"{row.force_N / newton:.1f}"
            + (
                " / not known"
                if row.allowed_N is None
                else f" / {row.allowed_N / newton:.1f} {unit}"
            ),
            share_text(row.share),
        ]
        for row in rows
    ]
    return table(["seat", "load", "pull", "both / allowed", "used"], lines, left=frozenset({0}))


def _alone_table(rows: tuple[LoadRow, ...]) -> str:
    """What each would carry if the others of its panel let go, and where the allowed comes from."""
    from holdtrue.commands._tables import table
    from holdtrue.domain.loadrows import share_text

    lines = [
        [row.seat, f"{row.alone_N:.1f} N", share_text(row.alone_share), row.basis] for row in rows
    ]
    head = ["seat", "alone", "used then", "allowed by"]
    return table(head, lines, left=frozenset({0, 3}))


def fastener_name(seat: PlannedSeat) -> str:
    return seat.fastener.name if seat.fastener else "none listed"
