"""What a command says: results on standard output, everything else on standard error.

Either may be full, closed, or read by something that stopped reading. Python's own ``print`` writes
to standard output when standard error is closed, and a buffer that could not be written fails a
second time at the exit: both are seen to here, so nothing else prints.
"""

from __future__ import annotations

import io
import os
import sys

from holdtrue.domain.errors import AppError


class OutputError(AppError):
    """The result could not be written; what was computed or done stands."""


def write(text: str) -> None:
    """Text on standard output, whatever the terminal can show and however soon the reader stops."""
    if sys.stdout is None:
        raise OutputError("standard output: is closed; open it, or send it to a file")
    if isinstance(sys.stdout, io.TextIOWrapper):
        sys.stdout.reconfigure(errors="backslashreplace")
    try:
        print(text, flush=True)
    except BrokenPipeError:
        _let_go()  # the reader has what it wanted
    except OSError as error:
        _let_go()
        raise OutputError(
            f"standard output: cannot be written: {error.strerror or error}; make room there, or "
            "send it elsewhere"
        ) from error


def _let_go() -> None:
    """As the documentation of Python's signal module has it: the flush at exit must not fail."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def tell(text: str) -> None:
    """A line on standard error."""
    if sys.stderr is None:
        return
    try:
        print(text, file=sys.stderr, flush=True)
    except OSError:
        # there is no third place to say it; the exit status still tells
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stderr.fileno())
