"""Reads a drawing back: elements by class, seats, and millimetres from coordinates."""

from __future__ import annotations

from dataclasses import dataclass
from xml.etree import ElementTree as ET

SVG = "{http://www.w3.org/2000/svg}"


@dataclass(frozen=True, slots=True)
class Read:
    """A parsed drawing."""

    root: ET.Element

    @property
    def title(self) -> str:
        return self.root.findtext(f"{SVG}title") or ""

    @property
    def desc(self) -> str:
        return self.root.findtext(f"{SVG}desc") or ""

    @property
    def texts(self) -> list[str]:
        return [t.text or "" for t in self.root.iter(f"{SVG}text")]

    def of_class(self, name: str) -> list[ET.Element]:
        return [e for e in self.root.iter() if name in e.get("class", "").split()]

    def mm(self, x: float, y: float) -> tuple[float, float]:
        """A drawing place in millimetres on the wall or face."""
        scale = float(self.root.attrib["data-units-per-m"]) / 1000.0
        x0, y0 = (float(self.root.attrib[f"data-origin-{a}"]) for a in "xy")
        return (x - x0) / scale, (y0 - y) / scale

    @property
    def scale(self) -> float:
        return float(self.root.attrib["data-units-per-m"]) / 1000.0

    def seats(self) -> dict[str, tuple[str, tuple[float, float]]]:
        """Seat name to its state and the place of its first circle, mm."""
        found = {}
        for g in self.root.iter():
            name = g.get("data-seat")
            ring = g.find(f"{SVG}circle")
            if name is not None and ring is not None:
                place = self.mm(float(ring.attrib["cx"]), float(ring.attrib["cy"]))
                found[name] = (g.attrib["data-state"], place)
        return found


def read(markup: str) -> Read:
    return Read(ET.fromstring(markup))  # noqa: S314 -- our own markup
