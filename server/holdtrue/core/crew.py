"""What a played install needs to know: sizes of errors, habits of the crew, and the site.

Method: the site holds what does not change from one install to the next: the criteria, the order
of work, the gain of each mark on what was read before it, the rows of readings.

Source: as ``forecast`` and ``hung``; error sizes are the caller's.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from math import copysign, hypot, sqrt

import numpy as np

from holdtrue.core.criteria import all_criteria
from holdtrue.core.hung import all_poses, hung_rows, panel_columns, play_mm
from holdtrue.core.model import Fastener, Job, Plan
from holdtrue.core.order import driving_order, panel_order
from holdtrue.core.quality import Form, Vector, quadratic_form
from holdtrue.core.sources import PLACING_U_MM
from holdtrue.core.sources_measure import LEVEL_U_MM, LEVEL_U_MM_PER_M, TAPE_U_MM
from holdtrue.core.sources_play import (
    CORRECT_SHARE,
    DROP_COMMON,
    DROP_U_MM,
    FLOOR_U_MM,
    PACK_MM,
    SURPRISE,
)
from holdtrue.core.sources_trim import (
    APART_PILOT_MM,
    RULE_U_MM,
    SHIM_MOST_MM,
    STICK_U_MM,
    TRIM_AIM,
    TRIM_GUARD,
)
from holdtrue.core.trim_kit import plan_kit


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


def error_sizes(job: Job) -> ErrorSizes:
    """Error sizes with what the job itself says about its instruments and fasteners.

    Parameters: job, its uncertainties [mm], [mm/m].
    Returns: ErrorSizes; the rest at its defaults.
    Raises: nothing.
    Source: module head.
    """
    known = job.uncertainty
    return ErrorSizes(
        placing_mm=known.placing,
        tape_mm=known.tape,
        level_mm=known.level,
        level_mm_per_m=known.level_per_m,
        stick_mm=known.stick,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Habits:
    """How the crew works."""

    recompute: bool = True
    correct: bool = False
    """Make a hole again when nothing later can mend what it leaves."""
    trim: bool = False
    by_panel: bool = False
    """Drive and hang panel by panel, instead of all fasteners first."""
    stick: bool = False
    bias: bool = False
    """Learn each fastener kind's real drop."""
    pack: bool = False
    """Every ring starts on shims, set before its panel is lifted by the readings of its seats: by
    hand, the tool has no task for it."""
    readings: int = 1
    """Times each reading is taken; a level is turned end for end in between."""
    guard: float = TRIM_GUARD
    aim: float = TRIM_AIM
    correct_share: float = CORRECT_SHARE


