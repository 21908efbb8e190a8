"""Job files, ``holdtrue.job/1``: from plain JSON to the core's values.

This module reads the top of a document; ``jobfile_panels``, ``jobfile_hang``, ``jobfile_layout``,
``jobfile_wall`` and ``jobfile_fasteners`` read its parts.
"""

from __future__ import annotations

from typing import Any, cast

from holdtrue.core import model
from holdtrue.core.sources_lifting import FREQUENCY_MAX, TURN_MAX_DEG
from holdtrue.domain.errors import InputError
from holdtrue.domain.jobfile_fasteners import fasteners_of
from holdtrue.domain.jobfile_layout import layout_of
from holdtrue.domain.jobfile_panels import panels_of
from holdtrue.domain.jobfile_wall import wall_of
from holdtrue.domain.reader import Reader

FORMAT = "holdtrue.job/1"
UNITS = ("mm", "cm", "m", "in", "ft")
DEFAULT_TAPE_MM = {"in": 25.4 / 16, "ft": 25.4 / 16, "mm": 1.0, "cm": 1.0, "m": 1.0}
FINEST_MM = 0.01
"""Least tolerance and graduation: finer than anyone measures on a wall, and safe to divide by."""
KEYS = (
    "format",
    "title",
    "unit",
    "panels",
    "layout",
    "slope",
    "wall",
    "fasteners",
    "tolerance",
    "uncertainty",
    "tape",
    "lift",
)


def parse_job(document: object) -> model.Job:
    """The job a document describes; InputError with path, value and remedy when it is wrong."""
    return _job(Reader(document, "", "mm"))


def stored_job(document: object) -> model.Job:
    """The job of a document that a log holds: it may say more than bears on it."""
    return _job(Reader(document, "", "mm", is_stored=True))


def _job(top: Reader) -> model.Job:
    # first: what is wrong with a file of another kind is its kind, not its keys
    check_format(top, FORMAT)
    top.known(KEYS)
    top.unit = top.choice("unit", UNITS, "mm")
    title = top.text("title")
    fasteners = fasteners_of(top.children("fasteners"))
    panels = panels_of(top, {f.name: f for f in fasteners})
    return model.Job(
        title=title,
        unit=top.unit,
        panels=panels,
        layout=layout_of(top.child("layout", "say how the panels stand and how high"), panels, top),
        wall=wall_of(top.child("wall")) if top.has("wall") else model.Wall(),
        fasteners=fasteners,
        tolerance=_tolerance(top.child("tolerance")) if top.has("tolerance") else model.Tolerance(),
        uncertainty=_uncertainty(top.child("uncertainty"))
        if top.has("uncertainty")
        else model.Uncertainty(),
        graduation_mm=top.length("tape", DEFAULT_TAPE_MM[top.unit], low=FINEST_MM),
        lift=_lift(top.child("lift")) if top.has("lift") else model.Lift(),
    )


def check_format(top: Reader, wanted: str) -> None:
    """Refuse a document of another kind or version."""
    value = top.need("format", f'give "{wanted}"')
    if value != wanted:
        raise InputError("format", value, f'must be "{wanted}"')


def _uncertainty(reader: Reader) -> model.Uncertainty:
    names = ("tape", "level", "placing", "stick")
    reader.known((*names, "level_per_m"))
    given = {name: reader.length(name, above=0.0) for name in names if reader.has(name)}
    if reader.has("level_per_m"):
        given["level_per_m"] = reader.number("level_per_m", 0.0, low=0.0, high=10.0)
    return model.Uncertainty(**given)


def _tolerance(reader: Reader) -> model.Tolerance:
    names = (
        "level",
        "slack",
        "bearing",
        "gap",
        "step",
        "centre",
        "height",
        "taper",
        "line",
        "flush",
    )
    reader.known(names)
    return model.Tolerance(
        **{name: reader.length(name, low=FINEST_MM) for name in names if reader.has(name)}
    )


def _lift(reader: Reader) -> model.Lift:
    reader.known(("out", "from", "to", "turn", "per_minute", "duration", "coupling"))
    given = {
        f"{name}_mm": reader.length(name, low=0.0)
        for name in ("out", "from", "to")
        if reader.has(name)
    }
    duration = reader.choice("duration", ("short", "moderate", "long"), "short")
    coupling = reader.choice("coupling", ("good", "fair", "poor"), "poor")
    return model.Lift(
        **given,
        turn_deg=reader.number("turn", 0.0, low=0.0, high=TURN_MAX_DEG),
        per_minute=reader.number("per_minute", 0.2, low=0.0, high=FREQUENCY_MAX),
        duration=cast(Any, duration),
        coupling=cast(Any, coupling),
    )
