"""Tables in plain text, at most 80 columns wide."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

from holdtrue.core.model import Job
from holdtrue.core.readout import format_length

WIDTH = 80
_GAP = "  "


def table(head: Sequence[str], rows: Sequence[Sequence[str]], *, left: frozenset[int]) -> str:
    """Columns as wide as they need to be; those in ``left`` give way when the line is too long."""
    widths = [max(len(row[i]) for row in (head, *rows)) for i in range(len(head))]
    spare = WIDTH - sum(widths) - len(_GAP) * (len(head) - 1)
    while spare < 0:
        widest = max(left, key=lambda i: widths[i])
        widths[widest] -= 1
        spare += 1
    lines = [
        _GAP.join(
            _fitted(cell, widths[i], is_left=i in left) for i, cell in enumerate(row)
        ).rstrip()
        for row in (head, *rows)
    ]
    return "\n".join(lines)


def _fitted(cell: str, width: int, *, is_left: bool) -> str:
    if not is_left:
        return cell.rjust(width)
    # the end stays: in a seat's name that is its number
    return (cell if len(cell) <= width else "…" + cell[len(cell) - width + 1 :]).ljust(width)


def paragraph(text: str) -> str:
    return textwrap.fill(text, WIDTH)


def unit_word(job: Job) -> str:
    """The job's unit as a word, to open a sentence with."""
    return {"mm": "Millimetres", "cm": "Centimetres", "m": "Metres", "in": "Inches", "ft": "Feet"}[
        job.unit
    ]


def mark(job: Job, mm: float) -> str:
    """A length to be marked: in the job's unit, to the tape's graduation, without the unit."""
    return format_length(mm, job.unit, graduation_mm=job.graduation_mm, with_unit=False)


def reading(job: Job, mm: float, *, signed: bool = False) -> str:
    """A length as it is: in the job's unit, to 1/64 in or 0.1 mm, without the unit."""
    fine = 0.1 if job.unit in ("mm", "cm", "m") else None
    return format_length(mm, job.unit, graduation_mm=fine, signed=signed, with_unit=False)


def graduation(job: Job) -> str:
    """How fine the marks of a table are."""
    return format_length(job.graduation_mm, job.unit, graduation_mm=job.graduation_mm)
