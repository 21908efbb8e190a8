"""How long one recompute takes, against two other ways to the same answer, in the same run.

A row of two-hanger panels with every third seat set. Bare: numpy's lstsq on the same matrix, ready
made. SLSQP: scipy's general minimiser with the gradient handed to it. Best of several runs each, so
that other work on the machine counts least.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Callable

import numpy as np
from scipy.optimize import minimize

from holdtrue.core.quality import Form, Vector
from holdtrue.core.recompute import best_deviation_mm
from tests.core.jobs import form_of, panel, row

SEATS = (4, 12, 40, 200)
AGREE_MM = 1e-3
"""SLSQP stops at its own tolerance."""


def main(arguments: list[str]) -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.bench recompute")
    parser.add_argument("--runs", type=int, default=30)
    options = parser.parse_args(arguments)
    report({seats: measure(seats, options.runs) for seats in SEATS})


def problem(seats: int) -> tuple[Form, dict[int, float]]:
    form = form_of(row(*(panel(f"P{k}") for k in range(seats // 2))))[1]
    rng = np.random.default_rng(seats)
    held = [*range(0, seats, 3), *range(seats, 2 * seats, 3)]
    return form, {
        at: float(value) for at, value in zip(held, rng.normal(0, 2, len(held)), strict=True)
    }


def measure(seats: int, runs: int) -> tuple[float, float, float]:
    """Milliseconds of the recompute, of bare lstsq and of SLSQP."""
    form, fixed = problem(seats)
    free = [at for at in range(2 * seats) if at not in fixed]
    held = list(fixed)
    scaled = form.scaled
    matrix, target = scaled[:, free], -scaled[:, held] @ np.array([fixed[at] for at in held])

    def loss(d: Vector) -> float:
        return float(np.sum((matrix @ d - target) ** 2))

    def slope(d: Vector) -> Vector:
        return np.asarray(2.0 * matrix.T @ (matrix @ d - target))

    def slsqp() -> Vector:
        return np.asarray(
            minimize(
                loss,
                np.zeros(len(free)),
                jac=slope,
                method="SLSQP",
                options={"maxiter": 1000},
                tol=1e-12,
            ).x
        )

    best = best_deviation_mm(form, fixed)[free]
    assert float(np.max(np.abs(best - slsqp()))) < AGREE_MM, "the two ways disagree"
    slow = 3 if seats > 40 else 5
    return (
        least_ms(lambda: best_deviation_mm(form, fixed), runs),
        least_ms(lambda: np.linalg.lstsq(matrix, target, rcond=None), runs),
        least_ms(slsqp, min(runs, slow)),
    )


def least_ms(work: Callable[[], object], runs: int) -> float:
    work()
    taken = []
    for _ in range(runs):
        start = time.perf_counter()
        work()
        taken.append(time.perf_counter() - start)
    return min(taken) * 1000


def report(found: dict[int, tuple[float, float, float]]) -> None:
    lines = ["seats  recompute ms    bare ms   SLSQP ms   times bare   SLSQP times ours"]
    for seats, (ours, bare, slsqp) in found.items():
        lines.append(
            f"{seats:5d} {ours:13.3f} {bare:10.3f} {slsqp:10.2f}"
            f" {ours / bare:12.2f} {slsqp / ours:18.1f}"
        )
    growth = found[200][0] / found[40][0]
    checks = {
        f"under 2 ms at 12 seats ({found[12][0]:.3f})": found[12][0] < 2.0,
        "at least 10 times faster than SLSQP": all(s / o >= 10 for o, _, s in found.values()),
        "within 3 times bare lstsq": all(o / b <= 3 for o, b, _ in found.values()),
        f"no worse than quadratic from 40 to 200 ({growth:.1f} of 25)": growth <= 25.0,
    }
    lines += ["", *(f"{'met' if is_met else 'NOT MET':8}{name}" for name, is_met in checks.items())]
    sys.stdout.write("\n".join(lines) + "\n")
