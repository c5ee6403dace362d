"""The signal chart as PDF, on A4 or A3, by ``reportlab`` (the extra ``pdf``)."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from trappoint.drawing.bench_rows import DRILL, HEADS, PARTS, ExtraRows, post_rows
from trappoint.drawing.chart import (
    ARMS,
    CONFLICTS,
    CROSSOVERS,
    DENSE,
    ERRORS,
    NOTHING_MORE,
    caution_for,
    who_sees_to_it,
)
from trappoint.drawing.chart_rows import arm_rows, crossover_rows, matrix_rows, scene_rows
from trappoint.drawing.diagram import SHEETS, draw
from trappoint.drawing.export import BORDER, SIDES, read_drawing
from trappoint.drawing.extras import load
from trappoint.drawing.fonts import BOLD, REGULAR, register_fonts
from trappoint.drawing.svg_elements import safe
from trappoint.reporting.matrix import legend
from trappoint.reporting.wording import GRANTED, count_pairs, verdict_of, verdict_of_table

if TYPE_CHECKING:
    from collections.abc import Callable

    from trappoint.checking.report import Report
    from trappoint.interlocking.locking_table import LockingTable


def chart_pdf(
    report: Report,
    *,
    sheet: str = "a4",
    bench: ExtraRows = NOTHING_MORE,
) -> bytes:
    """Return the chart of a plan as PDF.

    ``bench`` adds rows for drilling and parts. Raises ValueError if the report has no layout,
    NotInstalled if reportlab is missing.
    """
    layout, table = report.layout, report.table
    if layout is None:
        raise ValueError("there is no plan to draw")
    maker = _Maker(SIDES.get(sheet, SIDES["a4"]))
    maker.heading(layout.title or "Plan without a title", "Title")
    diagram = draw(layout, table=table, widest=SHEETS[sheet])
    for picture in diagram.sheets(heading=False):
        maker.picture(picture)
    _add_verdict(maker, report, caution_for(bench))
    if table is not None:
        maker.heading(ARMS)
        heads, rows = arm_rows(layout, table)
        maker.grid(heads, rows, widths=_arm_widths(heads))
        plain, bold = who_sees_to_it(table)
        maker.text(plain)
        maker.text(bold, bold=True)
    if layout.worked_together:
        maker.heading(CROSSOVERS)
        maker.grid(["Worked together", "Normal", "Reverse"], crossover_rows(layout))
    if table is not None:
        _add_matrix(maker, table)
    if layout.scenes:
        maker.heading("Scenes")
        maker.grid(["Scene", "Points not normal", "Arms off", "Trains"], scene_rows(layout))
    _add_granted(maker, table)
    _add_bench(maker, bench)
    return maker.build(layout.title or "Plan without a title")


def _add_verdict(maker: _Maker, report: Report, caution: str) -> None:
    table = report.table
    if table is None:
        maker.text(f"This plan {verdict_of(report)}", bold=True)
    else:
        maker.text(
            f"{verdict_of_table(table.holds, table.longest_train)} {count_pairs(table)}", bold=True
        )
    maker.text(caution, bold=True)
    errors = [finding for finding in report.findings if finding.level == "error"]
    if errors:
        maker.heading(ERRORS)
    for finding in errors:
        maker.text(finding.message)


def _add_matrix(maker: _Maker, table: LockingTable) -> None:
    arms, square = matrix_rows(table)
    if len(arms) > 1:
        maker.heading(CONFLICTS)
        maker.grid(["Arm", *arms], square, small=len(arms) > DENSE)
        maker.keep_together(2)
        maker.text(legend(table))


def _add_granted(maker: _Maker, table: LockingTable | None) -> None:
    if table is not None:
        maker.heading(GRANTED)
        for sentence in table.takes_for_granted:
            maker.text(f"\u2013 {sentence}")


def _add_bench(maker: _Maker, bench: ExtraRows) -> None:
    if bench.posts:
        maker.heading(DRILL)
        maker.grid(HEADS, post_rows(bench.posts), widths=[0.06, 0.34, 0.16, 0.16, 0.28])
    if bench.parts:
        maker.heading(PARTS)
    for heading, entries, numbered in bench.parts:
        maker.text(heading, bold=True)
        for number, entry in enumerate(entries, 1):
            maker.text(f"{number}. {entry}" if numbered else f"\u2013 {entry}")


def _arm_widths(heads: list[str]) -> list[float]:
    shares = {"Arm": 0.06, "Lever": 0.06, "Points": 0.2, "Never off with": 0.32}
    rest = 1.0 - sum(shares.get(head, 0.0) for head in heads)
    return [shares.get(head, rest) for head in heads]


class _Maker:
    """A PDF document, built from top to bottom."""

    def __init__(self, sides: tuple[float, float]) -> None:
        self.sides = sides
        self.width = sides[0] - 2 * BORDER
        self.platypus: Any = load("reportlab.platypus", "pdf")
        styles: Any = load("reportlab.lib.styles", "pdf")
        register_fonts()
        self.styles = styles.getSampleStyleSheet()
        for name, size in (("BodyText", 8.5), ("Title", 20), ("Heading2", 12)):
            self.styles[name].fontSize = size
            self.styles[name].leading = size * 1.25
            self.styles[name].fontName = REGULAR if name == "BodyText" else BOLD
        self.styles["Title"].alignment = 0
        self.story: list[Any] = []

    def heading(self, text: str, style: str = "Heading2") -> None:
        self.story.append(self.platypus.Paragraph(safe(text), self.styles[style]))

    def text(self, text: str, *, bold: bool = False) -> None:
        inner = f"<b>{safe(text)}</b>" if bold else safe(text)
        self.story.append(self.platypus.Paragraph(inner, self.styles["BodyText"]))

    def picture(self, svg: str) -> None:
        found = read_drawing(svg)
        high = self.sides[1] - 2 * BORDER - 90
        scale = min(self.width / found.width, high / found.height, 1.0)
        found.scale(scale, scale)
        found.width, found.height = found.width * scale, found.height * scale
        self.story.append(found)

    def grid(
        self,
        heads: list[str],
        rows: list[list[str]],
        *,
        widths: list[float] | None = None,
        small: bool = False,
    ) -> None:
        """Add a table. Cells are escaped markup; ``<b>`` sets bold."""
        cell = self.styles["BodyText"].clone("cell")
        if small:
            cell.fontSize, cell.leading = 4.5, 5.5
        set_: Callable[[str], Any] = lambda text: self.platypus.Paragraph(text, cell)  # noqa: E731
        content = [[set_(f"<b>{safe(head)}</b>") for head in heads]]
        content += [[set_(text) for text in row] for row in rows]
        columns = None
        if widths is not None:
            columns = [self.width * share for share in widths]
        elif len(heads) > 5:
            columns = [min(self.width / len(heads), 24.0)] * len(heads)
        else:
            columns = [self.width / len(heads)] * len(heads)
        pad = 0.5 if small else 2
        style = [
            ("GRID", (0, 0), (-1, -1), 0.4, "#999999"),
            ("BACKGROUND", (0, 0), (-1, 0), "#e4e4e4"),
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
            *((f"{side}PADDING", (0, 0), (-1, -1), pad) for side in ("LEFT", "RIGHT")),
            *((f"{side}PADDING", (0, 0), (-1, -1), pad / 2) for side in ("TOP", "BOTTOM")),
        ]
        self.story.append(
            self.platypus.Table(
                content, colWidths=columns, repeatRows=1, style=style, hAlign="LEFT"
            )
        )

    def keep_together(self, count: int) -> None:
        """Keep the last few things on one page, where they fit on one."""
        last = self.story[-count:]
        del self.story[-count:]
        self.story.append(self.platypus.KeepTogether(last))

    def build(self, title: str) -> bytes:
        from io import BytesIO

        out = BytesIO()
        document = self.platypus.SimpleDocTemplate(
            out, pagesize=self.sides, leftMargin=BORDER, rightMargin=BORDER, topMargin=BORDER,
            bottomMargin=BORDER, title=title, author="", invariant=1, lang="en-GB",
        )  # fmt: skip
        document.build(self.story)
        return out.getvalue()
