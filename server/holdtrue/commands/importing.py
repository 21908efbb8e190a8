"""``holdtrue import FILE``: bring in what ``holdtrue export`` wrote, entry by entry."""

from __future__ import annotations

import argparse


def add_parser(sub: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    from holdtrue.commands._data import add_data_option

    parser = sub.add_parser("import", help="bring in an exported job", description=__doc__)
    parser.add_argument("file", metavar="FILE", help="an exported job; - reads standard input")
    add_data_option(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    from holdtrue.bootstrap import StartError, make_folder
    from holdtrue.commands import _files, _out
    from holdtrue.commands._data import data_folder
    from holdtrue.domain.bundle import MAX_BYTES, read_bundle
    from holdtrue.domain.errors import InputError
    from holdtrue.service.bundles import import_bundle
    from holdtrue.store.tinydb import TinyStore

    # one byte more than is allowed: enough to refuse what never ends without reading it
    data = _files.read_bytes(args.file, MAX_BYTES + 1)
    bundle = read_bundle(data, _files.shown_name(args.file))
    folder = data_folder(args)
    try:
        make_folder(folder)
    except StartError as error:
        raise InputError("--data", None, str(error)) from error
    store = TinyStore(folder)
    try:
        done = import_bundle(store, bundle)
    finally:
        store.close()
    known = f", {done.known} were here already" if done.known else ""
    _out.write(f"job {done.job_id}: {done.added} entries brought in{known}")
    return 0
