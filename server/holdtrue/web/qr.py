"""A QR code as inline SVG on a page: the label's own symbol, no style attribute."""

from __future__ import annotations

from markupsafe import Markup

from holdtrue.labels.qr import QUIET_MODULES, CodeDoesNotFitError, url_code

SCREEN_MM = 40.0
SCREEN_PX = 240


def qr_svg(url: str, label: str) -> Markup | None:
    """The address as SVG, ``label`` for those who cannot see it; None when it is too long.

    Letters are sent in capitals, so the path must be one we answer in any case.
    """
    try:
        code = url_code(url, SCREEN_MM)
    except CodeDoesNotFitError:
        return None
    side = len(code.modules) + 2 * QUIET_MODULES
    return Markup(
        '<svg role="img" xmlns="http://www.w3.org/2000/svg" aria-label="{}" width="{}" '
        'height="{}" viewBox="0 0 {} {}" shape-rendering="crispEdges">'
        '<rect width="{}" height="{}" fill="#fff"/><path d="{}" fill="#000"/></svg>'
    ).format(label, SCREEN_PX, SCREEN_PX, side, side, side, side, code.path())
