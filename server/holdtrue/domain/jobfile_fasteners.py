"""The fasteners of a job file."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, cast

from holdtrue.core import model
from holdtrue.core.sources import FACTOR_ULTIMATE, FACTOR_WORKING
from holdtrue.core.sources_trim import SCREW_MOST_MM, TURN_SHARE
from holdtrue.domain.errors import InputError
from holdtrue.domain.jobfile_screw import screw_of
from holdtrue.domain.reader import Reader


def fasteners_of(readers: Sequence[Reader]) -> tuple[model.Fastener, ...]:
    fasteners: list[model.Fastener] = []
    for entry in readers:
        entry.known(
            (
                "name",
                "into",
                "drop",
                "standoff",
                "capacity",
                "basis",
                "design_factor",
                "placing",
                "screw",
                "turn",
            )
        )
        name = entry.text("name")
        if any(f.name == name for f in fasteners):
            raise InputError(entry.at("name"), name, "is used twice; give each fastener its name")
        basis = entry.choice("basis", ("working", "ultimate"), "working")
        fasteners.append(
            model.Fastener(
                name=name,
                into=cast(
                    Any, entry.choice("into", ("hollow", "stud", "steel", "backed", "solid"))
                ),
                drop_mm=entry.length("drop", 0.0),
                standoff_mm=entry.length("standoff", 0.0, low=0.0),
                capacity_N=entry.capacity("capacity"),
                basis=cast(Any, basis),
                basis_stated=entry.has("basis"),
                design_factor=entry.number(
                    "design_factor",
                    FACTOR_ULTIMATE if basis == "ultimate" else FACTOR_WORKING,
                    low=1.0,
                    high=10.0,
                ),
                placing_u_mm=entry.length("placing", above=0.0) if entry.has("placing") else None,
                screw=screw_of(entry) if entry.has("screw") else None,
                turn_mm=_turn_mm(entry) if entry.has("turn") else None,
            )
        )
    return tuple(fasteners)


def _turn_mm(entry: Reader) -> float:
    """How far one turn raises the seat: no more than leaves a step to trim by."""
    turn_mm, most_mm = entry.length("turn", above=0.0), SCREW_MOST_MM / TURN_SHARE
    if turn_mm > most_mm:
        most = f"give at most {entry.most(most_mm)} a turn, or leave it out"
        raise InputError(entry.at("turn"), entry.value["turn"], f"is too coarse to trim by; {most}")
    return turn_mm
