"""The drawing as PNG and PDF, by libraries with wheels and without system dependencies.

PNG: ``resvg-py`` (the extra ``png``). PDF: ``svglib`` and ``reportlab`` (the extra ``pdf``). They
are imported on first use.
"""

from __future__ import annotations

import re
from html import unescape
from typing import Any, NamedTuple

from trappoint.drawing.extras import load
from trappoint.drawing.fonts import (
    FAMILY,
    REGULAR,
    Unprinted,
    printed,
    register_fonts,
    unprinted,
)
from trappoint.drawing.paper import MARGIN, Crop, Picture, Sheet, placed, size_of, strip
from trappoint.drawing.svg_elements import safe

FORMATS = ("svg", "png", "pdf")
POINTS = 72 / 25.4
"""Points to a millimetre."""


class Pdf(NamedTuple):
    """A PDF."""

    content: bytes
    unprinted: Unprinted
    """What it cannot show; the PDF says it too."""


def to_png(svg: str, zoom: float = 2.0) -> bytes:
    """Return a drawing as PNG, ``zoom`` dots for each unit. Raises NotInstalled."""
    resvg: Any = load("resvg_py", "png")
    return bytes(resvg.svg_to_bytes(svg_string=svg, zoom=zoom))


def to_pdf(sheets: list[str], sheet: Sheet) -> Pdf:
    """Return a drawing as PDF, each picture on pages of this size. Raises NotInstalled.

    The drawing fills the width as far as ``trappoint.drawing.paper`` allows.
    """
    canvas: Any = load("reportlab.pdfgen.canvas", "pdf")
    from io import BytesIO

    sheet = strip(sheet, *size_of(sheets[0]))
    out = BytesIO()
    size = sheet.wide * POINTS, sheet.high * POINTS
    page: Any = canvas.Canvas(out, pagesize=size, invariant=1)
    found = unprinted(map(text_of, sheets))
    for svg in sheets:
        picture = placed(svg, sheet.room)
        drawn = read_drawing(svg)
        for crop in picture.crops:
            wide, high = crop.wide * picture.unit, crop.high * picture.unit
            page.saveState()
            page.translate((sheet.wide - wide) / 2 * POINTS, (sheet.high - high) / 2 * POINTS)
            draw_crop(page, drawn, picture, crop)
            page.restoreState()
            _footnote(page, found)
            page.showPage()
    page.save()
    return Pdf(out.getvalue(), found)


def draw_crop(page: Any, drawn: Any, picture: Picture, crop: Crop) -> None:
    """Draw a part of a picture, its lower left corner at the origin of the page."""
    render: Any = load("reportlab.graphics.renderPDF", "pdf")
    own = drawn.width / size_of(picture.svg)[0]  # svglib takes a unit for a pixel of CSS
    scale = picture.unit * POINTS / own
    page.scale(scale, scale)
    if len(picture.crops) > 1:
        clip = page.beginPath()
        clip.rect(0, 0, crop.wide * own, crop.high * own)
        page.clipPath(clip, stroke=0, fill=0)
    render.draw(drawn, page, -crop.x * own, (crop.y + crop.high) * own - drawn.height)


def _footnote(page: Any, found: Unprinted) -> None:
    """Write what the PDF cannot show at the foot of a page."""
    for number, sentence in enumerate(found.sentences(shown=False)):
        page.setFont(REGULAR, 7)
        page.drawString(MARGIN * POINTS, 12 + 9 * number, sentence[0].upper() + sentence[1:])


def text_of(svg: str) -> str:
    """Return all letters that a drawing shows."""
    return unescape(" ".join(re.findall(r"<text[^>]*>([^<]*)<", svg)))


def read_drawing(svg: str) -> Any:
    """Return a drawing as an object of reportlab. Raises NotInstalled."""
    svglib: Any = load("svglib.svglib", "pdf")
    from io import BytesIO

    from trappoint.drawing.svg import FONTS

    register_fonts()
    svg = printed(svg).replace(safe(FONTS), FAMILY, 1)
    return svglib.svg2rlg(BytesIO(svg.encode("utf-8")))
