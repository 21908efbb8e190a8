"""From millimetres on the wall (x right, y up) to units of a drawing (x right, y down)."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise

Point = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """An upright rectangle on the wall or a panel, mm."""

    x0_mm: float
    y0_mm: float
    x1_mm: float
    y1_mm: float

    @property
    def width_mm(self) -> float:
        """From the left to the right edge."""
        return self.x1_mm - self.x0_mm

    @property
    def height_mm(self) -> float:
        """From the bottom to the top edge."""
        return self.y1_mm - self.y0_mm

    def grown(self, by_mm: float) -> Box:
        """The same box with a margin on every side."""
        return Box(
            x0_mm=self.x0_mm - by_mm,
            y0_mm=self.y0_mm - by_mm,
            x1_mm=self.x1_mm + by_mm,
            y1_mm=self.y1_mm + by_mm,
        )

    def cut_to(self, other: Box) -> Box | None:
        """What of this box lies inside the other; None when nothing does."""
        cut = Box(
            x0_mm=max(self.x0_mm, other.x0_mm),
            y0_mm=max(self.y0_mm, other.y0_mm),
            x1_mm=min(self.x1_mm, other.x1_mm),
            y1_mm=min(self.y1_mm, other.y1_mm),
        )
        return cut if cut.x0_mm < cut.x1_mm and cut.y0_mm < cut.y1_mm else None

    def cut(self, corners: Iterable[Point]) -> list[Point]:
        """The corners of what of a convex shape lies inside, edge after edge; [] when nothing does.

        Method: cut at one side after the other (Sutherland and Hodgman, Comm. ACM 17 (1974) 32).
        """
        shape = list(corners)
        for axis, at, sign in self._sides():
            cut: list[Point] = []
            for a, b in pairwise((*shape, *shape[:1])):
                is_in, ends_in = (sign * (p[axis] - at) >= 0 for p in (a, b))
                if is_in:
                    cut.append(a)
                if is_in != ends_in:
                    cut.append(_met(a, b, axis, at))
            shape = cut
        return shape

    def is_along(self, a: Point, b: Point) -> bool:
        """Whether the line between two places runs along a side."""
        return any(a[axis] == b[axis] == at for axis, at, _ in self._sides())

    def _sides(self) -> tuple[tuple[int, float, float], ...]:
        """Axis, place on it, and which way is inside, of every side."""
        return (
            (0, self.x0_mm, 1.0),
            (0, self.x1_mm, -1.0),
            (1, self.y0_mm, 1.0),
            (1, self.y1_mm, -1.0),
        )


def _met(a: Point, b: Point, axis: int, at_mm: float) -> Point:
    """Where the line from a to b crosses a side."""
    other = 1 - axis
    share = (at_mm - a[axis]) / (b[axis] - a[axis])
    across = a[other] + share * (b[other] - a[other])
    return (at_mm, across) if axis == 0 else (across, at_mm)


def around(points_mm: Iterable[tuple[float, float]]) -> Box:
    """The smallest box holding all points."""
    points = list(points_mm)
    xs = [x for x, _ in points]
    ys = [y for _, y in points]
    return Box(x0_mm=min(xs), y0_mm=min(ys), x1_mm=max(xs), y1_mm=max(ys))


@dataclass(frozen=True, slots=True, kw_only=True)
class View:
    """One scale for both directions; ``left`` and ``top`` are where the box's corner lands."""

    box: Box
    scale: float
    left: float
    top: float

    def x(self, x_mm: float) -> float:
        """Drawing x of a wall x."""
        return self.left + (x_mm - self.box.x0_mm) * self.scale

    def y(self, y_mm: float) -> float:
        """Drawing y of a wall y."""
        return self.top + (self.box.y1_mm - y_mm) * self.scale

    def at(self, point_mm: tuple[float, float]) -> tuple[float, float]:
        """Drawing place of a wall place."""
        return self.x(point_mm[0]), self.y(point_mm[1])

    @property
    def right(self) -> float:
        """Drawing x of the box's right edge."""
        return self.x(self.box.x1_mm)

    @property
    def bottom(self) -> float:
        """Drawing y of the box's bottom edge."""
        return self.y(self.box.y0_mm)

    @property
    def data(self) -> dict[str, float]:
        """For scripts and tests: the wall's origin in the drawing, and the scale."""
        return {
            "data_origin_x": self.x(0.0),
            "data_origin_y": self.y(0.0),
            "data_units_per_m": self.scale * 1000.0,
        }


def fit(
    box: Box,
    *,
    width: float,
    max_height: float,
    left: float = 0.0,
    right: float = 0.0,
    top: float = 0.0,
) -> View:
    """The largest view of the box between the margins, centred across the width."""
    room_x = width - left - right
    scale = min(room_x / max(box.width_mm, 1.0), max_height / max(box.height_mm, 1.0))
    spare = room_x - box.width_mm * scale
    return View(box=box, scale=scale, left=left + spare / 2, top=top)
