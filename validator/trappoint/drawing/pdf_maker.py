"""A PDF of headings, sentences, tables and pictures, from top to bottom, by ``reportlab``."""

from __future__ import annotations

from contextlib import contextmanager
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from trappoint.drawing.export import POINTS, Pdf, draw_crop, read_drawing, text_of
from trappoint.drawing.extras import load
from trappoint.drawing.fonts import BOLD, REGULAR, printed, register_fonts, unprinted
from trappoint.drawing.paper import MARGIN
from trappoint.drawing.pdf_square import square_of
from trappoint.drawing.scene_pictures import as_flowables
from trappoint.drawing.svg_elements import safe

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.drawing.chart_rows import Block
    from trappoint.drawing.paper import Crop, Picture, Sheet
    from trappoint.drawing.scene_pictures import ScenePicture

SIZES = (("BodyText", 8, 1.2), ("Title", 20, 1.15), ("Heading2", 12, 1.25))
"""The size of each kind of text in points, and the height of its line as a multiple."""

SIGN = 62.0
"""The least width of a sign with its meaning, in millimetres."""

SHORT = 0.5
"""The height of a table that stays on one page, as a share of the page."""

ROOM_AFTER_HEADING = 35.0
"""The room that a heading needs for itself and the first lines below it, in millimetres."""


