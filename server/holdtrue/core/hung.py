"""Readings on hung panels: what each says about where the panels hang.

Method: a hung panel's level, the gap to a neighbour at both ends of their facing edges, and the
step between them are linear in the deviations d = (dx of all seats, dy of all seats) the seats
would need for the panels to hang as they do. A reading is one observation of such a row with its
instrument's uncertainty; the estimate of the set seats is what was known before. Both together:

    K = P A' (A P A' + U)^-1,  d + K (read - A d),  P - K A P

Sideways a panel hangs anywhere within its hangers' play p: before its first reading its place has
the further variance p^2 / 3 (rectangular, GUM 4.3.7).

A reading too far from what was known for chance says that the panel hangs elsewhere, whatever was
known of its seats (one has slipped, a hanger gave): then that counts for next to nothing, and the
panel hangs as it was read.

Source: best linear estimate with prior information (Gauss-Markov; GUM 5.2, H.3; the gain form is
R. E. Kalman, J. Basic Eng. 82 (1960) 35-45, from memory); rows are plane rigid-body geometry for
small turns.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import sqrt
from typing import Literal

import numpy as np

from holdtrue.core.model import Arrangement, Job, Neighbours
from holdtrue.core.quality import PoseRows, Vector, pose_rows
from holdtrue.core.sources_trim import PLAY_SHARE, SLIP_MM, SLIP_U

SAME = 1e-6
"""[-] Relative difference below which two variances are the same but for rounding."""

HungKind = Literal["level", "gap first", "gap second", "step", "edge"]
RowKey = tuple[HungKind, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class HungReading:
    """One reading on hung panels, as its difference from plan.

    ``kind``: level (right end of the panel's level edge high is +), gap first (the gap's top end,
    or its left end between panels above each other), gap second (the other end), step (p's edge
    high is +; for panels above each other p's edge to the right), edge (the panel's left edge from
    the reference line, half-way up it; to the right is +). ``where``: a panel's name, or "p|q" as
    in the criteria.
    """

    kind: HungKind
    where: str
    value_mm: float
    u_mm: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Hang:
    """Where the panels hang, as seat deviations: mean [mm], shape (2n,); covariance [mm2]."""

    deviation_mm: Vector
    covariance_mm2: Vector


def play_mm(job: Job) -> float:
    """How far a hanger lets its panel go each way sideways: half the slack tolerance.

    Parameters: job; its slack tolerance [mm].
    Returns: play [mm].
    Raises: nothing.
    Source: ``sources_trim.PLAY_SHARE``.
    """
    return job.tolerance.slack * PLAY_SHARE


def panel_columns(job: Job, panel: int) -> tuple[int, int]:
    """First and one past the last seat of a panel.

    Parameters: job; panel, its index [-].
    Returns: two indexes into the seats [-].
    Raises: nothing.
    Source: seats run panel by panel, see ``geometry.arrange``.
    """
    first = sum(len(p.hangers) for p in job.panels[:panel])
    return first, first + len(job.panels[panel].hangers)


def all_poses(job: Job) -> tuple[PoseRows, ...]:
    """Pose rows of every panel.

    Parameters: job.
    Returns: PoseRows per panel, a and b [mm/mm], t [rad/mm].
    Raises: nothing.
    Source: ``quality.pose_rows``.
    """
    n = sum(len(p.hangers) for p in job.panels)
    return tuple(
        pose_rows(panel, panel_columns(job, k)[0], n) for k, panel in enumerate(job.panels)
    )


def slide_range_mm(
    job: Job,
    panel: int,
    poses: Sequence[PoseRows],
    *,
    seats_mm: Vector,
    hung_mm: Vector,
) -> tuple[float, float]:
    """How far a hung panel can still be slid before one of its hangers leaves its play.

    With the panel's middle at a, hanger i lies a - t v_i - dx_i from its seat; that stays within
    the play either way.

    Parameters: job; panel, its index; poses of all panels; seats_mm, deviations of the seats [mm],
    shape (2n,); hung_mm, the deviations the panel hangs by [mm], shape (2n,).
    Returns: (lowest, highest) slide from where it hangs [mm], lowest <= 0 <= highest; (0, 0) where
    its seats already take more than the play.
    Raises: nothing.
    Source: plane geometry.
    """
    first, last = panel_columns(job, panel)
    tilt = float(poses[panel].t @ hung_mm)
    at = float(poses[panel].a @ hung_mm)
    off = [
        at - tilt * hanger.v_mm - float(seats_mm[seat])
        for seat, hanger in zip(range(first, last), job.panels[panel].hangers, strict=True)
    ]
    play = play_mm(job)
    return min(-play - min(off), 0.0), max(play - max(off), 0.0)


def hung_rows(job: Job, arrangement: Arrangement) -> dict[RowKey, Vector]:
    """The row over d of every reading that can be taken on this work once hung.

    Parameters: job; arrangement of that job. Lengths [mm].
    Returns: (kind, where) to a row [mm/mm], shape (2n,).
    Raises: nothing.
    Source: module head.
    """
    poses = all_poses(job)
    rows: dict[RowKey, Vector] = {}
    for panel, pose in zip(job.panels, poses, strict=True):
        rows["edge", panel.name] = np.asarray(pose.a)
        if len(panel.hangers) > 1:
            rows["level", panel.name] = np.asarray(panel.width_mm * pose.t)
    for pair in arrangement.neighbours:
        rows.update(_pair_rows(job, arrangement, pair, poses))
    return rows


def _pair_rows(
    job: Job, arrangement: Arrangement, pair: Neighbours, poses: Sequence[PoseRows]
) -> dict[RowKey, Vector]:
    p, q = job.panels[pair.p], job.panels[pair.q]
    at_p, at_q = poses[pair.p], poses[pair.q]
    label = f"{p.name}|{q.name}"
    if pair.how == "beside":
        step = (at_p.b + at_p.t * p.width_mm / 2) - (at_q.b - at_q.t * q.width_mm / 2)
    else:
        step = (at_p.a + at_p.t * p.height_mm / 2) - (at_q.a - at_q.t * q.height_mm / 2)
    first, second = gap_ends_mm(job, arrangement, pair)
    return {
        ("gap first", label): gap_row(arrangement, pair, poses, first),
        ("gap second", label): gap_row(arrangement, pair, poses, second),
        ("step", label): np.asarray(step),
    }


def gap_ends_mm(job: Job, arrangement: Arrangement, pair: Neighbours) -> tuple[float, float]:
    """Where a gap is read: the top and bottom of what the facing edges share, or left and right.

    Parameters: job; arrangement of that job; pair, two of its neighbours. Lengths [mm].
    Returns: two heights between panels side by side, two x between panels above each other [mm].
    Raises: nothing.
    Source: plane geometry.
    """
    p, q = job.panels[pair.p], job.panels[pair.q]
    (xp, yp), (xq, yq) = arrangement.centres_mm[pair.p], arrangement.centres_mm[pair.q]
    if pair.how == "beside":
        return shared_mm(yp, p.height_mm, yq, q.height_mm)
    right, left = shared_mm(xp, p.width_mm, xq, q.width_mm)
    return left, right


def gap_row(
    arrangement: Arrangement, pair: Neighbours, poses: Sequence[PoseRows], at_mm: float
) -> Vector:
    """The row over d of the gap between two neighbours, at one place along their edges.

    Parameters: arrangement; pair; poses of all panels; at_mm, a height between panels side by side,
    an x between panels above each other [mm].
    Returns: row [mm/mm], shape (2n,).
    Raises: nothing.
    Source: plane rigid-body geometry for small turns.
    """
    at_p, at_q = poses[pair.p], poses[pair.q]
    (xp, yp), (xq, yq) = arrangement.centres_mm[pair.p], arrangement.centres_mm[pair.q]
    if pair.how == "beside":
        row = (at_q.a - at_q.t * (at_mm - yq)) - (at_p.a - at_p.t * (at_mm - yp))
    else:
        row = (at_p.b + at_p.t * (at_mm - xp)) - (at_q.b + at_q.t * (at_mm - xq))
    return np.asarray(row)


def shared_mm(at_p: float, size_p: float, at_q: float, size_q: float) -> tuple[float, float]:
    """Upper and lower end of what two facing edges share.

    Parameters: at_p, at_q, their middles [mm]; size_p, size_q, their lengths [mm].
    Returns: (upper, lower) [mm]; both their middle where they share nothing.
    Raises: nothing.
    Source: plane geometry.
    """
    upper = min(at_p + size_p / 2, at_q + size_q / 2)
    lower = max(at_p - size_p / 2, at_q - size_q / 2)
    if upper < lower:
        middle = (upper + lower) / 2
        return middle, middle
    return upper, lower


def hang_on_seats(
    job: Job, *, deviation_mm: Vector, covariance_mm2: Vector, panels: Sequence[int]
) -> Hang:
    """Where panels hang by their seats alone: anywhere within their play sideways.

    Parameters: job with n seats; deviation_mm, estimate of the seats [mm], shape (2n,);
    covariance_mm2 [mm2], shape (2n, 2n); panels, indexes of those just hung.
    Returns: Hang.
    Raises: nothing.
    Source: module head; rectangular distribution, GUM 4.3.7.
    """
    covariance = np.array(covariance_mm2, dtype=np.float64)
    for panel in panels:
        first, last = panel_columns(job, panel)
        covariance[..., first:last, first:last] += play_mm(job) ** 2 / 3.0
    return Hang(deviation_mm=np.array(deviation_mm, dtype=np.float64), covariance_mm2=covariance)


def estimate_hang(
    job: Job, rows: Mapping[RowKey, Vector], before: Hang, readings: Sequence[HungReading]
) -> Hang:
    """Where the panels hang, by all readings on them and what was known before.

    Parameters: job; its rows from ``hung_rows`` [mm/mm]; before [mm], [mm2]; readings [mm], u > 0,
    independent.
    Returns: Hang.
    Raises: KeyError for a reading this work does not have.
    Source: module head.
    """
    if not readings:
        return before
    design = np.array([rows[reading.kind, reading.where] for reading in readings])
    read = np.array([reading.value_mm for reading in readings])
    u = np.array([reading.u_mm for reading in readings])
    if np.any(is_surprising(before, design, read, u)):
        before = slipped(job, before, design, read, u)
    return read_on(before, design, read, u)


def is_surprising(before: Hang, design: Vector, read_mm: Vector, u_mm: Vector) -> Vector:
    """Which readings are farther from what was known than by chance.

    Parameters: before [mm], [mm2], design [mm/mm], read_mm and u_mm [mm], as of ``read_on``.
    Returns: truth [-], shape (..., k).
    Raises: nothing.
    Source: ``sources_trim.SLIP_U``.
    """
    off = read_mm - _times(design, before.deviation_mm)
    known = np.sum((design @ before.covariance_mm2) * design, axis=-1)
    return np.asarray(np.abs(off) > SLIP_U * np.sqrt(known + u_mm**2))


def slipped(job: Job, before: Hang, design: Vector, read_mm: Vector, u_mm: Vector) -> Hang:
    """What is known of panels that hang elsewhere than was known: next to nothing.

    Of the two that a reading is between it is the one that was known less well.

    Parameters: job; before, of one install [mm], [mm2], shapes (2n,) and (2n, 2n); design [mm/mm],
    read_mm and u_mm [mm], as of ``read_on``.
    Returns: Hang [mm], [mm2].
    Raises: nothing.
    Source: module head.
    """
    covariance, n = np.array(before.covariance_mm2), before.deviation_mm.size // 2
    seats = [range(*panel_columns(job, k)) for k in range(len(job.panels))]
    columns = [np.array([*own, *(n + i for i in own)]) for own in seats]
    for row in design[is_surprising(before, design, read_mm, u_mm)]:
        known = np.array([row[own] @ covariance[np.ix_(own, own)] @ row[own] for own in columns])
        # of two known alike, whatever rounding says, the later one
        least = columns[int(np.flatnonzero(known >= known.max() * (1.0 - SAME))[-1])]
        covariance[least, least] += SLIP_MM**2
    return replace(before, covariance_mm2=covariance)


def read_on(before: Hang, design: Vector, read_mm: Vector, u_mm: Vector) -> Hang:
    """The same for rows and readings as arrays, of one install or of many at once.

    Parameters: before, deviation [mm], shape (..., 2n), and covariance [mm2], shape (..., 2n, 2n);
    design, A [mm/mm], shape (..., k, 2n); read_mm [mm], shape (..., k); u_mm [mm], shape (k,), > 0.
    Returns: Hang.
    Raises: nothing.
    Source: module head.
    """
    gain, covariance = update_gain(before.covariance_mm2, design, u_mm)
    off = read_mm - _times(design, before.deviation_mm)
    return Hang(
        deviation_mm=before.deviation_mm + _times(gain, off),
        covariance_mm2=covariance,
    )


def _times(matrix: Vector, vector: Vector) -> Vector:
    return np.asarray((matrix @ vector[..., None])[..., 0])


def update_gain(covariance_mm2: Vector, design: Vector, u_mm: Vector) -> tuple[Vector, Vector]:
    """Gain of new readings, and the covariance after them.

    Parameters: covariance_mm2, P [mm2], shape (..., 2n, 2n); design, A [mm/mm], shape
    (..., k, 2n); u_mm [mm], shape (k,), > 0.
    Returns: gain K [mm/mm], shape (..., 2n, k); covariance [mm2], shape (..., 2n, 2n), symmetric.
    Raises: nothing.
    Source: module head.
    """
    carried = covariance_mm2 @ np.swapaxes(design, -1, -2)
    gain = np.swapaxes(
        np.linalg.solve(design @ carried + np.diag(u_mm**2), np.swapaxes(carried, -1, -2)), -1, -2
    )
    after = covariance_mm2 - gain @ np.swapaxes(carried, -1, -2)
    return np.asarray(gain), np.asarray((after + np.swapaxes(after, -1, -2)) / 2)


def slid(job: Job, before: Hang, panel: int, by_mm: float | Vector, u_mm: float) -> Hang:
    """Where a panel hangs after it was slid.

    Parameters: job; before [mm], [mm2], of one install or of many; panel, its index; by_mm, to the
    right [mm], shape (...), 0 where it was not slid; u_mm of a slide [mm].
    Returns: Hang.
    Raises: nothing.
    Source: module head.
    """
    across = slice(*panel_columns(job, panel))
    return _moved(before, across, by_mm, u_mm)


def shimmed(
    job: Job, before: Hang, seat: int, by_mm: float | Vector, u_mm: float, *, is_loose: bool
) -> Hang:
    """Where a panel hangs after a seat's bearing was raised or lowered.

    Parameters: job; before [mm], [mm2], of one install or of many; seat, its index; by_mm, up [mm],
    shape (...), 0 where it was not touched; u_mm of a shim [mm]; is_loose: off the wall and on
    again, the panel may come to lie anywhere in its play.
    Returns: Hang.
    Raises: nothing.
    Source: module head; rectangular distribution, GUM 4.3.7.
    """
    n = sum(len(panel.hangers) for panel in job.panels)
    after = _moved(before, slice(n + seat, n + seat + 1), by_mm, u_mm)
    if not is_loose:
        return after
    columns = (panel_columns(job, k) for k in range(len(job.panels)))
    across = next(slice(first, last) for first, last in columns if first <= seat < last)
    play_u = play_mm(job) / sqrt(3.0)
    return replace(after, covariance_mm2=_blurred(after.covariance_mm2, across, by_mm, play_u))


def _moved(before: Hang, columns: slice, by_mm: float | Vector, u_mm: float) -> Hang:
    deviation = np.array(before.deviation_mm)
    deviation[..., columns] += np.asarray(by_mm)[..., None]
    return Hang(
        deviation_mm=deviation,
        covariance_mm2=_blurred(before.covariance_mm2, columns, by_mm, u_mm),
    )


def _blurred(covariance: Vector, columns: slice, by_mm: float | Vector, u_mm: float) -> Vector:
    """One more common error of these columns, where something was moved."""
    after = np.array(covariance)
    after[..., columns, columns] += np.where(np.asarray(by_mm) != 0, u_mm**2, 0.0)[..., None, None]
    return after


def seats_beneath_mm(
    job: Job,
    hung_mm: Vector,
    *,
    seats_mm: Vector,
    covariance_mm2: Vector,
    panels: Sequence[int],
    slid_mm: Vector,
) -> Vector:
    """Deviations of the seats as what was read on their panels puts them.

    A panel found aside of its seats was slid there, lies there in its play, or its seats are there:
    what was read is shared out by how uncertain play and seats are, and none lies beyond its play.

    Parameters: job; hung_mm, the deviations the panels hang by [mm], shape (2n,); seats_mm, of the
    seats by their own readings [mm], shape (2n,), and covariance_mm2 of these [mm2], shape
    (2n, 2n); panels, indexes of those that hang; slid_mm, how far each panel was slid [mm].
    Returns: deviations [mm], shape (2n,).
    Raises: nothing.
    Source: weighting by variances, GUM H.3; rectangular distribution, GUM 4.3.7.
    """
    deviation = np.array(seats_mm, dtype=np.float64)
    play = play_mm(job)
    for k in panels:
        across = slice(*panel_columns(job, k))
        off = float(np.mean(hung_mm[across] - deviation[across]))
        share = play**2 / (play**2 + 3.0 * float(np.mean(covariance_mm2[across, across])))
        in_play = float(np.clip(slid_mm[k] + share * (off - slid_mm[k]), -play, play))
        deviation[across] = hung_mm[across] - in_play
    return deviation
