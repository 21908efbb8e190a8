"""Quality of a hang as one quadratic form.

Method: every reported residual is linear in the seats' deviations from plan (dx, dy). With the
deviations stacked as d = (dx_1 .. dx_n, dy_1 .. dy_n), row i of the form's matrix gives residual i
in mm and row i divided by its tolerance gives it in tolerances. A panel's pose deviation is (b, t):
the least-squares line through dy against u, b its value at the panel's centre; sideways
a = mean(dx) + t * mean(v). The form, its planned places and tolerances are one small document: a
phone can carry it and solve the same problem.

Source: least-squares line, GUM (JCGM 100:2008) H.3; the list of residuals is the project's own.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from holdtrue.core.model import Arrangement, Job, Panel

Vector = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Form:
    """The quadratic form of a job with n seats and m residuals.

    ``matrix`` [mm/mm], shape (m, 2n); ``tolerance_mm``, shape (m,); ``kinds`` and ``labels`` name
    each row; ``planned_mm``, shape (2n,), x of all seats, then y of all seats; ``seat_panel``, each
    seat's panel.
    """

    seats: tuple[str, ...]
    seat_panel: tuple[int, ...]
    planned_mm: Vector
    matrix: Vector
    tolerance_mm: Vector
    kinds: tuple[str, ...]
    labels: tuple[str, ...]
    scaled: Vector = field(init=False, repr=False)
    """Matrix in tolerances per mm, shape (m, 2n)."""

    def __post_init__(self) -> None:
        object.__setattr__(self, "scaled", self.matrix / self.tolerance_mm[:, None])


@dataclass(frozen=True, slots=True, eq=False)
class PoseRows:
    """Rows giving a panel's pose deviation from d: a, b [mm/mm], tilt t [1/mm]."""

    a: Vector
    b: Vector
    t: Vector


def pose_rows(panel: Panel, first: int, n: int) -> PoseRows:
    """Rows of length 2n that give (a, b, t) of one panel from the deviations of all seats.

    Equation: t = sum((u - mean u) dy) / sum((u - mean u)^2) (0 for one hanger),
    b = mean(dy) - t mean(u), a = mean(dx) + t mean(v).

    Parameters: panel, its hangers at different u [mm]; first, index of its first seat; n, number of
    seats of the job.
    Returns: PoseRows, each shape (2n,); a, b [mm/mm], t [rad/mm].
    Raises: nothing.
    Source: module head.
    """
    u = np.array([h.u_mm for h in panel.hangers])
    v = np.array([h.v_mm for h in panel.hangers])
    count = len(u)
    dx, dy = slice(first, first + count), slice(n + first, n + first + count)
    a, b, t = np.zeros(2 * n), np.zeros(2 * n), np.zeros(2 * n)
    if count > 1:
        centred = u - u.mean()
        t[dy] = centred / (centred @ centred)
    b[dy] = 1.0 / count
    b -= t * u.mean()
    a[dx] = 1.0 / count
    a += t * v.mean()
    return PoseRows(a, b, t)


def quadratic_form(job: Job, arrangement: Arrangement) -> Form:
    """All residuals of a job as rows over the seats' deviations.

    Rows: level W t; slack between neighbouring hangers of one panel; bearing on panels with three
    or more hangers; gap and step at each pair of facing edges; centre and height of each group.

    Parameters: job; arrangement of that job. Lengths [mm].
    Returns: Form.
    Raises: nothing.
    Source: module head.
    """
    n = len(arrangement.seat_names)
    rows: list[tuple[str, str, Vector]] = []
    poses, first = [], 0
    for panel in job.panels:
        pose = pose_rows(panel, first, n)
        poses.append(pose)
        rows += _panel_rows(panel, pose, first, n)
        first += len(panel.hangers)
    for pair in arrangement.neighbours:
        rows += _pair_rows(
            job.panels[pair.p], job.panels[pair.q], poses[pair.p], poses[pair.q], pair.how
        )
    for group in arrangement.groups:
        label = "+".join(job.panels[k].name for k in group)
        rows.append(("centre", label, np.mean([poses[k].a for k in group], axis=0)))
        rows.append(("height", label, np.mean([poses[k].b for k in group], axis=0)))
    allowed: Mapping[str, float] = {
        kind: getattr(job.tolerance, kind)
        for kind in ("level", "slack", "bearing", "gap", "step", "centre", "height")
    }
    return Form(
        seats=arrangement.seat_names,
        seat_panel=arrangement.seat_panel,
        planned_mm=np.array(
            [s[0] for s in arrangement.seats_mm] + [s[1] for s in arrangement.seats_mm]
        ),
        matrix=np.array([row for _, _, row in rows]),
        tolerance_mm=np.array([allowed[kind] for kind, _, _ in rows]),
        kinds=tuple(kind for kind, _, _ in rows),
        labels=tuple(label for _, label, _ in rows),
    )


