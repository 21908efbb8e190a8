"""Jobs to test the core with: small ones by hand, and random ones of every layout."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import Any

import numpy as np
from hypothesis import strategies as st

from holdtrue.core.geometry import arrange
from holdtrue.core.model import Arrangement, Fastener, Hanger, Job, Layout, Panel, Tolerance
from holdtrue.core.quality import Form, quadratic_form

NAMES = "ABCDEFGHJK"


def panel(
    name: str = "A",
    width: float = 500.0,
    height: float = 700.0,
    seats: Sequence[tuple[float, float]] = ((-150.0, 250.0), (150.0, 250.0)),
    **values: Any,
) -> Panel:
    """A panel with hangers at (u, v) [mm] from its centre."""
    given = {"depth_mm": 40.0, "mass_kg": 10.0} | values
    hangers = tuple(Hanger(u_mm=u, v_mm=v, source_index=i) for i, (u, v) in enumerate(seats))
    return Panel(name=name, width_mm=width, height_mm=height, hangers=hangers, **given)


def row(*panels: Panel, gaps: Sequence[float] | None = None, **layout: Any) -> Job:
    """A row with gaps of 50 mm, its centre 1500 mm above the floor."""
    gaps_mm = (50.0,) * (len(panels) - 1) if gaps is None else tuple(gaps)
    given: dict[str, Any] = {"height_at_mm": 1500.0} | layout
    return job(*panels, layout=Layout(kind="row", gaps_mm=gaps_mm, **given))


def job(*panels: Panel, layout: Layout, **values: Any) -> Job:
    return Job(title="A job to test with", unit="mm", panels=panels, layout=layout, **values)


def form_of(a_job: Job) -> tuple[Arrangement, Form]:
    arrangement = arrange(a_job)
    return arrangement, quadratic_form(a_job, arrangement)


def _panels(draw: st.DrawFn, count: int) -> tuple[Panel, ...]:
    made = []
    for name in NAMES[:count]:
        # in 20 mm: hangers that stand apart as on real panels, and no two at one x
        half_width, half_height = draw(st.integers(5, 40)), draw(st.integers(5, 40))
        us = draw(
            st.lists(st.integers(-half_width, half_width), min_size=1, max_size=4, unique=True).map(
                sorted
            )
        )
        seats = [(20.0 * u, draw(st.integers(0, 20 * half_height)) * 1.0) for u in us]
        middle = 0.0 if len(us) == 1 else 10.0 * (us[0] + us[-1])
        made.append(panel(name, 40.0 * half_width, 40.0 * half_height, seats, cg_u_mm=middle))
    return tuple(made)


def _layout(draw: st.DrawFn, panels: Sequence[Panel]) -> Layout:
    kind = draw(st.sampled_from(["row", "column", "grid", "free"]))
    count, gap = len(panels), st.integers(0, 300).map(float)
    place: dict[str, Any] = {
        "height_of": draw(st.sampled_from(["centre", "top", "bottom"])),
        "height_at_mm": float(draw(st.integers(800, 2500))),
        "offset_mm": float(draw(st.integers(-3000, 3000))),
        "slope_mm_per_m": float(draw(st.integers(-10, 10))),
    }
    aligns = ("left", "centre", "right") if kind == "column" else ("top", "centre", "bottom")
    place["align"] = draw(st.sampled_from(aligns))
    if kind == "free":
        centres = tuple((float(draw(st.integers(-3000, 3000))), 1500.0) for _ in panels)
        return Layout(kind="free", centres_mm=centres, slope_mm_per_m=place["slope_mm_per_m"])
    if kind == "grid":
        cuts = sorted(draw(st.sets(st.integers(1, max(1, count - 1)), max_size=2)) - {count})
        ends = [0, *cuts, count]
        rows = tuple(tuple(range(a, b)) for a, b in pairwise(ends))
        return Layout(kind="grid", rows=rows, gap_x_mm=draw(gap), gap_y_mm=draw(gap), **place)
    gaps = tuple(draw(gap) for _ in range(count - 1))
    return Layout(kind="row" if kind == "row" else "column", gaps_mm=gaps, **place)


@st.composite
def any_job(draw: st.DrawFn, *, most: int = 5) -> Job:
    """A job of any layout with panels of one to four hangers."""
    panels = _panels(draw, draw(st.integers(1, most)))
    return job(
        *panels,
        layout=_layout(draw, panels),
        tolerance=draw(st.sampled_from([Tolerance(), Tolerance(level=0.5, gap=3.0, step=0.8)])),
        graduation_mm=draw(st.sampled_from([1.0, 25.4 / 16, 25.4 / 8, 0.5])),
        fasteners=(
            Fastener(name="hook", into="hollow", drop_mm=draw(st.sampled_from([0.0, 6.35]))),
        ),
    )


def deviations(form: Form, seed: int, size_mm: float) -> np.ndarray[Any, np.dtype[np.float64]]:
    """Deviations of all seats, the same for the same seed."""
    return np.random.default_rng(seed).normal(0.0, size_mm, form.planned_mm.size)


def some_seats(form: Form, seed: int, size_mm: float) -> dict[str, tuple[float, float]]:
    """Some seats set, off their planned places."""
    rng = np.random.default_rng(seed)
    n = len(form.seats)
    off = deviations(form, seed, size_mm)
    at = form.planned_mm + off
    chosen = rng.permutation(n)[: rng.integers(0, n + 1)]
    return {form.seats[i]: (float(at[i]), float(at[n + i])) for i in chosen}


def is_multiple(length_mm: float, of_mm: float) -> bool:
    return math.isclose(length_mm / of_mm, round(length_mm / of_mm), abs_tol=1e-6)
