"""Sheets of paper, and the room that a diagram takes on them. Lengths are in millimetres."""

from __future__ import annotations

import re
from math import ceil
from typing import TYPE_CHECKING, NamedTuple

from trappoint.drawing.foot import CAUTION
from trappoint.drawing.svg import BEFORE_FOOT, NARROW
from trappoint.drawing.svg import MARGIN as FRAME
from trappoint.drawing.svg import TITLE as HEAD

if TYPE_CHECKING:
    from trappoint.drawing.diagram import Diagram
    from trappoint.drawing.sketch import Sketch
    from trappoint.interlocking.locking_table import LockingTable
    from trappoint.model.layout import Layout

MARGIN = 10.0
"""The empty margin on each side of a sheet."""

LEAST, GREATEST = 0.1815, 0.9
"""The least and the greatest length of a unit of the drawing. The smallest letters of a diagram are
10 units high (``TRACK_SIZE``): 1.8 mm at least, and a little more because browsers round."""

LETTERS = 1.8
"""The least height of letters: the size of the type."""

TITLE = 20.0
"""The height of the title above the diagram."""

OVERLAP = 15.0
"""The strip of a diagram that two neighbouring pages both show."""

SIZES = {"a4": (297.0, 210.0), "a3": (420.0, 297.0)}
"""The long and the short side of each size (ISO 216)."""

STRIP = 0.25
"""The length of a unit on a strip of paper."""


class Sheet(NamedTuple):
    """A sheet of paper."""

    wide: float
    high: float
    rows: bool = True
    """Whether a long plan continues in rows below; False for a strip as long as the plan."""

    @property
    def room(self) -> tuple[float, float]:
        """The width and the height between the margins."""
        return self.wide - 2 * MARGIN, self.high - 2 * MARGIN

    @property
    def highest(self) -> float | None:
        """The greatest height of the rows of a drawing with title, caution and margin."""
        if not self.rows:
            return None
        return self.room[1] / LEAST - 1.6 * FRAME - HEAD - BEFORE_FOOT - CAUTION

    @property
    def widest(self) -> float | None:
        """The greatest width of a row beside its margin, in units; None for a strip."""
        return self.room[0] / LEAST - 2 * FRAME if self.rows else None


def sheet_of(name: str, *, standing: bool = False) -> Sheet:
    """Return the sheet ``a4`` or ``a3``; ``long`` is a strip, made for its diagram by ``strip``."""
    if name == "long":
        return Sheet(*SIZES["a4"], rows=False)
    wide, high = SIZES[name]
    return Sheet(high, wide) if standing else Sheet(wide, high)


def strip(sheet: Sheet, wide: float, high: float) -> Sheet:
    """Return the sheet, or a strip on which a drawing of this size (in units) has its room."""
    if sheet.rows:
        return sheet
    needed = wide * STRIP + 2 * MARGIN, high * STRIP + 2 * MARGIN + TITLE
    return Sheet(max(sheet.wide, needed[0]), max(sheet.high, needed[1]), rows=False)


class Crop(NamedTuple):
    """A part of a picture for one page, in units of the drawing from its upper left corner."""

    x: float
    y: float
    wide: float
    high: float


class Picture(NamedTuple):
    """A drawing and its place on paper."""

    svg: str
    unit: float
    """The length of a unit of the drawing on paper."""
    crops: tuple[Crop, ...]
    """What each page shows; a single one shows all."""


class DiagramPages(NamedTuple):
    """The diagram on paper."""

    sheet: Sheet
    """The paper of its pages: that of the chart, or the same lying if it needs the width."""
    pictures: list[Picture]
    """From the first page to the last, without title, caution and margin."""
    sketch: Sketch
    """All places and lines of the diagram."""


def diagram_pages(
    layout: Layout, table: LockingTable | None, sheet: Sheet, drawing: Diagram | None = None
) -> DiagramPages:
    """Draw a plan for a sheet. If a standing one is too narrow for it, its pages lie.

    ``drawing`` is the diagram, if it is drawn already for this sheet.
    """
    pages = _pages(layout, table, sheet, drawing)
    if sheet.wide < sheet.high and any(len(picture.crops) > 1 for picture in pages.pictures):
        return _pages(layout, table, Sheet(sheet.high, sheet.wide))
    return pages


def _pages(
    layout: Layout, table: LockingTable | None, sheet: Sheet, drawing: Diagram | None = None
) -> DiagramPages:
    from trappoint.drawing.diagram import draw

    diagram = drawing or draw(layout, table=table, widest=sheet.widest)
    if not sheet.rows:
        sheet = strip(sheet, *size_of(diagram.sheets(framed=False)[0]))
    wide, high = sheet.room[0], sheet.room[1] - TITLE
    svgs = diagram.sheets(framed=False, highest=high / LEAST - 2 * NARROW if sheet.rows else None)
    pictures = [placed(svg, (wide, high)) for svg in svgs]
    return DiagramPages(sheet, pictures, diagram.sketch)


def placed(svg: str, room: tuple[float, float]) -> Picture:
    """Return a drawing as large as its room and the limits allow, in parts if it is too large."""
    wide, high = size_of(svg)
    unit = min(room[0] / wide, room[1] / high, GREATEST)
    if unit >= LEAST:
        return Picture(svg, unit, (Crop(0, 0, wide, high),))
    across, down = _cuts(wide, room[0] / LEAST), _cuts(high, room[1] / LEAST)
    crops = tuple(Crop(x, y, w, h) for y, h in down for x, w in across)
    return Picture(svg, LEAST, crops)


def _cuts(length: float, most: float) -> list[tuple[float, float]]:
    """Divide a length into equal parts that overlap; return the start and the length of each."""
    if length <= most:
        return [(0.0, length)]
    overlap = OVERLAP / LEAST
    count = ceil((length - overlap) / (most - overlap))
    part = (length + (count - 1) * overlap) / count
    return [(number * (part - overlap), part) for number in range(count)]


def size_of(svg: str) -> tuple[float, float]:
    """Return the width and the height of a drawing, in its units."""
    found = re.search(r'viewBox="\S+ \S+ (\S+) (\S+)"', svg)
    if found is None:
        raise ValueError("a drawing has a viewBox")
    return float(found[1]), float(found[2])
