"""Charts on paper, measured in the PDF by another library: letters, lines, the width of rails."""

from __future__ import annotations

import io
from functools import cache
from itertools import product
from math import hypot
from pathlib import Path
from typing import Any, NamedTuple

from amount import is_long
from drawing.drawn import report_of
from trappoint.drawing.paper import GREATEST, LEAST, TITLE, diagram_pages, sheet_of

ROOT = Path(__file__).parents[2] / "examples"
PLANS = (*sorted(ROOT.glob("*.layout.json")), ROOT / "nixie-vale" / "autumn.layout.json")
CLUB = ROOT / "hobthrush-vale.layout.json"
HARBOUR = ROOT / "selkie-harbour.layout.json"
SIDES = {"a4": (297, 210), "a3": (420, 297)}
"""ISO 216, in millimetres."""

PAPERS = [*product(("a4", "a3"), (False, True))]
CASES = [
    (path, *paper)
    for number, path in enumerate(PLANS)
    for paper in (PAPERS if is_long() else [PAPERS[3 * number // 2 % len(PAPERS)]])
]
"""Each plan on one paper; in a long run on all."""

FROM_PDF, FROM_BROWSER = (
    (slice(None), slice(None)) if is_long() else (slice(1, None, 2), slice(0, None, 2))
)
"""The cases of each way to print: every second one, in a long run all."""

NAMES = [
    f"{path.name.partition('.')[0]}-{sheet}-{'standing' if standing else 'lying'}"
    for path, sheet, standing in CASES
]
MM = 25.4 / 72
RAIL_MM = 0.45
"""No line of a table is as thick as this; every rail is thicker."""


class Letters(NamedTuple):
    text: str
    high: float
    """The size of the type, in millimetres."""
    turned: bool


class Sheet(NamedTuple):
    """A page as another library reads it."""

    text: str
    letters: list[Letters]
    rails: tuple[float, float]
    """The left and the right end of the thick lines, in millimetres."""
    size: tuple[int, int]
    """The width and the height, in whole millimetres."""


def sheets_of(content: bytes) -> list[Sheet]:
    from pypdf import PdfReader

    return [_read(page) for page in PdfReader(io.BytesIO(content)).pages]


def _read(page: Any) -> Sheet:
    letters, thick, ends = [], [0.0], []

    def text(text: str, cm: list[float], tm: list[float], _: Any, size: float) -> None:
        if text.strip():
            across = tm[2] * cm[0] + tm[3] * cm[2], tm[2] * cm[1] + tm[3] * cm[3]
            along = tm[0] * cm[1] + tm[1] * cm[3]
            letters.append(Letters(text.strip(), size * hypot(*across) * MM, abs(along) > 0.01))

    def line(operator: bytes, operands: Any, cm: list[float], _: Any) -> None:
        if operator == b"w":
            thick.append(float(operands[0]))
        elif operator in (b"m", b"l") and thick[-1] * hypot(cm[0], cm[1]) * MM > RAIL_MM:
            x, y = map(float, operands)
            ends.append((x * cm[0] + y * cm[2] + cm[4]) * MM)

    whole = page.extract_text(visitor_text=text, visitor_operand_before=line)
    size = round(float(page.mediabox.width) * MM), round(float(page.mediabox.height) * MM)
    return Sheet(whole, letters, (min(ends, default=0.0), max(ends, default=0.0)), size)


def flat(sheet: Sheet) -> str:
    """Return the text without spaces: a line may break at a hyphen."""
    return "".join(sheet.text.split())


def shut(text: str) -> str:
    return "".join(text.split())


def assert_sheets_are_full(sheets: list[Sheet]) -> None:
    """Assert that no page has a line or two only, and that all letters can be read."""
    for number, sheet in enumerate(sheets):
        low = min(sheet.letters, key=lambda letters: letters.high)
        assert low.high >= 1.79, (number, low)
        assert len(sheet.text.splitlines()) > 4, number


@cache
def assert_the_diagram_fills(path: Path, sheet: str, standing: bool) -> bool:
    """Assert that a picture takes nine tenths of the width or height, or is enlarged the most.

    Return whether it takes the width.
    """
    report = report_of(path)
    assert report.layout is not None
    pages = diagram_pages(report.layout, report.table, sheet_of(sheet, standing=standing))
    widths = [picture.unit * picture.crops[0].wide for picture in pages.pictures]
    units = [picture.unit for picture in pages.pictures]
    heights = [picture.unit * picture.crops[0].high for picture in pages.pictures]
    is_wide = max(widths) >= 0.9 * pages.sheet.room[0]
    is_high = max(heights) >= 0.9 * (pages.sheet.room[1] - TITLE)
    assert is_wide or is_high or max(units) == GREATEST
    assert min(units) >= LEAST
    return is_wide