class PdfMaker:
    """A PDF document on one size of paper; its first pages may be another one."""

    def __init__(self, sheet: Sheet, title: str, *, first: Sheet) -> None:
        self._sheets, self._title = (first, sheet), title
        self.room = sheet.room
        self.width = self._column = self.room[0] * POINTS
        self._platypus: Any = load("reportlab.platypus", "pdf")
        styles: Any = load("reportlab.lib.styles", "pdf")
        register_fonts()
        self._styles = styles.getSampleStyleSheet()
        for name, size, line in SIZES:
            style = self._styles[name]
            style.fontSize, style.leading = size, size * line
            style.fontName = REGULAR if name == "BodyText" else BOLD
            style.spaceBefore, style.spaceAfter = (9, 4) if name == "Heading2" else (2, 2)
            style.keepWithNext = 0
        self._styles["Title"].alignment = 0
        self._story: list[Any] = []
        self._texts: list[str] = []

    def title(self, text: str, below: str) -> None:
        """Add the title of the document, and a line below it."""
        self._paragraph(safe(text), "Title")
        self._paragraph(safe(below))

    def heading(self, text: str) -> None:
        """Add a heading; it goes to the next page if too little would follow on this one."""
        self._break = self._platypus.CondPageBreak(ROOM_AFTER_HEADING * POINTS)
        self._story.append(self._break)
        self._paragraph(safe(text), "Heading2")

    def text(self, text: str, *, bold: bool = False, keep: bool = False) -> None:
        """Add a paragraph; ``keep`` keeps it on one page with the paragraph that follows."""
        self._paragraph(f"<b>{safe(text)}</b>" if bold else safe(text))
        self._story[-1].keepWithNext = int(keep)

    def _is_short(self, height: float) -> bool:
        return height < self.room[1] * POINTS * SHORT

    def _keep(self, height: float) -> None:
        """Keep a height of the last part, in points, on one page with its heading."""
        since = self._story.index(self._break)
        above = sum(_height(part, self.width) for part in self._story[since + 1 : -1])
        self._break.height = min(above + height, self.room[1] * POINTS * 0.98)

    def picture(self, picture: Picture, words: list[str]) -> None:
        """Add a drawing, centred; ``words`` has the line below each part, if there are several."""
        drawn = read_drawing(picture.svg)
        self._texts.append(text_of(picture.svg))
        for crop, below in zip(picture.crops, words, strict=True):
            part = _picture_part(drawn, picture, crop, self._sheets[0].room[0] * POINTS)
            self._story.append(part)
            if len(picture.crops) > 1:
                part.keepWithNext = 1
                self.text(below)

    def scenes(self, pictures: list[ScenePicture]) -> None:
        """Add a picture of each scene, beside each other as far as there is room."""
        room = self.width, self.room[1] * POINTS
        self._texts += [text for each in pictures for text in (each.title, each.words)]
        self._texts += [text_of(each.svg) for each in pictures]
        self._story.extend(as_flowables(pictures, self._platypus, self._styles, room))

    def leave_first(self) -> None:
        """Continue on a new page if the first pages are not like the others."""
        if self._sheets[0] != self._sheets[1]:
            self._story.append(self._platypus.NextPageTemplate("1"))
            self._story.append(self._platypus.PageBreak())

    def grid(
        self,
        heads: list[str],
        rows: list[list[str]],
        shares: list[float] | None = None,
        *,
        above: str = "",
    ) -> None:
        """Add a table. Cells are escaped markup; ``<b>`` sets bold.

        ``shares`` are the widths of the columns as shares of the page (default: equal widths).
        ``above`` is a text that each page has above the table.
        """
        head = [[self._cell(f"<b>{safe(head)}</b>") for head in heads]]
        if above:
            head.insert(0, [self._cell(f"<b>{safe(above)}</b>"), *[""] * (len(heads) - 1)])
        content = head + [[self._cell(text) for text in row] for row in rows]
        widths = shares or [1 / len(heads)] * len(heads)
        last, first = len(content) - 1, len(head)
        style = [
            ("GRID", (0, 0), (-1, -1), 0.4, "#999999"),
            ("BACKGROUND", (0, first - 1), (-1, first - 1), "#e4e4e4"),
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
            *((f"{side}PADDING", (0, 0), (-1, -1), 2) for side in ("LEFT", "RIGHT")),
            *((f"{side}PADDING", (0, 0), (-1, -1), 1) for side in ("TOP", "BOTTOM")),
            *([("SPAN", (0, 0), (-1, 0))] if above else []),
            # No row stays alone: neither the first one nor the last one.
            ("NOSPLIT", (0, 0), (-1, min(first + 1, last))),
            ("NOSPLIT", (0, max(last - 1, 0)), (-1, last)),
        ]
        table = self._platypus.Table(
            content, colWidths=[self.width * share for share in widths],
            repeatRows=first, style=style, hAlign="LEFT",
        )  # fmt: skip
        table.wrap(self.width, 1e6)
        heights = table._rowHeights  # reportlab gives no other way to know them
        self._story.append(table)
        self._keep(sum(heights if self._is_short(sum(heights)) else heights[: first + 2]))

    def square(
        self, heads: list[str], arms: list[str], letters: list[list[str]], block: Block
    ) -> None:
        """Add a block of the square of conflicts."""
        columns = slice(block.start, block.stop)
        heads, arms = [printed(head) for head in heads], [printed(arm) for arm in arms[columns]]
        self._texts += [*heads, *arms]
        rows = [(head, row[columns]) for head, row in zip(heads, letters, strict=True)]
        square = square_of(self._platypus, arms, rows, block)
        high = square.wrap()[1]
        self._story.append(square)
        if block.start == 0:
            self._keep(high if self._is_short(high) else high / 4)
        else:
            self._story.insert(-1, self._platypus.CondPageBreak(self.room[1] * POINTS * 0.98))

    def signs(self, signs: list[tuple[str, str]]) -> None:
        """Add a legend: small drawings, each with its meaning, two or more beside each other."""
        wide = self._column
        beside = max(1, int(wide // (SIGN * POINTS)))
        cells = [(read_drawing(svg), self._cell(safe(text))) for svg, text in signs]
        rows = [
            [part for cell in cells[start : start + beside] for part in cell]
            for start in range(0, len(cells), beside)
        ]
        rows = [row + [""] * (2 * beside - len(row)) for row in rows]
        style = [
            ("VALIGN", (0, 0), (-1, -1), "MIDDLE"),
            *((f"{side}PADDING", (0, 0), (-1, -1), 0) for side in ("TOP", "BOTTOM", "LEFT")),
        ]
        widths = [58, wide / beside - 58] * beside
        if rows:
            table = self._platypus.Table
            self._story.append(table(rows, colWidths=widths, style=style, hAlign="LEFT"))

    @contextmanager
    def side_by_side(self) -> Iterator[None]:
        """Set two parts beside each other, each with its heading, on one page if they fit."""
        before, self._story = self._story, []
        gap = 8 * POINTS
        self._column = (self.width - gap) / 2
        yield
        breaks = self._platypus.CondPageBreak
        starts = [n for n, part in enumerate(self._story) if isinstance(part, breaks)]
        ends = pairwise([*starts, len(self._story)])
        parts = [self._story[start + 1 : stop] for start, stop in ends]
        heights = [sum(_height(one, self._column) for one in part) for part in parts]
        if len(parts) == 2 and max(heights) < self.room[1] * POINTS:
            style = [
                ("VALIGN", (0, 0), (-1, -1), "TOP"),
                *((f"{side}PADDING", (0, 0), (-1, -1), 0) for side in ("TOP", "BOTTOM", "LEFT")),
                ("RIGHTPADDING", (0, 0), (-1, -1), 0),
            ]
            row = [[parts[0], "", parts[1]]]
            widths = [self._column, gap, self._column]
            self._story = [self._platypus.Table(row, colWidths=widths, style=style)]
        self._story, self._column = [*before, *self._story], self.width

    def build(self) -> Pdf:
        """Return the document; if it cannot show a sign of its texts, its last line says so."""
        from io import BytesIO

        found = unprinted([*self._texts, self._title])
        for sentence in found.sentences(shown=False):
            self.text(sentence[0].upper() + sentence[1:])
        out = BytesIO()
        document = self._platypus.BaseDocTemplate(
            out, title=self._title, author="", invariant=1, lang="en-GB"
        )
        document.addPageTemplates([self._template(number) for number in (0, 1)])
        document.build(self._story)
        return Pdf(out.getvalue(), found)

    def _template(self, number: int) -> Any:
        """Return the pages of a sheet, with its margins."""
        sheet, margin = self._sheets[number], MARGIN * POINTS
        frame = self._platypus.Frame(
            margin, margin, sheet.room[0] * POINTS, sheet.room[1] * POINTS,
            leftPadding=0, rightPadding=0, topPadding=0, bottomPadding=0, id="frame",
        )  # fmt: skip
        size = sheet.wide * POINTS, sheet.high * POINTS
        return self._platypus.PageTemplate(str(number), [frame], pagesize=size)

    def _paragraph(self, markup: str, style: str = "BodyText") -> None:
        self._texts.append(_bare(markup))
        self._story.append(self._platypus.Paragraph(printed(markup), self._styles[style]))

    def _cell(self, markup: str) -> Any:
        self._texts.append(_bare(markup))
        return self._platypus.Paragraph(printed(markup), self._styles["BodyText"])


def _bare(markup: str) -> str:
    from html import unescape

    return unescape(markup)


def _height(part: Any, width: float) -> float:
    """Return the height of a part with the space around it."""
    high: float = part.wrap(width, 1e6)[1] + part.getSpaceBefore() + part.getSpaceAfter()
    return high


def _picture_part(drawn: Any, picture: Picture, crop: Crop, width: float) -> Any:
    """Return a part of a picture as something that reportlab can place."""
    from reportlab.platypus.flowables import Flowable  # type: ignore[import-untyped]

    class Part(Flowable):  # type: ignore[misc]
        def wrap(self, *_: float) -> tuple[float, float]:
            return width, (crop.high * picture.unit + 2) * POINTS

        def draw(self) -> None:
            self.canv.saveState()
            self.canv.translate((width - crop.wide * picture.unit * POINTS) / 2, 1 * POINTS)
            draw_crop(self.canv, drawn, picture, crop)
            self.canv.restoreState()

    return Part()
