"""Every criterion a finished hang is judged by that follows from where the seats are.

Method: the rows of the quadratic form, and beside them two that are reported but never minimised
(a good panel is not tilted to match a bad one): taper, shared edge length * (t_p - t_q), and line,
the fall of the aligned edges over a whole row or column. A gap is judged as it is read, in the
middle of what the facing edges share; that is the form's row, between the panels' centres, wherever
these are level with it. Flush (faces in or out) does not follow from the seats; it is read on the
hung panels.

Source: the project's own list of criteria; least-squares pose, see ``quality``.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from holdtrue.core.hung import all_poses, gap_ends_mm, gap_row
from holdtrue.core.model import Arrangement, Job
from holdtrue.core.quality import Form, PoseRows, Vector, quadratic_form

_Row = tuple[str, str, Vector]


def all_criteria(job: Job, arrangement: Arrangement) -> Form:
    """The quadratic form's rows, gaps as they are read, followed by taper and line.

    Parameters: job; arrangement of that job. Lengths [mm].
    Returns: Form; the columns of ``quality.quadratic_form``, its rows in their order, and more.
    Raises: nothing.
    Source: module head.
    """
    form = quadratic_form(job, arrangement)
    poses = all_poses(job)
    rows = _taper_rows(job, arrangement, poses) + _line_rows(job, poses)
    allowed = [getattr(job.tolerance, kind) for kind, _, _ in rows]
    own = form.matrix.copy()
    gaps = (i for i, kind in enumerate(form.kinds) if kind == "gap")
    for i, pair in zip(gaps, arrangement.neighbours, strict=True):
        own[i] = gap_row(arrangement, pair, poses, sum(gap_ends_mm(job, arrangement, pair)) / 2)
    return Form(
        seats=form.seats,
        seat_panel=form.seat_panel,
        planned_mm=form.planned_mm,
        matrix=np.vstack([own, *[row for _, _, row in rows]]),
        tolerance_mm=np.concatenate([form.tolerance_mm, allowed]),
        kinds=form.kinds + tuple(kind for kind, _, _ in rows),
        labels=form.labels + tuple(label for _, label, _ in rows),
    )


def _taper_rows(job: Job, arrangement: Arrangement, poses: Sequence[PoseRows]) -> list[_Row]:
    rows: list[_Row] = []
    for pair in arrangement.neighbours:
        p, q = job.panels[pair.p], job.panels[pair.q]
        if len(p.hangers) < 2 and len(q.hangers) < 2:
            continue
        first, second = gap_ends_mm(job, arrangement, pair)
        shared = abs(first - second)
        rows.append(("taper", f"{p.name}|{q.name}", shared * (poses[pair.p].t - poses[pair.q].t)))
    return rows


def line_chains(job: Job) -> list[tuple[int, ...]]:
    """Panels whose outer edges make a line: three or more in a row or column.

    Parameters: job.
    Returns: indexes of the panels of each line, in its order [-].
    Raises: nothing.
    Source: the project's own list of criteria.
    """
    layout = job.layout
    whole = () if layout.kind == "free" else (tuple(range(len(job.panels))),)
    chains = layout.rows if layout.kind == "grid" else whole
    return [tuple(chain) for chain in chains if len(chain) > 2]


def _line_rows(job: Job, poses: Sequence[PoseRows]) -> list[_Row]:
    """Outer edge against outer edge of every chain of three or more panels in one line."""
    rows: list[_Row] = []
    for chain in line_chains(job):
        first, last = chain[0], chain[-1]
        p, q = job.panels[first], job.panels[last]
        if job.layout.kind != "column":
            fall = (poses[first].b - poses[first].t * p.width_mm / 2) - (
                poses[last].b + poses[last].t * q.width_mm / 2
            )
        else:
            fall = (poses[first].a - poses[first].t * p.height_mm / 2) - (
                poses[last].a + poses[last].t * q.height_mm / 2
            )
        rows.append(("line", f"{p.name}..{q.name}", fall))
    return rows