class Site:
    """One plan as the crew meets it."""

    def __init__(self, plan: Plan) -> None:
        self.plan, self.job, self.arrangement = plan, plan.job, plan.arrangement
        self.form: Form = quadratic_form(plan.job, plan.arrangement)
        self.goal: Form = all_criteria(plan.job, plan.arrangement)
        self.scaled = self.goal.scaled
        self.n = len(self.form.seats)
        self.poses = all_poses(plan.job)
        self.hung = hung_rows(plan.job, plan.arrangement)
        self.play_mm = play_mm(plan.job)
        kit = plan_kit(plan)
        self.shim_mm, self.slide_mm = kit.shim_mm, kit.slide_mm
        self.most_shims = round(SHIM_MOST_MM / kit.shim_mm)
        self.pack_shims = round(PACK_MM / kit.shim_mm)
        self.panels = panel_order(plan)
        index = {name: i for i, name in enumerate(self.form.seats)}
        self.order = [index[name] for name in driving_order(plan)]
        self.x_mm = self.form.planned_mm[: self.n]
        # a criterion with dx in it is sideways: a slide mends it, a shim would tilt the panel
        self.is_aside = np.any(self.goal.matrix[:, : self.n] != 0, axis=1)
        self._gains: dict[tuple[int, frozenset[int]], Vector] = {}

    def columns(self, panel: int) -> tuple[list[int], list[int]]:
        """A panel's columns: dx of its seats, dy of its seats."""
        first, last = panel_columns(self.job, panel)
        return list(range(first, last)), list(range(self.n + first, self.n + last))

    def seats_of(self, panel: int) -> list[int]:
        """A panel's seats in driving order."""
        return [i for i in self.order if self.form.seat_panel[i] == panel]

    def rows_within(self, have: Sequence[int], touching: Sequence[int]) -> list[int]:
        """Criteria that depend on these columns only, and on at least one of the others."""
        away = np.ones(2 * self.n, dtype=bool)
        away[list(have)] = False
        outside = np.any(self.goal.matrix[:, away] != 0, axis=1)
        touched = np.any(self.goal.matrix[:, list(touching)] != 0, axis=1)
        return [int(i) for i in np.flatnonzero(touched & ~outside)]

    def gain(self, seat: int, known: Sequence[int]) -> Vector:
        """Best mark of a seat as its answer to the known columns, shape (2, known)."""
        key = (seat, frozenset(known))
        if key not in self._gains:
            free = [c for c in range(2 * self.n) if c not in key[1]]
            matrix = self.form.scaled
            answer = -np.linalg.lstsq(matrix[:, free], matrix[:, list(known)], rcond=None)[0]
            rows = [free.index(seat), free.index(self.n + seat)]
            self._gains[key] = np.asarray(answer[rows])
        return self._gains[key]

    def reading_rows(
        self, panel: int, hung: Sequence[int], sizes: ErrorSizes
    ) -> tuple[Vector, Vector]:
        """What is read on a panel just hung, shape (k, 2n), and the readings' uncertainties [mm].

        Its level, the gap at both ends and the step to each neighbour that hangs; without one its
        edge's distance from the reference line.
        """
        name = self.job.panels[panel].name
        rows: list[Vector] = []
        u: list[float] = []
        beside = [
            pair
            for pair in self.arrangement.neighbours
            if panel in (pair.p, pair.q) and pair.p in hung and pair.q in hung
        ]
        labels = {
            f"{self.job.panels[pair.p].name}|{self.job.panels[pair.q].name}" for pair in beside
        }
        for (kind, where), row in self.hung.items():
            if (kind == "level" and where == name) or where in labels:
                rows.append(row)
                width = self.job.panels[panel].width_mm
                u.append(sizes.levelled_mm(width) if kind == "level" else sizes.rule_mm)
        if not beside:
            rows.append(self.poses[panel].a)
            u.append(sizes.tape_mm)
        return np.array(rows), np.array(u)

    @cached_property
    def kinds(self) -> tuple[Fastener | None, ...]:
        """The fastener kinds at hand; one unnamed kind where a plan has none."""
        return self.job.fasteners or (None,)

    def kind_of(self, seat: int) -> int:
        """Index of the planned fastener's kind."""
        planned = self.plan.seats[seat].fastener
        names = [kind.name if kind else None for kind in self.kinds]
        return names.index(planned.name) if planned and planned.name in names else 0

    def surprise_kind(self, seat: int) -> int:
        """Kind a seat gets when its pilot meets a stud; the planned one where none is listed."""
        found = [i for i, kind in enumerate(self.kinds) if kind and kind.into == "stud"]
        return found[0] if found else self.kind_of(seat)

    def clearing_mm(self, seat: int) -> float:
        """How far a surprised seat goes up or down for its new hole.

        The new hole goes into the pilot itself or clear of it, whichever moves the seat less.
        """
        old, new = (self.kinds[k] for k in (self.kind_of(seat), self.surprise_kind(seat)))
        if old is new or old is None or new is None:
            return 0.0
        into_pilot = old.drop_mm - new.drop_mm
        if abs(into_pilot) >= APART_PILOT_MM:
            return 0.0
        clear_of_it = into_pilot - copysign(APART_PILOT_MM, into_pilot)
        return min(into_pilot, clear_of_it, key=abs)

    def drops_mm(self) -> Vector:
        """Stated drop of each kind [mm], shape (kinds,)."""
        return np.array([kind.drop_mm if kind else 0.0 for kind in self.kinds])
