"""The drawing as PNG and PDF, by libraries with wheels and without system dependencies.

PNG: ``resvg-py`` (the extra ``png``). PDF: ``svglib`` and ``reportlab`` (the extra ``pdf``). They
are imported on first use.
"""

from __future__ import annotations

from typing import Any

from trappoint.drawing.extras import load
from trappoint.drawing.fonts import FAMILY, register_fonts
from trappoint.drawing.svg_elements import safe

FORMATS = ("svg", "png", "pdf")
SIDES = {"a4": (841.89, 595.28), "a3": (1190.55, 841.89)}
"""The long and the short side of each sheet, in points of 1/72 inch (ISO 216)."""

BORDER = 28.35
"""The empty border of a sheet."""


def to_png(svg: str, zoom: float = 2.0) -> bytes:
    """Return a drawing as PNG, ``zoom`` dots for each unit. Raises NotInstalled."""
    resvg: Any = load("resvg_py", "png")
    return bytes(resvg.svg_to_bytes(svg_string=svg, zoom=zoom))


def to_pdf(sheets: list[str], sheet: str = "a4") -> bytes:
    """Return a drawing as PDF, each sheet on a landscape page. Raises NotInstalled."""
    canvas: Any = load("reportlab.pdfgen.canvas", "pdf")
    render: Any = load("reportlab.graphics.renderPDF", "pdf")
    from io import BytesIO

    wide, high = SIDES.get(sheet, SIDES["a4"])
    out = BytesIO()
    page: Any = canvas.Canvas(out, pagesize=(wide, high), invariant=1)
    for svg in sheets:
        found = read_drawing(svg)
        scale = min((wide - 2 * BORDER) / found.width, (high - 2 * BORDER) / found.height, 1.0)
        page.translate((wide - found.width * scale) / 2, (high - found.height * scale) / 2)
        page.scale(scale, scale)
        render.draw(found, page, 0, 0)
        page.showPage()
    page.save()
    return out.getvalue()


def read_drawing(svg: str) -> Any:
    """Return a drawing as an object of reportlab. Raises NotInstalled."""
    svglib: Any = load("svglib.svglib", "pdf")
    from io import BytesIO

    from trappoint.drawing.svg import FONTS

    register_fonts()
    svg = svg.replace(safe(FONTS), FAMILY, 1)
    return svglib.svg2rlg(BytesIO(svg.encode("utf-8")))