def _panel_rows(panel: Panel, pose: PoseRows, first: int, n: int) -> list[tuple[str, str, Vector]]:
    rows: list[tuple[str, str, Vector]] = []
    hangers = panel.hangers
    if len(hangers) > 1:
        rows.append(("level", panel.name, panel.width_mm * pose.t))
    for i in range(len(hangers) - 1):
        row = pose.t * (hangers[i + 1].v_mm - hangers[i].v_mm)
        row[first + i + 1] += 1.0
        row[first + i] -= 1.0
        rows.append(("slack", f"{panel.name}{i + 1}-{panel.name}{i + 2}", row))
    if len(hangers) > 2:
        for i, hanger in enumerate(hangers):
            row = -pose.b - pose.t * hanger.u_mm
            row[n + first + i] += 1.0
            rows.append(("bearing", f"{panel.name}{i + 1}", row))
    return rows


def _pair_rows(
    p: Panel, q: Panel, at_p: PoseRows, at_q: PoseRows, how: str
) -> list[tuple[str, str, Vector]]:
    label = f"{p.name}|{q.name}"
    if how == "beside":
        return [
            ("gap", label, at_q.a - at_p.a),
            (
                "step",
                label,
                (at_p.b + at_p.t * p.width_mm / 2) - (at_q.b - at_q.t * q.width_mm / 2),
            ),
        ]
    return [
        ("gap", label, at_p.b - at_q.b),
        ("step", label, (at_p.a + at_p.t * p.height_mm / 2) - (at_q.a - at_q.t * q.height_mm / 2)),
    ]


def residuals_mm(form: Form, deviation_mm: Vector) -> Vector:
    """Every residual for given deviations: matrix times d.

    Parameters: form; deviation_mm [mm], shape (2n,).
    Returns: residuals [mm], shape (m,).
    Raises: nothing.
    Source: module head.
    """
    return np.asarray(form.matrix @ deviation_mm)


def worst_share(form: Form, deviation_mm: Vector) -> float:
    """Largest |residual| / tolerance: 1 is just inside.

    Parameters: form; deviation_mm [mm], shape (2n,).
    Returns: a share [-], >= 0.
    Raises: nothing.
    Source: module head.
    """
    return float(np.max(np.abs(residuals_mm(form, deviation_mm)) / form.tolerance_mm))


def finish_mm(form: Form, deviation_mm: Vector) -> dict[str, float]:
    """Largest |residual| of each kind that exists in this job.

    Parameters: form; deviation_mm [mm], shape (2n,).
    Returns: kind to length [mm], in the order level, slack, bearing, gap, step, centre, height.
    Raises: nothing.
    Source: module head.
    """
    values = np.abs(residuals_mm(form, deviation_mm))
    finish: dict[str, float] = {}
    for kind, value in zip(form.kinds, values, strict=True):
        finish[kind] = max(finish.get(kind, 0.0), float(value))
    order = ("level", "slack", "bearing", "gap", "step", "centre", "height")
    return {kind: finish[kind] for kind in order if kind in finish}
