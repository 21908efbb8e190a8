"""``holdtrue backup DIR``: a consistent copy of the data, also while the server runs.

The secret file is copied with it, readable by its owner only: sessions, invitations and the
addresses of cards depend on it. Keep a backup as safe as the data. Restoring is copying the files
back while no server runs.
"""

from __future__ import annotations

import argparse
from pathlib import Path


def add_parser(sub: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    from holdtrue.commands._data import add_data_option

    parser = sub.add_parser("backup", help="copy all data", description=__doc__)
    parser.add_argument("dir", metavar="DIR", help="folder for the copy; new or empty")
    add_data_option(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    from holdtrue.commands import _out
    from holdtrue.commands._data import data_folder
    from holdtrue.commands.check import say_report
    from holdtrue.settings import SECRET_FILE
    from holdtrue.store.check import backup

    folder, target = data_folder(args), Path(args.dir)
    report = backup(folder, target)
    has_secret = copy_secret(folder / SECRET_FILE, target / SECRET_FILE)
    _out.write(
        f"{target}: {report.streams} logs, {report.entries} entries, {report.blobs} photos"
        + (f", and {SECRET_FILE}: keep it as safe as the data" if has_secret else "")
    )
    return say_report(report)


def copy_secret(source: Path, target: Path) -> bool:
    """Copy the secret durably, mode 0600; False when there is none yet."""
    import os

    from holdtrue.store.port import StoreBrokenError

    try:
        secret = source.read_bytes()
    except FileNotFoundError:
        return False
    except OSError as error:
        raise StoreBrokenError(f"{source}: not copied ({error.strerror})") from error
    try:
        with os.fdopen(os.open(target, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as file:
            file.write(secret)
            file.flush()
            os.fsync(file.fileno())
    except OSError as error:
        raise StoreBrokenError(f"{target}: not written ({error.strerror})") from error
    return True
