"""The data folder a command works on: as told, else as the server's settings say."""

from __future__ import annotations

import argparse
import os
from pathlib import Path

from holdtrue.domain.errors import InputError


def add_data_option(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--data", metavar="DIR", help="folder the data is kept in (default: as for serve)"
    )


def data_folder(args: argparse.Namespace) -> Path:
    from holdtrue.settings import SettingsError, read_settings

    try:
        return read_settings(os.environ, {"--data": args.data} if args.data else {}).data_dir
    except SettingsError as error:
        raise InputError(error.name, None, str(error)) from error
