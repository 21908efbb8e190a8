"""``holdtrue check``: read every line and every photo of the data; change nothing."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from holdtrue.store.check import Report


def add_parser(sub: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    from holdtrue.commands._data import add_data_option

    parser = sub.add_parser("check", help="verify the data", description=__doc__)
    add_data_option(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    from holdtrue.commands import _files
    from holdtrue.commands._data import data_folder
    from holdtrue.store.check import verify

    folder = data_folder(args)
    report = verify(folder)
    if not report.problems:
        _files.write(
            f"{folder}: {report.streams} logs, {report.entries} entries, {report.blobs} photos, "
            "all as they were written"
        )
    return say_report(report)


def say_report(report: Report) -> int:
    """What needs a person on standard error, and status 1 when something does."""
    import sys

    for note in report.notes:
        print(f"holdtrue: note: {note}", file=sys.stderr)
    for problem in report.problems:
        print(f"holdtrue: {problem}", file=sys.stderr)
    return 1 if report.problems else 0
