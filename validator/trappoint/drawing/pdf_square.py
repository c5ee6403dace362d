"""The square of conflicts in a PDF: it continues on the next page, with its heads again."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from trappoint.drawing.export import POINTS
from trappoint.drawing.fonts import BOLD, REGULAR

if TYPE_CHECKING:
    from trappoint.drawing.chart_rows import Block

ROW = 1.25
"""The height of a row, as a multiple of the size of its letters."""

Rows = list[tuple[str, list[str]]]


def square_of(platypus: Any, arms: list[str], rows: Rows, block: Block) -> Any:
    """Return a block of the square as something that reportlab can place.

    ``arms`` are the heads of the columns; each row has its head and its letters.
    """
    metrics: Any = platypus.flowables
    from reportlab.pdfbase.pdfmetrics import stringWidth  # type: ignore[import-untyped]

    size, row = block.type * POINTS, block.type * POINTS * ROW
    head, cell = block.head * POINTS, block.cell * POINTS
    top = max(stringWidth(arm, BOLD, size) for arm in ("Arm", *arms)) + 4

    class Square(metrics.Flowable):  # type: ignore[misc]
        def __init__(self, rows: Rows) -> None:
            super().__init__()
            self.rows = rows
            self.spaceBefore = self.spaceAfter = 4

        def wrap(self, *_: float) -> tuple[float, float]:
            return head + cell * len(arms), top + row * len(self.rows)

        def split(self, _: float, high: float) -> list[Any]:
            fits = int((high - top) // row)
            if fits < 3:
                return []
            if fits >= len(self.rows):
                return [self]
            fits = min(fits, len(self.rows) - 3)  # no row stays alone on the next page
            return [Square(self.rows[:fits]), Square(self.rows[fits:])] if fits > 0 else []

        def draw(self) -> None:
            self._lines()
            high = row * len(self.rows)
            self.canv.setFont(BOLD, size)
            self.canv.drawString(2, high + 3, "Arm")
            for number, arm in enumerate(arms):
                self.canv.saveState()
                self.canv.translate(head + cell * (number + 0.5) + size * 0.36, high + 3)
                self.canv.rotate(90)
                self.canv.drawString(0, 0, arm)
                self.canv.restoreState()
            for number, (name, letters) in enumerate(self.rows, 1):
                base = high - row * number + size * 0.3
                self.canv.setFont(BOLD, size)
                self.canv.drawString(2, base, name)
                for column, letter in enumerate(letters):
                    self.canv.setFont(BOLD if "L" in letter.upper() else REGULAR, size)
                    self.canv.drawCentredString(head + cell * (column + 0.5), base, letter)

        def _lines(self) -> None:
            """Draw the lines between the cells; every fifth one is darker."""
            wide, high = head + cell * len(arms), row * len(self.rows)
            self.canv.setLineWidth(0.3)
            for number in range(len(arms) + 1):
                self.canv.setStrokeGray(0.2 if number % 5 == 0 else 0.65)
                x = head + cell * number
                self.canv.line(x, 0, x, high + top)
            for number in range(len(self.rows) + 1):
                self.canv.setStrokeGray(0.2 if number % 5 == 0 else 0.65)
                self.canv.line(0, high - row * number, wide, high - row * number)

    return Square(rows)
