"""The ``holdtrue`` command: a small dispatcher over the modules in ``holdtrue.commands``.

A command is a module with ``add_parser(sub)`` and ``run(args) -> int``. It is imported at every
start, so it imports what is heavy inside ``run``.
Exit status: 0 done, 1 the input is wrong or the result cannot be written (said on standard error),
2 wrong usage, 130 stopped with Ctrl-C before it was done.
"""

from __future__ import annotations

import argparse
import importlib
import pkgutil
import sys
from collections.abc import Sequence
from importlib.metadata import version
from typing import NoReturn

from holdtrue import commands
from holdtrue.commands import _out
from holdtrue.domain.errors import AppError
from holdtrue.store.port import StoreError


def main(argv: Sequence[str] | None = None) -> int:
    try:
        args = build_parser().parse_args(argv)
        status: int = args.run(args)
    except (AppError, StoreError) as error:
        _out.tell(f"holdtrue: {error}")
        return 1
    except KeyboardInterrupt:
        _out.tell("holdtrue: stopped before it was done")
        return 130
    return status


class _Parser(argparse.ArgumentParser):
    """Prints as every command does: argparse itself is silent where it cannot write."""

    def _print_message(self, message: str, file: object = None) -> None:  # noqa: ARG002 - as argparse has it
        _out.write(message.rstrip("\n"))  # help and version; errors do not pass here

    def error(self, message: str) -> NoReturn:
        _out.tell(f"{self.format_usage()}{self.prog}: error: {message}")
        raise SystemExit(2)


def build_parser() -> argparse.ArgumentParser:
    parser = _Parser(
        prog="holdtrue",
        description="Plan, log and recompute the hanging of heavy wall works of several panels.",
    )
    parser.add_argument("--version", action="version", version=f"holdtrue {version('holdtrue')}")
    sub = parser.add_subparsers(title="commands", required=True, metavar="COMMAND")
    for name in command_names():
        module = importlib.import_module(f"{commands.__name__}.{name}")
        module.add_parser(sub)
    return parser


def command_names() -> list[str]:
    found = pkgutil.iter_modules(commands.__path__)
    return sorted(module.name for module in found if not module.name.startswith("_"))


if __name__ == "__main__":
    sys.exit(main())
