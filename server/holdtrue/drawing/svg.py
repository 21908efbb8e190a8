"""A tiny SVG tree: build elements, render them once, escaped.

Elements are values and text is escaped on rendering, so no name typed by a person can become
markup. On screen the look comes from classes in the stylesheet (the pages' policy forbids inline
styles); on paper the same classes are exchanged for presentation attributes (``strokes.py``).
"""

from __future__ import annotations

import math
import re
import zlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from html import escape

from holdtrue.drawing.strokes import PAPER

Attribute = str | float | int | None
# Characters XML 1.0 does not allow at all, escaped or not (section 2.2, production Char).
_PLAIN = re.compile("[ -!#-%(-;=?-~]*")
"""Nothing to escape: most attributes, in drawings of hundreds of seats."""
_FORBIDDEN = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


@dataclass(frozen=True, slots=True)
class Element:
    """One SVG element; children are elements or text."""

    name: str
    attributes: tuple[tuple[str, str], ...] = ()
    children: tuple[Element | str, ...] = ()


def number(value: float) -> str:
    """A coordinate with at most two decimals: a hundredth of a drawing unit cannot be seen."""
    if not math.isfinite(value):
        raise ValueError(f"a coordinate must be finite, not {value!r}")
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def el(name: str, *children: Element | str | None, **attributes: Attribute) -> Element:
    """Build an element; ``class_`` means class, ``_`` in a name means ``-``, None leaves it out."""
    pairs = tuple(
        (_attribute_name(key), value if isinstance(value, str) else number(value))
        for key, value in attributes.items()
        if value is not None
    )
    return Element(name, pairs, tuple(child for child in children if child is not None))


def group(children: Iterable[Element | None], **attributes: Attribute) -> Element:
    """A ``<g>`` of the children that are there."""
    return el("g", *children, **attributes)


def _attribute_name(key: str) -> str:
    if key in ("viewBox", "textLength", "lengthAdjust"):
        return key
    return key.rstrip("_").replace("_", "-")


def _escape(text: str) -> str:
    if _PLAIN.fullmatch(text):
        return text
    clean = _FORBIDDEN.sub("\ufffd", text)
    return escape(clean, quote=True)


def render(element: Element) -> str:
    """The element as markup."""
    if not element.children:
        return f"<{_opened(element)}/>"
    return f"<{_opened(element)}>{_inside(element.children)}</{element.name}>"


def _opened(element: Element) -> str:
    return element.name + "".join(
        [f' {name}="{_escape(value)}"' for name, value in element.attributes]
    )


def _inside(children: Iterable[Element | str]) -> str:
    return "".join([_escape(one) if isinstance(one, str) else render(one) for one in children])


def on_paper(element: Element) -> Element:
    """The same drawing with presentation attributes instead of classes."""
    own = dict(element.attributes)
    painted: dict[str, str] = {}
    for name in own.pop("class", "").split():
        painted.update(PAPER.get(name, {}))
    painted.update(own)
    children = tuple(c if isinstance(c, str) else on_paper(c) for c in element.children)
    return replace(element, attributes=tuple(painted.items()), children=children)


def picture(
    children: Iterable[Element | None],
    *,
    width: float,
    height: float,
    title: str,
    desc: str,
    id_: str | None = None,
    printed: bool = False,
    unit: str = "",
    live: str | None = None,
    data: Mapping[str, Attribute] | None = None,
) -> str:
    """A whole drawing: viewBox from 0 0, a name and a description for those who cannot see it.

    Without ``id_`` the ids come from the drawing's own content: two different drawings on one page
    never share one. ``unit`` says what a unit of the drawing is on paper (mm); none means px.
    ``live`` names the description, when it holds numbers that a script may write anew.
    """
    body = group(children)
    if printed:
        body = on_paper(body)
    inside = _inside(body.children)
    stem = id_ or f"d{zlib.crc32((inside + title + desc).encode()):08x}"
    fonts = {"font_family": "Helvetica, Arial, sans-serif"} if printed else {}
    root = el(
        "svg",
        el("title", title, id=f"{stem}-t"),
        el("desc", desc, id=f"{stem}-d", data_live=live),
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {number(width)} {number(height)}",
        width=f"{number(width)}{unit}",
        height=f"{number(height)}{unit}",
        class_=None if printed else "drawing-svg",
        role="img",
        aria_labelledby=f"{stem}-t {stem}-d",
        **(fonts | dict(data or {})),
    )
    return f"<{_opened(root)}>{_inside(root.children)}{inside}</svg>"


def line(x0: float, y0: float, x1: float, y1: float, class_: str) -> Element:
    """A straight line."""
    return el("line", class_=class_, x1=x0, y1=y0, x2=x1, y2=y1)


def path(class_: str, *points: tuple[float, float], close: bool = False) -> Element:
    """A line through the points."""
    d = "M" + "L".join(f"{number(x)} {number(y)}" for x, y in points) + ("Z" if close else "")
    return el("path", class_=class_, d=d)


def rect(x: float, y: float, width: float, height: float, class_: str) -> Element:
    """An upright rectangle."""
    return el("rect", class_=class_, x=x, y=y, width=width, height=height)


def circle(x: float, y: float, r: float, class_: str) -> Element:
    """A circle."""
    return el("circle", class_=class_, cx=x, cy=y, r=r)


def text(
    x: float,
    y: float,
    content: str,
    size: float,
    class_: str = "d-text",
    anchor: str = "middle",
    live: str | None = None,
) -> Element:
    """Text with its baseline at y; ``live`` names a number that a script may write anew."""
    return el(
        "text",
        content,
        class_=class_,
        x=x,
        y=y,
        font_size=size,
        text_anchor=None if anchor == "start" else anchor,
        data_live=live,
    )


def text_width(content: str, size: float, *, is_bold: bool = False) -> float:
    """A guess of how wide the text is, on the wide side: no font is at hand here."""
    each = 0.72 if is_bold else 0.62
    return sum(1.0 if ord(c) > 0x2E7F else each for c in content) * size


def shorten(content: str, size: float, room: float) -> str:
    """The text cut with an ellipsis until it fits the room."""
    if text_width(content, size) <= room:
        return content
    while content and text_width(content + "…", size) > room:
        content = content[:-1]
    return content.rstrip() + "…"
