"""The label as SVG at true size: presentation attributes only, no style, no script, no link."""

from __future__ import annotations

from holdtrue.drawing.svg import Element, el, number, picture
from holdtrue.labels.content import LabelContent
from holdtrue.labels.layout import Item, LabelSize, Layout, Outline, Ring, Symbol, Words, lay_out

_FONTS = "Helvetica, Arial, 'Liberation Sans', sans-serif"


def label_svg(content: LabelContent, size: LabelSize) -> str:
    """The label as SVG markup, width and height in mm.

    Raises: CodeDoesNotFitError when a code has no room at a readable module size.
    """
    layout = lay_out(content, size)
    panels = ", ".join(panel.name for panel in content.panels)
    return picture(
        [_ground(layout), *(_item(item) for item in layout.items)],
        width=layout.width_mm,
        height=layout.height_mm,
        unit="mm",
        title=f"Crate label {content.short_id}",
        desc=f"Crate {content.crate} of {content.crates}, panels {panels}, {content.mass}.",
        printed=True,
        data={"font_family": _FONTS},
    )


def _ground(layout: Layout) -> Element:
    return el("rect", width=layout.width_mm, height=layout.height_mm, fill="#fff")


def _item(item: Item) -> Element:
    if isinstance(item, Words):
        return _words(item)
    if isinstance(item, Outline):
        return _outline(item)
    if isinstance(item, Ring):
        return el(
            "circle",
            cx=item.x,
            cy=item.y,
            r=item.r,
            fill="#fff",
            stroke="#000",
            stroke_width=item.width,
        )
    return _symbol(item)


def _words(item: Words) -> Element:
    return el(
        "text",
        item.text,
        x=item.x,
        y=item.y,
        font_size=item.size,
        font_weight="700" if item.bold else None,
        text_anchor=None if item.anchor == "start" else item.anchor,
        fill="#000",
    )


def _outline(item: Outline) -> Element:
    d = "M" + "L".join(f"{number(x)} {number(y)}" for x, y in item.points)
    return el(
        "path",
        d=d + ("Z" if item.closed else ""),
        fill="#000" if item.filled else "none",
        stroke=None if item.filled else "#000",
        stroke_width=None if item.filled else item.width,
        stroke_dasharray=item.dash,
    )


def _symbol(item: Symbol) -> Element:
    place = f"translate({number(item.x)} {number(item.y)}) scale({item.code.module_mm:g})"
    return el(
        "path",
        data_code=item.name,
        d=item.code.path(),
        transform=place,
        fill="#000",
        shape_rendering="crispEdges",
    )
