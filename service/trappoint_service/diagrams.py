"""The diagram of a plan, checked to contain nothing but shapes and words."""

from __future__ import annotations

from typing import TYPE_CHECKING
from xml.etree import ElementTree

if TYPE_CHECKING:
    from trappoint import Report
    from trappoint.drawing.diagram import Diagram

PREFIX = "d-"
"""The prefix of ids in a diagram, so that they differ from the page's ids."""

_SVG = "{http://www.w3.org/2000/svg}"
_ELEMENTS = frozenset(
    _SVG + name
    for name in (
        *("svg", "g", "title", "desc", "defs", "clipPath", "marker", "pattern", "text", "tspan"),
        *("path", "rect", "circle", "ellipse", "line", "polyline", "polygon"),
    )
)


def draw_report(report: Report, before: object = None, *, strip: bool = True) -> Diagram | None:
    """Return the diagram of a checked plan; None if it cannot be drawn.

    ``before`` is the memory of the diagram before; None if there is none. The diagram is one
    strip, or its rows fit the width of a standing A4 sheet: that of the page too.
    """
    if report.layout is None:
        return None
    from trappoint.drawing.diagram import draw
    from trappoint.drawing.working_page import widest_row

    widest = None if strip else widest_row()
    return draw(report.layout, table=report.table, before=before, widest=widest)


def picture_of(
    diagram: Diagram | None, *, heading: bool = False, prefix: str = PREFIX
) -> str | None:
    """Return a diagram as SVG; None if there is none, or if it is more than a picture."""
    svg = diagram.svg(prefix=prefix, heading=heading) if diagram is not None else ""
    return svg if svg and _is_picture(svg) else None


def _is_picture(svg: str) -> bool:
    """Return whether an SVG contains only shapes and words: no scripts, loads or links.

    The drawing escapes its texts already; this is a second, independent check.
    """
    try:
        # Our own drawing has no document type, so no entity can expand.
        root = ElementTree.fromstring(svg)  # noqa: S314
    except ElementTree.ParseError:
        return False
    return "<!" not in svg and all(
        element.tag in _ELEMENTS
        and not any(name.lower().startswith("on") or "href" in name for name in element.attrib)
        and "style" not in element.attrib
        for element in root.iter()
    )
