"""One job as its crew knows it: criteria, order, what is behind each place, rows of readings.

Everything comes from the functions the product itself plans with.

Source: as those functions.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Collection, Sequence
from functools import cached_property
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from holdtrue.core.criteria import all_criteria
from holdtrue.core.hung import RowKey, all_poses, hung_rows, panel_columns, play_mm
from holdtrue.core.judging import RowName, criteria_read
from holdtrue.core.model import Fastener, Neighbours, Plan
from holdtrue.core.order import driving_order, panel_order
from holdtrue.core.plan import found_behind
from holdtrue.core.quality import Form, Vector, quadratic_form
from holdtrue.core.trim_kit import MEANS_BY_METHOD
from holdtrue.core.wall import behind_at, closed_areas, fastener_for, is_same_ground

Point = tuple[float, float]

_EDGE_MM = 1e-9
"""What lies on an edge is inside it, as in ``core.wall``."""

Integers = NDArray[np.int64]
Flags = NDArray[np.bool_]


class Site:
    """A plan, and what does not change from one install of it to the next."""

    def __init__(self, plan: Plan) -> None:
        self.plan, self.job, self.arrangement = plan, plan.job, plan.arrangement
        self.form: Form = quadratic_form(plan.job, plan.arrangement)
        self.goal: Form = all_criteria(plan.job, plan.arrangement)
        self.n = len(self.form.seats)
        self.planned_mm = self.form.planned_mm
        self.x_mm = self.planned_mm[: self.n]
        self.poses = all_poses(plan.job)
        self.hung = hung_rows(plan.job, plan.arrangement)
        self.play_mm = play_mm(plan.job)
        self.panels = panel_order(plan)
        self.order = driving_order(plan)
        self.index = {name: i for i, name in enumerate(self.form.seats)}

    # -- panels and seats

    def columns(self, panel: int) -> tuple[list[int], list[int]]:
        """A panel's columns: dx of its seats, dy of its seats."""
        first, last = panel_columns(self.job, panel)
        return list(range(first, last)), list(range(self.n + first, self.n + last))

    def ends(self, panel: int) -> tuple[int, int]:
        """First and one past the last seat of a panel."""
        return panel_columns(self.job, panel)

    @cached_property
    def planned_shims_mm(self) -> Vector:
        """Shims planned in every ring [mm], shape (n,)."""
        return np.array([self.job.panels[k].shims_mm for k in self.form.seat_panel])

    def seats_of(self, panel: int) -> list[int]:
        """A panel's seats in driving order."""
        own = (self.index[name] for name in self.order)
        return [i for i in own if self.form.seat_panel[i] == panel]

    def span_mm(self, a: int, b: int) -> float:
        return float(self.x_mm[b] - self.x_mm[a])

    def placing_mm(self, seat: int) -> float | None:
        """What the job says of placing the seat's fastener, where it says so of its kind."""
        fastener = self.plan.seats[seat].fastener
        return fastener.placing_u_mm if fastener else None

    def method(self, panel: int) -> str:
        return self.job.panels[panel].hang.method

    # -- fasteners

    @cached_property
    def kinds(self) -> tuple[Fastener | None, ...]:
        """Every fastener listed, then none at all."""
        return (*self.job.fasteners, None)

    @cached_property
    def drops_mm(self) -> Vector:
        """Stated drop of each kind [mm], shape (kinds,)."""
        return np.array([kind.drop_mm if kind else 0.0 for kind in self.kinds])

    @cached_property
    def stud_kind(self) -> int:
        """What is driven where the pilot meets a stud."""
        return self.kinds.index(fastener_for(found_behind("stud", "wood"), self.job.fasteners))

    @cached_property
    def _bands(self) -> tuple[list[float], list[tuple[int, bool]]]:
        """Where what is behind changes along the wall, and what is planned in between."""
        wall = self.job.wall
        cuts = sorted(
            stud.x_mm + side * (stud.width_mm / 2 + beyond + _EDGE_MM)
            for stud in wall.studs
            for side in (-1, 1)
            for beyond in (0.0, wall.stud_clearance_mm)
        )
        # two studs' bands may overlap: then the nearer one decides, from midway between them
        edges = sorted(stud.x_mm + s * stud.width_mm / 2 for stud in wall.studs for s in (-1, 1))
        cuts = sorted({*cuts, *((a + b) / 2 for a, b in pairwise(edges))})
        ends = [cuts[0] - 1.0, *cuts, cuts[-1] + 1.0] if cuts else [0.0, 0.0]
        found = []
        for a, b in pairwise(ends):
            behind = behind_at(wall, (a + b) / 2)
            kind = self.kinds.index(fastener_for(behind, self.job.fasteners))
            found.append((kind, behind.into == "hollow"))
        return cuts, found

    def kinds_at(self, x_mm: Vector) -> Integers:
        """The kind of fastener planned at each x, shape (N,)."""
        cuts, found = self._bands
        return np.array([found[bisect_right(cuts, x)][0] for x in x_mm], dtype=np.int64)

    def hollow_at(self, x_mm: Vector) -> Flags:
        """Where the wall is thought hollow, shape (N,)."""
        cuts, found = self._bands
        return np.array([found[bisect_right(cuts, x)][1] for x in x_mm], dtype=bool)

    def ground_at(self, x_mm: float, *, is_stud: bool) -> Callable[[Point], bool]:
        """Whether a hole meets what was found at x, or is known to be there, and may go there."""
        wall = self.job.wall
        behind = found_behind("stud", "wood") if is_stud else behind_at(wall, x_mm)
        areas, near = closed_areas(wall), self.job.graduation_mm / 2 + _EDGE_MM

        def fits(hole: Point) -> bool:
            is_there = is_stud and abs(hole[0] - x_mm) <= near
            return (is_there or is_same_ground(wall, behind, hole[0])) and not any(
                area.holds(*hole) for area in areas
            )

        return fits

    def fitting(self, seat: int, kind: int) -> tuple[Fastener, ...]:
        """Fasteners listed for the same backing that are not known to carry too little."""
        now, row = self.kinds[kind], self.plan.seats[seat]
        return tuple(
            one
            for one in self.job.fasteners
            if now is not None
            and one.into == now.into
            and (one == now or (one.allowed_N or 0.0) >= row.load_N * row.safe)
        )

    # -- readings on hung panels

    def tasks_of(
        self, panel: int, hung: Sequence[int], *, is_edge_read: bool
    ) -> list[tuple[RowKey, ...]]:
        """Readings of a panel and against those hung before it, task by task, as they are listed.

        The edge is read while seats are left whose marks answer to it. The level of a panel on one
        hanger says nothing: it is tapped as planned.
        """
        name = self.job.panels[panel].name
        tasks: list[tuple[RowKey, ...]] = []
        if ("level", name) in self.hung:
            tasks.append((("level", name),))
        if is_edge_read:
            tasks.append((("edge", name),))
        for _, label in self._beside(panel, hung):
            tasks.append((("gap first", label), ("gap second", label), ("step", label)))
        return tasks

    def _beside(self, panel: int, hung: Sequence[int]) -> list[tuple[Neighbours, str]]:
        before = set(hung[: hung.index(panel)])
        panels = self.job.panels
        return [
            (pair, f"{panels[pair.p].name}|{panels[pair.q].name}")
            for pair in self.arrangement.neighbours
            if panel in (pair.p, pair.q) and before & {pair.p, pair.q}
        ]

    def spacing_rows(self, panel: int, hung: Sequence[int]) -> list[Vector]:
        """What a panel is slid by while it is seated: its gap to those beside it, half-way."""
        if "slide" not in MEANS_BY_METHOD[self.method(panel)]:
            return []
        return [
            (self.hung["gap first", label] + self.hung["gap second", label]) / 2
            for pair, label in self._beside(panel, hung)
            if pair.how == "beside"
        ]

    @cached_property
    def criteria(self) -> dict[RowName, Vector]:
        """The row of every criterion that can be read of the hung panels."""
        rows = criteria_read(self.job, self.arrangement, self.hung)
        return {name: np.asarray(row) for name, row in rows.items()}

    def criteria_of(self, read: Collection[RowKey]) -> list[RowName]:
        """Criteria of which all was read."""
        return list(criteria_read(self.job, self.arrangement, dict.fromkeys(read, 0.0)))

    def tolerance_mm(self, kind: str) -> float:
        return float(getattr(self.job.tolerance, kind))
