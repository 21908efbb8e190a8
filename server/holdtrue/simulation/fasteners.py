"""A crew at the fasteners of N installs: marks, pilots, readings.

What is decided comes from the product: marks and what keeps them calm from ``core.marks``, places
from ``core.estimates``, holes clear of holes from ``core.clear``. The crew knows what it read, and
nothing else.

Source: as those modules.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np
from numpy.typing import NDArray

from holdtrue.core.clear import SAME_MM, OldHole, clear_place_mm
from holdtrue.core.estimates import Across, Height, Level, Mark, Reading, Tape, reading_rows
from holdtrue.core.instruments import level_u_mm
from holdtrue.core.marks import give_many
from holdtrue.core.quality import Vector
from holdtrue.core.sources_trim import APART_PILOT_MM
from holdtrue.core.uncertainty import gauss_markov
from holdtrue.domain.subjects import checked_pairs
from holdtrue.simulation.habits import Habits
from holdtrue.simulation.site import Site
from holdtrue.simulation.world import World

Integers = NDArray[np.int64]
Flags = NDArray[np.bool_]
Point = tuple[float, float]
Places = dict[int, Vector]
"""Seat to (x, y), shape (2, N)."""


class Fasteners:
    """What a crew knows of the seats, and does to them."""

    def __init__(self, site: Site, world: World, habits: Habits, sticks: frozenset[int]) -> None:
        self.site, self.world, self.habits = site, world, habits
        self.sticks = sticks
        """Panels a story stick is used on."""
        self.installs = world.installs
        n = site.n
        self.drops_mm = np.tile(site.drops_mm, (self.installs, 1))
        """What each install takes its kinds' drops to be [mm], shape (N, kinds)."""
        self.found = np.zeros((self.installs, n), dtype=bool)
        """Seats where the pilot met a stud nobody knew of."""
        self.kinds = np.zeros((self.installs, n), dtype=np.int64)
        self.marks_mm: Places = {}
        """Unset seats: where to aim for."""
        self.set_mm: Places = {}
        """Set seats where they are estimated to be."""
        self.bearing_mm: Places = {}
        """Of hung panels' seats: where they bear as their panel hangs."""
        self.begun: set[int] = set()
        """Seats with a pilot: they stay where they are marked."""
        self.covariance_mm2 = np.zeros((2 * n, 2 * n))
        self.holes_mm: dict[int, Vector] = {}
        """Height of each hole that was made."""
        self.pilots, self.holes = (np.zeros(self.installs, dtype=np.int64) for _ in range(2))
        """Pilots given up for a stud, and holes made again."""
        self.read: dict[int, list[tuple[Reading, Vector]]] = {
            k: [] for k in range(len(site.job.panels))
        }
        self.remark()

    # -- marks

    def remark(self) -> None:
        """Give the marks again, as ``domain.planning.remarked`` does."""
        held = self._held()
        planned = {i: self.planned(i) for i in range(self.site.n)}
        before = {i: self.drop(i) for i in self.marks_mm}
        self._pick_fasteners(planned | self.marks_mm | held)
        marks = self._given(before, held)
        kinds = self.kinds.copy()
        self._pick_fasteners(marks)
        is_moved = np.any(self.kinds != kinds, axis=1)
        if is_moved.any():
            again = self._given(before, held)
            marks = {i: np.where(is_moved, again[i], marks[i]) for i in marks}
            self._pick_fasteners(marks)
        self.marks_mm = marks

    def _given(self, before: Mapping[int, Vector], held: Places) -> Places:
        """New marks; those given before with the same drop stay if they can."""
        site = self.site
        names = site.form.seats
        unset = [i for i in range(site.n) if i not in self.set_mm]
        given = {
            i: np.where(before[i] == self.drop(i), self.marks_mm[i], np.nan)
            for i in unset
            if i in before
        }
        fixed = self.fixed() | held
        found = give_many(
            site.form,
            set_mm={names[i]: place for i, place in fixed.items()},
            order=site.order,
            drop_mm={names[i]: self.drop(i) for i in unset},
            graduation_mm=site.job.graduation_mm,
            given_mm={names[i]: place for i, place in given.items()},
            installs=(self.installs,),
        )
        return {site.index[name]: place for name, place in found.items()} | held

    def fixed(self) -> Places:
        """Seats that are not free: set ones where they bear, others where they are held."""
        return self.set_mm | self.bearing_mm | self._held()

    def take_drops(self, drops_mm: Vector) -> None:
        """Reckon with other drops from here on."""
        self.drops_mm = drops_mm
        self.remark()

    def _held(self) -> Places:
        """Unset seats whose place is no longer free, as ``domain.planning.held_mm``."""
        return self._carried() | {i: self.marks_mm[i] for i in self.begun - set(self.set_mm)}

    def _carried(self) -> Places:
        """Later seats of panels with a story stick: from their first seat, on the planned way."""
        carried: Places = {}
        for panel in self.sticks:
            own = self.site.seats_of(panel)
            if own[0] in self.set_mm:
                off = self.set_mm[own[0]] - self.planned(own[0])
                carried |= {i: off + self.planned(i) for i in own if i not in self.set_mm}
        return carried

    def planned(self, seat: int) -> Vector:
        place = self.site.planned_mm[[seat, self.site.n + seat]]
        return np.tile(place[:, None], self.installs)

    def _pick_fasteners(self, places: Mapping[int, Vector]) -> None:
        """By what is known to be behind each unset seat's place."""
        for i, place in places.items():
            if i not in self.set_mm:
                planned = self.site.kinds_at(place[0])
                self.kinds[:, i] = np.where(self.found[:, i], self.site.stud_kind, planned)

    def drop(self, seat: int) -> Vector:
        return np.asarray(self.drops_mm[np.arange(self.installs), self.kinds[:, seat]])

    # -- one panel's seats

    def drive(self, panel: int, after: Callable[[int, int], None]) -> None:
        """Pilot, anchor and measure every seat of a panel, then read more of them.

        ``after``: what is done once a seat of the panel was read.
        """
        seats = self.site.seats_of(panel)
        for i in seats:
            self._pilot(i)
            self._anchor(panel, i, seats[0])
            self._measure(panel, i)
            after(panel, i)
        if self.habits.recompute:
            self._read_more(panel)

    def _pilot(self, seat: int) -> None:
        """What the thinnest bit meets may ask for another fastener, and so for another mark."""
        hollow = self.site.hollow_at(self.marks_mm[seat][0])
        met = self.world.meets_a_stud(seat) & hollow
        before, pilot = self.kinds[:, seat].copy(), self._hole(seat)
        self.found[:, seat] = met
        if self.habits.recompute:
            self.remark()
            self._keep_off(seat, pilot, self.kinds[:, seat] != before)
            self.begun.add(seat)
            self.remark()
        else:
            self._pick_fasteners({seat: self.marks_mm[seat]})
        is_left = np.hypot(*(self._hole(seat) - pilot)) > SAME_MM
        self.pilots += (self.kinds[:, seat] != before) & is_left

    def _hole(self, seat: int) -> Vector:
        """Where the hole of a seat goes by its mark, shape (2, N)."""
        x, y = self.marks_mm[seat]
        return np.stack([x, y + self.drop(seat)])

    def _keep_off(self, seat: int, pilot_mm: Vector, who: Flags) -> None:
        """A new hole keeps off the pilot given up, or goes into it, as ``domain.holes`` says.

        Only off that one: seats stand farther from each other than any hole from another.
        """
        near = who & (np.hypot(*(self._hole(seat) - pilot_mm)) < APART_PILOT_MM - SAME_MM)
        fixed = self.fixed()
        for install in np.flatnonzero(near).tolist():
            x, y = pilot_mm[:, install].tolist()
            pilot = OldHole(at_mm=(x, y), apart_mm=APART_PILOT_MM, is_usable=True)
            self.marks_mm[seat][:, install] = clear_place_mm(
                self.site.form,
                self.places(fixed, install),
                self.site.form.seats[seat],
                holes=[pilot],
                drop_mm=float(self.drop(seat)[install]),
                graduation_mm=self.site.job.graduation_mm,
                fits=self.site.ground_at(x, is_stud=bool(self.found[install, seat])),
            )

    def places(self, places: Mapping[int, Vector], install: int) -> dict[str, Point]:
        """Of one install, by their names."""
        names = self.site.form.seats
        return {
            names[i]: (float(place[0][install]), float(place[1][install]))
            for i, place in places.items()
        }

    def _anchor(self, panel: int, seat: int, first: int) -> None:
        mark, drop = self.marks_mm[seat], self.drop(seat)
        self.holes_mm[seat] = mark[1] + drop
        who = np.ones(self.installs, dtype=bool)
        kind = self.kinds[:, seat]
        if panel in self.sticks and seat != first:
            way = self.planned(seat) - self.planned(first)
            self.world.drive_by_stick(seat, first, (way[0], way[1] + drop), kind, who)
        else:
            self.world.drive(seat, (mark[0], mark[1] + drop), kind, who)

    def _measure(self, panel: int, seat: int) -> None:
        if not self.habits.recompute:
            return
        self.set_mm[seat] = self.marks_mm.pop(seat)
        self._read_seat(panel, seat)

    def _read_seat(self, panel: int, seat: int) -> None:
        name, tape = self.site.form.seats[seat], self.site.job.uncertainty.tape
        self.read[panel] += [
            (Across(seat=name, x_mm=0.0, u_mm=tape), self.world.across(seat)),
            (Height(seat=name, above_mm=0.0, u_mm=tape), self.world.above(seat)),
        ]
        self.estimate(panel)
        self.remark()

    def _read_more(self, panel: int) -> None:
        """Every seat once more, and every pair against each other, by tape and by level."""
        habits, index = self.habits, self.site.index
        if habits.readings > 1:
            for seat in self.site.seats_of(panel):
                self._read_seat(panel, seat)
        names = [self.site.form.seats[i] for i in self.site.columns(panel)[0]]
        pairs = checked_pairs(self.site.method(panel), names)
        for _ in range(habits.readings if habits.cross else 0):
            for a, b in pairs:
                self._read_pair(panel, index[a], index[b])

    # -- readings

    def _read_pair(self, panel: int, a: int, b: int) -> None:
        names, known = self.site.form.seats, self.site.job.uncertainty
        span = abs(self.site.span_mm(a, b))
        u = level_u_mm(span, fixed_mm=known.level, per_m_mm=known.level_per_m)
        tape = Tape(a=names[a], b=names[b], distance_mm=span, u_mm=known.tape)
        level = Level(a=names[a], b=names[b], rise_mm=0.0, u_mm=u)
        self.read[panel] += [(tape, self.world.apart(a, b)), (level, self.world.rise(a, b))]
        self.estimate(panel)
        self.remark()

    def estimate(self, panel: int) -> None:
        """Places of a panel's set seats from all their readings."""
        site, n = self.site, self.site.n
        own = [i for i in site.columns(panel)[0] if i in self.set_mm]
        meant = {i: site.planned_mm[[i, n + i]] for i in own}
        marks = {
            site.form.seats[i]: Mark(x_mm=float(x), y_mm=float(y)) for i, (x, y) in meant.items()
        }
        rows, values, u = reading_rows(marks, [of for of, _ in self.read[panel]])
        read = np.array([value for _, value in self.read[panel]]) - values[:, None]
        covariance = gauss_markov(rows, read[:, 0], np.diag(u**2)).covariance
        off = covariance @ (rows / u[:, None] ** 2).T @ read
        for k, i in enumerate(own):
            self.set_mm[i] = meant[i][:, None] + off[[k, len(own) + k]]
        columns = [*own, *(n + i for i in own)]
        self.covariance_mm2[np.ix_(columns, columns)] = covariance
