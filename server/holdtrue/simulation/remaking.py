"""Holes made again in played installs: where the product's own numbers say that it ends better.

Source: ``core.choices`` and ``core.clear``, which the product chooses by.
"""

from __future__ import annotations

import numpy as np

from holdtrue.core.choices import Standing, carry_on, correct_fastener
from holdtrue.core.clear import OldHole
from holdtrue.core.estimates import Across, Height, Reading
from holdtrue.core.marks import Course
from holdtrue.core.sources_trim import APART_FULL_MM
from holdtrue.core.trim_kit import plan_kit
from holdtrue.domain.estimating import placing_u_mm
from holdtrue.domain.standing import errors_of
from holdtrue.simulation.errors import Flags
from holdtrue.simulation.fasteners import Fasteners, Point


class Remaking:
    """Looks at each seat that was read, and makes its hole again, once, where that pays."""

    def __init__(self, seats: Fasteners) -> None:
        self.seats, self.site = seats, seats.site

    def look(self, panel: int, seat: int) -> None:
        """Make the hole again in the installs where the product's forecast is better so."""
        seats = self.seats
        mark, kind = np.zeros((2, seats.installs)), seats.kinds[:, seat].copy()
        who = np.zeros(seats.installs, dtype=bool)
        for install in np.flatnonzero(self._might_help(seat)).tolist():
            better = self._better(seat, install)
            if better is not None:
                who[install] = True
                mark[:, install], kind[install] = better
        if who.any():
            seats.kinds[:, seat] = kind
            seats.holes += who
            hole = np.stack([mark[0], mark[1] + seats.drop(seat)])
            seats.holes_mm[seat] = np.where(who, hole[1], seats.holes_mm[seat])
            seats.world.drive(seat, (hole[0], hole[1]), kind, who)
            again = iter((seats.world.across(seat), seats.world.above(seat)))
            seats.read[panel] = [
                (of, np.where(who, next(again), read)) if self._is_of(of, seat) else (of, read)
                for of, read in seats.read[panel]
            ]
            seats.estimate(panel)
            seats.remark()

    def _is_of(self, reading: Reading, seat: int) -> bool:
        return isinstance(reading, Across | Height) and reading.seat == self.site.form.seats[seat]

    def _might_help(self, seat: int) -> Flags:
        """Where another hole, as far off the old one as it must be, could cost less than this.

        A seat off its best place by d costs |T d|^2, all else at its best; no other place is nearer
        than the holes' distance less the difference of two drops, and T shrinks nothing by more
        than its least singular value.
        """
        seats, names = self.seats, self.site.form.seats
        fixed = dict(seats.fixed())
        here = fixed.pop(seat)
        order = [names[seat], *(n for i, n in enumerate(names) if i not in fixed and i != seat)]
        course = Course(
            self.site.form, {names[i]: p for i, p in fixed.items()}, order, (seats.installs,)
        )
        best, triangle = course.next_best(), course.next_triangle()
        off = here - seats.planned(seat) - best
        cost = np.linalg.norm(triangle @ off, axis=0)
        drops = self.site.drops_mm[:-1]
        apart = APART_FULL_MM - (float(np.ptp(drops)) if len(drops) else 0.0)
        nearest = np.maximum(apart - np.hypot(*off), 0.0)
        return np.asarray(nearest * np.linalg.svd(triangle, compute_uv=False).min() < cost)

    def _better(self, seat: int, install: int) -> tuple[Point, int] | None:
        """The mark and kind of a new hole that the product says ends better than carrying on."""
        site, name, seats = self.site, self.site.form.seats[seat], self.seats
        stands = self._standing(install)
        listed = site.fitting(seat, int(seats.kinds[install, seat]))
        x, y = stands.set_mm[name]
        hole = (x, y + float(seats.drop(seat)[install]))
        choice = correct_fastener(
            stands,
            name,
            holes=[OldHole(at_mm=hole, apart_mm=APART_FULL_MM)],
            fasteners=listed,
            placing_u_mm={one.name: placing_u_mm(site.job, one) for one in listed},
            fits=site.ground_at(x, is_stud=bool(seats.found[install, seat])),
        )
        if choice is None or choice.trimmed <= carry_on(stands).trimmed:
            return None
        kinds = [one.name if one else "" for one in site.kinds]
        return choice.marks_mm[name], kinds.index(choice.fastener or "")

    def _standing(self, install: int) -> Standing:
        """Where one install stands, as ``domain.standing`` says it."""
        site, n, seats = self.site, self.site.n, self.seats
        at = sorted(seats.set_mm)
        pick = at + [n + i for i in at]
        fixed = seats.fixed()
        return Standing(
            job=site.job,
            arrangement=site.arrangement,
            goal=site.goal,
            form=site.form,
            order=site.order,
            set_mm=seats.places({i: fixed[i] for i in at}, install),
            set_covariance_mm2=seats.covariance_mm2[np.ix_(pick, pick)],
            errors=errors_of(site.job, site.plan, seats.sticks),
            kit=plan_kit(site.plan),
        )
