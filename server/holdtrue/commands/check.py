"""``holdtrue check``: read every line and every photo of the data; change nothing."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pathlib import Path

    from holdtrue.store.check import Report


def add_parser(sub: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    from holdtrue.commands._data import add_data_option

    parser = sub.add_parser("check", help="verify the data", description=__doc__)
    add_data_option(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    from holdtrue.commands import _out
    from holdtrue.commands._data import data_folder
    from holdtrue.store.check import verify

    folder = data_folder(args)
    report = verify(folder)
    say_unknown(folder)
    if not report.problems:
        _out.write(
            f"{folder}: {report.streams} logs, {report.entries} entries, {report.blobs} photos, "
            "all as they were written"
        )
    return say_report(report)


def say_unknown(folder: Path) -> None:
    """Logs under a name that is no job's id, such as a copy: nobody looks into them."""
    from holdtrue.commands import _out
    from holdtrue.service.streams import is_ours
    from holdtrue.store.layout import stream_files

    for stream, path in stream_files(folder):
        if not is_ours(stream):
            _out.tell(f"holdtrue: note: {path}: its name is no job's id; left alone")


def say_report(report: Report) -> int:
    """What needs a person on standard error, and status 1 when something does."""
    from holdtrue.commands import _out

    for note in report.notes:
        _out.tell(f"holdtrue: note: {note}")
    for problem in report.problems:
        _out.tell(f"holdtrue: {problem}")
    return 1 if report.problems else 0
