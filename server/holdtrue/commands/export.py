"""``holdtrue export ID``: a job with its whole log and photos as one JSON document."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from holdtrue.store.port import Entry


def add_parser(sub: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    from holdtrue.commands._data import add_data_option

    parser = sub.add_parser("export", help="print a job with its whole log", description=__doc__)
    parser.add_argument("id", metavar="ID", help="the job's id, as on its page and its label")
    add_data_option(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Only reads, so it may run beside a server."""
    import json
    from functools import partial

    from holdtrue.commands import _out
    from holdtrue.commands._data import data_folder
    from holdtrue.domain.errors import NotFoundError
    from holdtrue.service.bundles import bundle_from
    from holdtrue.service.jobs import stream_of
    from holdtrue.store.outside import read_blob_in, read_stream

    folder = data_folder(args)
    stream = stream_of(args.id)
    entries = read_stream(folder, stream)
    if not entries:
        raise NotFoundError(f"There is no job {args.id} in {folder}.")
    document = bundle_from(
        stream.removeprefix("job-"), entries, partial(read_blob_in, folder), _names(folder, entries)
    )
    _out.write(json.dumps(document, indent=1))
    return 0


def _names(folder: Path, entries: tuple[Entry, ...]) -> Mapping[str, str]:
    from holdtrue.domain import house
    from holdtrue.domain.fold import fold
    from holdtrue.store.outside import read_stream

    leads = house.fold(read_stream(folder, house.STREAM)).leads.values()
    names = {lead.person: lead.name for lead in leads}
    return names | {one.person: one.name for one in fold(entries).installers.values()}
