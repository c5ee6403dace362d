"""The diagram of a plan, made sure to be nothing but a picture."""

from __future__ import annotations

from typing import TYPE_CHECKING
from xml.etree import ElementTree

if TYPE_CHECKING:
    from trappoint import Report
    from trappoint.drawing.roads import Lit

PREFIX = "d-"
"""What stands before the ids of a diagram, so that they meet no id of the page."""

_SVG = "{http://www.w3.org/2000/svg}"
_ELEMENTS = frozenset(
    _SVG + name
    for name in (
        *("svg", "g", "title", "desc", "defs", "clipPath", "marker", "pattern", "text", "tspan"),
        *("path", "rect", "circle", "ellipse", "line", "polyline", "polygon"),
    )
)


def draw_report(report: Report, *, heading: bool = True, lit: Lit | None = None) -> str | None:
    """Return the diagram of a checked plan as SVG; None if it cannot be drawn.

    ``lit`` is a road that it shows as it is set.
    """
    if report.layout is None:
        return None
    from trappoint.drawing.diagram import draw

    diagram = draw(report.layout, table=report.table, lit=lit)
    svg = diagram.svg(prefix=PREFIX, heading=heading)
    return svg if _is_picture(svg) else None


def _is_picture(svg: str) -> bool:
    """Return whether an SVG holds shapes and words alone: nothing that runs, loads or leads away.

    The drawing escapes what it writes. This is the second lock on the same door.
    """
    try:
        # Its own drawing, without a document type: nothing in it can expand.
        root = ElementTree.fromstring(svg)  # noqa: S314
    except ElementTree.ParseError:
        return False
    return "<!" not in svg and all(
        element.tag in _ELEMENTS
        and not any(name.lower().startswith("on") or "href" in name for name in element.attrib)
        and "style" not in element.attrib
        for element in root.iter()
    )
