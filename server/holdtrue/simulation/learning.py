"""Drops learned in played installs: taken where the product's readings offer one.

Source: ``core.bias`` and ``domain.learning``.
"""

from __future__ import annotations

import numpy as np

from holdtrue.core.bias import DropReading, learned_biases
from holdtrue.domain.estimating import placing_u_mm
from holdtrue.domain.learning import drop_worth_taking_mm
from holdtrue.simulation.fasteners import Fasteners


def learn(seats: Fasteners) -> None:
    """Take each kind's drop where the readings offer another, one install at a time."""
    taken = seats.drops_mm.copy()
    kinds = {kind.name: k for k, kind in enumerate(seats.site.kinds) if kind}
    of_seats = _drop_readings(seats)
    for install in range(seats.installs):
        told = [of_seat[install] for of_seat in of_seats]
        for bias in learned_biases([one for one in told if one.fastener]).values():
            kind = kinds[bias.fastener]
            drop = drop_worth_taking_mm(bias, float(seats.drops_mm[install, kind]))
            if drop is not None:
                taken[install, kind] = drop
    if np.any(taken != seats.drops_mm):
        seats.take_drops(taken)


def _drop_readings(seats: Fasteners) -> list[list[DropReading]]:
    """Per set seat, what it tells each install of its fastener's drop."""
    job, n = seats.site.job, seats.site.n
    found = []
    for i, place in seats.set_mm.items():
        y_u = float(np.sqrt(seats.covariance_mm2[n + i, n + i]))
        misses = place[1] - (seats.holes_mm[i] - seats.drop(i))
        kinds = [seats.site.kinds[k] for k in seats.kinds[:, i]]
        found.append(
            [
                DropReading(
                    fastener=kind.name if kind else "",
                    miss_mm=float(miss),
                    u_mm=float(np.hypot(placing_u_mm(job, kind), y_u)),
                )
                for kind, miss in zip(kinds, misses, strict=True)
            ]
        )
    return found
