"""Where panels and seats are planned.

Method: panels are first placed against each other in a frame of their own (row, column or grid),
then the bounding box of the group is moved so that its middle stands at reference + offset and its
centre, top or bottom at the given height. A free layout names each panel's centre. A seat is its
panel's centre plus the hanger's (u, v); following a sloping room on purpose raises every seat by
slope * x, and so turns the panel on them: hangers at different heights then lie aside of each other
by slope times that. ``slope`` says where the panel's edges are. The centres of an ``Arrangement``
are those of the layout itself, level.

Source of all definitions: the project's own layout rules (rows, columns, grids, free), stated here.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise

from holdtrue.core.errors import CoreError
from holdtrue.core.model import Arrangement, Job, Layout, Neighbours, Panel
from holdtrue.core.sources import OVERLAP_MM

Point = tuple[float, float]


def front_offset_mm(
    in_mm: float, down_mm: float, *, width_mm: float, height_mm: float, measured_on: str
) -> Point:
    """Offset (u, v) of a point from a panel's centre, seen from the front.

    Equation: x = in (front) or W - in (back, mirrored); u = x - W/2; v = H/2 - down.

    Parameters: in_mm [mm], from the LEFT edge of the face it was measured on, 0 to W;
    down_mm [mm], from the top edge, 0 to H; width_mm, height_mm [mm], > 0; measured_on "back" or
    "front".
    Returns: (u, v) [mm], right and up.
    Raises: CoreError for a face that is neither.
    Source: plane geometry; mirroring of the back view.

    >>> front_offset_mm(100.0, 50.0, width_mm=500.0, height_mm=700.0, measured_on="back")
    (150.0, 300.0)
    """
    if measured_on == "back":
        x_mm = width_mm - in_mm
    elif measured_on == "front":
        x_mm = in_mm
    else:
        raise CoreError("measured_on", measured_on, 'give "back" or "front"')
    return x_mm - width_mm / 2, height_mm / 2 - down_mm


def seat_rise_mm(layout: Layout, x_mm: float) -> float:
    """How much a slope raises what is at x.

    Equation: slope x.

    Parameters: layout, its slope [mm/m]; x_mm, from the reference line, right is + [mm].
    Returns: rise [mm].
    Raises: nothing.
    Source: module head.

    >>> seat_rise_mm(Layout(kind="row", slope_mm_per_m=5.0), -600.0)
    -3.0
    """
    return layout.slope_mm_per_m * x_mm / 1000.0


def slope_shift_mm(layout: Layout, panel: Panel, centre_x_mm: float) -> tuple[Point, ...]:
    """How far a slope moves each seat of a panel from where it is in the level layout.

    Equation: (-slope (v - mean v), slope (x + u)): the panel turns about the middle of its hangers,
    to the first order of the slope.

    Parameters: layout, its slope [mm/m]; panel, its hangers' (u, v) [mm]; centre_x_mm of the panel
    in the level layout, from the reference line [mm].
    Returns: (right, up) [mm] of each hanger's seat.
    Raises: nothing.
    Source: plane rigid-body geometry for small turns.

    >>> from holdtrue.core.model import Hanger
    >>> layout = Layout(kind="row", slope_mm_per_m=20.0)
    >>> hangers = (Hanger(u_mm=-100.0, v_mm=200.0), Hanger(u_mm=100.0, v_mm=0.0))
    >>> panel = Panel(name="A", width_mm=400, height_mm=600, depth_mm=0, mass_kg=1, hangers=hangers)
    >>> slope_shift_mm(layout, panel, 0.0)
    ((-2.0, -2.0), (2.0, 2.0))
    """
    mean_v_mm = sum(h.v_mm for h in panel.hangers) / len(panel.hangers)
    return tuple(
        (
            -layout.slope_mm_per_m * (h.v_mm - mean_v_mm) / 1000.0,
            seat_rise_mm(layout, centre_x_mm + h.u_mm),
        )
        for h in panel.hangers
    )


def arrange(job: Job) -> Arrangement:
    """Place every panel and seat of a job.

    Parameters: job; lengths [mm], as checked when the job file was read.
    Returns: Arrangement; centres and seats [mm], seats in panel order, from the left within each.
    Raises: CoreError for a layout kind that is not row, column, grid or free.
    Source: module head.
    """
    centres = _centres(job.panels, job.layout)
    neighbours = _neighbours(job.panels, job.layout, centres)
    names, panel_of, hanger_of, seats = [], [], [], []
    for k, panel in enumerate(job.panels):
        x, y = centres[k]
        shifts = slope_shift_mm(job.layout, panel, x)
        for i, (hanger, (right, up)) in enumerate(zip(panel.hangers, shifts, strict=True)):
            names.append(f"{panel.name}{i + 1}")
            panel_of.append(k)
            hanger_of.append(i)
            # shims under its ring let the panel hang as planned on a seat that much lower
            lower = panel.shims_mm
            seats.append((x + hanger.u_mm + right, y + hanger.v_mm + up - lower))
    return Arrangement(
        centres_mm=tuple(centres),
        neighbours=tuple(neighbours),
        groups=_groups(len(job.panels), neighbours),
        seat_names=tuple(names),
        seat_panel=tuple(panel_of),
        seat_hanger=tuple(hanger_of),
        seats_mm=tuple(seats),
    )


def bounding_box_mm(
    panels: Sequence[Panel], centres_mm: Sequence[Point]
) -> tuple[float, float, float, float]:
    """Box around all panels: (left, bottom, right, top).

    Parameters: panels, at least one; centres_mm [mm], one per panel.
    Returns: four lengths [mm].
    Raises: ValueError for no panels.
    Source: plane geometry.
    """
    both = list(zip(panels, centres_mm, strict=True))
    return (
        min(c[0] - p.width_mm / 2 for p, c in both),
        min(c[1] - p.height_mm / 2 for p, c in both),
        max(c[0] + p.width_mm / 2 for p, c in both),
        max(c[1] + p.height_mm / 2 for p, c in both),
    )


def laid_out_mm(panels: Sequence[Panel], layout: Layout) -> list[Point]:
    """Panels against each other, before the group is put where it hangs.

    Parameters: panels; layout of them. Lengths [mm].
    Returns: a centre [mm] per panel, in the layout's own frame; a free layout's are on the wall.
    Raises: CoreError for a layout kind that is not row, column, grid or free.
    Source: module head.
    """
    if layout.kind == "free":
        return list(layout.centres_mm)
    if layout.kind == "row":
        return _row(panels, layout.gaps_mm, layout.align)
    if layout.kind == "column":
        return _column(panels, layout.gaps_mm, layout.align)
    if layout.kind == "grid":
        return _grid(panels, layout)
    raise CoreError("layout.kind", layout.kind, "give row, column, grid or free")


def _centres(panels: Sequence[Panel], layout: Layout) -> list[Point]:
    local = laid_out_mm(panels, layout)
    if layout.kind == "free":
        return local
    left, bottom, right, top = bounding_box_mm(panels, local)
    held = {"centre": (bottom + top) / 2, "top": top, "bottom": bottom}[layout.height_of]
    dx = layout.offset_mm - (left + right) / 2
    dy = layout.height_at_mm - held
    return [(x + dx, y + dy) for x, y in local]


def _row(panels: Sequence[Panel], gaps_mm: Sequence[float], align: str) -> list[Point]:
    """Left to right from x = 0; the aligned edge (or centre) at y = 0."""
    shift = {"top": -0.5, "centre": 0.0, "bottom": 0.5}[align]
    centres, x = [], 0.0
    for panel, gap in zip(panels, [0.0, *gaps_mm], strict=True):
        x += gap
        centres.append((x + panel.width_mm / 2, shift * panel.height_mm))
        x += panel.width_mm
    return centres


def _column(panels: Sequence[Panel], gaps_mm: Sequence[float], align: str) -> list[Point]:
    """Top to bottom from y = 0; the aligned edge (or centre) at x = 0."""
    shift = {"left": 0.5, "centre": 0.0, "right": -0.5}[align]
    centres, y = [], 0.0
    for panel, gap in zip(panels, [0.0, *gaps_mm], strict=True):
        y -= gap
        centres.append((shift * panel.width_mm, y - panel.height_mm / 2))
        y -= panel.height_mm
    return centres


def _grid(panels: Sequence[Panel], layout: Layout) -> list[Point]:
    """Rows of panels, each centred on x = 0, top row first, aligned against its tallest panel."""
    centres: dict[int, Point] = {}
    top = 0.0
    for row in layout.rows:
        members = [panels[k] for k in row]
        tallest = max(p.height_mm for p in members)
        # from the row's own frame (aligned edge at 0) to the band between top and top - tallest
        line = {"top": top, "centre": top - tallest / 2, "bottom": top - tallest}[layout.align]
        local = _row(members, [layout.gap_x_mm] * (len(members) - 1), layout.align)
        middle = (
            local[0][0] - members[0].width_mm / 2 + local[-1][0] + members[-1].width_mm / 2
        ) / 2
        for k, (x, y) in zip(row, local, strict=True):
            centres[k] = (x - middle, y + line)
        top -= tallest + layout.gap_y_mm
    return [centres[k] for k in range(len(panels))]


def _neighbours(
    panels: Sequence[Panel], layout: Layout, centres: Sequence[Point]
) -> list[Neighbours]:
    if layout.kind == "row":
        return [Neighbours(p=k, q=k + 1, how="beside") for k in range(len(panels) - 1)]
    if layout.kind == "column":
        return [Neighbours(p=k, q=k + 1, how="above") for k in range(len(panels) - 1)]
    if layout.kind == "grid":
        beside = [
            Neighbours(p=p, q=q, how="beside") for row in layout.rows for p, q in pairwise(row)
        ]
        above = [
            Neighbours(p=p, q=q, how="above")
            for upper, lower in pairwise(layout.rows)
            for p in upper
            for q in lower
            if _overlap_mm(panels, centres, p, q) > OVERLAP_MM
        ]
        return beside + above
    return []


def _overlap_mm(panels: Sequence[Panel], centres: Sequence[Point], p: int, q: int) -> float:
    left = max(centres[k][0] - panels[k].width_mm / 2 for k in (p, q))
    right = min(centres[k][0] + panels[k].width_mm / 2 for k in (p, q))
    return right - left


def _groups(count: int, neighbours: Iterable[Neighbours]) -> tuple[tuple[int, ...], ...]:
    """Connected panels, each group sorted, groups by their first panel."""
    label = list(range(count))
    for pair in neighbours:
        old, new = sorted((label[pair.p], label[pair.q]), reverse=True)
        label = [new if at == old else at for at in label]
    return tuple(tuple(k for k in range(count) if label[k] == at) for at in sorted(set(label)))
