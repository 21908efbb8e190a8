"""Where everything stands on the label, in mm from its upper left corner; nothing may overflow.

From the top: "this way up", panel letters and crate number; facts; the panels' backs with their
hangers; the two codes with the short id under the first. Each part asks for a height; the backs
take what remains.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from holdtrue.labels.content import LabelContent, LabelPanel
from holdtrue.labels.metrics import fitting, text_width_mm, wrapped
from holdtrue.labels.qr import Code, text_code, url_code

LabelSize = Literal["a6", "4x6"]
SIZES_MM: dict[LabelSize, tuple[float, float]] = {"a6": (105.0, 148.0), "4x6": (101.6, 152.4)}
MARGIN_MM = 5.0
_HEAD_MM = 25.0
_ARROWS_MM = 19.0
_CARD_CODE_MM = 40.0
_LEAST_TEXT_MM = 1.7


@dataclass(frozen=True, slots=True, kw_only=True)
class Words:
    """One line of text, baseline at y, inside ``room_mm``."""

    x: float
    y: float
    text: str
    size: float
    room_mm: float
    bold: bool = False
    anchor: Literal["start", "middle", "end"] = "start"

    @property
    def left(self) -> float:
        """The left end at the widest."""
        width = text_width_mm(self.text, self.size)
        return self.x - {"start": 0.0, "middle": width / 2, "end": width}[self.anchor]


@dataclass(frozen=True, slots=True, kw_only=True)
class Outline:
    """Line work; ``filled`` for solid shapes, ``dash`` in mm."""

    points: tuple[tuple[float, float], ...]
    width: float = 0.3
    closed: bool = False
    filled: bool = False
    dash: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Ring:
    """A circle."""

    x: float
    y: float
    r: float
    width: float = 0.3


@dataclass(frozen=True, slots=True, kw_only=True)
class Symbol:
    """A QR code with its outer corner (quiet zone included) at x, y."""

    name: Literal["card", "text"]
    x: float
    y: float
    code: Code


Item = Words | Outline | Ring | Symbol


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """A label ready to be written."""

    width_mm: float
    height_mm: float
    items: tuple[Item, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Area:
    x: float
    y: float
    width: float
    height: float

    @property
    def right(self) -> float:
        return self.x + self.width

    @property
    def bottom(self) -> float:
        return self.y + self.height


def lay_out(content: LabelContent, size: LabelSize) -> Layout:
    """Place the content on a label of the given size."""
    width, height = SIZES_MM[size]
    inner = _Area(
        x=MARGIN_MM, y=MARGIN_MM, width=width - 2 * MARGIN_MM, height=height - 2 * MARGIN_MM
    )
    head = _Area(x=inner.x, y=inner.y, width=inner.width, height=_HEAD_MM)
    facts, facts_bottom = _facts(content, inner, head.bottom + 1.0)
    codes, codes_top = _codes(content, inner)
    backs = _Area(
        x=inner.x,
        y=facts_bottom + 1.5,
        width=inner.width,
        height=codes_top - 1.5 - facts_bottom - 1.5,
    )
    rules = [_rule(inner, y) for y in (head.bottom, facts_bottom, codes_top - 0.5)]
    items = [*_head(content, head), *facts, *_backs(content, backs), *codes, *rules]
    return Layout(width_mm=width, height_mm=height, items=tuple(items))


def _rule(inner: _Area, y: float) -> Outline:
    return Outline(points=((inner.x, y), (inner.right, y)), width=0.25)


def _words(
    x: float,
    y: float,
    text: str,
    room: float,
    largest: float,
    *,
    bold: bool = False,
    anchor: Literal["start", "middle", "end"] = "start",
    least: float = _LEAST_TEXT_MM,
) -> Words:
    said, size = fitting(text, room, largest, least)
    return Words(x=x, y=y, text=said, size=size, room_mm=room, bold=bold, anchor=anchor)


def _head(content: LabelContent, area: _Area) -> list[Item]:
    """Arrows at the upper left (where the standard puts them on a crate's face), letters beside."""
    arrows = this_way_up(area.x, area.y + 1.0, _ARROWS_MM)
    x = area.x + _ARROWS_MM * 0.75 + 6.0
    room = area.right - x
    crate = f"crate {content.crate} of {content.crates}"
    up = _words(area.x, area.y + _ARROWS_MM + 4.4, "this way up", 19.0, 2.8, bold=True)
    return [
        *arrows,
        up,
        *_letters([p.name for p in content.panels], x, area.y, room),
        _words(x, area.y + 22.0, crate, room, 5.0, bold=True),
    ]


def _letters(names: list[str], x: float, y: float, room: float) -> list[Item]:
    """The panel letters as large as they go; more than six on two lines."""
    if len(names) <= 6:
        return [_words(x, y + 14.0, "  ".join(names), room, 14.0, bold=True, least=3.0)]
    half = math.ceil(len(names) / 2)
    return [
        _words(x, y + 6.8 + 7.4 * k, "  ".join(part), room, 7.0, bold=True, least=2.5)
        for k, part in enumerate((names[:half], names[half:]))
    ]


def this_way_up(x: float, y: float, height: float) -> list[Outline]:
    """Two upright arrows over a bar: "this way up", drawn by us after the description in ISO 780.

    The standard asks for 100, 150 or 200 mm on the crate itself; on a label of this size the sign
    is smaller and repeats, not replaces, the stencil on the crate.
    """
    width = height * 0.75
    drawn = []
    for k in (0, 1):
        middle = x + width * (0.25 + 0.5 * k)
        head, shaft, neck = width * 0.21, width * 0.075, y + height * 0.32
        foot = y + height * 0.84
        drawn.append(
            Outline(
                points=(
                    (middle, y),
                    (middle + head, neck),
                    (middle + shaft, neck),
                    (middle + shaft, foot),
                    (middle - shaft, foot),
                    (middle - shaft, neck),
                    (middle - head, neck),
                ),
                closed=True,
                filled=True,
            )
        )
    top, low = y + height * 0.91, y + height
    bar = ((x, top), (x + width, top), (x + width, low), (x, low))
    return [*drawn, Outline(points=bar, closed=True, filled=True)]


def _facts(content: LabelContent, inner: _Area, top: float) -> tuple[list[Item], float]:
    size, pitch = 3.1, 4.3
    lines = [(line, True) for line in ([content.title] if content.title else [])]
    lines += [
        (f"{content.size}, {content.mass}", False),
        (f"revision {content.revision}, {content.date}", False),
    ]
    y = top + size
    words: list[Item] = []
    for text, bold in lines:
        words.append(_words(inner.x, y, text, inner.width, size, bold=bold, least=2.2))
        y += pitch
    for text in wrapped(content.lifting, inner.width, size * 0.9, 2):
        words.append(_words(inner.x, y, text, inner.width, size * 0.9))
        y += pitch * 0.92
    return words, y - pitch * 0.92 + 1.6


def _codes(content: LabelContent, inner: _Area) -> tuple[list[Item], float]:
    """Card code left, plain text right; the short id in letters under the card code."""
    text_room = inner.width - _CARD_CODE_MM - 2.0
    caption_mm, id_mm = 3.2, 6.3
    card = url_code(content.card_url, _CARD_CODE_MM) if content.card_url else None
    text = text_code(content.plain_text, text_room)
    tall = max(_CARD_CODE_MM + id_mm, text_room) + caption_mm
    top = inner.bottom - tall
    text_x = inner.x + _CARD_CODE_MM + 2.0
    text_at = (text_x + (text_room - text.side_mm) / 2, top + caption_mm)
    middle = inner.x + _CARD_CODE_MM / 2
    id_y = top + caption_mm + _CARD_CODE_MM + 5.0
    short_id = _words(
        middle, id_y, content.short_id, _CARD_CODE_MM, 5.2, bold=True, anchor="middle", least=2.5
    )
    return [
        *_card_code(card, inner.x, top, caption_mm),
        _words(
            text_x + text_room / 2,
            top + 2.6,
            "numbers to hang by (no network)",
            text_room,
            2.4,
            anchor="middle",
        ),
        Symbol(name="text", x=text_at[0], y=text_at[1], code=text),
        short_id,
    ], top


def _card_code(card: Code | None, x: float, top: float, caption_mm: float) -> list[Item]:
    """The card's code; a label made without a server has none and says so."""
    middle = x + _CARD_CODE_MM / 2
    said = "the card (network)" if card else "no card to scan"
    caption = _words(middle, top + 2.6, said, _CARD_CODE_MM, 2.4, anchor="middle")
    if card is None:
        return [caption]
    at = x + (_CARD_CODE_MM - card.side_mm) / 2
    return [caption, Symbol(name="card", x=at, y=top + caption_mm, code=card)]


def _backs(content: LabelContent, area: _Area) -> list[Item]:
    """Every panel's back to one scale, in the number of rows that draws them largest."""
    body = _Area(x=area.x, y=area.y + 4.0, width=area.width, height=area.height - 4.0)
    panels = content.panels
    grid = _grid(panels, body)
    numbers = (
        f"from left edge / down, {content.unit}" if grid.lines else "numbers in the right code"
    )
    heading = f"from the back: {numbers}; dash-dot: centre of gravity"
    drawn: list[Item] = [_words(area.x, area.y + 2.6, heading, area.width, 2.5)]
    cell_w = body.width / grid.columns
    cell_h = body.height / math.ceil(len(panels) / grid.columns)
    for index, panel in enumerate(panels):
        row, column = divmod(index, grid.columns)
        cell = _Area(
            x=body.x + column * cell_w, y=body.y + row * cell_h, width=cell_w, height=cell_h
        )
        drawn += _back(panel, cell, grid)
    return drawn


_GAP = 2.0
_LINE = 2.7
_GOOD_HEIGHT_MM = 9.0


@dataclass(frozen=True, slots=True, kw_only=True)
class _Grid:
    """How the backs share their place: columns, mm drawn per mm, lines of numbers under each."""

    columns: int
    scale: float
    lines: int


def _grid(panels: tuple[LabelPanel, ...], body: _Area) -> _Grid:
    """A line for each hanger while the panels stay large enough, else one for all, else none."""
    tallest = max(p.height_mm for p in panels)
    best = _best_grid(panels, body, 0)
    for lines in (max(len(p.hangers) for p in panels), 1):
        grid = _best_grid(panels, body, lines)
        if grid.scale * tallest >= _GOOD_HEIGHT_MM:
            return grid
    return best


def _best_grid(panels: tuple[LabelPanel, ...], body: _Area, lines: int) -> _Grid:
    found = []
    for rows in range(1, len(panels) + 1):
        columns = math.ceil(len(panels) / rows)
        room_x = body.width / columns - _GAP
        room_y = body.height / rows - _GAP - _LINE * lines
        scale = min(
            room_x / max(p.width_mm for p in panels), room_y / max(p.height_mm for p in panels)
        )
        found.append(_Grid(columns=columns, scale=scale, lines=lines))
    return max(found, key=lambda grid: (grid.scale, grid.columns))


def _back(panel: LabelPanel, cell: _Area, grid: _Grid) -> list[Item]:
    middle = cell.x + cell.width / 2
    if grid.scale <= 0:
        return []
    left = middle - panel.width_mm * grid.scale / 2
    bottom = cell.y + panel.height_mm * grid.scale
    return [
        *_outline(panel, left, cell.y, grid.scale),
        *_captions(panel, cell, bottom, grid.lines),
    ]


def _outline(panel: LabelPanel, left: float, top: float, scale: float) -> list[Item]:
    width, height = panel.width_mm * scale, panel.height_mm * scale
    cg_x = left + panel.cg_in_mm * scale
    corners = ((left, top), (left + width, top), (left + width, top + height), (left, top + height))
    name_y = top + height * 0.72
    rings = [
        Ring(x=left + h.in_mm * scale, y=top + h.down_mm * scale, r=min(0.8, width * 0.08))
        for h in panel.hangers
    ]
    name_size = min(5.0, height * 0.35)
    name: list[Item] = []
    if name_size >= _LEAST_TEXT_MM:
        room = width * 0.45  # beside the dash-dot line
        name = [_words(left + 0.8, name_y, panel.name, room, name_size, bold=True, least=1.4)]
    return [
        Outline(points=corners, closed=True, width=0.35),
        Outline(points=((cg_x, top), (cg_x, top + height)), width=0.2, dash="2 0.6 0.4 0.6"),
        *rings,
        *name,
    ]


def _captions(panel: LabelPanel, cell: _Area, top: float, lines: int) -> list[Item]:
    """The hangers' numbers under the panel; left out where they would be too small to read."""
    room = cell.width - _GAP
    said = [h.said for h in panel.hangers]
    if len(said) > lines:
        said = ["   ".join(said)][:lines]
    return [
        _words(cell.x + cell.width / 2, top + 2.4 + k * _LINE, text, room, 2.4, anchor="middle")
        for k, text in enumerate(said)
        if text_width_mm(text, _LEAST_TEXT_MM) <= room
    ]
