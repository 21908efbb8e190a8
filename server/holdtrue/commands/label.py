"""``holdtrue label JOB``: crate labels as SVG files at true size."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from holdtrue.core.model import Plan
    from holdtrue.labels import LabelContent


def add_parser(sub: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    parser = sub.add_parser("label", help="write crate labels", description=__doc__)
    parser.add_argument("job", metavar="JOB", help="a job file; - reads standard input")
    parser.add_argument("--size", choices=("a6", "4x6"), default="a6", help="paper (default a6)")
    parser.add_argument(
        "--out", metavar="DIR", default=".", help="folder for the files (default .)"
    )
    parser.add_argument(
        "--crate",
        metavar="PANELS",
        action="append",
        help="panels of one crate, as in A,B; once for each crate (default: one crate with all)",
    )
    parser.add_argument(
        "--address", metavar="URL", default="", help="address of the card, for the code to scan"
    )
    parser.add_argument("--title", action="store_true", help="print the title; it invites theft")
    parser.add_argument(
        "--date", metavar="YYYY-MM-DD", default="", help="date on the label (default: today)"
    )
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    from holdtrue.commands import _files, _out
    from holdtrue.core.plan import make_plan
    from holdtrue.domain.jobfile import parse_job
    from holdtrue.domain.results import weightiest_first
    from holdtrue.labels import label_svg

    date = _date(args.date)
    job, short_id = _files.read_as(
        args.job, lambda document: (parse_job(document), short_id_of(document))
    )
    plan = make_plan(job)
    # all of them are made before any is written: either every file or none
    labels = [label_svg(content, args.size) for content in _contents(plan, args, short_id, date)]
    names = [f"{short_id}-crate-{n}-of-{len(labels)}-{args.size}.svg" for n in _from_1(labels)]
    paths = _write_files(Path(args.out), dict(zip(names, labels, strict=True)))
    _files.say(weightiest_first(plan.findings))
    _out.write("\n".join(str(path) for path in paths))
    return 0


def short_id_of(document: object) -> str:
    """Eight characters that stand for what the file says, whatever its layout and name."""
    import hashlib
    import json

    from holdtrue.domain import tokens

    text = json.dumps(document, sort_keys=True, separators=(",", ":"))
    return tokens.encode(hashlib.sha256(text.encode()).digest(), tokens.CODE_LENGTH)


def _date(text: str) -> str:
    from datetime import UTC, date, datetime

    from holdtrue.domain.errors import InputError

    if not text:
        return datetime.now(UTC).date().isoformat()
    try:
        return date.fromisoformat(text).isoformat()
    except ValueError as error:
        raise InputError("--date", text, "give a date as in 2026-11-05") from error


def _address(text: str) -> str:
    """The card's address; bytes that are no text of the terminal's have no place in a code."""
    from holdtrue.domain.errors import InputError

    if not text.isprintable():
        raise InputError("--address", text, "give an address of plain characters")
    return text


def _contents(
    plan: Plan, args: argparse.Namespace, short_id: str, date: str
) -> Iterator[LabelContent]:
    from holdtrue.labels import label_content

    address = _address(args.address)
    crates: list[list[str] | None] = [
        [name.strip() for name in panels.split(",")] for panels in args.crate or ()
    ]
    crates = crates or [None]
    for number, panels in enumerate(crates, start=1):
        yield label_content(
            plan,
            short_id=short_id,
            card_url=address,
            revision=1,
            date=date,
            crate=number,
            crates=len(crates),
            panel_names=panels,
            show_title=args.title,
        )


def _from_1(listed: Sequence[object]) -> range:
    return range(1, len(listed) + 1)


def _write_files(folder: Path, files: Mapping[str, str]) -> list[Path]:
    from holdtrue.domain.errors import InputError

    written = []
    for name, text in files.items():
        path = folder / name
        try:
            folder.mkdir(parents=True, exist_ok=True)
            path.write_text(text, encoding="utf-8")
        except OSError as error:
            raise InputError(
                str(path), None, f"cannot be written: {error.strerror}; name another folder"
            ) from error
        written.append(path)
    return written
