"""Sizes of the errors of a played install, and the luck they are drawn with.

Every error has a name of its own ("placing A1"), and is drawn by that name: two ways of working, or
the same way with one error switched off, meet the same luck as far as they do the same.

Source: our own choice of sizes, ``core.sources_play``; common random numbers are a usual way to
compare simulations (from memory).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from math import hypot, sqrt
from types import MappingProxyType

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

from holdtrue.core.model import Job, Uncertainty
from holdtrue.core.quality import Vector
from holdtrue.core.sources import PLACING_U_MM
from holdtrue.core.sources_measure import LEVEL_U_MM, LEVEL_U_MM_PER_M, TAPE_U_MM
from holdtrue.core.sources_play import (
    DROP_COMMON,
    DROP_U_MM,
    FLOOR_U_MM,
    SLIDE_U_MM,
    SURPRISE,
    TRIM_U_MM,
)
from holdtrue.core.sources_trim import RULE_U_MM, STICK_U_MM

Flags = NDArray[np.bool_]
Draws = Callable[[str], Generator]
"""A generator by the name of what is drawn; the same name, the same numbers."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ErrorSizes:
    """Standard uncertainties of one install [mm], but for the shares [-] and the level by distance
    [mm/m]."""

    placing_mm: float = PLACING_U_MM
    marking_mm: float = 0.0
    """Besides placing, for who knows it apart; placing holds it by default."""
    tape_mm: float = TAPE_U_MM
    level_mm: float = LEVEL_U_MM
    level_mm_per_m: float = LEVEL_U_MM_PER_M
    rule_mm: float = RULE_U_MM
    drop_mm: float = DROP_U_MM
    drop_common: float = DROP_COMMON
    surprise: float = SURPRISE
    floor_mm: float = FLOOR_U_MM
    stick_mm: float = STICK_U_MM
    shim_mm: float = TRIM_U_MM
    slide_mm: float = SLIDE_U_MM

    @property
    def aim_mm(self) -> float:
        return hypot(self.placing_mm, self.marking_mm)

    @property
    def own_drop_mm(self) -> float:
        return self.drop_mm * sqrt(1.0 - self.drop_common)

    @property
    def common_drop_mm(self) -> float:
        return self.drop_mm * sqrt(self.drop_common)

    def levelled_mm(self, span_mm: float) -> float:
        """A level's reading over a distance."""
        return hypot(self.level_mm, self.level_mm_per_m * abs(span_mm) / 1000.0)


SOURCES: Mapping[str, Mapping[str, float]] = MappingProxyType(
    {
        "placing": {"placing_mm": 0.0, "marking_mm": 0.0},
        "drops": {"drop_mm": 0.0},
        "unknown studs": {"surprise": 0.0},
        "tape": {"tape_mm": 0.0},
        "level": {"level_mm": 0.0, "level_mm_per_m": 0.0},
        "rule": {"rule_mm": 0.0},
        "floor": {"floor_mm": 0.0},
        "story stick": {"stick_mm": 0.0},
        "shims and slides": {"shim_mm": 0.0, "slide_mm": 0.0},
    }
)
"""Each source of error, and what switches it off."""


def without(sizes: ErrorSizes, source: str) -> ErrorSizes:
    """The same with one source of error switched off; nobody in the crew knows."""
    return replace(sizes, **SOURCES[source])


def error_sizes(job: Job) -> ErrorSizes:
    """Error sizes with what the job itself says about its instruments; the rest at its default."""
    known = job.uncertainty
    return ErrorSizes(
        placing_mm=known.placing,
        tape_mm=known.tape,
        level_mm=known.level,
        level_mm_per_m=known.level_per_m,
        stick_mm=known.stick,
    )


def told(job: Job, sizes: ErrorSizes) -> Job:
    """The job that says of its instruments what these sizes say: what the crew reckons with."""
    return replace(
        job,
        uncertainty=Uncertainty(
            tape=sizes.tape_mm,
            level=sizes.level_mm,
            level_per_m=sizes.level_mm_per_m,
            placing=sizes.placing_mm,
            stick=sizes.stick_mm,
        ),
    )


class Luck:
    """Numbers of N installs, by the name of what they are drawn for."""

    def __init__(self, draws: Draws, installs: int) -> None:
        self.draws, self.installs = draws, installs

    def normal(self, name: str, *shape: int) -> Vector:
        """Standard normal, shape (N, ...)."""
        return self.draws(name).standard_normal((self.installs, *shape))

    def uniform(self, name: str) -> Vector:
        """From 0 to 1, shape (N,)."""
        return self.draws(name).uniform(size=self.installs)
