"""QR symbols that survive a crate: upper case, the strongest correction that still prints well.

Method: letters of a URL are sent in capitals, because then the compact alphanumeric mode holds them
(scheme and host ignore case, our path does too). Each module is a whole number of eighths of a
millimetre, the dot of a 203 dpi label printer, and at least half a millimetre. Four light modules
on every side belong to the symbol and are counted in its size.

Source: ISO/IEC 18004 (modes, quiet zone of 4 modules); sizes are our choice.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Literal, cast

import qrcode
from qrcode.constants import (
    ERROR_CORRECT_H,
    ERROR_CORRECT_L,
    ERROR_CORRECT_M,
    ERROR_CORRECT_Q,
)
from qrcode.exceptions import DataOverflowError
from qrcode.util import ALPHA_NUM, MODE_8BIT_BYTE, MODE_ALPHA_NUM, QRData

from holdtrue.domain.errors import InputError

QUIET_MODULES = 4
LEAST_MODULE_MM = 0.5
DOT_MM = 0.125
STRONG_FROM_MM = 30.0
"""Below this size the modules of level H become too small; Q then reads better."""

# the stubs want literals where the library has plain integers
_BYTES = cast(Literal[4], MODE_8BIT_BYTE)
_ALPHANUMERIC = cast(Literal[2], MODE_ALPHA_NUM)
_LEVELS = {"H": ERROR_CORRECT_H, "Q": ERROR_CORRECT_Q, "M": ERROR_CORRECT_M, "L": ERROR_CORRECT_L}


class CodeDoesNotFitError(InputError):
    """The text needs more modules than the place on the label has room for."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Code:
    """A symbol with its quiet zone left out of ``modules`` but counted in the sizes."""

    modules: tuple[tuple[bool, ...], ...]
    level: str
    module_mm: float

    @property
    def side_mm(self) -> float:
        """The printed side including the quiet zone."""
        return (len(self.modules) + 2 * QUIET_MODULES) * self.module_mm

    def path(self) -> str:
        """All dark modules as one path in module units, runs merged along and down.

        The origin is the outer corner of the quiet zone.
        """
        return "".join(
            f"M{x + QUIET_MODULES} {y + QUIET_MODULES}h{width}v{height}h-{width}z"
            for x, y, width, height in _rectangles(self.modules)
        )


def url_code(url: str, room_mm: float) -> Code:
    """The card's address in capitals: level H from 30 mm, else Q."""
    if not url.strip():
        raise CodeDoesNotFitError("label.card_url", url, "give the address of the card")
    levels = ("H",) if room_mm >= STRONG_FROM_MM else ("Q",)
    return _fit([url.upper()], room_mm, levels, "label.card_url", "give a shorter address")


def text_code(lines: Iterable[str], room_mm: float) -> Code:
    """Plain text lines at the strongest level that fits."""
    remedy = "put fewer panels into one crate"
    return _fit(list(lines), room_mm, ("H", "Q", "M", "L"), "label.plain_text", remedy)


def _fit(lines: list[str], room_mm: float, levels: Iterable[str], path: str, remedy: str) -> Code:
    for level in levels:
        qr = _filled(tuple(lines), level)
        if qr is None:
            continue
        side = 17 + 4 * qr.version + 2 * QUIET_MODULES
        dots = math.floor(room_mm / side / DOT_MM + 1e-9)
        if dots * DOT_MM >= LEAST_MODULE_MM:
            modules = _symbol(tuple(lines), level)
            return Code(modules=modules, level=level, module_mm=dots * DOT_MM)
    raise CodeDoesNotFitError(
        path,
        "\n".join(lines),
        f"too long for a code of {room_mm:g} mm with modules of {LEAST_MODULE_MM} mm; {remedy}",
    )


def _filled(lines: tuple[str, ...], level: str) -> qrcode.QRCode[Any] | None:
    """The smallest symbol holding the text, not yet drawn; None when none is enough."""
    qr = qrcode.QRCode(error_correction=_LEVELS[level], border=0)
    for index, text in enumerate(lines):
        if index:
            qr.add_data(QRData(b"\n", mode=_BYTES))
        data = text.encode("utf-8")
        plain = all(byte in ALPHA_NUM for byte in data)
        qr.add_data(QRData(data, mode=_ALPHANUMERIC if plain else _BYTES))
    try:
        qr.best_fit()
    except (DataOverflowError, ValueError):
        # the library names a version of 41 in a ValueError when nothing fits
        return None
    return qr


@lru_cache(maxsize=64)
def _symbol(lines: tuple[str, ...], level: str) -> tuple[tuple[bool, ...], ...]:
    """The modules. Weighing the eight masks takes much of a second: kept for the next call."""
    qr = _filled(lines, level)
    assert qr is not None
    qr.make(fit=False)
    return tuple(tuple(bool(cell) for cell in row) for row in qr.get_matrix())


def _rectangles(modules: tuple[tuple[bool, ...], ...]) -> list[tuple[int, int, int, int]]:
    """Runs of dark modules (x, y, width, height); equal runs on following rows become one."""
    done: list[tuple[int, int, int, int]] = []
    open_runs: dict[tuple[int, int], int] = {}
    for y, row in enumerate((*modules, ())):
        runs = set(_runs(row))
        for run in [r for r in open_runs if r not in runs]:
            start = open_runs.pop(run)
            done.append((run[0], start, run[1] - run[0], y - start))
        for run in runs:
            open_runs.setdefault(run, y)
    return sorted(done, key=lambda r: (r[1], r[0]))


def _runs(row: tuple[bool, ...]) -> list[tuple[int, int]]:
    found = []
    start: int | None = None
    for x, dark in enumerate((*row, False)):
        if dark and start is None:
            start = x
        elif not dark and start is not None:
            found.append((start, x))
            start = None
    return found
