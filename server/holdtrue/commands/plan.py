"""``holdtrue plan JOB``: every seat, its hole, what is behind it and what it carries."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from holdtrue.core.model import Plan, PlannedSeat


def add_parser(sub: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    parser = sub.add_parser("plan", help="plan a job file", description=__doc__)
    parser.add_argument("job", metavar="JOB", help="a job file; - reads standard input")
    parser.add_argument("--json", action="store_true", help="print JSON instead of a table")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    import json

    from holdtrue.commands import _files
    from holdtrue.core.plan import make_plan
    from holdtrue.domain.jobfile import parse_job
    from holdtrue.domain.results import plan_values, weightiest_first

    plan = make_plan(_files.read_as(args.job, parse_job))
    text = json.dumps(plan_values(plan), indent=1) if args.json else as_text(plan)
    _files.say(weightiest_first(plan.findings))
    _files.write(text)
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
    from holdtrue.commands._tables import table
    from holdtrue.core.plan import load_share, seat_force_N

    rows = []
    for seat in plan.seats:
        allowed = seat.fastener.allowed_N if seat.fastener else None
        share = load_share(seat)
        rows.append(
            [
                seat.seat,
                f"{seat.load_N:.1f} N",
                f"{seat.pull_N:.1f} N",
                f"{seat_force_N(seat):.1f}"
                + (" / not known" if allowed is None else f" / {allowed:.1f} N"),
                "not known" if share is None else f"{100 * share:.0f} %",
            ]
        )
    return table(["seat", "load", "pull", "both / allowed", "used"], rows, left=frozenset({0}))


def fastener_name(seat: PlannedSeat) -> str:
    return seat.fastener.name if seat.fastener else "none listed"
